"""Pages of tiled prints are put together: lines that were cut at borders are whole again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pikepdf
import pytest

import propagate
from propagate.errors import FormatError
from propagate.io.drawn_lines import DrawnSheet
from propagate.io.options import ReadOptions
from propagate.io.pdf.read import read_sheet_of_pdf
from propagate.io.report import ReadingLine, ReportNotes
from tests.io.pdf.drafts import (
    BROWSER,
    CAIRO,
    Draft,
    DraftLine,
    Tiling,
    assert_same_lines,
    nested,
    plain_pdf,
    tiled_by_browser,
    tiled_by_cairo,
    tiled_by_reportlab,
)
from tests.shared import demo

LETTER = (215.9, 279.4)


@cache
def gilet() -> Draft:
    return nested("workshop_gilet", ("84", "96", "110"))


def read(
    file: Path, options: ReadOptions | None = None
) -> tuple[DrawnSheet, tuple[ReadingLine, ...]]:
    notes = ReportNotes()
    return read_sheet_of_pdf([file], options or ReadOptions(), notes), notes.lines


def assert_assembled(sheet: DrawnSheet, draft: Draft) -> None:
    """Every line is whole, once and in its place; the sheet begins at the upper left corner."""
    down = sheet.size[1] - draft.size[1]
    moved = tuple(replace(line, points=line.points + np.array([0.0, down])) for line in draft.lines)
    assert_same_lines(sheet.lines, replace(draft, lines=moved))
    pieces = sum(len(line.points) - 1 for line in draft.lines)
    assert sum(len(line.chain.segments) for line in sheet.lines) <= pieces


WAYS = {
    "overlap": Tiling(),
    "letter": Tiling(paper=LETTER, margin=8.0, overlap=15.0),
    "edge to edge": Tiling(overlap=0.0),
    "no frame": Tiling(frame=False),
    "number and letter": Tiling(names="1A"),
    "two numbers": Tiling(names="1-1", overlap=0.0),
    "row and column": Tiling(names="row"),
    "numbered": Tiling(names="1/n"),
    "no names": Tiling(names=""),
    "no names, edge to edge": Tiling(names="", overlap=0.0),
    "neither names nor frame": Tiling(names="", frame=False, overlap=12.5),
    "by columns": Tiling(names="", by_columns=True),
    "truly cut": Tiling(names="", cut=True),
    "no margin": Tiling(names="", frame=False, margin=0.0, overlap=0.0),
    "a cover": Tiling(cover=2),
    "a cover, no names": Tiling(cover=1, names="", frame=False),
}


@pytest.mark.parametrize("way", WAYS)
def test_lines_are_whole_again(way: str, tmp_path: Path) -> None:
    tiling = WAYS[way]
    sheet, _ = read(tiled_by_reportlab(gilet(), tmp_path / "tiled.pdf", tiling))
    assert_assembled(sheet, gilet())
    assert not sheet.texts, "names and footers of pages say nothing of a piece"


def test_the_report_tells_what_was_assumed(tmp_path: Path) -> None:
    _, lines = read(tiled_by_reportlab(gilet(), tmp_path / "tiled.pdf", Tiling(cover=2)))
    rows, columns = Tiling().grid(gilet())
    (told,) = (line for line in lines if "put together" in line.text)
    assert told.kind == "assumed" and told.option == "--tiles or --overlap"
    assert f"{columns} columns, {rows} rows, neighbours share 10.0 mm" in told.text
    assert any("2 pages left out" in line.text and "1 and 2" in line.text for line in lines)


def test_a_missing_page_is_said_by_its_place(tmp_path: Path) -> None:
    tiling = Tiling(omit=((1, 3),))
    _, lines = read(tiled_by_reportlab(gilet(), tmp_path / "tiled.pdf", tiling))
    missing = [line for line in lines if line.kind == "warning"]
    assert "the page in row 2, column 4 is missing" in missing[0].text


def test_asked_for(tmp_path: Path) -> None:
    """Two pages with hardly a line between them tell nothing; the user does."""
    tiling = Tiling(names="", frame=False, cover=1)
    rows, columns = tiling.grid(gilet())
    file = tiled_by_reportlab(gilet(), tmp_path / "tiled.pdf", tiling)
    for overlap in (10.0, None):
        sheet, _ = read(file, ReadOptions(tiles=(columns, rows), overlap=overlap))
        assert_assembled(sheet, gilet())
    with pytest.raises(FormatError, match="--tiles is columns x rows"):
        read(file, ReadOptions(tiles=(columns + 4, rows)))


def test_pages_in_no_order_are_refused_with_what_to_do(tmp_path: Path) -> None:
    file = tiled_by_reportlab(gilet(), tmp_path / "tiled.pdf", Tiling(names=""))
    with pikepdf.open(file) as pdf, pikepdf.new() as mixed:
        order = np.random.default_rng(1).permutation(len(pdf.pages))
        mixed.pages.extend([pdf.pages[int(i)] for i in order])
        mixed.save(tmp_path / "mixed.pdf")
    with pytest.raises(FormatError, match="--tiles 5x4"):
        read(tmp_path / "mixed.pdf")


def test_pages_in_no_order_are_put_together_by_their_names(tmp_path: Path) -> None:
    for names in ("A1", "1/n"):
        file = tiled_by_reportlab(gilet(), tmp_path / "tiled.pdf", Tiling(names=names))
        with pikepdf.open(file) as pdf, pikepdf.new() as mixed:
            order = np.random.default_rng(1).permutation(len(pdf.pages))
            mixed.pages.extend([pdf.pages[int(i)] for i in order])
            mixed.save(tmp_path / "mixed.pdf")
        sheet, _ = read(tmp_path / "mixed.pdf")
        assert_assembled(sheet, gilet())


def test_a_curve_over_many_pages_is_one_curve_again(tmp_path: Path) -> None:
    """Each page draws a part of it; put together it has the handles that it had (de Casteljau)."""
    margin, inner = 20.0, (160.0, 220.0)
    controls = [(30.0, 60.0), (500.0, 90.0), (40.0, 760.0), (620.0, 800.0)]
    pages = []
    for row in range(4):
        for column in range(4):
            x, y = margin - column * inner[0], margin - (3 - row) * inner[1]
            start, *rest = [f"{px + x} {py + y}" for px, py in controls]
            pages.append(
                f"{margin} {margin} {inner[0]} {inner[1]} re W n {start} m {' '.join(rest)} c S "
                f"{controls[0][0] + x} {controls[0][1] + y} m {controls[3][0] + x} "
                f"{controls[3][1] + y} l S"
            )
    file = tmp_path / "curve.pdf"
    with pikepdf.new() as pdf:
        for content in pages:
            one = plain_pdf(content, tmp_path / "one.pdf", box=(0, 0, 200, 260))
            with pikepdf.open(one) as other:
                pdf.pages.extend(other.pages)
        pdf.save(file)
    sheet, _ = read(file, ReadOptions(tiles=(4, 4)))
    assert len(sheet.lines) == 2
    for line, wanted in zip(sheet.lines, (controls, [controls[0], controls[3]]), strict=True):
        points = np.array([line.chain.start, *line.chain.segments[0]])
        assert len(line.chain.segments) == 1
        if points[0][0] > points[-1][0]:
            points = points[::-1]
        assert points == pytest.approx(np.array(wanted) * 25.4 / 72, abs=0.01)


def test_a_look_keeps_two_lines_apart_that_meet_at_a_border(tmp_path: Path) -> None:
    """Two sizes whose lines cross in one place of a border go on in their own colours."""
    x = 200.0
    one = DraftLine(np.array([(20.0, 40.0), (x, 60.0), (330.0, 90.0)]), (0.8, 0.0, 0.0), (), "a")
    other = DraftLine(np.array([(20.0, 80.0), (x, 60.0), (330.0, 30.0)]), (0.0, 0.0, 0.8), (), "b")
    more = [
        DraftLine(np.array([(20.0, 100.0 + 9 * i), (330.0, 110.0 + 8 * i)]), (0, 0, 0), (), "c")
        for i in range(6)
    ]
    draft = Draft((one, other, *more), (370.0, 250.0))
    sheet, _ = read(tiled_by_reportlab(draft, tmp_path / "tiled.pdf", Tiling(overlap=0.0)))
    down = sheet.size[1] - draft.size[1]
    moved = tuple(replace(line, points=line.points + np.array([0.0, down])) for line in draft.lines)
    assert_same_lines(sheet.lines, replace(draft, lines=moved))


@pytest.mark.skipif(CAIRO is None, reason="the renderer is not installed")
@pytest.mark.parametrize("names", ["A1", ""])
def test_pages_by_cairo(names: str, tmp_path: Path) -> None:
    sheet, _ = read(tiled_by_cairo(gilet(), tmp_path / "tiled.pdf", Tiling(names=names)))
    assert_assembled(sheet, gilet())


@pytest.mark.skipif(BROWSER is None, reason="the browser is not installed")
def test_pages_by_a_browser(tmp_path: Path) -> None:
    """It draws each dash by itself; lines that are drawn whole are whole again."""
    draft = nested("workshop_gilet", ("84", "110"))
    draft = replace(draft, lines=tuple(replace(line, dash=()) for line in draft.lines))
    sheet, _ = read(tiled_by_browser(draft, tmp_path / "tiled.pdf", Tiling(names="1-1")))
    down = sheet.size[1] - draft.size[1]
    wanted = np.array([line.points.min(axis=0) for line in draft.lines]).min(axis=0)
    found = np.array([line.chain.points.min(axis=0) for line in sheet.lines]).min(axis=0)
    off = found - wanted - (0.0, down)
    assert np.abs(off).max() < 0.3  # whole pixels of a page
    shift = np.array([off[0], down + off[1]])
    moved = tuple(replace(line, points=line.points + shift) for line in draft.lines)
    assert_same_lines(sheet.lines, replace(draft, lines=moved), 0.1)


def test_a_set_of_pages_for_each_size(tmp_path: Path) -> None:
    """The same names come again: each set is a size, by its words or as the user says."""
    drafts = {size: nested("workshop_gilet", (size,)) for size in ("84", "96")}
    file = tmp_path / "sets.pdf"
    with pikepdf.new() as pdf:
        for size, draft in drafts.items():
            one = tiled_by_reportlab(draft, tmp_path / f"{size}.pdf", Tiling(cover=1))
            with pikepdf.open(one) as other:
                pdf.pages.extend(other.pages)
        pdf.save(file)
    with pytest.raises(FormatError, match=r"2 sets of pages.*--sizes SIZE1,SIZE2"):
        read(file)
    sheet, _ = read(file, ReadOptions(sizes=("84", "96")))
    for size, draft in drafts.items():
        lines = tuple(line for line in sheet.lines if line.layer == size)
        alone, _ = read(tmp_path / f"{size}.pdf")
        assert_assembled(replace(sheet, lines=lines, size=alone.size), draft)


def test_a_nest_at_even_steps(tmp_path: Path) -> None:
    """Upright rectangles in even steps and their diagonals: most ends speak for a wrong overlap."""
    lines = []
    for i in range(8):
        low, high = 30.0 + 12 * i, 700.0 - 12 * i
        box = np.array([(low, low), (high, low), (high, high), (low, high), (low, low)])
        lines += [DraftLine(box[k : k + 2], (0, 0, 0), (), str(i)) for k in range(4)]
        lines.append(
            DraftLine(np.array([(low, low + 20.0), (low + 20.0, low)]), (0, 0, 0), (), "x")
        )
    lines.append(DraftLine(np.array([(150.0, 260.0), (610.0, 330.0)]), (0, 0, 0), (), "y"))
    draft = Draft(tuple(lines), (740.0, 740.0))
    sheet, told = read(tiled_by_reportlab(draft, tmp_path / "even.pdf", Tiling(overlap=10.0)))
    assert_assembled(sheet, draft)
    (said,) = (line.text for line in told if "put together" in line.text)
    assert "neighbours share 10.0 mm" in said


def test_our_own_prints_with_pages_left_out(tmp_path: Path) -> None:
    """Pages that show nothing new are not printed; what they would show is on those beside."""
    bag = demo("market_bag")
    found = []
    for paper in ("a4", "letter"):
        file = tmp_path / f"{paper}.pdf"
        propagate.print_pieces(bag, file, paper=paper, sizes=list(bag.sizes))
        sheet, told = read(file)
        assert not [line for line in told if line.kind == "warning"]
        assert any("without a page, where no line runs to" in line.text for line in told)
        lengths = [round(line.chain.length, 1) for line in sheet.lines if line.layer]
        found.append((sheet.layers, sorted(lengths)))
    assert found[0] == found[1]


def test_what_pages_share_is_told_to_a_hair(tmp_path: Path) -> None:
    """Where lines are nearly square to a border, they go on within a quarter of a millimetre at
    many an overlap: a seam and a cut line of another size would come out as one."""
    skirt = demo("scoop_skirt")
    file = tmp_path / "skirt.pdf"
    propagate.print_pieces(skirt, file, paper="letter", sizes=list(skirt.sizes))
    _, told = read(file)
    (said,) = (line.text for line in told if "put together" in line.text)
    assert "neighbours share 10.0 mm" in said


def test_lines_of_one_look_that_cross_at_a_border_go_straight_on(tmp_path: Path) -> None:
    x = 190.0
    lines = [np.array([(20.0, 250.0 + 9 * i), (330.0, 260.0 + 7 * i)]) for i in range(6)]
    for i in range(12):
        for slope in (0.3 + 0.04 * i, -0.5 + 0.03 * i):
            run = np.array([-60.0 - i, 70.0 + i])
            lines.append(np.column_stack([x + run, 60.37 + 13.11 * i + slope * run]))
    for order in (1, -1):
        some = tuple(DraftLine(line, (0, 0, 0), (), "a") for line in lines[::order])
        draft = Draft(some, (370.0, 360.0))
        sheet, _ = read(tiled_by_reportlab(draft, tmp_path / "tiled.pdf", Tiling(overlap=0.0)))
        assert_assembled(sheet, draft)


def test_dashes_keep_two_lines_apart_that_lie_on_one_another(tmp_path: Path) -> None:
    """Sizes that are told by their dashes and share an edge, which runs over several pages."""
    lines = []
    for number, dash in enumerate(((), (6.0, 3.0), (2.0, 2.0))):
        run = np.array([(30.0, 60.0), (200.0, 61.0), (530.0, 60.0 + 9 * number)])
        lines.append(DraftLine(run, (0, 0, 0), dash, "a"))
        lines.append(DraftLine(run[::-1] + np.array([0.0, 300.0]), (0, 0, 0), dash, "a"))
    for i in range(6):
        run = np.array([(30.0 + 7 * i, 90.0 + 13 * i), (530.0 - 9 * i, 310.0 - 23 * i)])
        lines.append(DraftLine(run, (0.8, 0.0, 0.0), (), "b"))
    draft = Draft(tuple(lines), (560.0, 440.0))
    for order in (1, -1):
        some = replace(draft, lines=draft.lines[::order])
        sheet, _ = read(tiled_by_reportlab(some, tmp_path / "tiled.pdf", Tiling(overlap=10.0)))
        assert_assembled(sheet, some)


def make_strips(bends: Sequence[float]) -> Draft:
    """Straight lines down a sheet of two pages; one more bends at some heights."""
    lines = [np.array([[x, 20.0], [x, 500.0]]) for x in (30.0, 60.0, 90.0, 150.0)]
    lines.append(
        np.array(
            [
                [120.0, 20.0],
                *([120.0 + 9 * (k % 2), y] for k, y in enumerate(bends, 1)),
                [120.0, 500.0],
            ]
        )
    )
    black = (0.0, 0.0, 0.0)
    return Draft(tuple(DraftLine(points, black, (), "") for points in lines), (190.0, 520.0))


def test_what_straight_lines_cannot_tell_is_said(tmp_path: Path) -> None:
    """All lines run square over the border: whatever pages share, they go on."""
    tiling = Tiling(overlap=10.0, names="A1")
    file = tiled_by_reportlab(make_strips([]), tmp_path / "straight.pdf", tiling)
    _, told = read(file)
    (warning,) = (line for line in told if "run straight over the borders" in line.text)
    assert warning.kind == "warning" and warning.option == "--overlap"
    assert "10" in warning.text
    sheet, told = read(file, ReadOptions(overlap=10.0))
    assert not any("run straight over the borders" in line.text for line in told)
    assert_assembled(sheet, make_strips([]))


def test_a_bend_in_what_pages_share_tells_how_much_it_is(tmp_path: Path) -> None:
    """Between 243 and 253 mm both pages show the sheet; the line is as straight at the borders."""
    draft = make_strips([240.0, 246.0, 249.0, 260.0])
    file = tiled_by_reportlab(draft, tmp_path / "bent.pdf", Tiling(overlap=10.0, names="A1"))
    sheet, told = read(file)
    assert not any("run straight over the borders" in line.text for line in told)
    assert_assembled(sheet, draft)


def test_pages_with_names_and_nothing_of_their_own_are_no_tiles(tmp_path: Path) -> None:
    """Lines in the same place of all pages are frames of tiles, where tiles draw anything else."""
    empty = Draft((), (380.0, 540.0))
    sheet, _ = read(tiled_by_reportlab(empty, tmp_path / "frames.pdf", Tiling(names="A1")))
    assert len(sheet.lines) == 2 * 3, "the frame of each page"
