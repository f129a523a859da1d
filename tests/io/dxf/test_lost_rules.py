"""A rule file that was cut off, or that belongs to another drawing, makes no set."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from propagate.errors import FormatError
from propagate.io.dxf import WriteOptions, read, write
from tests.builders import pocket_set
from tests.examples import part_of

CUT = "it was cut off"
RULE = re.compile(r"^RULE: DELTA (\d+)\n", re.MULTILINE)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("rules")
    report = write(pocket_set(), folder / "style.dxf", WriteOptions(kind="rules"))
    assert not report.nested
    return folder


@pytest.fixture
def style(written: Path, tmp_path: Path) -> Path:
    """A style in which every piece has grade rules, to be damaged."""
    for name in ("style.dxf", "style.rul"):
        shutil.copy(written / name, tmp_path)
    return tmp_path / "style.dxf"


def cut_before(path: Path, place: int) -> list[str]:
    """Cut the rule file before its rule at a place; returns the numbers that went."""
    rules = path.with_suffix(".rul")
    text = rules.read_text("ascii")
    heads = list(RULE.finditer(text))
    rules.write_text(text[: heads[place].start()], encoding="ascii", newline="\n")
    return [head[1] for head in heads[place:]]


@pytest.mark.parametrize("share", [0.0, 0.3, 0.5, 0.8])
def test_a_rule_file_that_lost_rules_at_a_cut_is_refused(style: Path, share: float) -> None:
    count = len(RULE.findall(style.with_suffix(".rul").read_text("ascii")))
    lost = cut_before(style, int(share * count))
    with pytest.raises(FormatError) as told:
        read(style)
    message = str(told.value)
    assert f"style.rul: found {len(lost)} of the {count} rules that 'style.dxf' uses" in message
    assert ", ".join(sorted(lost, key=int)[:1]) in message
    assert "no 'END' at the end" in message
    assert "piece" in message
    assert "ask for the rule file again" in message


def test_one_rule_lost_at_the_cut_is_refused(style: Path) -> None:
    (lost,) = cut_before(style, -1)
    with pytest.raises(FormatError, match=rf"found 1 of the \d+ rules .* \({lost}; on piece"):
        read(style)


def test_a_cut_within_the_last_rule_is_refused_or_told(style: Path) -> None:
    """Wherever the file ends within the last rule: never without a word."""
    rules = style.with_suffix(".rul")
    text = rules.read_text("ascii")
    *_, last = RULE.finditer(text)
    whole = text.rindex("END")
    for end in part_of(range(last.start(), whole), 3):
        rules.write_text(text[:end], encoding="ascii", newline="\n")
        words = words_about(style)
        assert any(("may be cut off" in word and last[1] in word) or CUT in word for word in words)


def words_about(style: Path) -> list[str]:
    """The warnings of reading a style, or why it is refused."""
    try:
        _, report = read(style)
    except FormatError as error:
        return [str(error)]
    return [note.text for note in report.of("warning")]


def test_a_missing_last_line_alone_is_a_warning(style: Path) -> None:
    rules = style.with_suffix(".rul")
    before, _ = read(style)
    rules.write_text(rules.read_text("ascii").removesuffix("END\n"), "ascii", newline="\n")
    after, report = read(style)
    assert [note.text for note in report.of("warning")] == [
        "style.rul: found no 'END' at the end: the file may be cut off"
    ]
    for name in before.pieces:
        for size in before.sizes:
            one, other = before.sized(name, size), after.sized(name, size)
            assert (one.outline == other.outline).all()


def test_a_rule_file_of_another_drawing_is_refused(style: Path) -> None:
    """It has its end, and no rule of any piece."""
    rules = style.with_suffix(".rul")
    text = RULE.sub(lambda head: f"RULE: DELTA {int(head[1]) + 5000}\n", rules.read_text("ascii"))
    rules.write_text(text, encoding="ascii", newline="\n")
    with pytest.raises(FormatError, match="same in every size; it belongs to another drawing"):
        read(style)


def test_a_rule_that_is_gone_from_a_whole_file_is_told_once(style: Path) -> None:
    """The piece has others: its points are carried between their neighbours, in one line."""
    rules = style.with_suffix(".rul")
    text = rules.read_text("ascii")
    heads = list(RULE.finditer(text))
    gone = heads[len(heads) // 2]
    following = heads[len(heads) // 2 + 1]
    rules.write_text(text[: gone.start()] + text[following.start() :], "ascii", newline="\n")
    _, report = read(style)
    told = [note.text for note in report.of("warning") if "not in the rule table" in note.text]
    assert told == [
        f"style.dxf, piece 'back': rule {gone[1]} is used but not in the rule table; its points "
        "are carried between their neighbours"
    ]
