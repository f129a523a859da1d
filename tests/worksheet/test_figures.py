"""The figures of the steps: what they show, and that no text lies on a line or on a text."""

from __future__ import annotations

import re

import numpy as np
import pytest
import shapely

import propagate
from propagate.engine.applying import apply_edits
from propagate.engine.result import Result
from propagate.io.edits_toml import read_edits
from propagate.report.lettering import letters_of
from propagate.report.pdf.fonts import FontBook
from propagate.report.scene.items import Area, Dot, Line, Role, Scene, Text
from propagate.report.units import INCHES, MILLIMETRES, Unit
from propagate.report.worksheet.band_figure import BandFigure
from propagate.report.worksheet.figure import step_figures
from propagate.report.worksheet.words import Source
from tests.examples import part_of
from tests.shared import demo_in_few, main_job
from tests.worksheet.conftest import outlines_of, sheet_of

NAMES = ("slant_trouser", "scoop_skirt", "lined_skirt", "ferry_shirt", "concert_dress")
CASES = [(name, unit) for name in NAMES for unit in (MILLIMETRES, INCHES)]
ROOM = (182.0, 150.0)


def drawn(name: str, unit: Unit) -> list[tuple[str, list[Scene]]]:
    """Every figure of the sheet of a main job, with its piece."""
    result = main_job(name)
    source, fonts, found = Source(result, unit), FontBook(), []
    for work in sheet_of(result, unit).pieces:
        figures = step_figures(source, work)
        if figures is not None:
            scenes = [figure.scene for figure, _ in figures.drawn(fonts, ROOM)]
            found.append((work.piece, scenes))
    assert found
    return found


def box_of(text: Text, fonts: FontBook) -> shapely.Polygon:
    """As wide as it prints, as high as capitals and tails of the built-in font are."""
    half = np.array([fonts.width(text.text, text.size, bold=text.bold), 0.95 * text.size]) / 2
    box = shapely.affinity.rotate(shapely.box(*-half, *half), text.angle, origin=(0.0, 0.0))
    return shapely.affinity.translate(box, *text.at)


@pytest.mark.parametrize(("name", "unit"), part_of(CASES, 3))
def test_no_text_lies_on_a_line_or_on_another(name: str, unit: Unit) -> None:
    fonts = FontBook()
    for piece, scenes in drawn(name, unit):
        for scene in scenes:
            texts = [item for item in scene.items if isinstance(item, Text)]
            boxes = [box_of(text, fonts) for text in texts]
            assert texts
            for item in scene.items:
                if isinstance(item, Line):
                    ring = item.points if not item.closed else [*item.points, item.points[0]]
                    shape = shapely.LineString(ring)
                elif isinstance(item, Dot):
                    shape = shapely.Point(item.centre).buffer(item.radius)
                else:
                    continue
                for text, box in zip(texts, boxes, strict=True):
                    assert not shape.intersects(box), (piece, text.text, item.role)
            tree = shapely.STRtree(boxes)
            left, right = tree.query(boxes, predicate="intersects")
            assert (left == right).all(), piece


@pytest.mark.parametrize(("name", "unit"), part_of(CASES, 3))
def test_every_row_is_a_whisker_with_its_two_figures(name: str, unit: Unit) -> None:
    """As many whiskers as rows; one row of a sheet may have its first figure alone."""
    result, rows, told, short = main_job(name), 0, 0, 0
    works = {work.piece: work for work in sheet_of(result, unit).pieces}
    for piece, scenes in drawn(name, unit):
        own = [row for edge in works[piece].edges for row in (*edge.offsets, *edge.chord)]
        whiskers = [w for scene in scenes for w in scene.of(Role.OFFSET)]
        assert len(whiskers) >= sum(abs(row.out_mm) > 0.0 for row in own)
        rows += len(own)
        texts = [item.text for s in scenes for item in s.items if isinstance(item, Text)]
        told += sum(bool(re.fullmatch(r"\S.* \| .*\S", text)) for text in texts)
        short += sum(bool(re.fullmatch("\N{MINUS SIGN}?[0-9][0-9./ ]*", text)) for text in texts)
        letters = {one.letter for one in letters_of(outlines_piece(result, piece))}
        bold = {i.text for s in scenes for i in s.items if isinstance(i, Text) and i.bold}
        assert bold and bold <= letters
    assert rows - 1 <= told <= rows * 1.2  # where windows overlap a row is in both
    assert told + short >= rows


