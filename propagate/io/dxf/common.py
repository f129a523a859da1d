"""Give the drawings of one piece in all sizes the same number of points.

A grade rule moves a point of the sample size to its place in another, so every size
needs as many points as the sample size.  Where they differ, the line is looked at in all
sizes at once: at the same shares of its length, as one curve in as many planes as there
are sizes.  Of the shares at which any size has a point, so many are kept that every size
is reproduced.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import arc_lengths
from propagate.pattern.model import Array

__all__ = ["alike_lines"]

_KEPT_MM = 0.004
"""What leaving points out may cost; a rule holds within 0.01 mm."""


def alike_lines(lines: Sequence[Array]) -> list[Array]:
    """Return the same open line in every size with one number of points.

    Lines that agree in their number of points are handed back as they are.
    """
    if len({len(line) for line in lines}) == 1:
        return list(lines)
    shares = []
    for line in lines:
        arc = arc_lengths(line)
        shares.append(arc / arc[-1])
    every = np.unique(np.round(np.concatenate(shares), 12))
    every[0], every[-1] = 0.0, 1.0
    drawn = np.array(
        [
            np.column_stack([np.interp(every, share, line[:, axis]) for axis in (0, 1)])
            for share, line in zip(shares, lines, strict=True)
        ]
    )
    drawn[:, 0] = [line[0] for line in lines]
    drawn[:, -1] = [line[-1] for line in lines]
    return list(drawn[:, _kept(drawn)])


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
