"""What is printed: nothing hidden in it, whoever sent the names; and where nobody reads it."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate.errors import MOST_TOLD, InvalidSet
from propagate.report.layout import WIDTH, Column, lay_entries, lay_table
from propagate.visible import clipped, json_text, quoted, shell_word, visible, width_of
from tests.builders import TINY_TOML, write_tiny
from tests.cli.conftest import run

CLI = Path(propagate.__file__).parent / "cli"
ESC, CSI, BACK = "\x1b[2J", "\x9b31m", "\u202e"
HOSTILE = f"a{ESC}{CSI}\rall sews{BACK}\u2066\u2028\u0085\u200b\u2069\ufeffz"
"""Clears the screen, sets a colour, goes back to the start of the line, turns letters round."""


def is_hidden(char: str) -> bool:
    """By the categories of the Unicode Standard, chapter 4: controls, formats, line ends."""
    return unicodedata.category(char) in ("Cc", "Cf", "Zl", "Zp", "Cs") and char != "\n"


def assert_nothing_hidden(text: str) -> None:
    found = {f"{ord(char):04X}" for char in text if is_hidden(char)}
    assert not found, found


@given(st.text())
def test_no_text_keeps_anything_hidden(text: str) -> None:
    shown = visible(text)
    assert "\n" not in shown
    assert_nothing_hidden(re.sub("[\u200c\u200d]", "", shown))
    assert visible(shown) == shown
    assert json.loads(json_text([text])) == [text]
    assert_nothing_hidden(re.sub("[\u200c\u200d]", "", json_text([text])))


def test_words_that_need_joiners_stay_as_they_are() -> None:
    persian, scissors = "می\u200cخواهم", "\u2702\ufe0f"  # the Unicode Standard, chapter 23.2
    assert visible(persian) == persian
    assert visible(scissors) == scissors
    assert visible("fro\u200dnt") == "fro<U+200D>nt"
    assert visible("à la « jupe\u00a0»") == "à la « jupe\u00a0»"
    assert quoted("1\u00a0cm") == "'1<U+00A0>cm'"


@given(st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"])))
def test_a_word_for_the_shell_means_the_same(text: str) -> None:
    assert_nothing_hidden(re.sub("[\u200c\u200d]", "", shell_word(text)))
    if len(text) < 3:  # a process for each is slow
        said = subprocess.run(
            ["bash", "-c", f"printf %s {shell_word(text)}"], capture_output=True, check=True
        )
        assert said.stdout.decode() == text


@given(st.text(max_size=30), st.integers(1, 30))
def test_a_clipped_text_fits(text: str, columns: int) -> None:
    shown = clipped(text, columns)
    assert width_of(shown) <= columns
    assert shown == text or (shown.endswith("…") and text.startswith(shown[:-1]))


# ------------------------------------------------------------------------------- commands


@pytest.fixture
def sent(tmp_path: Path) -> Path:
    """A set as a stranger might send it."""
    told = json.dumps(HOSTILE)
    text = TINY_TOML.replace('"tiny skirt"', told).replace('"main fabric"', told)
    text = text.replace('title = "Front"', f"title = {told}")
    folder = write_tiny(tmp_path / "sent")
    (folder / "set.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    "words",
    [
        ["show"],
        ["walk"],
        ["walk", "--all-sizes"],
        ["suggest"],
        ["blend", "--size", "waist=36,hip=40"],
        ["blend", "--size", "waist=36,hip=nothing"],
        ["walk", "--size", HOSTILE],
        ["draw", "-o", HOSTILE],
        ["report", "-o", HOSTILE],
        ["print", "-o", "x.pdf"],
    ],
    ids=lambda words: " ".join(words)[:20],
)
def test_a_set_cannot_paint_over_its_verdict(
    sent: Path, words: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(sent.parent)
    command, *rest = words
    said = run(command, str(sent), *rest)
    assert_nothing_hidden(said.output)
    assert "Traceback" not in said.output
    if words == ["show"]:
        assert "a<U+001B>[2J<U+009B>31m<U+000D>all sews<U+202E><U+2066><U+2028><U+0085>" in (
            said.output.replace("\n", " ")
        )
    told = run(command, str(sent), *rest, "--json")
    assert_nothing_hidden(told.stdout)
    if command == "show":
        assert json.loads(told.stdout)["set"] == HOSTILE


@pytest.mark.parametrize(
    "words",
    [
        ["show", HOSTILE],
        ["show", "--unit", HOSTILE, "x"],
        ["show", "x", f"--{HOSTILE}"],
        [HOSTILE],
        ["begin", HOSTILE, "-o", "x"],
        ["blend", "x", "--size", HOSTILE],
    ],
    ids=lambda words: " ".join(words)[:16],
)
def test_an_error_hides_nothing(words: list[str]) -> None:
    said = run(*words)
    assert said.exit_code == 2
    assert_nothing_hidden(said.output)
    assert "<U+001B>" in said.stderr or r"\x1b" in said.stderr  # as Python quotes it, by click


def test_nothing_is_printed_elsewhere() -> None:
    """One place, so that no command forgets."""
    printing = re.compile(r"\b(click\.(echo|secho|style|confirm|prompt)|print)\(")
    for path in CLI.glob("*.py"):
        if path.name != "output.py":
            assert not printing.search(path.read_text("utf-8")), path


def test_many_problems_are_counted() -> None:
    error = InvalidSet("a set", [f"piece {k}" for k in range(684)])
    lines = str(error).split("\n")
    assert len(lines) == MOST_TOLD + 2
    assert lines[0].endswith("684 problem(s):")
    assert lines[-1] == f"  ... and {684 - MOST_TOLD} more"
    assert len(error.problems) == 684


# --------------------------------------------------------------------------------- layout


def test_long_names_end_in_an_ellipsis() -> None:
    name = "front" * 40
    lines = lay_entries([(name, "the " + name), ("back", "cut 2"), (name, "cut 1")])
    lines += lay_table([Column(""), Column("mm", number=True)], [[name, "123.45"], ["b", "1.00"]])
    lines += lay_table(
        [Column(name), Column(name), Column(name, number=True), Column("verdict")],
        [["seam", name, "123.45", name]],
    )
    assert max(map(len, lines)) <= WIDTH
    assert sum("…" in line for line in lines) >= 7
    assert sum("123.45" in line for line in lines) == 2
    assert lay_entries([("/" + name, "the set")], whole=True)[0].strip() == "/" + name


def test_a_table_counts_wide_letters_by_their_columns() -> None:
    """Unicode Standard Annex 11: ideographs take two columns."""
    first, second = lay_table(
        [Column(""), Column("mm", number=True)],
        [["前身頃", "1.00"], ["front", "22.00"]],
        head=False,
    )
    assert width_of(first) == width_of(second) == len(second)


# ----------------------------------------------------------------------- nobody reads it


def shell(line: str) -> subprocess.CompletedProcess[str]:
    command = f'propagate() {{ {sys.executable} -m propagate "$@"; }}; set -o pipefail; {line}'
    return subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=False)


def test_a_closed_output_is_no_fault(sent: Path) -> None:
    for line, status in (
        (f"propagate show {sent} >&-", 0),
        (f"propagate walk {sent} --json >&-", 0),
        (f"propagate walk {sent} --json 2>&-", 0),
        (f"propagate show {sent}/nothing >&- 2>&-", 2),
        (f"propagate show {sent}/nothing 2>&1 | true", 2),
        ("propagate --help | true", (0, 141)),
        (f"propagate show {sent} | head -1", (0, 141)),
        (f"propagate show {sent} >/dev/null 1</dev/null", 2),
    ):
        done = shell(line)
        assert "Traceback" not in done.stderr, line
        assert "Exception ignored" not in done.stderr, line
        assert "fault of the program" not in done.stderr, line
        assert done.returncode in ((status,) if isinstance(status, int) else status), line
