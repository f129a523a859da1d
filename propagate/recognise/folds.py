"""Which stretch of an outline lies on the fold of the cloth."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from propagate.geometry.arrays import Array, cross_product

__all__ = ["ON_FOLD_MM", "ON_MIRROR_MM", "find_run_along"]

ON_FOLD_MM = 0.5
"""How far off a fold line an outline may be drawn that lies on it."""
ON_MIRROR_MM = 0.2
"""As much for the mirror line of the interchange standard, which is exported, not drawn."""
SHORTEST_MM = 10.0
END_MM = 1.0
"""A fold line that ends this near to a vertex ends there."""
ALONG_DEG = 1.0


def find_run_along(
    outline: Array,
    start: Array,
    end: Array,
    *,
    within: float = ON_FOLD_MM,
    allowed: Collection[int] | None = None,
) -> list[int] | None:
    """Find the vertices of the straight run of an outline that a fold line lies on.

    The line may be shorter than the run, as one that is drawn between two arrows; it ends at
    a vertex of the run when it was drawn up to there.

    Parameters
    ----------
    outline : (n, 2) array, mm
        Closed, the first point not repeated.
    start, end : (2,) arrays, mm
    within : float
        How far its vertices may lie off the line, mm.
    allowed : vertices or None
        Those at which an edge may begin; any when None.

    Returns
    -------
    list of int or None
        Two or more in the order of the outline; None when no run of it lies along the line.
    """
    along = np.asarray(end) - np.asarray(start)
    size = float(np.hypot(*along))
    if size < SHORTEST_MM:
        return None
    unit = along / size
    off = outline - start
    gap = np.abs(cross_product(off, unit))
    reach = off @ unit
    steps = np.roll(outline, -1, axis=0) - outline
    lengths = np.maximum(np.hypot(steps[:, 0], steps[:, 1]), 1e-12)
    turned = np.abs(cross_product(steps, unit)) / lengths
    on = (gap <= within) & (np.roll(gap, -1) <= within) & (turned <= np.sin(np.radians(ALONG_DEG)))
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
    if len(run) < 2:
        return None
    # It ends at the vertices at which the fold line does, where there are any.
    goal = (0.0, size) if reach[run[0]] < reach[run[-1]] else (size, 0.0)
    cuts = []
    for place, otherwise in zip(goal, (0, len(run) - 1), strict=True):
        gaps = np.abs(reach[run] - place)
        cuts.append(int(gaps.argmin()) if gaps.min() <= END_MM else otherwise)
    since, to = cuts
    return run[since : to + 1] if since < to else run
