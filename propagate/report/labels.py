"""Find places for texts so that none lies on another, on a line or across the outline."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.polyline import length, point_at
from propagate.report.canvas import text_width
from propagate.values import dataclass

__all__ = ["Place", "Placer", "box_at"]

Array = npt.NDArray[np.float64]

_FRACTIONS = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88)
_ROWS_OUTSIDE = 40
MOST_TRIES = 40_000
"""Boxes that are tried in one picture; beyond that there is no room that could be read."""
_CELL_MM = 25.0
_MOST_CELLS = 64


@dataclass(frozen=True)
class Place:
    """Where a text goes: the middle of its box, its angle in degrees, where it points to.

    `leader` is the point that a far text is tied to; None when it lies at its line.
    """

    centre: Array
    angle: float
    leader: Array | None = None


class Placer:
    """Keeps what is taken and finds free places.

    Parameters
    ----------
    inside : polygon
        The piece; texts inside stay off its outline.
    outside : polygon
        The piece with its allowances; texts outside stay off it.
    lines : iterable of (n, 2) arrays
        Lines that no text may lie across.
    """

    def __init__(
        self,
        inside: shapely.Polygon,
        outside: shapely.Geometry,
        lines: Iterable[npt.ArrayLike] = (),
    ) -> None:
        self.inside, self.outside = inside, outside
        self.tries = 0
        self.taken: list[shapely.Geometry] = [shapely.LineString(line) for line in lines]
        self._grid = _Grid()
        shapely.prepare(self.inside)
        shapely.prepare(self.outside)

    def take(self, shape: shapely.Geometry) -> None:
        """Keep a place free of texts."""
        self.taken.append(shape)

    def fits(self, centre: npt.ArrayLike, angle: float, width: float, height: float) -> bool:
        """Take a box inside the piece if it is free."""
        box = box_at(np.asarray(centre, dtype=np.float64), angle, width, height)
        self.tries += 1
        if not self.inside.contains_properly(box) or self._hit(box):
            return False
        self.take(box)
        return True

    def along(self, points: Array, text: str, size: float, *, within: bool = False) -> Place | None:
        """Place a text along a stretch of a counter-clockwise outline.

        Inside the piece where there is room, else outside its allowances; `within` gives
        up instead of going outside.  After `MOST_TRIES` no text is placed any more, so that
        a drawing with thousands of marks takes no longer than one with hundreds.
        """
        if self.tries >= MOST_TRIES:
            return None
        wide, high = text_width(text, size) + 0.6 * size, size * 1.15
        total = length(points)
        rests = [_resting(points, total * part, wide, 1.0) for part in _FRACTIONS]
        for gap in (0.3, 1.4, 2.6):
            for rest in rests:
                place = rest.at(gap * size, high)
                if self.fits(place.centre, place.angle, wide, high):
                    return place
        return None if within else self._outside(points, total, wide, high, size)

    def _outside(self, points: Array, total: float, wide: float, high: float, size: float) -> Place:
        rests = [_resting(points, total * part, wide, -1.0) for part in _FRACTIONS]
        for row in range(_ROWS_OUTSIDE):
            for part, rest in zip(_FRACTIONS, rests, strict=True):
                place = rest.at(size * (0.4 + 0.6 * row), high)
                box = box_at(place.centre, place.angle, wide, high)
                self.tries += 1
                if self.outside.intersects(box) or self._hit(box):
                    continue
                self.take(box)
                anchor = point_at(points, total * part)
                far = math.dist(anchor, place.centre) > 3.0 * size
                return Place(place.centre, place.angle, anchor if far else None)
        return place

    def _hit(self, box: shapely.Polygon) -> bool:
        """Whether a box lies on what is taken; others may have added to that."""
        for shape in self.taken[self._grid.known :]:
            self._grid.add(shape)
        return self._grid.hit(box)


@dataclass(frozen=True)
class _Rest:
    """A stretch of a line that a text is to lie beside, parallel to it."""

    middle: Array
    inward: Array
    base: float
    angle: float

    def at(self, gap: float, high: float) -> Place:
        """A place a gap away from the line."""
        return Place(self.middle + self.inward * (self.base + gap + high / 2), self.angle)


def _resting(points: Array, at: float, wide: float, side: float) -> _Rest:
    total = length(points)
    reach = min(wide, total) / 2
    at = min(max(at, reach), total - reach)
    first, last = point_at(points, at - reach), point_at(points, at + reach)
    middle = point_at(points, at)
    along = last - first
    size = math.hypot(*along)
    along = along / size if size > 1e-9 else np.array([1.0, 0.0])
    inward = np.array([-along[1], along[0]]) * side
    # Off the chord and off the curve, whichever reaches further towards the box.
    base = max(float((p - middle) @ inward) for p in (first, middle, last))
    return _Rest(middle, inward, base, _upright(math.degrees(math.atan2(along[1], along[0]))))


class _Grid:
    """Places that are taken, found by where they are: small ones in cells of a grid."""

    def __init__(self) -> None:
        self.known = 0
        self._cells: dict[tuple[int, int], list[shapely.Geometry]] = {}
        self._wide: list[shapely.Geometry] = []
        self._tree: shapely.STRtree | None = None

    def add(self, shape: shapely.Geometry) -> None:
        """Keep a place."""
        self.known += 1
        cells = _cells(shape)
        if cells is None:
            self._wide.append(shape)
            self._tree = None
            return
        for cell in cells:
            self._cells.setdefault(cell, []).append(shape)

    def hit(self, box: shapely.Polygon) -> bool:
        """Whether a box lies on any of them."""
        if self._wide:
            self._tree = self._tree or shapely.STRtree(self._wide)
            if len(self._tree.query(box, predicate="intersects")):
                return True
        cells = _cells(box)
        lists = self._cells.values() if cells is None else map(self._cells.get, cells)
        return any(box.intersects(shape) for near in lists for shape in near or ())


def _cells(shape: shapely.Geometry) -> list[tuple[int, int]] | None:
    """Cells of the grid that the box around a shape touches; None when they are many."""
    if shape.is_empty:
        return []
    left, low, right, top = (math.floor(value / _CELL_MM) for value in shape.bounds)
    if (right - left + 1) * (top - low + 1) > _MOST_CELLS:
        return None
    return [(x, y) for x in range(left, right + 1) for y in range(low, top + 1)]


def _upright(angle: float) -> float:
    """The same direction of a line, so that a text on it can be read."""
    turned = (angle + 90.0) % 180.0 - 90.0
    return 90.0 if turned == -90.0 else turned


def box_at(centre: Array, angle: float, wide: float, high: float) -> shapely.Polygon:
    """Return the box of a text around its middle, its angle in degrees."""
    turn = math.radians(angle)
    along = np.array([math.cos(turn), math.sin(turn)]) * wide / 2
    up = np.array([-math.sin(turn), math.cos(turn)]) * high / 2
    return shapely.Polygon(
        [centre - along - up, centre + along - up, centre + along + up, centre - along + up]
    )
