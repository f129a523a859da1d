"""Nearest places on long lines, or for many points, without a table of all pairs."""

from __future__ import annotations

import numpy as np
import shapely

from propagate.geometry.polyline import arc_lengths, locate_all
from propagate.pattern.model import Array

__all__ = ["located"]

_PAIRS = 500_000


def located(points: Array, targets: Array) -> tuple[Array, Array]:
    """Return the nearest places on a polyline, as `locate_all` does, within bounded memory.

    Parameters
    ----------
    points : (n, 2) array
    targets : (m, 2) array

    Returns
    -------
    distances, gaps : (m,) arrays
        Distance along the polyline of the nearest place, and how far off it is, mm.
    """
    if len(points) * len(targets) <= _PAIRS:
        return locate_all(points, targets)
    tree = shapely.STRtree(shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)))
    pairs = tree.query_nearest(shapely.points(targets), all_matches=True)
    best = np.full(len(targets), len(points))
    np.minimum.at(best, pairs[0], pairs[1])  # of chords alike near the first, as in a table
    start, delta = points[best], points[best + 1] - points[best]
    square = np.maximum((delta**2).sum(axis=1), 1e-300)
    share = np.clip(((targets - start) * delta).sum(axis=1) / square, 0.0, 1.0)
    off = targets - start - share[:, None] * delta
    arc = arc_lengths(points)
    along = arc[best] + share * (arc[best + 1] - arc[best])
    return along, np.hypot(off[:, 0], off[:, 1])
