"""The outline of a follower as lines that hang on what may move.

A corner, or a landmark inside an edge at which a run ends, is a *node*: it may move freely,
along one direction, or not at all.  The movement of the nodes of an edge spreads over it as
a spline (see `spread`); beyond a hold nothing moves.  A straight edge stays straight.  A dart
moves as a whole, and only with what moves the edge across: where the edge is merely trimmed
or let out at its end it stays where it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from propagate.engine.following.lengths import Line
from propagate.engine.following.spread import spline_weights
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.polyline import arc_lengths, end_direction, is_straight, unit
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.spans import dart_mouths
from propagate.tolerances import CHORD_ERROR_MM, SAME_POINT_MM

__all__ = ["FIXED", "EdgeLine", "Move", "OutlineMoves", "edge_lines"]

Array = npt.NDArray[np.float64]
Index = npt.NDArray[np.intp]

_FINEST_MM = 2.0
_COARSEST_MM = 20.0


@dataclass(frozen=True, eq=False)
class Move:
    """How a node may move: ``slope @ q[unknowns]``.

    Attributes
    ----------
    unknowns : (k,) array of int
    slope : (2, k) array
    along : str
        The edge along whose own line the node slides, so that its shape stays; or nothing.
    """

    unknowns: Index
    slope: Array
    along: str = ""

    @property
    def fixed(self) -> bool:
        """Whether it may not move at all."""
        return not len(self.unknowns)

    def scaled(self, matrix: Array) -> Move:
        """The move that a (2, 2) matrix makes of this one."""
        return Move(self.unknowns, matrix @ self.slope)


FIXED = Move(np.zeros(0, dtype=np.intp), np.zeros((2, 0)))


@dataclass(frozen=True)
class OutlineMoves:
    """What may move on a piece.

    Attributes
    ----------
    corners : sequence of Move
        Of the start of each edge, in the order of the edges.
    inner : mapping of edge name to (distance along it, Move)
        Landmarks at which a run ends.
    held : mapping of edge name to (first, last) distance
        Stretches that may not change; the edge ends on the far side of one are fixed.
    places : mapping of edge name to distances
        Where a vertex is needed: ends of spans, legs of darts.
    expected_mm : float
        About how far something will move; curves are made as dense as that needs.
    """

    corners: Sequence[Move]
    inner: Mapping[str, Sequence[tuple[float, Move]]] = field(default_factory=dict)
    held: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    places: Mapping[str, Sequence[float]] = field(default_factory=dict)
    expected_mm: float = 1.0


@dataclass(frozen=True, eq=False)
class EdgeLine:
    """An edge as a line, with the vertices of its places."""

    edge: Edge
    line: Line
    turns: tuple[int, ...]

    def vertex(self, distance: float) -> int:
        """Index of the vertex at a distance along the old edge, which is a place of it."""
        return int(np.abs(arc_lengths(self.line.points) - distance).argmin())


def edge_lines(piece: SizedPiece, moves: OutlineMoves) -> list[EdgeLine]:
    """Every edge of a piece as a line; edges on which nothing moves hang on no unknown."""
    count = len(piece.edges)
    return [
        _edge_line(piece, edge, moves.corners[i], moves.corners[(i + 1) % count], moves)
        for i, edge in enumerate(piece.edges)
    ]


def _edge_line(
    piece: SizedPiece, edge: Edge, first: Move, last: Move, moves: OutlineMoves
) -> EdgeLine:
    inner = sorted(moves.inner.get(edge.name, ()), key=lambda item: item[0])
    nodes = [(0.0, first), *inner, (edge.length, last)]
    held = moves.held.get(edge.name)
    mouths = dart_mouths(piece, edge.name)
    places = [*moves.places.get(edge.name, ()), *(d for d, _ in inner)]
    places += [d for mouth in mouths for d in mouth]
    if held is not None:
        places += list(held)
    if all(move.fixed for _, move in nodes):
        points, turns = _with_places(edge, places, None)
        return EdgeLine(edge, Line(points, FIXED.unknowns, np.zeros((len(points), 2, 0))), turns)
    straight = is_straight(edge.points) and len(nodes) == 2 and held is None and not mouths
    step = None if straight else _step(nodes, moves.expected_mm)
    points, turns = _with_places(edge, places, step)
    unknowns = np.unique(np.concatenate([move.unknowns for _, move in nodes]))
    slope = np.zeros((len(points), 2, len(unknowns)))
    arc = arc_lengths(points) * (edge.length / max(arc_lengths(points)[-1], SAME_POINT_MM))
    for part in _free_parts(nodes, held):
        _spread(slope, points, arc, unknowns, part, edge, mouths, straight=straight)
    return EdgeLine(edge, Line(points, unknowns, slope), turns)


def _step(nodes: Sequence[tuple[float, Move]], expected: float) -> float:
    """Longest chord for which the spread of a movement is drawn within the chord error."""
    places = [distance for distance, _ in nodes]
    shortest = max(min(np.diff(places)), 1.0)
    # The spread bends by at most 6 d / f^2; a chord h stands off it by bend * h^2 / 8.
    bend = 6.0 * max(expected, 0.1) / shortest**2
    return float(np.clip(np.sqrt(4.0 * CHORD_ERROR_MM / bend), _FINEST_MM, _COARSEST_MM))


def _with_places(
    edge: Edge, places: Sequence[float], step: float | None
) -> tuple[Array, tuple[int, ...]]:
    """Vertices of an edge with those of its places added, and the indices of its turns."""
    points = edge.points if step is None else densify_smoothly(edge.points, step)
    corners = edge.points[list(edge.turns)]
    arc = arc_lengths(edge.points)
    for place in sorted(set(places)):
        near = int(np.abs(arc - place).argmin())
        if abs(float(arc[near]) - place) > SAME_POINT_MM:
            points = _inserted(points, _point(edge.points, arc, place))
    turns = tuple(sorted(int(np.hypot(*(points - corner).T).argmin()) for corner in corners))
    return points, turns


def _point(points: Array, arc: Array, place: float) -> Array:
    return np.array([np.interp(place, arc, points[:, k]) for k in (0, 1)])


def _inserted(points: Array, point: Array) -> Array:
    """A polyline with a vertex added where it passes nearest to a point."""
    start, delta = points[:-1], np.diff(points, axis=0)
    share = ((point - start) * delta).sum(axis=1) / np.maximum((delta**2).sum(axis=1), 1e-300)
    share = np.clip(share, 0.0, 1.0)
    foot = start + share[:, None] * delta
    gaps = np.hypot(*(foot - point).T)
    at = int(gaps.argmin())
    if min(np.hypot(*(points[[at, at + 1]] - point).T)) <= SAME_POINT_MM:
        return points
    return np.asarray(np.insert(points, at + 1, point, axis=0))


def _free_parts(
    nodes: Sequence[tuple[float, Move]], held: tuple[float, float] | None
) -> list[list[tuple[float, Move]]]:
    """Nodes of the parts of an edge that may move, one list for each side of a held stretch."""
    if held is None:
        return [list(nodes)]
    low, high = held
    parts = [
        [node for node in nodes if node[0] < low - SAME_POINT_MM] + [(low, FIXED)],
        [(high, FIXED)] + [node for node in nodes if node[0] > high + SAME_POINT_MM],
    ]
    return [part for part in parts if len(part) > 1 and any(not m.fixed for _, m in part)]


def _spread(
    slope: Array,
    points: Array,
    arc: Array,
    unknowns: Index,
    nodes: Sequence[tuple[float, Move]],
    edge: Edge,
    mouths: Sequence[tuple[float, float]],
    *,
    straight: bool,
) -> None:
    """Add the movement of the nodes of one part of an edge to the slopes of its vertices."""
    places = np.array([distance for distance, _ in nodes])
    ends = not straight and nodes[0][1].fixed, not straight and nodes[-1][1].fixed
    here = (arc >= places[0] - SAME_POINT_MM) & (arc <= places[-1] + SAME_POINT_MM)
    inside = [m for m in mouths if places[0] <= m[0] and m[1] <= places[-1]]
    across = _with_darts(arc[here], places, ends, inside)
    rows = np.flatnonzero(here)
    for k, (_, move) in enumerate(nodes):
        if move.fixed:
            continue
        at_start = k == 0
        along, trimmed = across[:, k], bool(inside) and k in (0, len(nodes) - 1)
        if trimmed:
            along = _to_the_dart(arc[here], places, inside, at_start=at_start)
        if move.along == edge.name:
            way = _tangents(points[here], move.slope[:, 0], at_start=at_start)
            part = (along[:, None] * way)[:, :, None]
        elif trimmed:
            direction = unit(end_direction(edge.points, "start" if at_start else "end"))
            matrix = np.outer(direction, direction)
            spread = across[:, k, None, None] * (np.eye(2) - matrix)
            part = (spread + along[:, None, None] * matrix) @ move.slope
        else:
            part = across[:, k, None, None] * move.slope
        columns = np.searchsorted(unknowns, move.unknowns)
        slope[np.ix_(rows, np.arange(2), columns)] += part


def _to_the_dart(
    at: Array, places: Array, mouths: Sequence[tuple[float, float]], *, at_start: bool
) -> Array:
    """Weights of an end that is trimmed or let out: nothing moves beyond the next dart."""
    stop = mouths[0][0] if at_start else mouths[-1][1]
    reach = np.array([places[0], stop] if at_start else [stop, places[-1]])
    weights = spline_weights(at, reach, (not at_start, at_start))[:, 0 if at_start else 1]
    return np.asarray(np.where(at > stop if at_start else at < stop, 0.0, weights))


def _tangents(points: Array, direction: Array, *, at_start: bool) -> Array:
    """(n, 2) unit directions of a line at its vertices, in the sense of the end that moves.

    The end itself moves exactly in its direction.
    """
    way = np.gradient(points, arc_lengths(points), axis=0)
    way /= np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-12)[:, None]
    end = 0 if at_start else -1
    way *= 1.0 if way[end] @ direction >= 0.0 else -1.0
    way[end] = direction
    return np.asarray(way)


def _with_darts(
    at: Array, places: Array, clamped: tuple[bool, bool], mouths: Sequence[tuple[float, float]]
) -> Array:
    """Spline weights in which the two legs of a dart move alike."""
    base = spline_weights(at, places, clamped)
    if not mouths:
        return base
    middles = np.array([(low + high) / 2 for low, high in mouths])
    moved = spline_weights(middles, places, clamped)
    legs = np.array([d for mouth in mouths for d in mouth])
    knots = np.concatenate([places, legs])
    rows = np.vstack([np.eye(len(places)), np.repeat(moved, 2, axis=0)])
    order = np.argsort(knots, kind="stable")
    keep = np.concatenate([[True], np.diff(knots[order]) > SAME_POINT_MM])
    order = order[keep]
    weights = spline_weights(at, knots[order], clamped) @ rows[order]
    for (low, high), row in zip(mouths, moved, strict=True):
        weights[(at >= low) & (at <= high)] = row
    return np.asarray(weights)
