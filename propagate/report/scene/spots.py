"""Boxes of texts in a drawing, and spots where a text could go."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import shapely

from propagate.values import dataclass

__all__ = ["Boxes", "Spots", "boxes_at", "places_inside", "resting_place", "spots_at"]

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


def resting_place(
    stretch: shapely.LineString, share: float, wide: float, side: float
) -> tuple[Array, Array, float]:
    """Find where a text beside a line begins: on its left (`side` 1) or on its right (-1).

    Returns
    -------
    point : (2,) array
        Off the bulge of the line.
    way : (2,) array
        Unit vector from there to the text.
    angle : float
        Of the text, degrees.
    """
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
    area: shapely.Polygon, middle: Array, angle: float
) -> Iterator[tuple[Array, float]]:
    """Middles and angles to try: the place that is asked for, then around the widest part."""
    own = (angle + 90.0) % 180.0 - 90.0
    yield np.asarray(middle), own
    circle = shapely.maximum_inscribed_circle(area, tolerance=1.0)
    widest = np.asarray(circle.coords[0])
    left, low, right, top = area.bounds
    half = np.array([right - left, top - low]) / 2
    for turn in dict.fromkeys((own, 0.0, 90.0)):
        for around in (np.asarray(middle), widest):
            for along in _HALF_WAYS:
                for aside in _HALF_WAYS:
                    yield around + half * np.array([aside, along]), turn
