"""Draw one piece as it is printed: lines, marks, matching numbers, allowance widths, texts."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.finish import allowances
from propagate.geometry.polyline import length, point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Span
from propagate.report import piece_parts as parts
from propagate.report.canvas import Stroke
from propagate.report.labels import Placer
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.edge_texts import number_edges, write_allowances
from propagate.report.printing.pages_under import Pages
from propagate.report.printing.piece_title import write_title
from propagate.report.printing.placed_piece import PaperPiece
from propagate.report.printing.size_names import name_line
from propagate.report.style import CUT, INK, NEST, SEAM
from propagate.report.units import Unit

__all__ = ["CUT_LINE", "SEAM_LINE", "draw_piece", "size_layer", "size_strokes"]

Array = npt.NDArray[np.float64]

SEAM_LINE = Stroke(SEAM.colour, 0.5)
CUT_LINE = Stroke(CUT.colour, 0.3)
_THIN = 0.25
_SAME_FOLD_MM = 0.5


def size_layer(size: str) -> str:
    """Name of the layer that holds a size."""
    return f"size {size}"


def size_strokes(order: Sequence[str], size: str, several: bool) -> tuple[Stroke, Stroke]:
    """Seam and cut line of a size: its own dashes when several sizes lie on each other."""
    if not several:
        return SEAM_LINE, CUT_LINE
    nest = NEST[list(order).index(size) % len(NEST)]
    return (
        Stroke(nest.colour, SEAM_LINE.width, nest.dash),
        Stroke(nest.colour, _THIN, nest.dash),
    )


def draw_piece(
    canvas: PdfCanvas,
    piece: PaperPiece,
    *,
    order: Sequence[str],
    numbers: Sequence[tuple[Span, int]],
    heading: Sequence[str],
    unit: Unit,
    pages: Pages | None = None,
) -> None:
    """Draw a piece in all its sizes.

    Parameters
    ----------
    canvas : PdfCanvas
        Every size is drawn in a group of its own when there are several.  What sizes share
        (grain, fold, matching numbers, allowance widths) is drawn once and belongs to none.
    piece : PaperPiece
    order : sequence of str
        All sizes of the set, which gives each its line.
    numbers : sequence of (Span, int)
        Matching numbers of the piece's spans.
    heading : sequence of str
        Lines of the piece's text, the name first.
    unit : Unit
        Of the allowance widths.
    pages : Pages or None
        The pages that the piece goes over.
    """
    pages = pages or Pages()
    several = len(piece.sizes) > 1
    taken: list[shapely.Geometry] = list(pages.names)
    inner = shapely.intersection_all([shapely.Polygon(p.outline) for p in piece.sizes.values()])
    for size in piece.sizes:
        with canvas.in_group(size_layer(size) if several else None):
            _draw_size(canvas, piece, size, size_strokes(order, size, several), several)
    lead = piece.sizes[_lead(piece, order)]
    parts.draw_grain(canvas, lead)
    _draw_fold(canvas, piece, lead, taken)
    _keep_off_marks(piece, lead, taken)
    seen: list[tuple[int, Array]] = []
    for i, sized in enumerate(piece.sizes.values()):
        share = i / (len(piece.sizes) - 1) if several else 0.5
        number_edges(canvas, sized, numbers, _placer(sized, taken), share, seen)
    written: list[tuple[str, Array]] = []
    for i, size in enumerate(piece.sizes):
        share = i / (len(piece.sizes) - 1) if several else 0.5
        write_allowances(canvas, piece, size, unit, share, taken, written)
    if several:
        _name_sizes(canvas, piece, order, taken)
    write_title(canvas, lead, inner, heading, taken, (pages.alone, pages.whole))


def _lead(piece: PaperPiece, order: Sequence[str]) -> str:
    """The size whose grain and title stand for all: the middle one of those printed."""
    sizes = sorted(piece.sizes, key=list(order).index)
    return sizes[(len(sizes) - 1) // 2]


def _draw_size(
    canvas: PdfCanvas,
    piece: PaperPiece,
    size: str,
    strokes: tuple[Stroke, Stroke],
    several: bool,
) -> None:
    sized = piece.sizes[size]
    seam, cut = strokes
    canvas.line("cut", piece.cuts[size].points, cut, closed=True)
    parts.draw_edges(canvas, sized, seam)
    own = Stroke(cut.colour, cut.width, cut.dash) if several else None
    parts.draw_inner(canvas, sized, own, grain=False)
    parts.draw_marks(canvas, sized, allowances(sized, piece.info))


def _keep_off_marks(piece: PaperPiece, lead: SizedPiece, taken: list[shapely.Geometry]) -> None:
    for sized in piece.sizes.values():
        lines = parts.inner_lines(sized)
        grain = len(sized.lines)
        taken += [
            shapely.LineString(line) for i, line in enumerate(lines) if i != grain or sized is lead
        ]
        taken += [shapely.Point(drill.point).buffer(2.8) for drill in sized.drills]
        taken += [shapely.Point(mark.point).buffer(2.0) for mark in sized.landmarks]


def _draw_fold(
    canvas: PdfCanvas, piece: PaperPiece, lead: SizedPiece, taken: list[shapely.Geometry]
) -> None:
    """Once where the sizes are folded on one line, else in every size."""
    fold = piece.info.fold
    if fold not in lead.edge_names:
        return
    own = lead.edge(fold).points
    line = shapely.LineString([own[0] + 99 * (own[0] - own[-1]), own[-1] + 99 * (own[-1] - own[0])])
    _fold(canvas, own, taken)
    for size, sized in piece.sizes.items():
        points = sized.edge(fold).points
        if sized is not lead and line.distance(shapely.Point(points[0])) > _SAME_FOLD_MM:
            with canvas.in_group(size_layer(size)):
                _fold(canvas, points, taken)


def _name_sizes(
    canvas: PdfCanvas, piece: PaperPiece, order: Sequence[str], taken: list[shapely.Geometry]
) -> None:
    """Every size on its cut line, off the lines of the others where that can be."""
    rings = {size: np.asarray(cut.points) for size, cut in piece.cuts.items()}
    lines = {size: shapely.LinearRing(ring) for size, ring in rings.items()}
    seams = {size: shapely.LinearRing(sized.outline) for size, sized in piece.sizes.items()}
    for i, (size, ring) in enumerate(rings.items()):
        others = [line for known in (lines, seams) for s, line in known.items() if s != size]
        for other in others:
            shapely.prepare(other)
        stroke = size_strokes(order, size, True)[1]
        with canvas.in_group(size_layer(size)):
            name_line(canvas, ring, size, stroke, i / (len(rings) - 1), others, taken)


def _placer(sized: SizedPiece, taken: list[shapely.Geometry]) -> Placer:
    outline = shapely.Polygon(sized.outline)
    placer = Placer(outline.buffer(-0.4), outline)
    placer.taken = taken
    return placer


def _fold(canvas: PdfCanvas, points: Array, taken: list[shapely.Geometry]) -> None:
    """Arrows from inside the piece that point to the fold of the cloth, and the words."""
    total = length(points)
    reach, depth = min(0.32 * total, 120.0), min(14.0, total / 6)
    ends = [point_at(points, total / 2 - reach), point_at(points, total / 2 + reach)]
    along = (ends[1] - ends[0]) / math.dist(*ends)
    inward = np.array([-along[1], along[0]]) * depth
    feet = [end + inward for end in ends]
    line = Stroke(INK, 0.4)
    canvas.line("inner", [ends[0], feet[0], feet[1], ends[1]], line)
    for end in ends:
        head = min(4.0, depth / 2)
        back = end + inward / depth * head
        side = along * head * 0.3
        canvas.shape("inner", [[end, back + side, back - side]], INK)
    angle = (math.degrees(math.atan2(along[1], along[0])) + 90.0) % 180.0 - 90.0
    size = min(4.0, depth * 0.4)
    middle = (feet[0] + feet[1]) / 2
    canvas.text("labels", middle, "on the fold", size, angle=angle, halo=True)
    taken.append(shapely.LineString(feet).buffer(size * 0.7))
