"""Where the hip lies on a side seam.

On the level of that name where the pieces have one; else at notches that meet, or as far below
the waist as somebody says.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.polyline import point_at
from propagate.pattern.patternset import PatternSet
from propagate.suggesting.levels import Point, round_point
from propagate.suggesting.side_seams import HIP, SideSeam, SideWay
from propagate.values import dataclass

__all__ = ["HIP_BELOW_MM", "HIP_NEAR_MM", "Hip", "list_hips"]

HIP_BELOW_MM = 205.0
"""How far the hip lies below the waist, mostly (common practice, no source)."""
HIP_NEAR_MM = 105.0
"""Notches that lie further from there are no hip: the knee, a slit (common practice, no source)."""


@dataclass(frozen=True)
class Hip:
    """Where the hip lies: on levels, at landmarks, or at a distance along the sides."""

    at: Mapping[str, Mapping[str, Point]]
    marks: Mapping[str, str | None]
    below: Mapping[str, float]
    along: float | None = None


def list_hips(
    pattern: PatternSet, way: SideWay, tops: Mapping[str, str], along: float | None
) -> list[Hip]:
    """Where the hip may lie, the likeliest first; levels that are drawn leave no choice."""
    drawn = [side.lead for side in way.sides if HIP in side.silhouette.base.levels]
    if drawn:
        if along is not None or len(drawn) < len(way.sides):
            return []
        levels = {
            piece: {size: pattern.sized(piece, size).levels[HIP] for size in pattern.sizes}
            for piece in drawn
        }
        below = _measure_below(pattern, way, tops, levels)
        return [Hip(levels, dict.fromkeys(drawn), below)]
    if along is not None:
        shortest, size = way.shortest(pattern)
        if not SideSeam(way.seam, shortest, size).holds(along):
            return []
        at = {
            side.lead: {
                size: _put_point(way.down(side, pattern, size), along) for size in pattern.sizes
            }
            for side in way.sides
        }
        below = _measure_below(pattern, way, tops, at)
        return [Hip(at, dict.fromkeys(tops), below, along)]
    found = []
    for marks, at in way.notch_pairs(pattern):
        below = _measure_below(pattern, way, tops, at)
        if min(below.values()) > 0.0 and _far_from_hip(below) <= HIP_NEAR_MM:
            found.append(Hip(at, marks, below))
    return sorted(found, key=lambda one: _far_from_hip(one.below))


def _measure_below(
    pattern: PatternSet,
    way: SideWay,
    tops: Mapping[str, str],
    at: Mapping[str, Mapping[str, Point]],
) -> dict[str, float]:
    """How far points lie below the tops of the centres in the base size, along the grain, mm."""
    below = {}
    for side in way.sides:
        base, lead = side.silhouette.base, side.lead
        drop = np.subtract(base.landmark(tops[lead]).point, at[lead][pattern.base])
        below[lead] = float(drop @ way.up(side, base))
    return below


def _far_from_hip(below: Mapping[str, float]) -> float:
    """How far points lie from where the hip is mostly, mm."""
    return abs(sum(below.values()) / len(below) - HIP_BELOW_MM)


def _put_point(line: Array, along: float) -> Point:
    """The point at a distance along a line."""
    return round_point(point_at(line, along))
