"""Boxes of texts in a drawing, spots where a text could go, and places that are taken."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.canvas import upright_angle
from propagate.values import dataclass

__all__ = ["Boxes", "Spots", "Taken", "boxes_at", "places_inside", "spots_at", "spots_beside"]

Array = npt.NDArray[np.float64]
Boxes = npt.NDArray[np.object_]
"""Shapes, one for every spot."""

_HALF_WAYS = (0.0, 0.2, -0.2, 0.4, -0.4, 0.6, -0.6, 0.8, -0.8)
_LATE = 24
"""So many places are looked through one by one before the tree is made anew."""


@dataclass(frozen=True, eq=False)
class Spots:
    """Where a text could go, the best first.

    Attributes
    ----------
    centres : (n, 2) array
        Middles of its box.
    angles : (n,) array
        Degrees.
    points : (n, 2) array
        What it is tied to.
    """

    centres: Array
    angles: Array
    points: Array

    @property
    def count(self) -> int:
        """How many."""
        return len(self.angles)


def spots_at(centres: Array, angle: float, point: Array) -> Spots:
    """Return spots of one angle that are tied to one point."""
    count = len(centres)
    return Spots(centres, np.full(count, angle), np.tile(point, (count, 1)))


def boxes_at(centres: Array, angles: Array, wide: float, high: float) -> Boxes:
    """Return the boxes of texts around their middles (n, 2), their angles (n,) in degrees."""
    turns = np.radians(angles)
    along = np.stack([np.cos(turns), np.sin(turns)], axis=1) * wide / 2
    up = np.stack([-np.sin(turns), np.cos(turns)], axis=1) * high / 2
    rings = [-along - up, along - up, along + up, -along + up]
    return np.asarray(shapely.polygons(centres[:, None] + np.stack(rings, axis=1)))


def spots_beside(
    points: Array, shares: Sequence[float], off: npt.ArrayLike, wide: float, side: float
) -> Spots:
    """Return spots beside a line, each tied to its place on it; those of the first distance first.

    Parameters
    ----------
    points : (n, 2) array
    shares : sequence of float
        Places along the line, in parts of its length.
    off : (m,) array
        Distances of the middle of a text from the line, mm.
    wide : float
        mm that the text takes along the line.
    side : float
        On its left (1) or on its right (-1).
    """
    stretch, gaps = shapely.LineString(points), np.asarray(off, dtype=np.float64)
    reach = min(wide, stretch.length) / 2
    at = np.clip(stretch.length * np.asarray(shares), reach, stretch.length - reach)
    ends = shapely.line_interpolate_point(stretch, np.stack([at - reach, at, at + reach]).ravel())
    first, middles, last = shapely.get_coordinates(ends).reshape(3, -1, 2)
    along = last - first
    size = np.hypot(along[:, 0], along[:, 1])[:, None]
    along = np.where(size > 1e-9, along / np.maximum(size, 1e-9), (1.0, 0.0))
    ways = np.stack([-along[:, 1], along[:, 0]], axis=1) * side
    # Off the chord and off the curve, whichever reaches further towards the text.
    bulges = [((part - middles) * ways).sum(axis=1) for part in (first, middles, last)]
    middles = middles + ways * np.max(bulges, axis=0)[:, None]
    angles = np.degrees(np.arctan2(along[:, 1], along[:, 0]))
    on = shapely.get_coordinates(stretch.interpolate(shares, normalized=True))
    return Spots(
        (middles + ways * gaps[:, None, None]).reshape(-1, 2),
        np.tile(angles, len(gaps)),
        np.tile(on, (len(gaps), 1)),
    )


def places_inside(
    area: shapely.Polygon, middle: npt.ArrayLike | None, angle: float
) -> Iterator[Spots]:
    """Tell where a block could go: the place asked for, then around that and the widest part."""
    own = upright_angle(angle)
    around = []
    if middle is not None:
        around.append(np.asarray(middle))
        yield spots_at(around[0][None], own, around[0])
    around.append(np.array(shapely.maximum_inscribed_circle(area, tolerance=1.0).coords[0]))
    left, low, right, top = area.bounds
    half = np.array([right - left, top - low]) / 2
    ways = half * [(aside, along) for along in _HALF_WAYS for aside in _HALF_WAYS]
    centres = np.concatenate([place + ways for place in around])
    for turn in dict.fromkeys((own, 0.0, 90.0)):
        yield spots_at(centres, turn, around[0])


class Taken:
    """Keeps shapes: in a tree, and those that came since then in a list."""

    def __init__(self, shapes: Iterable[shapely.Geometry] = ()) -> None:
        self._shapes = list(shapes)
        self._tree = shapely.STRtree([])

    def add(self, shape: shapely.Geometry) -> None:
        """Keep a place."""
        self._shapes.append(shape)

    def hit(self, shape: shapely.Geometry) -> bool:
        """Whether a shape lies on any of them."""
        return bool(self.hits(np.array([shape]))[0])

    def hits(self, shapes: npt.NDArray[np.object_]) -> npt.NDArray[np.bool_]:
        """Which shapes lie on any of them: an array as long as that of the shapes."""
        known = len(self._tree)
        if len(self._shapes) - known > _LATE + known // 16:
            self._tree = shapely.STRtree(self._shapes)
            known = len(self._shapes)
        found = np.zeros(len(shapes), dtype=bool)
        found[self._tree.query(shapes, predicate="intersects")[0]] = True
        for shape in self._shapes[known:]:
            found |= shapely.intersects(shapes, shape)
        return found
