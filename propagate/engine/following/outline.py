"""The outline of a follower as lines that hang on what may move.

A corner, or a landmark inside an edge at which a run ends, is a *node*: it may move freely,
along one direction, or not at all.  The movement of the nodes of an edge spreads over it as
a spline (see `spread`); beyond a hold nothing moves.  A straight edge stays straight.  A dart
moves as a whole, and only with what moves the edge across: where the edge is merely trimmed
or let out at its end it stays where it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from itertools import pairwise

import numpy as np

from propagate.engine.following.lengths import Line
from propagate.engine.following.spread import spline_weights
from propagate.geometry.arrays import Array, Indices
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.directions import end_direction
from propagate.geometry.polyline import arc_lengths, is_straight, join, locate, points_at, unit
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.spans import dart_mouths
from propagate.tolerances import CHORD_ERROR_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["FIXED", "EdgeLine", "Move", "OutlineMoves", "edge_lines", "with_vertices"]

_FINEST_MM = 2.0
_COARSEST_MM = 20.0


@dataclass(frozen=True, eq=False)
class Move:
    """How a node may move: ``slope @ q[unknowns]``.

    Attributes
    ----------
    unknowns : (k,) array of int
    slope : (2, k) array
    along : set of str
        The edges along whose own line the node slides, so that their shape stays.
    """

    unknowns: Indices
    slope: Array
    along: frozenset[str] = frozenset()

    @property
    def fixed(self) -> bool:
        """Whether it may not move at all."""
        return not len(self.unknowns)

    def scaled(self, matrix: Array, along: str) -> Move:
        """Return the move that a (2, 2) matrix makes of this one, which slides along an edge."""
        one_way = len(self.unknowns) == 1
        return Move(self.unknowns, matrix @ self.slope, frozenset({along} if one_way else ()))


FIXED = Move(np.zeros(0, dtype=np.intp), np.zeros((2, 0)))


@dataclass(frozen=True)
class OutlineMoves:
    """What may move on a piece.

    Attributes
    ----------
    corners : sequence of Move
        Of the start of each edge, in the order of the edges.
    inner : mapping of edge name to (distance along it, Move)
        Landmarks at which a run ends; beyond one that stays nothing moves, but for a straight
        edge, which stays straight.
    held : mapping of edge name to (first, last) distance
        Stretches that may not change; the edge ends on the far side of one are fixed.
    places : mapping of edge name to distances
        Where a vertex is needed: ends of spans, legs of darts.
    joints : set of int
        Corners, by the index of the edge that starts there, across which the movement runs on
        smoothly: two edges that are one line.
    passed : set of int
        Those of them at which nothing ends: they move as the line does.
    expected_mm : float
        About how far something will move; curves are made as dense as that needs.
    """

    corners: Sequence[Move]
    inner: Mapping[str, Sequence[tuple[float, Move]]] = field(default_factory=dict)
    held: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    places: Mapping[str, Sequence[float]] = field(default_factory=dict)
    joints: frozenset[int] = frozenset()
    passed: frozenset[int] = frozenset()
    expected_mm: float = 1.0


@dataclass(frozen=True, eq=False)
class EdgeLine:
    """An edge as a line, with the vertices of its places."""

    edge: Edge
    line: Line
    turns: tuple[int, ...]

    def vertex(self, distance: float) -> int:
        """Return the index of the vertex at a place of the old edge, mm along it."""
        return int(np.abs(arc_lengths(self.line.points) - distance).argmin())


def edge_lines(piece: SizedPiece, moves: OutlineMoves) -> list[EdgeLine]:
    """Make every edge of a piece a line; edges on which nothing moves hang on no unknown."""
    count = len(piece.edges)
    first = next((i for i in range(count) if i not in moves.joints), 0)
    chains: list[list[int]] = []  # of edges that run on as one line
    for i in (*range(first, count), *range(first)):
        if i in moves.joints and chains:
            chains[-1].append(i)
        else:
            chains.append([i])
    found: dict[int, EdgeLine] = {}
    for chain in chains:
        found |= dict(zip(chain, _cut_lines(piece, chain, moves), strict=True))
    return [found[i] for i in range(count)]


@dataclass(frozen=True, eq=False)
class _Chain:
    """Edges that are one line, in distances along it, mm."""

    points: Array
    names: frozenset[str]
    nodes: Sequence[tuple[float, Move]]
    held: tuple[float, float] | None
    mouths: Sequence[tuple[float, float]]
    places: Sequence[float]


def _make_chain(piece: SizedPiece, indices: Sequence[int], moves: OutlineMoves) -> _Chain:
    edges = [piece.edges[i] for i in indices]
    starts = [0.0, *np.cumsum([edge.length for edge in edges]).tolist()]
    nodes: list[tuple[float, Move]] = []
    held: list[float] = []
    mouths: list[tuple[float, float]] = []
    places = starts[1:-1]
    for i, edge, start in zip(indices, edges, starts, strict=False):
        inner = sorted(moves.inner.get(edge.name, ()), key=lambda item: item[0])
        if is_straight(edge.points):
            inner = [node for node in inner if not node[1].fixed]
        if i not in moves.passed or i == indices[0]:
            nodes.append((start, moves.corners[i]))
        nodes += [(start + d, move) for d, move in inner]
        mouths += [(start + a, start + b) for a, b in dart_mouths(piece, edge.name)]
        held += [start + d for d in moves.held.get(edge.name, ())]
        places += [start + d for d in moves.places.get(edge.name, ())]
    nodes.append((starts[-1], moves.corners[(indices[-1] + 1) % len(piece.edges)]))
    places += [d for d, _ in nodes[1:-1]] + [d for mouth in mouths for d in mouth] + held
    points = join([edge.points for edge in edges])
    names = frozenset(edge.name for edge in edges)
    return _Chain(points, names, nodes, (min(held), max(held)) if held else None, mouths, places)


def _cut_lines(piece: SizedPiece, indices: Sequence[int], moves: OutlineMoves) -> list[EdgeLine]:
    chain = _make_chain(piece, indices, moves)
    edges = [piece.edges[i] for i in indices]
    nodes, unknowns = chain.nodes, FIXED.unknowns
    if all(move.fixed for _, move in nodes):
        points = _with_places(chain, None)
        slope = np.zeros((len(points), 2, 0))
    else:
        plain = len(nodes) == 2 and chain.held is None and not chain.mouths
        straight = plain and is_straight(chain.points)
        points = _with_places(chain, None if straight else _choose_step(nodes, moves.expected_mm))
        unknowns = np.unique(np.concatenate([move.unknowns for _, move in nodes]))
        slope = np.zeros((len(points), 2, len(unknowns)))
        arc = arc_lengths(points) * (nodes[-1][0] / max(arc_lengths(points)[-1], SAME_POINT_MM))
        for part in _free_parts(nodes, chain.held):
            _spread_moves(slope, points, arc, unknowns, part, chain, straight=straight)
    ends = [0, *(_vertex_at(points, edge.points[-1]) for edge in edges[:-1]), len(points) - 1]
    found = []
    for edge, (a, b) in zip(edges, pairwise(ends), strict=True):
        own = points[a : b + 1]
        turns = tuple(sorted(_vertex_at(own, corner) for corner in edge.turn_points))
        found.append(EdgeLine(edge, Line(own, unknowns, slope[a : b + 1]), turns))
    return found


def _vertex_at(points: Array, place: Array) -> int:
    return int(np.hypot(*(points - place).T).argmin())


def _choose_step(nodes: Sequence[tuple[float, Move]], expected: float) -> float:
    """Choose the chord for which the spread of a movement is drawn within the chord error."""
    places = [distance for distance, _ in nodes]
    shortest = max(min(np.diff(places)), 1.0)
    # The spread bends by at most 6 d / f^2; a chord h stands off it by bend * h^2 / 8.
    bend = 6.0 * max(expected, 0.1) / shortest**2
    return float(np.clip(np.sqrt(4.0 * CHORD_ERROR_MM / bend), _FINEST_MM, _COARSEST_MM))


def _with_places(chain: _Chain, step: float | None) -> Array:
    """Add the vertices of its places to a line."""
    points = chain.points if step is None else densify_smoothly(chain.points, step)
    return with_vertices(chain.points, chain.places, points)


def with_vertices(line: Array, places: Sequence[float], points: Array | None = None) -> Array:
    """Add vertices to a line at some distances along it.

    Parameters
    ----------
    line : (n, 2) array
    places : sequence of float
        mm along it.
    points : (m, 2) array or None
        The same line with more vertices, to which they are added.
    """
    points = line if points is None else points
    arc = arc_lengths(line)
    fresh = np.unique([place for place in places if np.abs(arc - place).min() > SAME_POINT_MM])
    for point in points_at(line, fresh):
        at = max(int(arc_lengths(points).searchsorted(locate(points, point)[0])), 1)
        if np.hypot(*(points[[at - 1, at]] - point).T).min() > SAME_POINT_MM:
            points = np.insert(points, at, point, axis=0)
    return points


def _free_parts(
    nodes: Sequence[tuple[float, Move]], held: tuple[float, float] | None
) -> list[list[tuple[float, Move]]]:
    """Divide nodes by parts of an edge that may move: between holds and nodes that stay."""
    parts = [list(nodes)]
    if held is not None:
        low, high = held
        parts = [
            [node for node in nodes if node[0] < low - SAME_POINT_MM] + [(low, FIXED)],
            [(high, FIXED)] + [node for node in nodes if node[0] > high + SAME_POINT_MM],
        ]
    found = []
    for part in parts:
        stays = [k for k in range(1, len(part) - 1) if part[k][1].fixed]
        for first, last in zip([0, *stays], [*stays, len(part) - 1], strict=True):
            found.append(part[first : last + 1])
    return [part for part in found if len(part) > 1 and any(not m.fixed for _, m in part)]


def _spread_moves(
    slope: Array,
    points: Array,
    arc: Array,
    unknowns: Indices,
    nodes: Sequence[tuple[float, Move]],
    chain: _Chain,
    *,
    straight: bool,
) -> None:
    """Add the movement of the nodes of one part of a line to the slopes of its vertices."""
    places = np.array([distance for distance, _ in nodes])
    ends = not straight and nodes[0][1].fixed, not straight and nodes[-1][1].fixed
    here = (arc >= places[0] - SAME_POINT_MM) & (arc <= places[-1] + SAME_POINT_MM)
    inside = [m for m in chain.mouths if places[0] <= m[0] and m[1] <= places[-1]]
    across = _with_darts(arc[here], places, ends, inside)
    rows = np.flatnonzero(here)
    for k, (place, move) in enumerate(nodes):
        if move.fixed:
            continue
        at_start = k == 0
        along, trimmed = across[:, k], bool(inside) and k in (0, len(nodes) - 1)
        if trimmed:
            along = _to_the_dart(arc[here], places, inside, at_start=at_start)
        if move.along & chain.names:
            vertex = int(np.abs(arc[here] - place).argmin())
            way = _find_tangents(points[here], move.slope[:, 0], vertex)
            part = (along[:, None] * way)[:, :, None]
        elif trimmed:
            direction = unit(end_direction(chain.points, "start" if at_start else "end"))
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
    """Return weights of an end that is trimmed or let out: nothing moves beyond the next dart."""
    stop = mouths[0][0] if at_start else mouths[-1][1]
    reach = np.array([places[0], stop] if at_start else [stop, places[-1]])
    weights = spline_weights(at, reach, (not at_start, at_start))[:, 0 if at_start else 1]
    return np.asarray(np.where(at > stop if at_start else at < stop, 0.0, weights))


def _find_tangents(points: Array, direction: Array, vertex: int) -> Array:
    """Find (n, 2) directions of a line at its vertices, as long as that in which one moves.

    That one moves exactly in its direction.
    """
    way = np.gradient(points, arc_lengths(points), axis=0)
    way *= np.hypot(*direction) / np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-12)[:, None]
    way *= 1.0 if way[vertex] @ direction >= 0.0 else -1.0
    way[vertex] = direction
    return np.asarray(way)


def _with_darts(
    at: Array, places: Array, clamped: tuple[bool, bool], mouths: Sequence[tuple[float, float]]
) -> Array:
    """Return spline weights in which the two legs of a dart move alike."""
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
