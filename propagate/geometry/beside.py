"""Which place on one line answers to which on a line beside it.

A seam line has a cut line beside it, a graded line one that follows it, a half piece its fold.

**Corners.**  Both lines run round the piece, so their corners answer to each other in order.  The
nearest place is no measure: beside a wide allowance, or in a hollow, the place on one line
nearest to a corner of the other is no corner at all.

**Squares.**  A curve is drawn as chords, and the squares of two neighbouring chords overlap on
its hollow side and gape on its round side.  So the square is turned evenly along each chord,
from the one at its first vertex to the one at its last: through every place of the line beside
a curve goes one square, and going out along it and back is exact.  At a vertex it halves the
turn, as it does for the vertices of a regular polygon, whose squares meet in its centre.
At a corner each edge keeps its own, and beside a long straight chord that of the straight.

In the frame of a chord of length L, x along it and y square to it, the square at the share t
goes through (t L, 0) in the direction ((1 - t) a + t b, 1); the place (x, y) lies on that of
t = (x - y a) / (L + y (b - a)).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from propagate.geometry.arrays import Array, Indices, cross_product
from propagate.geometry.corner import signed_area, turn_between
from propagate.geometry.polyline import arc_lengths, locate_all, points_at
from propagate.values import dataclass

__all__ = [
    "Squares",
    "answering_corners",
    "answering_vertices",
    "met_square",
    "moves_at",
    "moves_between",
    "moves_of_shares",
    "ring_part",
    "same_way",
    "find_squares",
]

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
_CORNER_DEG = 30.0
"""A vertex that turns by more is a corner, marked or not (ours)."""
_STRAIGHT = 3.0
"""A chord this many times as long as its neighbour is a straight line beside a curve (ours)."""
_AT_VERTEX_MM = 0.001
"""A notch this exactly square to a chord at its end was drawn from that vertex (ours)."""
_TINY = 1e-12


# --------------------------------------------------------------------------------- corners


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
        part = cut[ring_part(corner, corners[(index + 1) % count], len(cut))]
        long = arc_lengths(part)[-1]
        places = points_at(part, np.concatenate([1.0 - _SHARES, _SHARES]) * long)
        off = locate_all(closed, places)[1]
        ends = part[0] - part[1], part[-1] - part[-2]
        back, on = (FARTHEST_MM * end / max(float(np.hypot(*end)), _TINY) for end in ends)
        longer = np.vstack([part[0] + back, part, part[-1] + on])
        gaps = locate_all(longer, vertices)[1]
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


def ring_part(begin: int, end: int, count: int) -> Indices:
    """Return the vertices of a closed line of `count` from one to another, both included."""
    return np.arange(begin, begin + ((end - begin) % count or count) + 1) % count


def same_way(a: Array, b: Array) -> bool:
    """Tell whether two closed lines run round the same way."""
    return bool(signed_area(a) * signed_area(b) > 0)


def _in_order(costs: Array) -> list[int]:
    """Give each row of (k, m) costs, k <= m, a column, in order round a circle, cheapest.

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


# ----------------------------------------------------------------------------------- moves


def moves_at(points: Array, moves: Array, targets: Array, *, closed: bool) -> Array:
    """Return (k, ...) displacements at the places of a line that are nearest to some points.

    Parameters
    ----------
    points : (n, 2) array, mm
        Of a closed line the first point not repeated.
    moves : (n, ...) array, mm
        Of its vertices; between them they are carried in proportion.
    targets : (k, 2) array, mm
    """
    if closed:
        points, moves = np.vstack([points, points[:1]]), np.concatenate([moves, moves[:1]])
    at = locate_all(points, targets)[0] if len(targets) else np.zeros(0)
    return moves_of_shares(arc_lengths(points), moves, at)


def moves_of_shares(arc: Array, moves: Array, at: Array) -> Array:
    """Return (k, ...) displacements at distances along a line, from those of its vertices."""
    columns = [np.interp(at, arc, column) for column in moves.reshape(len(moves), -1).T]
    return np.array(columns).T.reshape(len(at), *moves.shape[1:])


def moves_between(points: Array, given: Indices, moves: Array, *, closed: bool) -> Array:
    """Carry (n, ...) displacements in proportion between those of some vertices of a line.

    Parameters
    ----------
    points : (n, 2) array, mm
    given : (k,) indices
        Vertices whose displacements are given, ascending; they keep every digit.
    moves : (k, ...) array, mm
    """
    by = moves.reshape(len(given), -1)
    arc = arc_lengths(np.vstack([points, points[:1]]) if closed else points)
    around = (arc[-1] or None) if closed else None
    columns = [np.interp(arc[: len(points)], arc[given], column, period=around) for column in by.T]
    found = np.array(columns).T
    found[given] = by
    return found.reshape(len(points), *moves.shape[1:])


# --------------------------------------------------------------------------------- squares


