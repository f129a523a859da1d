"""Which corner of the seam line answers to which corner of the cut line.

Both lines run round the piece, so their corners answer to each other in order.  The
nearest place is no measure: beside a wide allowance, or in a hollow, the place on one
line nearest to a corner of the other is no corner at all.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from propagate.geometry.corner import signed_area
from propagate.geometry.polyline import arc_lengths, locate_all, points_at
from propagate.pattern.model import Array

__all__ = ["answering_corners", "answering_vertices", "between", "same_way"]

FARTHEST_MM = 100.0
"""Corners farther apart do not answer to each other."""
_AGREES_MM = 2.0
"""A vertex is a corner's when it lies off both stretches of the cut line as their edges do."""
_STARTS = 8
_MOST = 2_000_000
_NEAR_WEIGHT = 1e-3
"""Weight of the distance itself: it decides where the outline hardly turns."""
_SHARES = np.linspace(0.5, 0.95, 6)
"""Where along a stretch its distance is taken for the corner at its end; the least counts,
since the stretch may run on beyond the seam line's corner."""


def answering_corners(
    own: Array, corners: Sequence[int], other: Array, others: Sequence[int]
) -> list[tuple[int, int]]:
    """Match corners of two closed lines in order, at the least sum of squared distances.

    Parameters
    ----------
    own, other : (n, 2), (m, 2) arrays, mm
        Closed lines, the first point not repeated; either may run the other way.
    corners, others : sequences of int
        Their corners, in the order of the points.

    Returns
    -------
    list of (vertex of `own`, vertex of `other`)
        In the order of `own`.  Of the line with more corners, some answer to none.
    """
    if not corners or not others or len(corners) * len(others) > _MOST:
        return []
    others = list(others) if same_way(own, other) else list(others)[::-1]
    gaps = own[list(corners)][:, None] - other[others][None]
    costs = (gaps**2).sum(axis=2)
    if len(corners) <= len(others):
        pairs = [(corners[i], others[j]) for i, j in enumerate(_in_order(costs))]
    else:
        pairs = [(corners[i], others[j]) for j, i in enumerate(_in_order(costs.T))]
    near = [(i, j) for i, j in pairs if np.hypot(*(own[i] - other[j])) <= FARTHEST_MM]
    return sorted(near)


def answering_vertices(cut: Array, corners: Sequence[int], seam: Array) -> list[int | None]:
    """Return the vertex of the seam line that answers to each corner of the cut line.

    At the corner where two edges meet, the seam line lies as far off both stretches of the
    cut line that meet there, each drawn on beyond its end, as it does along them.
    """
    count = len(corners)
    if count < 2 or count > len(seam) or count * len(seam) > _MOST:
        return [None] * count
    ordered = list(range(len(seam))) if same_way(cut, seam) else list(range(len(seam)))[::-1]
    vertices = seam[ordered]
    closed = np.vstack([seam, seam[:1]])
    behind, ahead = np.zeros((2, count, len(seam)))
    for index, corner in enumerate(corners):
        part = cut[between(corner, corners[(index + 1) % count], len(cut))]
        long = arc_lengths(part)[-1]
        places = points_at(part, np.concatenate([1.0 - _SHARES, _SHARES]) * long)
        off = locate_all(closed, places)[1]
        gaps = locate_all(_drawn_on(part), vertices)[1]
        ahead[index] = gaps - off[: len(_SHARES)].min()
        behind[(index + 1) % count] = gaps - off[len(_SHARES) :].min()
    away = ((cut[list(corners)][:, None] - vertices[None]) ** 2).sum(axis=2)
    chosen = _in_order(behind**2 + ahead**2 + _NEAR_WEIGHT * away)
    return [
        ordered[j]
        if max(abs(behind[i, j]), abs(ahead[i, j])) <= _AGREES_MM and away[i, j] <= FARTHEST_MM**2
        else None
        for i, j in enumerate(chosen)
    ]


def between(begin: int, end: int, count: int) -> npt.NDArray[np.intp]:
    """Return the vertices of a closed line of `count` from one to another, both included."""
    return np.arange(begin, begin + ((end - begin) % count or count) + 1) % count


def same_way(a: Array, b: Array) -> bool:
    """Tell whether two closed lines run round the same way."""
    return bool(signed_area(a) * signed_area(b) > 0)


def _drawn_on(part: Array) -> Array:
    """Return an open line drawn on straight at both ends."""
    first, last = part[0] - part[1], part[-1] - part[-2]
    first, last = (step / max(float(np.hypot(*step)), 1e-12) for step in (first, last))
    return np.vstack([part[0] + FARTHEST_MM * first, part, part[-1] + FARTHEST_MM * last])


def _in_order(costs: Array) -> list[int]:
    """(k, m), k <= m: a column for each row, one after the other round a circle, cheapest.

    The cheapest columns of the first row are tried; from each, the others follow by
    dynamic programming.
    """
    rows, columns = costs.shape
    best, found = np.inf, [0] * rows
    for start in np.argsort(costs[0], kind="stable")[:_STARTS].tolist():
        turned = np.roll(costs, -start, axis=1)
        total = np.full(columns, np.inf)
        total[0] = turned[0, 0]
        came: list[Array] = []
        for row in turned[1:]:
            least = np.minimum.accumulate(total)
            at = np.maximum.accumulate(np.where(total <= least, np.arange(columns), 0))
            came.append(np.concatenate([[0], at[:-1]]))
            total = row + np.concatenate([[np.inf], least[:-1]])
        last = int(total.argmin())
        if total[last] < best:
            best, path = float(total[last]), [last]
            for step in reversed(came):
                path.append(int(step[path[-1]]))
            found = [(column + start) % columns for column in reversed(path)]
    return found
