"""Boxes of texts in a drawing, and spots where a text could go."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.values import dataclass

__all__ = ["Boxes", "Spots", "boxes_at", "places_inside", "spots_at", "spots_beside"]

Array = npt.NDArray[np.float64]
Boxes = npt.NDArray[np.object_]
"""Shapes, one for every spot."""

_HALF_WAYS = (0.0, 0.2, -0.2, 0.4, -0.4, 0.6, -0.6, 0.8, -0.8)


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
    """Spots of one angle that are tied to one point."""
    count = len(centres)
    return Spots(centres, np.full(count, angle), np.tile(point, (count, 1)))


def boxes_at(centres: Array, angles: Array, wide: float, high: float) -> Boxes:
    """The boxes of texts around their middles (n, 2), their angles (n,) in degrees."""
    turns = np.radians(angles)
    along = np.stack([np.cos(turns), np.sin(turns)], axis=1) * wide / 2
    up = np.stack([-np.sin(turns), np.cos(turns)], axis=1) * high / 2
    rings = [-along - up, along - up, along + up, -along + up]
    return np.asarray(shapely.polygons(centres[:, None] + np.stack(rings, axis=1)))


def spots_beside(
    points: Array, shares: Sequence[float], off: npt.ArrayLike, wide: float, side: float
) -> Spots:
    """Spots beside a line, each tied to its place on it; those of the first distance first.

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
    rests = [_resting_place(stretch, share, wide, side) for share in shares]
    middles, ways, angles = (np.array(part) for part in zip(*rests, strict=True))
    on = shapely.get_coordinates(stretch.interpolate(shares, normalized=True))
    return Spots(
        (middles + ways * gaps[:, None, None]).reshape(-1, 2),
        np.tile(angles, len(gaps)),
        np.tile(on, (len(gaps), 1)),
    )


def _resting_place(
    stretch: shapely.LineString, share: float, wide: float, side: float
) -> tuple[Array, Array, float]:
    """Where a text beside a line begins, off its bulge; the unit vector to it; its angle."""
    total = stretch.length
    reach = min(wide, total) / 2
    at = min(max(total * share, reach), total - reach)
    first, middle, last = (
        np.array(stretch.interpolate(place).coords[0]) for place in (at - reach, at, at + reach)
    )
    along = last - first
    size = math.hypot(*along)
    along = along / size if size > 1e-9 else np.array([1.0, 0.0])
    inward = np.array([-along[1], along[0]]) * side
    # Off the chord and off the curve, whichever reaches further towards the text.
    bulge = max(float((p - middle) @ inward) for p in (first, middle, last))
    return middle + inward * bulge, inward, math.degrees(math.atan2(along[1], along[0]))


def places_inside(
    area: shapely.Polygon, middle: npt.ArrayLike | None, angle: float
) -> Iterator[Spots]:
    """Where a block could go: the place asked for, then around that and the widest part."""
    own = (angle + 90.0) % 180.0 - 90.0
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