@dataclass(frozen=True, eq=False)
class Squares:
    """The squares of an edge, chord by chord.

    Attributes
    ----------
    points : (n, 2) array, mm
    along : (n - 1, 2) array
        Unit direction of each chord.
    lean : (n - 1, 2) array
        How far the square leans along the chord, mm for each mm off it, at its two ends.
    before, after : (2,) array or None
        Directions of the chords that go on beyond the edge's ends, where no corner is.
    """

    points: Array
    along: Array
    lean: Array
    before: Array | None = None
    after: Array | None = None

    def out(self, at: float) -> tuple[Array, Array]:
        """Return the place at a distance along the edge, and the direction of its square."""
        arc = arc_lengths(self.points)
        chord = int(np.clip(np.searchsorted(arc, at) - 1, 0, len(self.along) - 1))
        long = max(float(arc[chord + 1] - arc[chord]), _TINY)
        share = (at - float(arc[chord])) / long
        lean = (1 - share) * self.lean[chord, 0] + share * self.lean[chord, 1]
        u = self.along[chord]
        direction: Array = np.array([u[1], -u[0]]) + lean * u
        return self.points[chord] + share * long * u, direction

    def foot(self, place: Array, gap: float) -> float | None:
        """Return how far along the edge the square through a place stands, or None.

        Parameters
        ----------
        place : (2,) array, mm
        gap : float
            Its distance from the edge, mm; a square much longer is another part's.
        """
        arc = arc_lengths(self.points)
        reach = 1.1 * gap + 0.5
        vertex = self._vertex(place, reach)
        if vertex is not None:
            return float(arc[vertex])
        off = place - self.points[:-1]
        x = (off * self.along).sum(axis=1)
        y = cross_product(off, self.along)
        long = np.diff(arc)
        spread = long + y * (self.lean[:, 1] - self.lean[:, 0])
        good = spread > 0.05 * long
        share = (x - y * self.lean[:, 0]) / np.where(good, spread, 1.0)
        lean = (1 - share) * self.lean[:, 0] + share * self.lean[:, 1]
        far = np.abs(y) * np.hypot(1.0, lean)
        good &= (share >= -1e-9) & (share <= 1 + 1e-9) & (far <= reach)
        if not good.any():
            return None
        best = int(np.where(good, far, np.inf).argmin())
        return float(arc[best] + np.clip(share[best], 0.0, 1.0) * long[best])

    def _vertex(self, place: Array, reach: float) -> int | None:
        """Return the vertex at which a place stands exactly square to a chord."""
        off = place - self.points
        square = np.full(len(self.points), np.inf)
        square[1:] = np.abs((off[1:] * self.along).sum(axis=1))
        square[:-1] = np.minimum(square[:-1], np.abs((off[:-1] * self.along).sum(axis=1)))
        for end, beyond in ((0, self.before), (-1, self.after)):
            if beyond is not None:
                square[end] = min(float(square[end]), abs(float(off[end] @ beyond)))
        far = np.hypot(off[:, 0], off[:, 1])
        near = np.flatnonzero((square <= _AT_VERTEX_MM) & (far <= reach))
        return int(near[far[near].argmin()]) if len(near) else None


def find_squares(edges: Sequence[Array], index: int, turns: Sequence[int]) -> Squares:
    """Return the squares of one edge of an outline.

    Parameters
    ----------
    edges : sequence of (n, 2) arrays, mm
        All edges in outline order.
    turns : sequence of int
        Vertices of the edge that are corners inside it.
    """
    points = edges[index]
    steps = np.diff(points, axis=0)
    long = np.hypot(steps[:, 0], steps[:, 1])
    along = steps / np.maximum(long, _TINY)[:, None]
    turn = turn_between(along[:-1], along[1:])
    share = np.where(long[:-1] > _STRAIGHT * long[1:], 0.0, 0.5)
    share = np.where(long[1:] > _STRAIGHT * long[:-1], 1.0, share)
    smooth = np.abs(turn) <= np.radians(_CORNER_DEG)
    smooth[[vertex - 1 for vertex in turns if 0 < vertex < len(points) - 1]] = False
    lean = np.zeros((len(along), 2))
    lean[:-1, 1] = np.where(smooth, np.tan(turn * share * smooth), 0.0)
    lean[1:, 0] = np.where(smooth, -np.tan(turn * (1.0 - share) * smooth), 0.0)
    count = len(edges)
    before = _go_beyond(edges[(index - 1) % count][-2:], along[0])
    after = _go_beyond(edges[(index + 1) % count][:2], along[-1])
    return Squares(points, along, lean, before, after)


def _go_beyond(chord: Array, beside: Array) -> Array | None:
    """Return the direction of a chord beyond an edge's end, None where a corner is between."""
    step = chord[1] - chord[0]
    direction: Array = step / max(float(np.hypot(*step)), _TINY)
    turn = abs(float(turn_between(beside, direction)))
    return direction if turn <= np.radians(_CORNER_DEG) else None


def met_square(line: Array, at: Array, direction: Array, width: float) -> Array | None:
    """Find where a line through a place meets an open line, about `width` away, or None."""
    ahead = direction / np.hypot(*direction)
    side = np.array([-ahead[1], ahead[0]])
    off = (line - at) @ side
    cross = np.flatnonzero((off[:-1] <= 0.0) != (off[1:] <= 0.0))
    if not len(cross):
        return None
    share = off[cross] / (off[cross] - off[cross + 1])
    found = line[cross] + share[:, None] * (line[cross + 1] - line[cross])
    far = (found - at) @ ahead
    return np.asarray(found[int(np.abs(np.abs(far) - width).argmin())])
