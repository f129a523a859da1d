"""The text of a piece: its name, size, cutting and set, where there is room for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np
import numpy.typing as npt
import shapely

from propagate.pattern.model import SizedPiece
from propagate.report.labels import Placer, box_at
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.measure import SMALLEST_MM
from propagate.report.scene.taken import Taken

__all__ = ["write_title"]

Array = npt.NDArray[np.float64]

_SIZES = (8.0, 6.5, 5.0, 4.0, 3.2, 2.6, 2.2)
_OTHER = 0.6
"""Size of the other lines in parts of the name's."""
_Line = tuple[str, bool]
"""A line and whether it belongs to the name."""
_STEPS = (0.0, 0.25, -0.25, 0.5, -0.5, 0.75, -0.75)


def write_title(
    canvas: PdfCanvas,
    piece: SizedPiece,
    inner: shapely.Geometry,
    lines: Sequence[str],
    blocked: Sequence[Taken],
    pages: Sequence[Sequence[shapely.Geometry]] = (),
) -> None:
    """Write lines, the first one bold, as large as there is room; shortened if they must be.

    Parameters
    ----------
    canvas : PdfCanvas
    piece : SizedPiece
    inner : shapely geometry
        The area that every printed size covers.
    lines : sequence of str
    blocked : sequence of Taken
        What the text may not lie on; it is added to the first.
    pages : sequence of sequences of shapely geometries
        Areas that the text had better lie in one of, the best first: those of the pages.
    """
    area = max(shapely.get_parts(inner), key=lambda part: part.area, default=inner)
    if area.is_empty:
        area = shapely.Polygon(piece.outline)
    placer = Placer(area.buffer(-1.0), blocked[0], blocked[1:])
    places = list(_places(piece, area))
    tries = [(lines, size, wanted) for wanted, size in product((*pages, ()), _SIZES)]
    tries += [(lines[:n], size, ()) for n in (3, 2, 1) for size in _SIZES[-3:]]
    for shown, size, wanted in tries:
        fitted = _fitted(canvas, shown, size, _widest(area))
        wide, tall = _width(canvas, fitted, size), _height(fitted, size)
        for centre, angle in places:
            box = box_at(centre, angle, wide, tall)
            if wanted and not any(page.contains(box) for page in wanted):
                continue
            if placer.fits(centre, angle, wide, tall):
                _write(canvas, fitted, size, centre, angle)
                return
    _force(canvas, piece, lines[0], places)


def _force(
    canvas: PdfCanvas, piece: SizedPiece, name: str, places: Sequence[tuple[Array, float]]
) -> None:
    """On a piece without any room: small, across what is there but the grain where that can be."""
    grain = shapely.LineString([piece.grain.start, piece.grain.end])
    outline = shapely.Polygon(piece.outline)
    fitted = _fitted(canvas, [name], SMALLEST_MM, 40.0)
    wide, tall = _width(canvas, fitted, SMALLEST_MM), _height(fitted, SMALLEST_MM)
    boxes = ((place, box_at(*place, wide, tall)) for place in places)
    free = (place for place, box in boxes if outline.contains(box) and not box.intersects(grain))
    _write(canvas, fitted, SMALLEST_MM, *next(free, places[0]))


def _places(piece: SizedPiece, area: shapely.Geometry) -> Iterator[tuple[Array, float]]:
    """Middles and angles to try: the label's own, then the widest part of the piece."""
    angles = [0.0, 90.0]
    if piece.label is not None:
        own = (piece.label.angle + 90.0) % 180.0 - 90.0
        angles = list(dict.fromkeys([own, *angles]))
        yield np.asarray(piece.label.point), own
    circle = shapely.maximum_inscribed_circle(area, tolerance=1.0)
    middle = np.asarray(circle.coords[0])
    half = np.ptp(np.asarray(area.envelope.exterior.coords), axis=0) / 2
    for angle in angles:
        for along in _STEPS:
            for aside in _STEPS:
                yield middle + half * np.array([aside * 0.8, along * 0.8]), angle


def _widest(area: shapely.Geometry) -> float:
    """A width that a line of the title should not go beyond, mm."""
    left, bottom, right, top = area.bounds
    return float(max(min(max(right - left, top - bottom) * 0.6, 180.0), 15.0))


def _fitted(canvas: PdfCanvas, lines: Sequence[str], size: float, room: float) -> list[_Line]:
    """The name on two lines at most, every other line on one."""
    assert canvas.fonts is not None
    name = canvas.fonts.in_lines(lines[0], size, room, 2, bold=True) or [""]
    others = [canvas.fonts.fitted(line, _small(size), room) for line in lines[1:]]
    return [(line, True) for line in name] + [(line, False) for line in others]


def _small(size: float) -> float:
    """Size of the lines below a name of some size."""
    return max(size * _OTHER, SMALLEST_MM)


def _pitch(line: _Line, size: float) -> float:
    return size * 1.25 if line[1] else _small(size) * 1.4


def _height(lines: Sequence[_Line], size: float) -> float:
    return sum(_pitch(line, size) for line in lines)


def _width(canvas: PdfCanvas, lines: Sequence[_Line], size: float) -> float:
    assert canvas.fonts is not None
    return max(
        canvas.fonts.width(text, size if is_name else _small(size), bold=is_name)
        for text, is_name in lines
    )


def _write(
    canvas: PdfCanvas, lines: Sequence[_Line], size: float, centre: Array, angle: float
) -> None:
    turn = np.radians(angle)
    down = np.array([np.sin(turn), -np.cos(turn)])
    y = -_height(lines, size) / 2
    for line in lines:
        step = _pitch(line, size)
        place = centre + down * (y + step / 2)
        text, is_name = line
        letter = size if is_name else _small(size)
        canvas.text("labels", place, text, letter, angle=angle, bold=is_name, halo=True)
        y += step
