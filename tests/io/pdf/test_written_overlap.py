"""What pages say in words of how they lie over each other."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from propagate.io.drawn_lines import DrawnText
from propagate.io.options import ReadOptions
from propagate.io.pdf.pages import DrawnPage
from propagate.io.pdf.written_overlap import find_written_overlaps
from tests.io.pdf.drafts import Tiling, tiled_by_reportlab
from tests.io.pdf.test_tiles import assert_assembled, gilet, make_strips, read
from tests.print.conftest import print_set
from tests.shared import demo


def page_of(*lines: str) -> DrawnPage:
    """A page with lines of a paragraph, one below the other."""
    texts = (DrawnText(line, (20.0, 200.0 - 5 * i), 4.0) for i, line in enumerate(lines))
    return DrawnPage(1, (210.0, 297.0), (), tuple(texts), Counter(), frozenset())


SURE = {
    "Pages lie 10 mm over each other, to the dashed line: the marks meet": [10.0],
    "Pages lie 3/8 in over each other": [9.525],
    "Trim nothing. Overlap the sheets by 1 cm (3/8 in); test square 10 cm": [10.0, 9.525],
    "Glue the pages with an overlap of approx. 1.5 cm.": [15.0],
    "Tape pages edge to edge": [0.0],
    "Seiten 10 mm überlappend zusammenkleben": [10.0],
    "Chevauchement des feuilles : 1 cm": [10.0],
}
"""Words of sheets that are printed at home (common practice, no source)."""
NOTHING = (
    "waistband overlap 3 cm",
    "Front overlap 2 cm, see page 4",
    "Pages overlap. Seam allowance 1 cm",
    "Overlap the pages at the dashed line",
    "Overlap pages, test square 5 cm",
    "sew edge to edge",
    "Sheets of 210 x 297 mm",
)


@pytest.mark.parametrize("words", SURE)
def test_words_that_speak_of_pages(words: str) -> None:
    (found,) = find_written_overlaps([page_of(words)])
    assert found.sure and found.lengths == pytest.approx(tuple(SURE[words]))


@pytest.mark.parametrize("words", NOTHING)
def test_words_that_say_nothing_of_it(words: str) -> None:
    assert not find_written_overlaps([page_of(words)])


def test_a_sentence_over_two_lines() -> None:
    (found,) = find_written_overlaps([page_of("Print all.", "Then overlap the pages by", "1 cm")])
    assert found.sure and found.lengths == (10.0,)


@pytest.mark.parametrize("lap", [5.0, 10.0, 12.7, 17.0])
def test_words_tell_what_straight_lines_cannot(lap: float, tmp_path: Path) -> None:
    words = f"Pages overlap by {lap:g} mm"
    tiling = Tiling(overlap=lap, words=words)
    sheet, told = read(tiled_by_reportlab(make_strips([]), tmp_path / "straight.pdf", tiling))
    assert_assembled(sheet, make_strips([]))
    assert not [line for line in told if line.kind == "warning"]
    assert any(f"neighbours share {lap:.1f} mm, as page 1 says" in line.text for line in told)


def test_a_plain_length_counts_at_the_foot_of_all_pages(tmp_path: Path) -> None:
    """On one page alone it may be that of a waistband which is drawn there."""
    tiling = Tiling(overlap=17.0, words="overlap 17 mm")
    file = tiled_by_reportlab(make_strips([]), tmp_path / "straight.pdf", tiling)
    assert_assembled(read(file)[0], make_strips([]))
    pages = [replace(page_of("overlap 17 mm"), number=number) for number in (1, 2)]
    assert [one.sure for one in find_written_overlaps(pages)] == [True]
    assert [one.sure for one in find_written_overlaps(pages[:1])] == [False]


def test_lines_that_contradict_the_words_are_followed_and_told(tmp_path: Path) -> None:
    tiling = Tiling(overlap=10.0, words="Pages overlap by 15 mm")
    file = tiled_by_reportlab(gilet(), tmp_path / "gilet.pdf", tiling)
    sheet, told = read(file)
    assert_assembled(sheet, gilet())
    (warning,) = (line for line in told if line.kind == "warning")
    assert "page 1 says that pages share 15 mm" in warning.text and warning.option == "--overlap"
    assert not [line for line in read(file, ReadOptions(overlap=10.0))[1] if line.kind == "warning"]


def test_rounded_words_do_not_move_what_lines_tell_to_a_hair(tmp_path: Path) -> None:
    """3/8 in are 9.525 mm."""
    tiling = Tiling(overlap=10.0, words="Overlap the pages by 3/8 in")
    sheet, told = read(tiled_by_reportlab(gilet(), tmp_path / "gilet.pdf", tiling))
    assert_assembled(sheet, gilet())
    assert not [line for line in told if line.kind == "warning"]


def test_a_bag_on_two_sheets_is_as_long_as_it_is(tmp_path: Path) -> None:
    """Its gusset runs square over the border: the words at the front of the print tell the rest."""
    bag = demo("market_bag")
    file = tmp_path / "bag.pdf"
    file.write_bytes(print_set(bag, "a0", sizes=bag.sizes, layout="tiled")[0])
    sheet, told = read(file)
    assert not [line for line in told if line.kind == "warning"]
    for size in bag.sizes:
        ring = bag.pieces["gusset"].at(size).outline
        around = (
            shapely.LinearRing(ring).length + 8 * 10.0
        )  # cut 10 mm outside, with square corners
        lengths = [line.chain.length for line in sheet.lines if line.layer == f"size {size}"]
        assert min(abs(length - around) for length in lengths) < 0.02
