"""One word for one thing: words that were given up are nowhere in what is printed.

The words and what they stand for are in DEVELOPERS.md, "Words that are printed"; this reads that
table, so that both stay one list.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
from click.testing import CliRunner

import propagate
from propagate import Amount
from propagate.cli.app import cli
from propagate.demo import demo_names
from propagate.engine.record import as_plain
from propagate.engine.walk import walk
from propagate.errors import PropagateError
from propagate.io.edits_toml import edit_of_words
from propagate.report.blend_text import blend_lines
from propagate.report.draw import lead_picture
from propagate.report.revise_text import revised_lines
from propagate.report.units import INCHES, MILLIMETRES, Unit
from propagate.report.walk_text import walk_lines
from propagate.report.why import why_lines
from propagate.report.worksheet.derive import work_sheet
from tests.print.conftest import print_set
from tests.print.reader import text_of
from tests.shared import demo, in_sizes, main_job
from tests.worksheet.conftest import pdf_of

TROUSER = "slant_trouser"
PAGE = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"


def given_up() -> list[str]:
    """The last column of the table, one word or phrase each."""
    table = PAGE.read_text("utf-8").partition("## Words that are printed")[2].partition("\n## ")[0]
    rows = [line.split("|") for line in table.splitlines() if line.startswith("| **")]
    found = [word.strip() for row in rows for word in row[3].split(",")]
    assert len(found) > 8
    return found


GIVEN_UP = re.compile("|".join(rf"\b{re.escape(word)}\b" for word in given_up()), re.IGNORECASE)


def assert_plain(text: str) -> None:
    """No word that was given up, however the lines are wrapped."""
    found = [m[0] for m in GIVEN_UP.finditer(" ".join(text.split()))]
    assert found == []


@pytest.mark.parametrize("name", demo_names())
def test_terminal_texts(name: str) -> None:
    result = main_job(name)
    lines = blend_lines(result)
    for piece in result.pattern.pieces:
        lines += why_lines(result, piece)
    assert_plain("\n".join([*lines, *walk_lines(walk(result.pattern), pattern=result.pattern)]))


@pytest.mark.parametrize(
    "words",
    [
        "raise edge=back.waist by=15mm at=end to=start taper=straight",
        "open opening=front_pocket to=175mm",
        "widen-dart dart=back.dart by=6mm to=hip",
    ],
)
def test_a_change_over_sizes(words: str) -> None:
    word, *said = words.split()
    pattern = in_sizes(demo(TROUSER), ("38", "42"))
    found = propagate.apply_edits(pattern, [edit_of_words(word, said)])
    assert_plain("\n".join(revised_lines(found)))


@pytest.mark.parametrize("name", [TROUSER, "lined_skirt"])
def test_work_sheet_and_record(name: str) -> None:
    """Every text of the sheet, and the sentences that go into the record."""
    result = main_job(name)

    def texts(value: object) -> list[str]:
        if isinstance(value, str):
            return [value]
        if isinstance(value, dict):
            return [text for item in value.values() for text in texts(item)]
        return [text for item in value for text in texts(item)] if isinstance(value, list) else []

    assert_plain("\n".join(texts(as_plain(work_sheet(result, MILLIMETRES)))))
    record = as_plain(result.record)
    said = [row["what"] for row in record["changes"]] + [row["text"] for row in record["warnings"]]
    assert_plain("\n".join(said))


def test_pictures() -> None:
    """What stands in drawings, and what a screen reader is told of them."""
    result = main_job(TROUSER)
    for piece in result.pattern.pieces:
        for drawing in (propagate.draw(result, piece), propagate.draw(demo(TROUSER), piece)):
            said = ElementTree.fromstring(drawing).itertext()
            assert_plain(" ".join(said))


@pytest.mark.parametrize("unit", [MILLIMETRES, INCHES])
@pytest.mark.parametrize("name", demo_names())
def test_the_lead_picture(name: str, unit: Unit) -> None:
    """What stands in a result's first picture, on its page and on its sheet; no names either."""
    picture = lead_picture(main_job(name), unit)
    assert picture is not None
    said = list(ElementTree.fromstring(picture).itertext())
    assert_plain(" ".join(said))
    assert not [text for text in said if "_" in text]


def test_names_are_not_in_pictures() -> None:
    """An underscore is what is left of a name."""
    result = main_job(TROUSER)
    for piece in result.pattern.pieces:
        said = list(ElementTree.fromstring(propagate.draw(result, piece)).itertext())
        assert not [text for text in said if "_" in text]


def test_print(tmp_path: Path) -> None:
    """All that a reader of the printed file finds; names of the set are not in it."""
    data, _ = print_set(main_job(TROUSER).pattern, "a0", names=True)
    text = text_of(data, tmp_path)
    assert_plain(text)
    assert "side seam: " in text
    assert "_" not in text


def a_revised_result(name: str) -> propagate.Result:
    """A lead of a seam let out by 4 mm in the base size: the first that can be."""
    pattern = demo(name)
    for seam in pattern.relations.seams.values():
        edge = seam.lead[0].key
        try:
            return propagate.run(pattern, propagate.LetOut(edge=edge, by=Amount(mm=4.0)))
        except PropagateError:
            continue
    raise AssertionError(f"no edge of {name} can be moved")


@pytest.mark.parametrize("revised", [False, True])
@pytest.mark.parametrize("name", demo_names())
def test_work_sheet_as_printed(name: str, revised: bool, tmp_path: Path) -> None:
    """All that a reader of the file finds: titles, none of the names that a set is written with."""
    result = a_revised_result(name) if revised else main_job(name)
    text = text_of(pdf_of(result)[0], tmp_path)
    assert_plain(text)
    assert "_" not in text
    assert "0.0 mm 0.0 mm" not in " ".join(text.split())  # nothing that is not there is measured
    pieces = "|".join(map(re.escape, result.pattern.pieces))
    assert re.findall(rf"\b(?:{pieces})[./]\w+", text) == []


def test_help() -> None:
    runner = CliRunner()
    for name in ("", "blend", "change", "revise", "sheet", "report", "draw", "print", "why"):
        done = runner.invoke(cli, [*name.split(), "--help"])
        assert done.exit_code == 0
        assert_plain(done.output)
