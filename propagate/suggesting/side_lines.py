"""The line of a side from its upper end down, with darts closed in every length."""

from __future__ import annotations

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.polyline import arc_lengths, length, locate, point_at
from propagate.pattern.patternset import PatternSet
from propagate.pattern.spans import folded_mouths
from propagate.suggesting.levels import Point, round_point
from propagate.suggesting.side_seams import Side, SideWay
from propagate.values import dataclass

__all__ = ["SideLine", "open_place", "trace_side"]

_LEVEL_WITH_MM = 1.0
"""A hollow that is no deeper is a straight line to whoever looks at it."""


def open_place(mouths: list[tuple[float, float]], closed: float) -> float:
    """The distance along an open line of what lies so far along it with its mouths closed, mm."""
    place = closed
    for low, high in mouths:
        if place > low:
            place += high - low
    return place


@dataclass(frozen=True, eq=False)
class SideLine:
    """A side in one size, in the frame of its lead piece.

    Attributes
    ----------
    points : (n, 2) array
        From the upper end on, mm.
    mouths : list of (float, float)
        What is folded away, as distances along the points.
    up : (2,) array
    """

    points: Array
    mouths: list[tuple[float, float]]
    up: Array

    @property
    def length(self) -> float:
        """With its darts closed, mm."""
        return self.close(length(self.points))

    def close(self, place: float) -> float:
        """How far along the closed line a place of the open one lies, mm."""
        return place - sum(max(min(high, place) - low, 0.0) for low, high in self.mouths)

    def put(self, closed: float) -> Point:
        """The point at a distance along the closed line."""
        return round_point(point_at(self.points, open_place(self.mouths, closed)))

    def find(self, point: Point) -> float:
        """How far along the closed line the foot of a point lies, mm."""
        return self.close(locate(self.points, point)[0])

    def find_waist(self, inward: Array) -> float | None:
        """How far along the closed line it is furthest inward, clear of its ends; None if nowhere.

        What is meant is a hollow: the depth below the chord of its ends.
        """
        folded = np.array([any(a < at < b for a, b in self.mouths) for at in self._arc])
        depth = self.points @ inward
        deepest = int(np.argmax(np.where(folded, -np.inf, depth)))
        if depth[deepest] - max(depth[0], depth[-1]) < _LEVEL_WITH_MM:
            return None
        flat = np.flatnonzero((depth[deepest] - depth < 1e-6) & ~folded)
        first, last = (self.close(float(self._arc[k])) for k in (flat[0], flat[-1]))
        return (first + last) / 2.0

    @property
    def _arc(self) -> Array:
        return arc_lengths(self.points)


def trace_side(way: SideWay, side: Side, pattern: PatternSet, size: str) -> SideLine:
    """The line of a side in a size."""
    sized = pattern.sized(side.lead, size)
    points, mouths = way.down(side, pattern, size), list[tuple[float, float]]()
    parts = side.silhouette.segments[side.edge]
    if len(parts) == 1 and parts[0].span.piece == side.lead:
        whole = length(points)
        mouths = folded_mouths(sized, parts[0].span.edge)
        if way.at_begin == side.turned:
            mouths = sorted((whole - high, whole - low) for low, high in mouths)
    return SideLine(points, mouths, way.up(side, sized))
