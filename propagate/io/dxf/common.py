"""Give the drawings of one piece in all sizes the same number of points.

A grade rule moves a point of the sample size to its place in another, so every size
needs as many points as the sample size.  Where they differ, the line is looked at in all
sizes at once: at the same shares of its length, as one curve in as many planes as there
are sizes.  Of the shares at which any size has a point, so many are kept that every size
is reproduced.

A new point is put on the arc over its chord and not on the chord: points on chords make
a curve of short straight lines, whose direction at its end is off, and a blend of such
pieces departs by 0.1 mm.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import arc_lengths
from propagate.pattern.model import Array
from propagate.tolerances import CHORD_ERROR_MM

__all__ = ["alike_lines"]

_KEPT_MM = 0.002
"""What leaving points out may cost; a rule holds within 0.01 mm."""
_ARC_MM = 1.2 * CHORD_ERROR_MM
"""A chord that would lie farther inside its arc is a straight line, or coarsely drawn."""


def alike_lines(lines: Sequence[Array]) -> list[Array]:
    """Return the same open line in every size with one number of points.

    Lines that agree in their number of points are handed back as they are.
    """
    if len({len(line) for line in lines}) == 1:
        return list(lines)
    arcs = [arc_lengths(line) for line in lines]
    every = np.unique(np.round(np.concatenate([arc / arc[-1] for arc in arcs]), 12))
    every[0], every[-1] = 0.0, 1.0
    drawn = np.array(
        [_on_arcs(line, arc, every * arc[-1]) for line, arc in zip(lines, arcs, strict=True)]
    )
    drawn[:, 0] = [line[0] for line in lines]
    drawn[:, -1] = [line[-1] for line in lines]
    return list(drawn[:, _kept(drawn)])


def _on_arcs(line: Array, arc: Array, at: Array) -> Array:
    """(m, 2) points at distances along a line, each on the arc over its chord.

    The arc has the mean curvature of the chord's two ends, where both bend the same way;
    its height over the chord, c^2 / 8r in the middle, is k/2 t (c - t) at the distance t.
    """
    points = np.column_stack([np.interp(at, arc, line[:, axis]) for axis in (0, 1)])
    steps = np.diff(line, axis=0)
    chords = np.maximum(np.hypot(steps[:, 0], steps[:, 1]), 1e-12)
    if len(line) < 4:
        return points
    along = steps / chords[:, None]
    cross = along[:-1, 0] * along[1:, 1] - along[:-1, 1] * along[1:, 0]
    turn = np.arctan2(cross, (along[:-1] * along[1:]).sum(axis=1))
    bend = np.pad(turn / ((chords[:-1] + chords[1:]) / 2), 1, mode="edge")
    mean = np.where(bend[:-1] * bend[1:] > 0, (bend[:-1] + bend[1:]) / 2, 0.0)
    mean[np.abs(mean) * chords**2 / 8 > _ARC_MM] = 0.0
    index = np.clip(np.searchsorted(arc, at, side="right") - 1, 0, len(chords) - 1)
    into = at - arc[index]
    height = mean[index] / 2 * into * np.maximum(chords[index] - into, 0.0)
    outward = np.column_stack([along[index, 1], -along[index, 0]])
    return np.asarray(points + height[:, None] * outward)


def _kept(drawn: Array) -> npt.NDArray[np.intp]:
    """Indices that reproduce (sizes, n, 2) lines, by halving at the farthest point."""
    keep = np.zeros(drawn.shape[1], dtype=bool)
    keep[[0, -1]] = True
    todo = [(0, drawn.shape[1] - 1)]
    while todo:
        low, high = todo.pop()
        if high - low < 2:
            continue
        start, end = drawn[:, low, None], drawn[:, high, None]
        along = end - start
        off = drawn[:, low + 1 : high] - start
        size = np.maximum(np.hypot(along[..., 0], along[..., 1]), 1e-12)
        gaps = np.abs(off[..., 0] * along[..., 1] - off[..., 1] * along[..., 0]) / size
        worst = gaps.max(axis=0)
        at = int(worst.argmax())
        if worst[at] > _KEPT_MM:
            middle = low + 1 + at
            keep[middle] = True
            todo += [(low, middle), (middle, high)]
    return np.flatnonzero(keep)
