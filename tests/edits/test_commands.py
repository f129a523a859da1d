"""Edits on the command line and in files."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import propagate
from propagate.cli import app
from propagate.engine.edits.kinds import EDITS
from propagate.report.worksheet.derive import work_sheet
from tests.io.test_schema import validator
from tests.shared import loads_kept

FILE = """\
format = 1
[[edit]]
name = "closer"
do = "take-in"
edge = "full_front.side"
by = "10mm"
at = "waist"
to = "hip"
both = true
[[edit]]
name = "longer"
do = "lengthen"
level = "knee"
by = { "36" = "15mm", "38" = "20mm" }
"""


def run(*args: str, status: int = 0) -> str:
    with loads_kept():
        result = CliRunner().invoke(app.cli, list(args))
    assert result.exit_code == status, result.output
    return result.output


@pytest.fixture
def trousers() -> str:
    return str(propagate.demo_path("slant_trouser"))


@pytest.mark.parametrize("kind", EDITS.values(), ids=lambda kind: kind.word)
def test_the_example_of_every_edit_is_done_and_sews(kind) -> None:
    source = propagate.demo_path(kind.on)
    base = propagate.load(source).base
    sizes = [] if kind.load().every_size else ["--sizes", base]
    text = run("change", str(source), kind.word, *kind.example.split(), *sizes)
    said = " ".join(text.split())
    assert re.search(r"checks?: .*: all sew together; the largest|no check was reached", said)
    assert kind.word in run("change", "--help") and kind.does in run("change", "--about", kind.word)


@pytest.mark.parametrize("kind", EDITS.values(), ids=lambda kind: kind.word)
def test_every_edit_is_in_the_library(kind) -> None:
    assert kind.name in propagate.__all__, "name it in propagate/__init__.py, three times"
    assert getattr(propagate, kind.name) is kind.load()
    assert kind.load().word == kind.word


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    """What is said of the edits of the file, and the folder that holds what came of them."""
    folder = tmp_path_factory.mktemp("done")
    file, out = folder / "edits.toml", folder / "out"
    file.write_text(FILE, encoding="utf-8")
    source = str(propagate.demo_path("slant_trouser"))
    return run("apply", source, str(file), "--sizes", "36,38", "-o", str(out)), out


def test_a_file_is_done_in_order_and_told_by_its_names(
    trousers: str, done: tuple[str, Path]
) -> None:
    text, out = done
    assert text.index("closer:") < text.index("longer:")
    old, new = propagate.load(trousers), propagate.load(out)
    assert new.sized("back", "36").edge("inseam").length == pytest.approx(
        old.sized("back", "36").edge("inseam").length + 15.0, abs=0.2
    )
    for name in old.pieces:
        assert new.sized(name, "40") == old.sized(name, "40")
    told = json.loads((out / "revised.json").read_text(encoding="utf-8"))
    assert list(told["records"]) == ["36", "38"] and len(told["edits"]) == 2
    chain = propagate.load_result(out, "36").record.chain("waistband.lower")
    assert "edit closer" in [change.id for change in chain]
    lengthened = propagate.load_result(out, "36").record.chain("back.hem")
    assert "edit longer" in [change.id for change in lengthened]
    assert propagate.load_result(out, "38").sews


def test_what_is_written_is_as_its_schema_says_and_goes_on_paper(done: tuple[str, Path]) -> None:
    text, out = done
    told = json.loads((out / "revised.json").read_text(encoding="utf-8"))
    validator("revised").validate(told)
    result = propagate.load_result(out, "36")
    said = " ".join(work_sheet(result).edits).lower()
    assert "closer: side of full front and side of back taken in by 10 mm at waist" in said
    assert "drawing" not in said
    assert "the girth changed by more than" in " ".join(text.split())


def test_an_edit_that_brings_back_another_is_pointed_out(trousers: str, tmp_path: Path) -> None:
    file = tmp_path / "edits.toml"
    file.write_text(
        'format = 1\n[[edit]]\nname = "down"\ndo = "lower"\nedge = "back.hem"\nby = 20\n'
        '[[edit]]\nname = "up"\ndo = "raise"\nedge = "back.hem"\nby = 20\n',
        encoding="utf-8",
    )
    text = run("apply", trousers, str(file), "--sizes", "42")
    assert "edit 'up' brings edge ‘hem’ back" in " ".join(text.split())
    file.write_text(
        "format = 1\n"
        + "".join(
            f'[[edit]]\nname = "{name}"\ndo = "{word}"\nedge = "back.hem"\nby = 20\n'
            for name, word in (("a", "lower"), ("b", "raise"), ("c", "lower"), ("d", "raise"))
        ),
        encoding="utf-8",
    )
    text = run("apply", trousers, str(file), "--sizes", "42")
    assert "edits 'a', 'b', 'c', 'd' together leave edge ‘hem’" in " ".join(text.split())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format = 1", "no edit"),
        ('format = 1\n[[edit]]\ndo = "take in"\nedge = "back.side"\n', "'by' is missing"),
        ('format = 1\n[[edit]]\ndo = "takein"\n', "did you mean 'take-in'"),
        ('format = 1\n[[edit]]\ndo = "lengthen"\nlevel = "knee"\nby = "9 kg"\n', "9 kg"),
        ('format = 1\n[[edit]]\ndo = "lengthen"\nlevel = "knee"\nby = 5000\n', "another unit"),
        ('format = 1\n[[edit]]\ndo = "lengthen"\nlevel = "knee"\nby = 5\nup = 1\n', "'up'"),
        ("format = 9", "9"),
        ("format = 1\n[[edit", "line 2"),
    ],
)
def test_a_file_that_says_nonsense_is_refused(
    trousers: str, tmp_path: Path, text: str, words: str
) -> None:
    file = tmp_path / "edits.toml"
    file.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(app.cli, ["apply", trousers, str(file), "-o", str(tmp_path / "o")])
    assert result.exit_code == 2 and words in result.output
    assert not (tmp_path / "o").exists()


def test_words_that_are_no_edit_are_refused(trousers: str) -> None:
    assert "KEY=VALUE" in run("change", trousers, "take-in", "edge", status=2)
    assert "given twice" in run("change", trousers, "take-in", "by=1", "by=2", status=2)
    assert "did you mean" in run("change", trousers, "take-inn", status=2)
    text = run("change", trousers, "shorten", "level=kne", "by=20mm", status=2)
    assert "knee" in text and "this was edit 'shorten'; nothing was done" in text
    for size, words in (("M", "no size 'M'"), ("99", "the nearest that can be is '54'")):
        assert words in run(
            "change", trousers, "shorten", "level=knee", "by=20mm", "--sizes", size, status=2
        )


@pytest.mark.parametrize(
    "words",
    [
        ("open", "opening=front_pocket", "to=165mm"),
        ("allow", "edge=back.centre", "to=15mm"),
        ("ease", "seam=side_seam", "to=0"),
    ],
)
def test_an_edit_that_changes_nothing_is_told(trousers: str, words: tuple[str, ...]) -> None:
    text = " ".join(run("change", trousers, *words).split())
    assert f"{words[0]}: changes nothing" in text


def test_an_edit_that_changes_a_mark_alone_changes_something(trousers: str) -> None:
    real = run("change", trousers, "move-mark", "mark=front.hip_notch", "by=5mm", "--sizes", "42")
    assert "changes nothing" not in real
