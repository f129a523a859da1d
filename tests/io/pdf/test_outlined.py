"""Lines whose strokes were made outlines are read along their middle."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import shapely

from propagate.io.drawn_lines import DrawnSheet
from propagate.io.options import ReadOptions
from propagate.io.pdf.read import read_sheet_of_pdf
from propagate.io.report import ReadingLine, ReportNotes
from tests.io.pdf.drafts import plain_pdf
from tests.shared import demo

WIDTH = 0.4
MM = 72 / 25.4


def fill_outlines(lines: Sequence[shapely.Geometry], cap: str = "flat") -> str:
    """Each line as the area that a pen runs over, by shapely; filled by the even-odd rule."""
    words = []
    for line in lines:
        area = line.buffer(WIDTH / 2, cap_style=cap, join_style="mitre")
        for ring in (area.exterior, *area.interiors):
            (x, y), *rest = (shapely.get_coordinates(ring)[:-1] * MM).tolist()
            words.append(f"{x:.4f} {y:.4f} m")
            words += [f"{a:.4f} {b:.4f} l" for a, b in rest] + ["h"]
        words.append("f*")
    return "\n".join(words)


def read(tmp_path: Path, content: str) -> tuple[DrawnSheet, tuple[ReadingLine, ...]]:
    file = plain_pdf(content, tmp_path / "outlined.pdf", box=(0, 0, 12000, 12000))
    notes = ReportNotes()
    return read_sheet_of_pdf([file], ReadOptions(), notes), notes.lines


def assert_lines(sheet: DrawnSheet, lines: Sequence[shapely.Geometry]) -> None:
    assert len(sheet.lines) == len(lines)
    figures = [shapely.LineString(line.chain.points) for line in sheet.lines]
    for line in lines:
        found = min(figures, key=lambda one: one.hausdorff_distance(line))
        dense = shapely.segmentize(found, 0.5), shapely.segmentize(line, 0.5)
        assert dense[0].hausdorff_distance(dense[1]) < 0.02
    for one in sheet.lines:
        assert not one.look.filled and one.look.width == pytest.approx(WIDTH, abs=0.01)


@pytest.mark.parametrize("name", ["workshop_gilet", "market_bag", "scoop_skirt"])
def test_rings(name: str, tmp_path: Path) -> None:
    pattern = demo(name)
    rings, x = [], 20.0
    for piece in pattern.pieces.values():
        points = piece.at(pattern.base).outline
        points = points - points.min(axis=0) + (x, 20.0)
        x = points[:, 0].max() + 20.0
        rings.append(shapely.LinearRing(points))
    sheet, told = read(tmp_path, fill_outlines(rings))
    assert_lines(sheet, rings)
    assert all(line.chain.closed for line in sheet.lines)
    assert any("narrow areas" in line.text for line in told)


def test_bands_that_bend(tmp_path: Path) -> None:
    turn = np.linspace(0, np.pi / 2, 40)
    curve = np.column_stack([30 + 120 * np.cos(turn), 30 + 120 * np.sin(turn)])
    hook = np.array([[200.0, 30.0], [300.0, 40.0], [290.0, 140.0], [220.0, 140.0]])
    wave = np.column_stack([np.linspace(30, 200, 60), 200 + 15 * np.sin(np.linspace(0, 6, 60))])
    lines = [shapely.LineString(points) for points in (curve, hook, wave)]
    sheet, told = read(tmp_path, fill_outlines(lines))
    assert_lines(sheet, lines)
    assert not [line for line in told if "as thin as lines" in line.text]


def test_bands_with_other_ends_are_told(tmp_path: Path) -> None:
    """Round ends have no corners to tell the sides by."""
    turn = np.linspace(0, np.pi / 2, 40)
    arcs = [
        np.column_stack([30 + r * np.cos(turn), 30 + r * np.sin(turn)]) for r in range(60, 130, 10)
    ]
    _, told = read(tmp_path, fill_outlines([shapely.LineString(arc) for arc in arcs], "round"))
    (warning,) = (line for line in told if "as thin as lines" in line.text)
    assert warning.kind == "warning" and warning.text.startswith("7 areas")


def test_areas_that_are_no_lines_stay(tmp_path: Path) -> None:
    """Two boxes 3 mm apart, and a leaf that is thin at its ends alone."""
    leaf = shapely.Point(100, 100).buffer(60).intersection(shapely.Point(180, 100).buffer(60))
    words = []
    for ring in (shapely.box(300, 300, 400, 400), shapely.box(303, 303, 397, 397), leaf):
        (x, y), *rest = (shapely.get_coordinates(ring.exterior)[:-1] * MM).tolist()
        words += [f"{x:.4f} {y:.4f} m", *(f"{a:.4f} {b:.4f} l" for a, b in rest), "f"]
    sheet, _ = read(tmp_path, "\n".join(words))
    assert [line.look.filled for line in sheet.lines] == [True] * 3
