"""Lines drawn in strokes, each of which begins where another one ends, are one line each."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

from propagate.io.begin import read_style
from propagate.io.drawn_lines import DrawnSheet
from propagate.io.options import ReadOptions
from propagate.io.pdf.read import read_sheet_of_pdf
from propagate.io.report import ReportNotes
from tests.effort import calls_of
from tests.io.pdf.drafts import Draft, DraftLine, by_reportlab
from tests.shared import demo

SIZES = ("84", "96", "110")
BLACK = (0.0, 0.0, 0.0)


def draw_rings(each: float) -> Draft:
    """The outlines of a demo set in three sizes, a layer for each, in strokes of about a length."""
    pattern = demo("workshop_gilet")
    lines, x = [], 20.0
    for piece in pattern.pieces.values():
        for size in SIZES:
            ring = shapely.LinearRing(piece.at(size).outline)
            ring = shapely.affinity.translate(ring, x - ring.bounds[0], 20.0 - ring.bounds[1])
            points = np.round(shapely.get_coordinates(shapely.segmentize(ring, each)), 3)
            strokes = [points[i : i + 2] for i in range(len(points) - 1)]
            lines += [DraftLine(stroke, BLACK, (), size) for stroke in strokes]
        x += 20.0 + np.ptp(piece.at(SIZES[-1]).outline[:, 0])
    return Draft(tuple(lines), (x + 300.0, 1200.0))


def read_lines(draft: Draft, file: Path) -> DrawnSheet:
    return read_sheet_of_pdf(
        [by_reportlab(draft, file, layered=True)], ReadOptions(), ReportNotes()
    )


def test_strokes_make_the_outlines_in_whatever_order_they_are_drawn_and_how_often(
    tmp_path: Path,
) -> None:
    draft = draw_rings(8.0)
    order = np.random.default_rng(3).permutation(len(draft.lines))
    turned = tuple(
        replace(draft.lines[i], points=draft.lines[i].points[:: 1 if k % 2 else -1])
        for k, i in enumerate(order.tolist())
    )
    pattern = demo("workshop_gilet")
    outlines = []
    for number, lines in enumerate((draft.lines, turned, draft.lines + turned)):
        sheet = read_lines(replace(draft, lines=lines), tmp_path / f"{number}.pdf")
        assert len(sheet.lines) == len(pattern.pieces) * len(SIZES)
        for size in SIZES:
            found = sorted(line.chain.length for line in sheet.lines if line.layer == size)
            rings = (shapely.LinearRing(p.at(size).outline) for p in pattern.pieces.values())
            assert np.allclose(found, sorted(ring.length for ring in rings), atol=0.02)
        assert all(line.chain.closed for line in sheet.lines)
        outlines.append({(line.layer, line.chain.text()) for line in sheet.lines})
    assert outlines[0] == outlines[1] == outlines[2]


def test_the_effort_grows_with_the_strokes_and_no_faster(tmp_path: Path) -> None:
    """Without that a page of 7,500 strokes took more than ten seconds."""
    calls = []
    for number, each in enumerate((8.0, 2.0)):
        draft = draw_rings(each)
        file = by_reportlab(draft, tmp_path / f"{number}.pdf", layered=True)
        calls.append((calls_of(lambda file=file: read_style([file])), len(draft.lines)))
    (few, fewer), (many, more) = calls
    assert more > 3 * fewer and many / few <= 1.1 * more / fewer


def test_few_strokes_stay_what_they_are(tmp_path: Path) -> None:
    """An edge, an arrow or a notch is drawn in a few."""
    points = np.array([[20.0 + 10 * i, 20.0 + i * i] for i in range(12)])
    strokes = tuple(DraftLine(points[i : i + 2], BLACK, (), "1") for i in range(11))
    sheet = read_lines(Draft(strokes, (200.0, 200.0)), tmp_path / "few.pdf")
    assert len(sheet.lines) == 11
