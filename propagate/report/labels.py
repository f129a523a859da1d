"""Find places for texts so that none lies on another, on a line or across the outline."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.polyline import length, point_at
from propagate.report.canvas import text_width

__all__ = ["Place", "Placer", "box_at"]

Array = npt.NDArray[np.float64]

_FRACTIONS = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88)
_ROWS_OUTSIDE = 40


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
        self.taken: list[shapely.Geometry] = [shapely.LineString(line) for line in lines]
        shapely.prepare(self.inside)
        shapely.prepare(self.outside)

    def take(self, shape: shapely.Geometry) -> None:
        """Keep a place free of texts."""
        self.taken.append(shape)

    def fits(self, centre: npt.ArrayLike, angle: float, width: float, height: float) -> bool:
        """Take a box inside the piece if it is free."""
        box = box_at(np.asarray(centre, dtype=np.float64), angle, width, height)
        if not self.inside.contains_properly(box) or self._hit(box):
            return False
        self.taken.append(box)
        return True

    def along(self, points: Array, text: str, size: float, *, within: bool = False) -> Place | None:
        """Place a text along a stretch of a counter-clockwise outline.

        Inside the piece where there is room, else outside its allowances; `within` gives
        up instead of going outside.
        """
        wide, high = text_width(text, size) + 0.6 * size, size * 1.15
        total = length(points)
        for gap in (0.3, 1.4, 2.6):
            for part in _FRACTIONS:
                place = self._beside(points, total * part, wide, high, gap * size)
                if self.fits(place.centre, place.angle, wide, high):
                    return place
        return None if within else self._outside(points, total, wide, high, size)

    def _beside(
        self, points: Array, at: float, wide: float, high: float, gap: float, side: float = 1.0
    ) -> Place:
        """A box beside a line, a gap from it and parallel to the stretch that it covers."""
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
        centre = middle + inward * (base + gap + high / 2)
        return Place(centre, _upright(math.degrees(math.atan2(along[1], along[0]))))

    def _outside(self, points: Array, total: float, wide: float, high: float, size: float) -> Place:
        place = self._beside(points, total / 2, wide, high, size, side=-1.0)
        for row in range(_ROWS_OUTSIDE):
            for part in _FRACTIONS:
                gap = size * (0.4 + 0.6 * row)
                place = self._beside(points, total * part, wide, high, gap, side=-1.0)
                box = box_at(place.centre, place.angle, wide, high)
                if self.outside.intersects(box) or self._hit(box):
                    continue
                self.taken.append(box)
                anchor = point_at(points, total * part)
                far = math.dist(anchor, place.centre) > 3.0 * size
                return Place(place.centre, place.angle, anchor if far else None)
        return place

    def _hit(self, box: shapely.Polygon) -> bool:
        return any(box.intersects(shape) for shape in self.taken)


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
