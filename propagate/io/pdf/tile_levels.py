"""What lines of two pages say of each other before their ends are compared, and after."""

from __future__ import annotations

import numpy as np
import shapely

from propagate.geometry.arrays import Array
from propagate.values import dataclass

__all__ = ["Crossed", "Levels", "count_misses", "find_levels"]


@dataclass(frozen=True, eq=False)
class Crossed:
    """Segments that a line along an axis may cross, as columns: where they run across it and along.

    Attributes
    ----------
    first, rise : (m,) arrays
        Where a segment begins across the axis, and how far it runs that way.
    start, run : (m,) arrays
        The same along the axis.
    low, high : (m,) arrays
        From where to where across the axis it is met.
    """

    first: Array
    rise: Array
    start: Array
    run: Array
    low: Array
    high: Array


@dataclass(frozen=True, eq=False)
class Levels:
    """Where across an axis anything is drawn: stretches in rising order, apart from one another."""

    low: Array
    high: Array

    def has(self, values: Array) -> Array:
        """Whether each value lies in a stretch, as 1 or 0."""
        if not len(self.low):
            return np.zeros(len(values))
        at = np.searchsorted(self.low, values, side="right") - 1
        found: Array = ((at >= 0) & (values <= self.high[at])).astype(float)
        return found


def find_levels(segments: Array, axis: int, room: float) -> Levels:
    """The levels of straight pieces, (x, y, x, y) each, with some room above and below.

    Parameters
    ----------
    segments : (n, 4) array
    axis : int
        Levels are across it.
    room : float
        mm.
    """
    across = segments[:, 1 - axis :: 2]
    low = across.min(axis=1) - room
    order = np.argsort(low)
    low, high = low[order], np.maximum.accumulate(across.max(axis=1)[order] + room)
    if not len(low):
        return Levels(low, high)
    apart = np.flatnonzero(low[1:] > high[:-1])
    return Levels(low[np.r_[0, apart + 1]], high[np.r_[apart, len(low) - 1]])


def count_misses(
    segments: Array, move: Array, inner: Array, beside: shapely.Geometry, off: float
) -> int:
    """How many ends and bends that a page beside shows as well are not drawn on it.

    Parameters
    ----------
    segments : (n, 4) array
        Straight pieces of a page.
    move : (2,) array
        From it to the one beside.
    inner : (4,) array
        What of a page is surely shown: left, bottom, right, top.
    beside : shapely geometry
        What that page draws.
    off : float
        mm that lines may be apart.
    """
    points = segments.reshape(-1, 2)
    points = points[np.all((inner[:2] <= points) & (points <= inner[2:]), axis=1)] + move
    points = points[np.all((inner[:2] <= points) & (points <= inner[2:]), axis=1)]
    return int(np.count_nonzero(~shapely.dwithin(beside, shapely.points(points), off)))