def test_a_band_is_drawn_with_a_gap_in_the_middle_of_every_zone_that_is_spread() -> None:
    """Widths and places of the gaps, measured on the drawing, are those of the record."""
    result, fonts = main_job("market_bag"), FontBook()
    source = Source(result, MILLIMETRES)
    band = result.pattern.relations.bands["facing_fit"]
    ((figure, _),) = BandFigure(source, band).drawn(fonts, ROOM)
    areas = [item for item in figure.scene.items if isinstance(item, Area)]
    gaps = sorted(shapely.Polygon(a.rings[0]).bounds for a in areas if a.role is Role.TAPE_ON)
    seams = [line.points for line in figure.scene.of(Role.SEAM) if isinstance(line, Line)]
    left = min(points[:, 0].min() for points in seams)
    was = {row.part: row.before_mm for row in result.record.bands if row.relation == band.name}
    now, expected, lengths = outlines_piece(result, band.piece), [], {}
    sewn = shapely.LineString(now.edge(band.sewn).points)
    places = {mark.name: sewn.project(shapely.Point(mark.point)) for mark in now.landmarks}
    places |= {"start": 0.0, "end": sewn.length}
    for zone in band.zones:
        begin, end = places[zone.begin], places[zone.end]
        lengths[zone.name] = end - begin
        if abs(end - begin - was[zone.name]) > 0.05:
            expected.append(((begin + end) / 2, end - begin - was[zone.name]))
    assert len(gaps) == len(expected) == 2
    for (low, _, high, _), (middle, wide) in zip(gaps, expected, strict=True):
        assert (high - low) * figure.scale == pytest.approx(wide, abs=0.01)
        assert ((low + high) / 2 - left) * figure.scale == pytest.approx(middle, abs=0.01)
    assert len(figure.scene.of(Role.CUT)) == 4
    texts = [item.text for item in figure.scene.items if isinstance(item, Text)]
    assert texts.count("spread by 10.0 mm") == 2
    assert {f"{name} {mm:.1f} mm" for name, mm in lengths.items()} <= {*texts}


def outlines_piece(result, piece):  # type: ignore[no-untyped-def]
    assert outlines_of(result, piece).names
    return result.pattern.sized(piece, result.record.size)


def test_a_line_that_leaves_a_figure_says_to_which_corner() -> None:
    """The back of the trousers is drawn down to the hip: its centre goes on to B, its side to D."""
    ((_, (scene,)), *_) = [one for one in drawn("slant_trouser", MILLIMETRES) if one[0] == "back"]
    texts = {item.text: item for item in scene.items if isinstance(item, Text)}
    assert {"to B", "to D"} <= texts.keys() and not {"B", "D"} & texts.keys()
    heads = [h.points for h in scene.of(Role.LEADER) if isinstance(h, Line) and len(h.points) == 3]
    assert len(heads) == 2
    for first, tip, last in heads:
        assert tip[1] < min(first[1], last[1])  # both lines go on below
        seams = [shapely.LineString(i.points) for i in scene.of(Role.SEAM) if isinstance(i, Line)]
        assert min(seam.distance(shapely.Point(tip)) for seam in seams) < 1e-6


def edited(name: str) -> Result:
    """A demo set with its file of edits, in the base size."""
    edits = read_edits(propagate.demo_path(name) / "edits.toml").edits
    found = apply_edits(demo_in_few(name), edits)
    return Result(found.pattern, found.records[found.pattern.base])


def test_names_of_edges_and_corners_keep_off_hatching() -> None:
    """The bag's panels are taped on along three sides; beside each there is white paper."""
    result, fonts = edited("market_bag"), FontBook()
    source = Source(result, MILLIMETRES)
    work = next(one for one in sheet_of(result).pieces if one.piece == "back")
    figures = step_figures(source, work)
    assert figures is not None
    ((figure, _),) = figures.drawn(fonts, ROOM)
    areas = [item for item in figure.scene.items if isinstance(item, Area)]
    hatched = [shapely.Polygon(a.rings[0], a.rings[1:]) for a in areas if a.role is Role.TAPE_ON]
    texts = [item for item in figure.scene.items if isinstance(item, Text)]
    named = [text for text in texts if not re.search(r"\d", text.text)]
    assert hatched and {"top", "old C", "old D"} <= {text.text for text in named}
    for text in named:
        assert not any(area.intersects(box_of(text, fonts)) for area in hatched), text.text


def test_a_figure_whose_rows_are_crowded_has_a_page_of_its_own() -> None:
    """The cap of the shirt's sleeve with 23 rows: 6 mm apart, for letters of 2.3 mm."""
    result = edited("ferry_shirt")
    source = Source(result, MILLIMETRES)
    works = {one.piece: one for one in sheet_of(result).pieces}
    sleeve, back = (step_figures(source, works[name]) for name in ("sleeve", "back"))
    assert sleeve is not None and back is not None
    assert sleeve.is_crowded((182.0, 100.0)) and not sleeve.is_crowded((182.0, 240.0))
    assert not back.is_crowded((182.0, 140.0))
