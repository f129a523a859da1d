"""Which ends of cut lines can go on in another page at all: those with lines at their level."""

from __future__ import annotations

import numpy as np

from propagate.geometry.arrays import Array
from propagate.values import dataclass

__all__ = ["Levels", "find_levels"]


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
