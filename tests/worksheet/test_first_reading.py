"""What somebody finds who holds a work sheet for the first time, read back from its pages."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest

from propagate.engine.run import Result
from propagate.report.check_words import CHECKS
from propagate.report.units import MILLIMETRES
from propagate.report.worksheet.band_steps import ZoneWork, change_words
from propagate.report.worksheet.words import Source
from propagate.report.worksheet.write import sheet_paper, write_sheet
from tests.print.reader import text_of
from tests.shared import blended, main_job
from tests.worksheet.conftest import pdf_of, sheet_of
from tests.worksheet.test_tables import apron_facing

NAMES = ("slant_trouser", "lined_skirt", "concert_dress")
_HEADINGS = (
    *("Work sheet: ", "The other way", "Check by walking"),
    *(said.on_paper or said.title for said in CHECKS.values()),
)
_FOOT = re.compile(r"Work sheet: .*\d+ of \d+")


def pages_of(result: Result, folder: Path) -> list[str]:
    """The text of every page, by poppler."""
    found = []
    with pikepdf.open(BytesIO(pdf_of(result)[0])) as document:
        for page in document.pages:
            out, single = BytesIO(), pikepdf.new()
            single.pages.append(page)
            single.save(out)
            found.append(text_of(out.getvalue(), folder))
    return found


def words(text: str) -> str:
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize("name", NAMES)
def test_every_page_says_what_it_is_about(name: str, tmp_path: Path) -> None:
    """None is empty, and what goes on from the page before it says its heading again."""
    for page in pages_of(main_job(name), tmp_path):
        first, *rest = [line.strip() for line in page.splitlines() if line.strip()]
        assert [line for line in rest if not _FOOT.fullmatch(line)], first
        begins = first.startswith(_HEADINGS) or re.match(r"\d+\. ", first)
        assert begins or first.endswith(", continued"), first


@pytest.mark.parametrize("name", NAMES)
def test_every_old_corner_that_a_table_counts_from_is_drawn(name: str, tmp_path: Path) -> None:
    text = words(" ".join(pages_of(main_job(name), tmp_path)))
    for work in sheet_of(main_job(name)).pieces:
        origins = {edge.offsets_from for edge in work.edges if edge.offsets}
        step = text.split(f"Change {work.title} Size ")[-1].split(" from old ")[0]
        for letter in origins:
            assert f"old {letter}" in step, (work.title, letter)


def test_tracing_is_offered_where_something_is_traced(tmp_path: Path) -> None:
    skirt = words(pages_of(main_job("lined_skirt"), tmp_path)[0])
    assert "then steps 13 and 14, which find" in skirt and "both end with the checks" in skirt
    assert not any(step.way for step in sheet_of(main_job("concert_dress")).steps)
    assert "by tracing" not in words(pages_of(main_job("concert_dress"), tmp_path)[0]).lower()


def test_nothing_is_told_that_is_not_there(tmp_path: Path) -> None:
    """No taping without taped pieces, no other pieces where all changed, no open reference."""
    said = [s.text for step in sheet_of(main_job("lined_skirt")).steps for s in step.sentences]
    assert not any("taped" in text or "other pieces" in text for text in said)
    assert any("Draw the hip level square to the grain" in text for text in said)
    said = [s.text for step in sheet_of(main_job("slant_trouser")).steps for s in step.sentences]
    assert any("in the size that step 1 gives" in text for text in said)
    for name in NAMES:
        text = words(pages_of(main_job(name), tmp_path)[0])
        rows = [row for edge in sheet_of(main_job(name)).edges for row in edge.offsets]
        assert ("At a ‘turn’ do not round" in text) == any(row.at == "turn" for row in rows)
        assert ("At ‘old leg’ a leg" in text) == any(row.at == "old leg" for row in rows)


def test_pieces_stand_in_the_order_of_their_steps(tmp_path: Path) -> None:
    for name in NAMES:
        text = words(pages_of(main_job(name), tmp_path)[0])
        numbers = [int(number) for number in re.findall(r"to change, step (\d+)", text)]
        left, right = sorted(numbers[::2]), sorted(numbers[1::2])  # read in two columns
        assert sorted(numbers) == list(range(2, 2 + len(numbers)))
        assert max(left) < min(right) or numbers == sorted(numbers)


def test_marks_and_checks_go_by_words(tmp_path: Path) -> None:
    skirt = words(" ".join(pages_of(main_job("lined_skirt"), tmp_path)))
    assert "zip end notch" in skirt and "notch zip end" not in skirt
    assert "none on centre" in skirt and "No allowance." in skirt
    assert "Allowance 0.0" not in skirt
    for check in sheet_of(main_job("slant_trouser")).checks:
        assert "'" not in check.first_what + check.second_what


def test_angles_that_are_added_add_up() -> None:
    for upper, lower in (("42", "48"), ("40", "38"), ("44", "46"), ("38", "44")):
        for step in sheet_of(blended("slant_trouser", upper, lower)).steps:
            for said in step.sentences:
                for a, b, c in re.findall(
                    r"measure ([\d.]+)° and ([\d.]+)°, together ([\d.]+)°(?! \(each)", said.text
                ):
                    assert float(a) + float(b) == pytest.approx(float(c), abs=0.01), said.text


@pytest.mark.parametrize("name", NAMES)
def test_every_table_of_checks_says_within_what_they_agree(name: str, tmp_path: Path) -> None:
    """As the record has it: no row is ticked that the walk would not have let pass."""
    result = main_job(name)
    text = words(" ".join(pages_of(result, tmp_path)))
    told = {
        (row.kind, row.name): row.tolerance for row in (*result.record.seams, *result.record.bands)
    }
    for check in sheet_of(result).checks:
        if (check.kind, check.name) in told and check.within is not None:
            assert check.within == told[check.kind, check.name]
        if check.within is not None and not check.note:
            assert abs(check.second - check.first - check.ease) <= check.within + 1e-9
    for kind in {check.kind for check in sheet_of(result).checks if not check.note}:
        title = re.escape(CHECKS[kind].on_paper)
        limit = r"\d+(\.\d)°" if CHECKS[kind].degrees else r"(\d+\.\d mm|a pencil line)"
        assert re.search(rf"{title} \(within {limit}\)", text) or kind == "patch", kind


def test_without_checks_there_is_no_heading_for_them(tmp_path: Path) -> None:
    result, out = main_job("lined_skirt"), BytesIO()
    write_sheet(result, replace(sheet_of(result), checks=()), out, sheet_paper("a4"))
    text = words(text_of(out.getvalue(), tmp_path))
    assert "Choose one of two ways. By figures" in text and "Check by walking" not in text


def test_cautions_are_sentences() -> None:
    for name in ("quay_jeans", "market_bag", *NAMES):
        for text in sheet_of(main_job(name)).cautions:
            assert text.endswith(".") and not text.endswith("..")


@pytest.mark.parametrize(("mm", "said"), [(0.2, "as it is"), (0.3, "spread by 0.3 mm")])
def test_what_is_finer_than_a_pencil_line_is_not_spread(mm: float, said: str) -> None:
    source = Source(main_job("slant_trouser"), MILLIMETRES)
    zone = ZoneWork("hip", ("A", "B"), 100.0, 0.0, 100.0 + mm)
    assert change_words(source, zone, stays=False).startswith(f"{said}, ")


def test_what_a_row_stands_at_fits_its_cell(tmp_path: Path) -> None:
    """A row of a corner inside an edge is told in one line of its cell."""
    result = apron_facing("facing_inner", "parallel", 6.3)
    lines = "\n".join(pages_of(result, tmp_path)).splitlines()
    assert any("to turn" in line and "from turn" in line for line in lines)
