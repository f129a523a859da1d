"""How the outline of a piece moved: which place of it answers to which, and how far it went."""

from __future__ import annotations

from bisect import bisect_left
from functools import cached_property

import numpy as np
import shapely

from propagate.geometry.arrays import Array
from propagate.geometry.correspond import match_redrawn
from propagate.geometry.polyline import locate, locate_all, point_at, points_at
from propagate.pattern.model import Edge, SizedPiece
from propagate.tolerances import RESTS_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["OutlineMove", "named_points"]

_SAMPLE_MM = 5.0


def named_points(piece: SizedPiece) -> dict[str, Array]:
    """Return corners, landmarks and dart tips of a piece by a name of their own, (2,) each.

    A corner is the start of the edge that begins there.
    """
    found = {f"{edge.name}.start": edge.points[0] for edge in piece.edges}
    found.update({mark.name: np.array(mark.point) for mark in piece.landmarks})
    found.update({f"dart {dart.name}": np.array(dart.tip) for dart in piece.darts})
    return found


@dataclass(frozen=True)
class OutlineMove:
    """A piece before and after a change of its outline.

    Attributes
    ----------
    was, now : SizedPiece
        In one frame, with the same edge names.
    """

    was: SizedPiece
    now: SizedPiece

    @cached_property
    def changed(self) -> frozenset[str]:
        """Edges that are not what they were, digit for digit."""
        return frozenset(
            edge.name
            for edge in self.was.edges
            if not np.array_equal(edge.points, self.now.edge(edge.name).points)
        )

    @cached_property
    def points(self) -> tuple[dict[str, Array], dict[str, Array]]:
        """Corners, landmarks and dart tips, before and after."""
        return named_points(self.was), named_points(self.now)

    @cached_property
    def stays(self) -> bool:
        """Whether outline, landmarks and dart tips lie where they lay."""
        was, now = self.points
        return not self.changed and all(
            name in now and np.array_equal(now[name], at) for name, at in was.items()
        )

    @cached_property
    def area(self) -> shapely.Polygon:
        """What the new outline encloses."""
        return shapely.Polygon(self.now.outline)

    def covers(self, point: Array) -> bool:
        """Tell whether a point lies within the new outline or on it."""
        return bool(self.area.covers(shapely.Point(point)))

    def answer(self, edge: str, at: float) -> Array:
        """Return (2,) place of an edge that answers to a distance along it before, mm.

        What still lies on the edge answers to itself.
        """
        now, here = self.now.edge(edge).points, point_at(self.was.edge(edge).points, at)
        if locate(now, here)[1] <= RESTS_MM:
            return here
        return point_at(now, float(np.interp(at, *self._knots(edge))))

    @cached_property
    def samples(self) -> tuple[Array, Array, Array]:
        """Places all round the old outline, their movement, and the chords about them, (n, 2)."""
        parts = [self._sampled(edge) for edge in self.was.edges]
        places, moves, chords = (np.concatenate(found) for found in zip(*parts, strict=True))
        return places, moves, chords

    def _sampled(self, edge: Edge) -> tuple[Array, Array, Array]:
        count = max(int(np.ceil(edge.length / _SAMPLE_MM)), 1)
        at = (np.arange(count) + 0.5) * edge.length / count
        places = points_at(edge.points, at)
        moves = np.zeros_like(places)
        if edge.name in self.changed:
            now = self.now.edge(edge.name).points
            moves = points_at(now, np.interp(at, *self._knots(edge.name))) - places
            moves[locate_all(now, places)[1] <= RESTS_MM] = 0.0
        ends = points_at(edge.points, np.linspace(0.0, edge.length, count + 1))
        return places, moves, np.diff(ends, axis=0)

    def _knots(self, name: str) -> tuple[Array, Array]:
        """Pair distances along an edge before and after: marks, what stayed, what was redrawn."""
        was, now = self.was.edge(name), self.now.edge(name)
        names = [m.name for m in self.was.landmarks_on(name)]
        kept = [n for n in names if n in {m.name for m in self.now.landmarks_on(name)}]
        along, gaps = locate_all(now.points, was.points)
        stayed = gaps <= RESTS_MM
        likely = (
            *((self.was.distance(name, n), self.now.distance(name, n)) for n in kept),
            *zip(was.arc[stayed].tolist(), along[stayed].tolist(), strict=True),
            *np.array(match_redrawn(was.points, now.points, (was.turns, now.turns))).T.tolist(),
        )
        pairs = [(0.0, 0.0), (was.length, now.length)]
        for at, there in likely:
            k = bisect_left(pairs, (at, there))
            if 0 < k < len(pairs) and all(
                (at - a) * (there - b) > SAME_POINT_MM**2 for a, b in pairs[k - 1 : k + 1]
            ):
                pairs.insert(k, (at, there))
        old, new = np.array(pairs).T
        return old, new
