"""Move an edge of an outline; the edges it meets are cut back or run on to its new corners.

By hand the new corner is marked on the edge that is crossed, a smooth line is drawn from
it to where nothing changes, and the crossing edge is cut off there or drawn on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from propagate.engine.darts.folding import DartMouth, folded_places, move_folded
from propagate.engine.following.spread import spline_weights
from propagate.engine.reshape import Stretch, rounded
from propagate.engine.tape import edge_from_parts
from propagate.errors import EditError
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.directions import direction_at, end_direction
from propagate.geometry.motion import IDENTITY, Motion
from propagate.geometry.polyline import (
    arc_lengths,
    between,
    is_straight,
    join,
    point_at,
    split,
    unit,
)
from propagate.pattern.model import Array, Edge
from propagate.tolerances import ON_LINE_MM, SAME_POINT_MM, STEP_MM
from propagate.values import dataclass

__all__ = ["Moved", "Node", "move_edge", "turns_moved", "vertex_stretches"]


_LEAST_LEG_MM = 5.0
"""A dart whose legs would be shorter has no room on its edge any more."""


@dataclass(frozen=True)
class Node:
    """A place along an edge, and how far the edge moves there.

    Attributes
    ----------
    at : float
        Distance from the edge's start, mm.
    inward : float
        mm into the piece; at an end of the edge measured along the edge that it meets there.
    """

    at: float
    inward: float


@dataclass(frozen=True)
class Moved:
    """New edges, by name, and the stretches of the old ones that they stand for."""

    edges: Mapping[str, Edge]
    stretches: Mapping[str, tuple[Stretch, ...]]


def move_edge(
    edges: Sequence[Edge],
    name: str,
    nodes: Sequence[Node],
    where: str,
    *,
    smooth: bool = True,
    mouths: Sequence[DartMouth] = (),
    folds: tuple[bool, bool] = (False, False),
) -> Moved:
    """Move one edge of an outline.

    Between nodes the movement is a cubic spline, flat where the edge is held, and at a fold,
    over which it runs on mirrored: a neckline gets no peak there; see
    `propagate.engine.following.spread`.  Darts are folded meanwhile, so that their legs stay as
    long as each other; see `propagate.engine.darts.folding`.

    Parameters
    ----------
    edges : sequence of Edge
        The outline, counter-clockwise.
    name : str
        The edge that is moved.
    nodes : sequence of Node
        At least two, ascending; the edge moves between the first and the last of them.
    where : str
        Set, piece and size, for messages.
    smooth : bool
        False: straight from node to node, with a bend where the movement ends.
    mouths : sequence of DartMouth
        Of the darts on the edge, in their order along it.
    folds : (bool, bool)
        Whether the edge starts, and ends, on a fold.

    Raises
    ------
    EditError
        When a crossing edge is too short to be cut back so far, or a dart's tip would lie
        outside.
    """
    count = len(edges)
    index = [edge.name for edge in edges].index(name)
    old, before, after = edges[index], edges[index - 1], edges[(index + 1) % count]
    new_before, new_after = before, after
    ways = [unit(direction_at(old.points, node.at)) for node in nodes]
    # The piece lies to the left of its outline.
    vectors = [
        node.inward * np.array([-way[1], way[0]]) for node, way in zip(nodes, ways, strict=True)
    ]
    if nodes[0].inward and nodes[0].at <= SAME_POINT_MM:
        new_before = _end_edge(before, nodes[0].inward, where)
        vectors[0] = new_before.points[-1] - old.points[0]
    if nodes[-1].inward and nodes[-1].at >= old.length - SAME_POINT_MM:
        turned = after.reverse()
        new_after = _end_edge(turned, nodes[-1].inward, where).reverse()
        vectors[-1] = new_after.points[0] - old.points[-1]
    held = (not nodes[0].inward, not nodes[-1].inward)
    flat = held
    if any(held) or len(nodes) > 2:  # else it goes parallel
        at_ends = nodes[0].at <= SAME_POINT_MM, nodes[-1].at >= old.length - SAME_POINT_MM
        flat = (held[0] or (folds[0] and at_ends[0]), held[1] or (folds[1] and at_ends[1]))
    new, stretches = _draw_edge(old, nodes, np.array(vectors), smooth, mouths, flat)
    for mouth in mouths:
        _check_tip(new, old, stretches, mouth, where)
    found = {new.name: new}
    spans = {new.name: stretches}
    for was, now, at_start in ((before, new_before, False), (after, new_after, True)):
        if now is not was:
            found[now.name] = now
            left = min(was.length, now.length)  # of an edge that was cut back or run on
            ends = [
                (edge.length - left, edge.length) if at_start else (0.0, left)
                for edge in (now, was)
            ]
            spans[now.name] = (Stretch("lower", ends[0], ends[1], kept=True),)
    return Moved(found, spans)


def _end_edge(edge: Edge, inward: float, where: str) -> Edge:
    """The edge that runs into a corner, cut back or run on by some mm."""
    if inward > 0.0:
        if inward > edge.length - STEP_MM:
            raise EditError(
                f"{where}: found edge '{edge.name}' of {edge.length:.1f} mm, expected more than "
                f"{inward + STEP_MM:.1f} mm to cut {inward:.1f} mm off it; ask for less"
            )
        points = split(edge.points, edge.length - inward)[0].copy()
        points[-1] = rounded(points[-1])
        turns = tuple(turn for turn in edge.turns if turn < len(points) - 1)
        return Edge(edge.name, points, turns)
    tip = rounded(edge.points[-1] - inward * unit(end_direction(edge.points, "end")))
    if is_straight(edge.points):
        points = edge.points.copy()
        points[-1] = tip
        return Edge(edge.name, points, edge.turns)
    return Edge(edge.name, np.vstack([edge.points, tip]), edge.turns)


def _draw_edge(
    old: Edge,
    nodes: Sequence[Node],
    vectors: Array,
    smooth: bool,
    mouths: Sequence[DartMouth],
    flat: tuple[bool, bool],
) -> tuple[Edge, tuple[Stretch, ...]]:
    low, high = max(nodes[0].at, 0.0), min(nodes[-1].at, old.length)
    head = between(old.points, 0.0, low) if low > SAME_POINT_MM else None
    tail = between(old.points, high, old.length) if high < old.length - SAME_POINT_MM else None
    held = (not nodes[0].inward, not nodes[-1].inward)
    dense = (smooth and any(held)) or len(nodes) > 2
    inside = [m for m in mouths if low - ON_LINE_MM <= m.low and m.high <= high + ON_LINE_MM]
    middle, at, inside = _prepare_middle(old, low, high, dense, inside)
    places = np.array([min(max(node.at, low), high) for node in nodes])

    def shift_of(at: Array, motions: Sequence[Motion]) -> Array:
        folded, own = folded_places(at, inside), folded_places(places, inside)
        turned = np.array(
            [
                motions[sum(place >= mouth.high - SAME_POINT_MM for mouth in inside)].rotate(vector)
                for place, vector in zip(places, vectors, strict=True)
            ]
        )
        if smooth:
            return np.asarray(spline_weights(folded, own, flat) @ turned)
        return np.column_stack([np.interp(folded, own, turned[:, k]) for k in (0, 1)])

    if inside:
        found = move_folded(middle, at, inside, shift_of)
        moved, was, peaks = found.points, found.was, found.peaks
    else:
        shift = shift_of(at, [IDENTITY])
        moved, was, peaks = middle + shift, at, old.points[:0]
        moved[shift.any(axis=1)] = rounded(moved[shift.any(axis=1)])
    moved[0], moved[-1] = rounded(middle[0] + vectors[0]), rounded(middle[-1] + vectors[-1])
    if held[0]:
        moved[0] = middle[0]
    if held[1]:
        moved[-1] = middle[-1]
    turns = old.turn_points
    shifted = turns_moved(turns, (middle, at), (moved, was))
    parts = [part for part in (head, moved, tail) if part is not None]
    edge = edge_from_parts(old.name, parts, np.vstack([shifted, peaks]))
    known = ~np.isnan(was)
    new = arc_lengths(moved)
    return edge, _tell_stretches(
        low, high, old.length, new[known], was[known] - low, float(new[-1])
    )


def _prepare_middle(
    old: Edge, low: float, high: float, dense: bool, mouths: Sequence[DartMouth]
) -> tuple[Array, Array, list[DartMouth]]:
    """What moves of an edge, where its vertices lie on it, and the mouths with their places.

    A line is made denser between its darts alone; each leg is a vertex.
    """
    bounds = [low, *(place for m in mouths for place in (m.low, m.high)), high]
    parts = [
        between(old.points, begin, end)
        for begin, end in pairwise(bounds)
        if end - begin > SAME_POINT_MM
    ]
    if dense:
        gaps = {(m.low, m.high) for m in mouths}
        spans = [span for span in pairwise(bounds) if span[1] - span[0] > SAME_POINT_MM]
        parts = [
            part if span in gaps else densify_smoothly(part, STEP_MM)
            for span, part in zip(spans, parts, strict=True)
        ]
    middle = join(parts)
    at = arc_lengths(middle) + low
    found = []
    for mouth in mouths:
        legs = [
            float(at[np.hypot(*(middle - point_at(old.points, place)).T).argmin()])
            for place in (mouth.low, mouth.high)
        ]
        found.append(replace(mouth, low=legs[0], high=legs[1]))
    return middle, at, found


def _check_tip(
    edge: Edge, old: Edge, stretches: Sequence[Stretch], mouth: DartMouth, where: str
) -> None:
    """Refuse a line that was moved past the tip of a dart; raises EditError."""
    was = point_at(old.points, mouth.low) - mouth.tip
    was = was / float(np.hypot(*was))
    places = (stretch.carry(mouth.low) for stretch in stretches)
    at = next((place for place in places if place is not None), None)
    leg = None if at is None else point_at(edge.points, at)
    if leg is None or float((leg - mouth.tip) @ was) < _LEAST_LEG_MM:
        raise EditError(
            f"{where}: edge '{edge.name}' would lie within {_LEAST_LEG_MM:g} mm of the tip of a "
            "dart on it, or beyond it; ask for less, or move the dart first"
        )


def turns_moved(turns: Array, before: tuple[Array, Array], after: tuple[Array, Array]) -> Array:
    """(k, 2) where corners inside an edge lie now; each line with its places on the old edge."""
    found = []
    for turn in turns:
        same = np.flatnonzero(np.hypot(*(before[0] - turn).T) <= SAME_POINT_MM)
        if not len(same):
            found.append(turn)
            continue
        there = np.flatnonzero(np.abs(after[1] - before[1][same[0]]) <= SAME_POINT_MM)
        if len(there):  # the old peak of a cap stands for nothing
            found.append(after[0][there[0]])
    return np.array(found).reshape(-1, 2)


def vertex_stretches(here: Array, there: Array) -> list[Stretch]:
    """The stretches from vertex to vertex of a line, by the places of its vertices, mm."""
    return [
        Stretch("lower", (here[k], here[k + 1]), (there[k], there[k + 1]))
        for k in range(len(here) - 1)
    ]


def _tell_stretches(
    low: float, high: float, length: float, new: Array, was: Array, whole: float
) -> tuple[Stretch, ...]:
    """Kept up to the first node, by share from vertex to vertex, kept beyond the last one."""
    found = []
    if low > SAME_POINT_MM:
        found.append(Stretch("lower", (0.0, low), (0.0, low), kept=True))
    found += vertex_stretches(low + new, low + was)
    if high < length - SAME_POINT_MM:
        end = low + whole
        found.append(Stretch("lower", (end, end + length - high), (high, length), kept=True))
    return tuple(found)
