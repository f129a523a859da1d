"""Draw one piece as it is printed: lines, marks, matching numbers, allowance widths, texts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.finish import allowances
from propagate.geometry.polyline import length, point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Span
from propagate.pattern.spans import span_points
from propagate.report import piece_parts as parts
from propagate.report.canvas import Stroke
from propagate.report.labels import Placer
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.piece_title import write_title
from propagate.report.printing.placed_piece import PaperPiece
from propagate.report.style import CUT, INK, NEST, PALE, SEAM
from propagate.report.units import Unit

__all__ = ["CUT_LINE", "SEAM_LINE", "allowance_words", "draw_piece", "size_layer", "size_strokes"]

Array = npt.NDArray[np.float64]

SEAM_LINE = Stroke(SEAM.colour, 0.5)
CUT_LINE = Stroke(CUT.colour, 0.3)
_THIN = 0.2
_DISC_MM = 3.0
_DISC = Stroke(INK, 0.25)
_SMALL = 2.6
_INCH_SLACK_MM = 0.1
_FRACTIONS = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.1, 0.9)


def size_layer(size: str) -> str:
    """Name of the layer that holds a size."""
    return f"size {size}"


def size_strokes(order: Sequence[str], size: str, several: bool) -> tuple[Stroke, Stroke]:
    """Seam and cut line of a size: its own dashes when several sizes lie on each other."""
    if not several:
        return SEAM_LINE, CUT_LINE
    nest = NEST[list(order).index(size) % len(NEST)]
    return Stroke(nest.colour, _THIN, nest.dash), Stroke(nest.colour, 0.4, nest.dash)


def allowance_words(mm: float, unit: Unit) -> str:
    """A width as it is said: whole millimetres without decimals, inches to 1/16.

    Examples
    --------
    >>> from propagate.report.units import INCHES, MILLIMETRES
    >>> allowance_words(10.0, MILLIMETRES), allowance_words(15.875, INCHES)
    ('10 mm', '5/8 in')
    """
    if unit.name == "mm":
        return f"{round(mm, 1):g} mm"
    nearest = Fraction(round(mm / unit.mm * 16), 16)
    if abs(float(nearest) * unit.mm - mm) > _INCH_SLACK_MM:
        return f"{unit.length(mm)} in"
    whole, part = divmod(nearest, 1)
    return " ".join(str(word) for word in (whole, part) if word) + " in"


def draw_piece(
    canvas: PdfCanvas,
    piece: PaperPiece,
    *,
    order: Sequence[str],
    numbers: Sequence[tuple[Span, int]],
    heading: Sequence[str],
    unit: Unit,
) -> None:
    """Draw a piece in all its sizes.

    Parameters
    ----------
    canvas : PdfCanvas
        Every size is drawn in a group of its own when there are several.
    piece : PaperPiece
    order : sequence of str
        All sizes of the set, which gives each its line.
    numbers : sequence of (Span, int)
        Matching numbers of the piece's spans.
    heading : sequence of str
        Lines of the piece's text, the name first.
    unit : Unit
        Of the allowance widths.
    """
    several = len(piece.sizes) > 1
    taken: list[shapely.Geometry] = []
    inner = shapely.intersection_all([shapely.Polygon(p.outline) for p in piece.sizes.values()])
    for i, (size, sized) in enumerate(piece.sizes.items()):
        with canvas.in_group(size_layer(size) if several else None):
            strokes = size_strokes(order, size, several)
            share = i / max(len(piece.sizes) - 1, 1) if several else 0.5
            _draw_size(canvas, piece, size, strokes, taken)
            placer = _placer(sized, taken)
            if several:
                _name_size(canvas, sized, size, strokes[1], placer, share)
            _number_edges(canvas, sized, numbers, placer, share)
            _write_allowances(canvas, piece, size, unit, share, taken)
            taken = placer.taken
    shown = piece.sizes.get(next(iter(piece.sizes)))
    assert shown is not None
    write_title(canvas, shown, inner, heading, taken)


def _draw_size(
    canvas: PdfCanvas,
    piece: PaperPiece,
    size: str,
    strokes: tuple[Stroke, Stroke],
    taken: list[shapely.Geometry],
) -> None:
    sized = piece.sizes[size]
    seam, cut = strokes
    canvas.line("cut", piece.cuts[size].points, cut, closed=True)
    parts.draw_edges(canvas, sized, seam)
    parts.draw_inner(canvas, sized)
    parts.draw_marks(canvas, sized, allowances(sized, piece.info))
    taken += [shapely.LineString(line) for line in parts.inner_lines(sized)]
    taken += [shapely.Point(drill.point).buffer(2.8) for drill in sized.drills]
    taken += [shapely.Point(mark.point).buffer(2.0) for mark in sized.landmarks]
    if piece.info.fold in sized.edge_names:
        _fold(canvas, sized.edge(str(piece.info.fold)).points, taken)


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


def _name_size(
    canvas: PdfCanvas,
    sized: SizedPiece,
    size: str,
    stroke: Stroke,
    placer: Placer,
    share: float,
) -> None:
    """Write the size on its longest edge, each size at a place of its own."""
    edge = max(sized.edges, key=lambda e: e.length)
    at = edge.length * (0.2 + 0.25 * share)
    place = point_at(edge.points, at)
    ahead = point_at(edge.points, at + 1.0) - point_at(edge.points, at - 1.0)
    angle = (math.degrees(math.atan2(ahead[1], ahead[0])) + 90.0) % 180.0 - 90.0
    letter = 4.0
    canvas.text(
        "labels", place, size, letter, angle=angle, colour=stroke.colour, bold=True, halo=True
    )
    placer.take(shapely.Point(place).buffer(letter * (0.5 + 0.35 * len(size))))


def _number_edges(
    canvas: PdfCanvas,
    sized: SizedPiece,
    numbers: Sequence[tuple[Span, int]],
    placer: Placer,
    share: float,
) -> None:
    """Write the number of each seam in a circle, inside the seam line and near it."""
    for span, number in numbers:
        points = span_points(sized, span)
        if len(points) < 2 or length(points) < 1e-6:
            continue
        place = _beside(sized, points, placer, share)
        canvas.circle("marks", place, _DISC_MM, _DISC, "#ffffff")
        letter = 3.2 if number < 100 else 2.5
        canvas.text("labels", place, str(number), letter, bold=True)


def _beside(sized: SizedPiece, points: Array, placer: Placer, share: float) -> Array:
    """A free place for a circle beside a stretch; the nearest to its middle when none is free."""
    total = length(points)
    inside = shapely.Polygon(sized.outline)
    side = 2.2 * _DISC_MM
    first: Array | None = None
    for gap in (1.6, 2.8, 5.0, 8.0):
        for part in sorted(_FRACTIONS, key=lambda f: abs(f - (0.35 + 0.3 * share))):
            at = total * part
            place = point_at(points, at)
            ahead = point_at(points, min(at + 0.5, total)) - point_at(points, max(at - 0.5, 0.0))
            across = np.array([-ahead[1], ahead[0]]) / max(math.hypot(*ahead), 1e-12)
            if not inside.contains(shapely.Point(place + across * 0.2)):
                across = -across
            centre = np.asarray(place + across * (_DISC_MM + gap))
            if first is None:
                first = centre
            if placer.fits(centre, 0.0, side, side):
                return centre
    assert first is not None
    placer.take(shapely.Point(first).buffer(_DISC_MM))
    return first


def _write_allowances(
    canvas: PdfCanvas,
    piece: PaperPiece,
    size: str,
    unit: Unit,
    share: float,
    taken: list[shapely.Geometry],
) -> None:
    """Write each edge's allowance between its seam line and its cut line."""
    sized = piece.sizes[size]
    widths = allowances(sized, piece.info)
    notches = [shapely.Point(mark.point).buffer(5.0) for mark in sized.landmarks]
    for edge in sized.edges:
        width = widths[edge.name]
        letter = min(_SMALL, 0.6 * width)
        if letter < 1.2:
            continue
        text = allowance_words(width, unit)
        for part in sorted(_FRACTIONS, key=lambda f: abs(f - (0.3 + 0.3 * share))):
            at = edge.length * part
            place = point_at(edge.points, at)
            ahead = point_at(edge.points, at + 2.0) - point_at(edge.points, at - 2.0)
            along = ahead / max(math.hypot(*ahead), 1e-12)
            centre = place + np.array([along[1], -along[0]]) * width / 2
            room = shapely.Point(centre).buffer(letter * (0.5 + 0.3 * len(text)))
            if part == _FRACTIONS[-1] or not any(room.intersects(notch) for notch in notches):
                angle = (math.degrees(math.atan2(along[1], along[0])) + 90.0) % 180.0 - 90.0
                canvas.text("labels", centre, text, letter, angle=angle, colour=PALE, halo=True)
                taken.append(room)
                break
