"""Whether an outline is its own mirror image."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.affinity import affine_transform

from propagate.geometry.arrays import Array

__all__ = ["is_own_mirror_image"]

_ROUND_SHARE = 0.02
"""Where the two principal moments differ by a smaller share, they tell no axis."""


def is_own_mirror_image(outline: Array, within: float) -> bool:
    """Whether an outline lies on itself when it is turned over.

    Parameters
    ----------
    outline : ndarray, shape (n, 2)
        A closed line, mm, its start not repeated.
    within : float
        How far it may lie off itself, mm.

    Notes
    -----
    A mirror line of an area passes through its centroid along a principal axis of its second
    moments (mechanics of plane areas); where these are alike all around, as in a square, the sides
    and diagonals of the least rectangle around it are tried as well.
    """
    area = shapely.Polygon(outline)
    if not area.is_valid or area.area <= 0.0:
        return False
    rim = area.exterior
    middle = np.array(area.centroid.coords[0])
    for angle in _find_axes(outline - middle):
        cos, sin = math.cos(2 * angle), math.sin(2 * angle)
        x, y = middle
        shift = x - cos * x - sin * y, y - sin * x + cos * y
        turned = affine_transform(rim, [cos, sin, sin, -cos, *shift])
        if float(shapely.hausdorff_distance(rim, turned)) <= within:
            return True
    return False


def _find_axes(points: Array) -> Iterator[float]:
    """Directions, radians, along which an area around the origin may be mirrored."""
    x, y = points.T
    x2, y2 = np.roll(x, -1), np.roll(y, -1)
    cross = x * y2 - x2 * y
    xx = float((cross * (x * x + x * x2 + x2 * x2)).sum()) / 12
    yy = float((cross * (y * y + y * y2 + y2 * y2)).sum()) / 12
    xy = float((cross * (x * y2 + 2 * x * y + 2 * x2 * y2 + x2 * y)).sum()) / 24
    main = 0.5 * math.atan2(2 * xy, xx - yy)
    yield main
    yield main + 0.5 * math.pi
    if math.hypot(xx - yy, 2 * xy) <= _ROUND_SHARE * abs(xx + yy):
        box = np.array(shapely.MultiPoint(points).minimum_rotated_rectangle.exterior.coords)
        side = box[1] - box[0]
        for step in range(4):
            yield math.atan2(side[1], side[0]) + step * 0.25 * math.pi
