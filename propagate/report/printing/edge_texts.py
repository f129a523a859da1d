"""What is written along the edges of a printed piece: matching numbers and allowance widths."""

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
from propagate.report.canvas import Stroke
from propagate.report.labels import Placer, box_at
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.measure import SMALLEST_MM
from propagate.report.printing.placed_piece import PaperPiece
from propagate.report.scene.taken import Taken
from propagate.report.style import INK, PALE
from propagate.report.units import Unit

__all__ = ["allowance_words", "number_edges", "write_allowances"]

Array = npt.NDArray[np.float64]

_DISC_MM = 3.0
_DISC = Stroke(INK, 0.25)
_SMALL = 2.6
_INCH_SLACK_MM = 0.1
_FRACTIONS = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.1, 0.9)
_SERVES_MM = 30.0
"""A number or a width this near to the line of another size is not written again."""


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


def number_edges(
    canvas: PdfCanvas,
    sized: SizedPiece,
    numbers: Sequence[tuple[Span, int]],
    placer: Placer,
    share: float,
    seen: list[tuple[int, Array]],
) -> None:
    """Write the number of each seam in a circle, inside the seam line and near it.

    Not where the circle of another size serves this one too; `seen` has those there are.
    """
    inside = shapely.Polygon(sized.outline)
    for span, number in numbers:
        points = span_points(sized, span)
        if len(points) < 2 or length(points) < 1e-6:
            continue
        line = shapely.LineString(points)
        if any(
            n == number
            and inside.contains(shapely.Point(at))
            and line.distance(shapely.Point(at)) < _SERVES_MM
            for n, at in seen
        ):
            continue
        place = _beside(sized, points, placer, share)
        seen.append((number, place))
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


def write_allowances(
    canvas: PdfCanvas,
    piece: PaperPiece,
    size: str,
    unit: Unit,
    share: float,
    blocked: Sequence[Taken],
    written: list[tuple[str, Array]],
) -> None:
    """Write each edge's allowance between its seam line and its cut line.

    Not where that of another size is near (`written` has those there are), nor where there
    is no room; what is written is added to the first of `blocked`.
    """
    assert canvas.fonts is not None
    sized = piece.sizes[size]
    for edge, width in ((edge, allowances(sized, piece.info)[edge.name]) for edge in sized.edges):
        letter = min(_SMALL, 0.7 * width)
        if letter < SMALLEST_MM:
            continue
        text = allowance_words(width, unit)
        line = shapely.LineString(edge.points)
        if any(t == text and line.distance(shapely.Point(at)) < _SERVES_MM for t, at in written):
            continue
        wide = canvas.fonts.width(text, letter) + letter
        for part in sorted(_FRACTIONS, key=lambda f: abs(f - (0.3 + 0.3 * share))):
            at = edge.length * part
            place = point_at(edge.points, at)
            ahead = point_at(edge.points, at + 2.0) - point_at(edge.points, at - 2.0)
            along = ahead / max(math.hypot(*ahead), 1e-12)
            centre = place + np.array([along[1], -along[0]]) * width / 2
            angle = (math.degrees(math.atan2(along[1], along[0])) + 90.0) % 180.0 - 90.0
            box = box_at(centre, angle, wide, letter)
            if not any(known.hit(box) for known in blocked):
                canvas.text("labels", centre, text, letter, angle=angle, colour=PALE, halo=True)
                blocked[0].add(box)
                written.append((text, centre))
                break
