"""Between a seam line and the cut line beside it: which place stands square to which.

A curve is drawn as chords, and the squares of two neighbouring chords overlap on its hollow
side and gape on its round side.  So the square is turned evenly along each chord, from the
one at its first vertex to the one at its last: through every place of the cut line beside a
curve goes one square, and going out along it and back is exact.  At a vertex it halves the
turn, as it does for the vertices of a regular polygon, whose squares meet in its centre.
At a corner each edge keeps its own, and beside a long straight chord that of the straight.

In the frame of a chord of length L, x along it and y square to it, the square at the share t
goes through (t L, 0) in the direction ((1 - t) a + t b, 1); the place (x, y) lies on that of
t = (x - y a) / (L + y (b - a)).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import arc_lengths
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["Squares", "squares"]

_CORNER_DEG = 30.0
"""A vertex that turns by more is a corner, marked or not (ours)."""
_STRAIGHT = 3.0
"""A chord this many times as long as its neighbour is a straight line beside a curve (ours)."""
_AT_VERTEX_MM = 0.001
"""A notch this exactly square to a chord at its end was drawn from that vertex (ours)."""
_TINY = 1e-12


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
        y = off[:, 0] * self.along[:, 1] - off[:, 1] * self.along[:, 0]
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


def squares(edges: Sequence[Array], index: int, turns: Sequence[int]) -> Squares:
    """Return the squares of one edge of an outline.

    Parameters
    ----------
    edges : sequence of (n, 2) arrays, mm
        All edges in outline order.
    index : int
    turns : sequence of int
        Vertices of the edge that are corners inside it.
    """
    points = edges[index]
    steps = np.diff(points, axis=0)
    long = np.hypot(steps[:, 0], steps[:, 1])
    along = steps / np.maximum(long, _TINY)[:, None]
    turn = _turn(along[:-1], along[1:])
    share = np.where(long[:-1] > _STRAIGHT * long[1:], 0.0, 0.5)
    share = np.where(long[1:] > _STRAIGHT * long[:-1], 1.0, share)
    smooth = np.abs(turn) <= np.radians(_CORNER_DEG)
    smooth[[vertex - 1 for vertex in turns if 0 < vertex < len(points) - 1]] = False
    lean = np.zeros((len(along), 2))
    lean[:-1, 1] = np.where(smooth, np.tan(turn * share * smooth), 0.0)
    lean[1:, 0] = np.where(smooth, -np.tan(turn * (1.0 - share) * smooth), 0.0)
    count = len(edges)
    before = _direction(edges[(index - 1) % count][-2:], along[0])
    after = _direction(edges[(index + 1) % count][:2], along[-1])
    return Squares(points, along, lean, before, after)


def _turn(first: Array, then: Array) -> npt.NDArray[np.float64]:
    cross = first[..., 0] * then[..., 1] - first[..., 1] * then[..., 0]
    return np.asarray(np.arctan2(cross, (first * then).sum(axis=-1)))


def _direction(chord: Array, beside: Array) -> Array | None:
    """Direction of a chord beyond an edge's end, None where a corner is between."""
    step = chord[1] - chord[0]
    direction: Array = step / max(float(np.hypot(*step)), _TINY)
    return direction if abs(float(_turn(beside, direction))) <= np.radians(_CORNER_DEG) else None
