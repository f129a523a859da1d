"""Which stretch of an outline lies on the fold of the cloth."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from propagate.pattern.model import Array

__all__ = ["ON_FOLD_MM", "run_along"]

ON_FOLD_MM = 0.5
SHORTEST_MM = 10.0
END_MM = 1.0
"""A fold line that ends this near to a vertex ends there."""
ALONG_DEG = 1.0


def run_along(
    outline: Array, start: Array, end: Array, allowed: Collection[int] | None = None
) -> tuple[int, int] | None:
    """Return the first and the last vertex of the straight run that a fold line lies on.

    The line may be shorter than the run, as one that is drawn between two arrows; it ends at
    a vertex of the run when it was drawn up to there.

    Parameters
    ----------
    outline : (n, 2) array, mm
        Counter-clockwise, the first point not repeated.
    start, end : (2,) arrays, mm
    allowed : vertices or None
        Those at which an edge may begin; any when None.

    Returns
    -------
    (first, last) or None
        In the order of the outline; None when no run of it lies along the line.
    """
    along = np.asarray(end) - np.asarray(start)
    size = float(np.hypot(*along))
    if size < SHORTEST_MM:
        return None
    unit = along / size
    off = outline - start
    gap = np.abs(off[:, 0] * unit[1] - off[:, 1] * unit[0])
    reach = off @ unit
    steps = np.roll(outline, -1, axis=0) - outline
    lengths = np.maximum(np.hypot(steps[:, 0], steps[:, 1]), 1e-12)
    turned = np.abs(steps[:, 0] * unit[1] - steps[:, 1] * unit[0]) / lengths
    slack = np.sin(np.radians(ALONG_DEG))
    on = (gap <= ON_FOLD_MM) & (np.roll(gap, -1) <= ON_FOLD_MM) & (turned <= slack)
    if on.all() or not on.any():
        return None
    best: tuple[float, int, int] | None = None
    count = len(outline)
    for first in np.flatnonzero(on & ~np.roll(on, 1)).tolist():
        last = first
        while on[last]:
            last = (last + 1) % count
        low, high = sorted((float(reach[first]), float(reach[last])))
        shared = min(high, size) - max(low, 0.0)
        if shared >= SHORTEST_MM and (best is None or shared > best[0]):
            best = (shared, first, last)
    if best is None:
        return None
    vertices = [(best[1] + k) % count for k in range((best[2] - best[1]) % count + 1)]
    run = [vertex for vertex in vertices if allowed is None or vertex in allowed]
    return _at_ends(reach, size, run) if len(run) > 1 else None


def _at_ends(reach: Array, size: float, run: Sequence[int]) -> tuple[int, int]:
    """A run cut to the vertices at which the fold line ends, where there are any."""
    first, last = run[0], run[-1]
    goal = (0.0, size) if reach[first] < reach[last] else (size, 0.0)
    ends = []
    for place, otherwise in zip(goal, (first, last), strict=True):
        near = min(run, key=lambda vertex: abs(float(reach[vertex]) - place))
        ends.append(near if abs(float(reach[near]) - place) <= END_MM else otherwise)
    return (ends[0], ends[1]) if ends[0] != ends[1] else (first, last)
