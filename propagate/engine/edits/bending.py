"""Bend an edge near its ends, so that it leaves its corners in another direction.

The corners stay, and so does everything beyond the place where the bend has faded out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from propagate.engine.edits.moving import turns_moved, vertex_stretches
from propagate.engine.marks_on_lines import End
from propagate.engine.reshape import Stretch, rounded
from propagate.engine.tape import edge_from_parts
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.fade import bend_start
from propagate.geometry.polyline import arc_lengths, between
from propagate.pattern.model import Array, Edge
from propagate.tolerances import SAME_POINT_MM, STEP_MM
from propagate.values import dataclass

__all__ = ["Bend", "angle_at", "bend_edge", "bend_to_angle"]


_ROUNDS = 6
_MET_DEG = 0.005


@dataclass(frozen=True)
class Bend:
    """How an end of an edge is bent.

    Attributes
    ----------
    over : float
        Distance from the corner at which nothing changes any more, mm.
    wider : float
        By how much the corner's angle inside the outline grows, radians.
    """

    over: float
    wider: float


def bend_edge(edge: Edge, bends: Mapping[End, Bend]) -> tuple[Edge, tuple[Stretch, ...]]:
    """Bend an edge at one end or at both; returns it and what its stretches stand for."""
    low = bends["start"].over if "start" in bends else 0.0
    high = edge.length - (bends["end"].over if "end" in bends else 0.0)
    parts: list[Array] = []
    stretches: list[Stretch] = []
    turns = edge.turn_points
    here = 0.0
    for first, last, end in ((0.0, low, "start"), (low, high, None), (high, edge.length, "end")):
        if last - first <= SAME_POINT_MM:
            continue
        was = now = between(edge.points, first, last)
        if end == "start":
            was = _make_denser(was)
            now = _bend_from_corner(was, -bends["start"].wider)
        elif end == "end":
            was = _make_denser(was)
            now = _bend_from_corner(was[::-1], bends["end"].wider)[::-1]
        parts.append(now)
        arcs = arc_lengths(now) + here, arc_lengths(was) + first
        turns = turns_moved(turns, (was, arcs[1]), (now, arcs[1]))
        if end is None:
            stretches.append(Stretch("lower", (here, float(arcs[0][-1])), (first, last), kept=True))
        else:
            stretches += vertex_stretches(*arcs)
        here = float(arcs[0][-1])
    return edge_from_parts(edge.name, parts, turns), tuple(stretches)


def _make_denser(line: Array) -> Array:
    """A line to which bending it adds no vertex: each stands for its like."""
    dense = densify_smoothly(line, STEP_MM)
    return dense if len(dense) == len(line) else _make_denser(dense)


def _bend_from_corner(line: Array, turn: float) -> Array:
    """A line from a corner, turned there; both its ends keep every digit."""
    points = rounded(bend_start(line, turn, STEP_MM))
    points[0], points[-1] = line[0], line[-1]
    return points


def angle_at(edges: Sequence[Edge], edge: Edge, end: End) -> float:
    """Angle inside an outline at an end of one of its edges, degrees.

    Parameters
    ----------
    edges : sequence of Edge
        The outline, counter-clockwise.
    edge : Edge
        Takes the place of the edge of its name.
    end : "start" or "end"
    """
    index = [one.name for one in edges].index(edge.name)
    if end == "start":
        before, after = edges[index - 1], edge
    else:
        before, after = edge, edges[(index + 1) % len(edges)]
    return before.angle_to(after)


def bend_to_angle(edges: Sequence[Edge], edge: Edge, end: End, over: float, wanted: float) -> Bend:
    """The bend with which an end of an edge has an angle inside the outline, degrees.

    The angle is read from a stretch of the line, over which the bend fades already; so it is
    found by a few rounds of a secant.
    """
    had = angle_at(edges, edge, end)
    tries = [(0.0, had)]
    wider = np.radians(wanted - had)
    for _ in range(_ROUNDS):
        found = angle_at(edges, bend_edge(edge, {end: Bend(over, wider)})[0], end)
        if abs(found - wanted) <= _MET_DEG:
            break
        (last, was), slope = tries[-1], 0.0
        if abs(wider - last) > 0.0:
            slope = (found - was) / (wider - last)
        tries.append((wider, found))
        if slope <= 0.0:
            break
        wider += (wanted - found) / slope
    return Bend(over, float(wider))
