"""What is written along the lines of a printed piece: matching numbers, allowances, sizes."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.finish import allowances
from propagate.geometry.polyline import between, length, point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Span
from propagate.pattern.spans import span_ends
from propagate.report.canvas import upright_angle
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.paper import SMALLEST_MM
from propagate.report.printing.placed_piece import PaperPiece
from propagate.report.scene.labels import Labels, box_at
from propagate.report.scene.spots import Boxes, Spots, Taken, spots_beside
from propagate.report.style import INK, PALE, Stroke
from propagate.report.units import Unit, as_printed, say_length

__all__ = ["Written", "allowance_words", "name_line", "number_edges", "write_allowances"]

Array = npt.NDArray[np.float64]
Written = list[tuple[str, Array]]
"""What was written, and where."""

_DISC_MM = 3.0
_DISC = Stroke(INK, 0.25)
_GAPS = (1.6, 2.8, 5.0, 8.0)
_SMALL = 2.6
_INCH_SLACK_MM = 0.1
_FRACTIONS = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.1, 0.9)
_SERVES_MM = 30.0
"""A number or a width this near to the line of another size is not written again."""

_LETTER = 3.4
_EVERY_MM = 170.0
"""One name on about every hand of a page."""
_STEP_MM = 5.0
_WIDEST_MM = 24.0
_BENT_MM = 1.2
"""A name stands where the line leaves its chord by less."""


def allowance_words(mm: float, unit: Unit) -> str:
    """Return A width as it is said: whole millimetres without decimals, inches to 1/16.

    Examples
    --------
    >>> from propagate.report.units import INCHES, MILLIMETRES
    >>> allowance_words(10.0, MILLIMETRES), allowance_words(15.875, INCHES)
    ('10 mm', '5/8 in')
    """
    if unit.name == "mm":
        return f"{round(mm, 1):g} mm"
    if abs(as_printed(mm, unit) - mm) > _INCH_SLACK_MM:
        return unit.said(mm)
    return say_length(mm, unit)


def number_edges(
    canvas: PdfCanvas,
    sized: SizedPiece,
    numbers: Sequence[tuple[Span, int]],
    labels: Labels,
    share: float,
    written: Written,
) -> None:
    """Write the number of each seam in a circle, inside the seam line and near it.

    Not where the circle of another size serves this one too; `written` has those there are.
    Where none of the places is free, a number stands at the first of them.
    """
    inside = shapely.Polygon(sized.outline)
    for span, number in numbers:
        points = between(sized.edge(span.edge).points, *sorted(span_ends(sized, span)))
        own = [(words, at) for words, at in written if inside.contains(shapely.Point(at))]
        if length(points) < 1e-6 or _is_served(points, str(number), own):
            continue
        shares = _shares_near(0.35 + 0.3 * share)
        gaps = [_DISC_MM + gap for gap in _GAPS]
        spots = spots_beside(points, shares, gaps, 2 * _DISC_MM, 1.0)
        found = labels.take(spots, 2.2 * _DISC_MM, 2.2 * _DISC_MM)
        place = spots.centres[found or 0]
        if found is None:
            labels.keep(shapely.Point(place).buffer(_DISC_MM))
        written.append((str(number), place))
        canvas.circle("landmark", place, _DISC_MM, _DISC, "#ffffff")
        canvas.text("label", place, str(number), 3.2 if number < 100 else 2.5, bold=True)


def write_allowances(
    canvas: PdfCanvas,
    piece: PaperPiece,
    size: str,
    unit: Unit,
    labels: Labels,
    share: float,
    written: Written,
) -> None:
    """Write each edge's allowance between its seam line and its cut line.

    Not where that of another size is near (`written` has those there are), nor where there
    is no room.
    """
    sized = piece.sizes[size]
    for edge, width in ((edge, allowances(sized, piece.info)[edge.name]) for edge in sized.edges):
        letter = min(_SMALL, 0.7 * width)
        text = allowance_words(width, unit)
        if letter < SMALLEST_MM or _is_served(edge.points, text, written):
            continue
        wide = canvas.width(text, letter) + letter
        spots = spots_beside(edge.points, _shares_near(0.3 + 0.3 * share), [width / 2], wide, -1.0)
        found = labels.take(spots, wide, letter)
        if found is not None:
            at, angle = spots.centres[found], upright_angle(spots.angles[found])
            canvas.text("label", at, text, letter, angle=angle, colour=PALE, halo=True)
            written.append((text, at))


def _shares_near(place: float) -> list[float]:
    return sorted(_FRACTIONS, key=lambda share: abs(share - place))


def _is_served(points: Array, words: str, written: Written) -> bool:
    line = shapely.LineString(points)
    return any(t == words and line.distance(shapely.Point(at)) < _SERVES_MM for t, at in written)


def name_line(
    canvas: PdfCanvas,
    ring: Array,
    name: str,
    stroke: Stroke,
    labels: Labels,
    share: float,
    others: Sequence[Taken],
) -> None:
    """Write a size on its closed line, again and again, where it is seen which line it is.

    Parameters
    ----------
    ring : (n, 2) array
    stroke : Stroke
        Whose colour the name takes.
    share : float
        Place of the size among those printed, 0 to 1: names of neighbours are staggered.
    others : sequence of Taken
        Lines of the other sizes; a name keeps off them where it can.
    """
    words = canvas.fitted(name, _LETTER, _WIDEST_MM, bold=True)
    wide = canvas.width(words, _LETTER, bold=True) + 1.2
    closed = np.vstack([ring, ring[:1]])
    count = max(round(length(closed) / _EVERY_MM), 1)
    apart = length(closed) / count
    written = 0

    def is_clear(boxes: Boxes) -> npt.NDArray[np.bool_]:
        return ~np.asarray(np.any([one.hits(boxes) for one in others], axis=0))

    for k in range(count):
        want = (k + 0.15 + 0.7 * share) * apart
        spots = _spots_on_line(closed, want, apart / 2, wide)
        found = labels.take(spots, wide, 1.1 * _LETTER, is_clear)
        if found is None:
            found = labels.take(spots, wide, 1.1 * _LETTER)
        if found is not None:
            at, angle = spots.centres[found], float(spots.angles[found])
        elif k < count - 1 or written:
            continue
        else:
            at, angle = point_at(closed, want % length(closed)), 0.0
            labels.keep(box_at(at, angle, wide, 1.1 * _LETTER))
        canvas.text(
            "label", at, words, _LETTER, angle=angle, colour=stroke.colour, bold=True, halo=True
        )
        written += 1


def _spots_on_line(closed: Array, want: float, reach: float, wide: float) -> Spots:
    """Return names on straight enough stretches of a line, the nearest to `want` first."""
    total, found = length(closed), []
    for i in range(int(reach / _STEP_MM) + 1):
        for at in {want + i * _STEP_MM, want - i * _STEP_MM}:
            first, last = ((at + side * wide / 2) % total for side in (-1.0, 1.0))
            a, b, middle = (point_at(closed, d) for d in (first, last, at % total))
            along = b - a
            size = math.hypot(*along)
            aside = abs(float(along[0] * (middle - a)[1] - along[1] * (middle - a)[0]))
            if size >= 0.93 * wide and aside < _BENT_MM * size:
                found.append((*middle, upright_angle(math.degrees(math.atan2(along[1], along[0])))))
    spots = np.array(found).reshape(-1, 3)
    return Spots(spots[:, :2], spots[:, 2], spots[:, :2])
