"""Carry the change of an edge to another size: in order, and beside its mouths part by part.

A mouth is cloth that was put in or taken out.  Spread over the edge its millimetres would
move what lies beside it; so the line before it and the line behind it are carried each by
itself, and between them the mouth is as it was drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

import numpy as np
import numpy.typing as npt

from propagate.engine.darts.changes import mouth_of
from propagate.engine.revising.carrying import Carrying
from propagate.geometry.correspond import (
    by_millimetres,
    carried_points,
    list_matchings,
    match_lines,
)
from propagate.geometry.polyline import arc_lengths, between, locate_all, point_at
from propagate.pattern.model import Array, Edge
from propagate.tolerances import CHORD_ERROR_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["Mouths", "carry_edge", "find_mouths"]

_CROWDED = 0.5
"""A chord that keeps less than this share of what its like in the drawing kept is crowded."""
_LEFT_OUT_MM = 0.1
"""A line that leaves out some vertices lies no farther from them."""

Ends = tuple[Array, Array]
"""Displacements (2,) of the corners of an edge, mm."""
Carried = tuple[float, Array, Array]
"""Length over which an edge runs back on itself, its (n, 2) points and their displacements, mm."""


@dataclass(frozen=True)
class Mouths:
    """Mouths that a drawing changed on an edge, as stretches of it, ascending, mm.

    Attributes
    ----------
    names : tuple of str
        Of their darts.
    was, now, mine : tuple of (first, last)
        Before and after in the base size, and before in another size.  One that came has no
        width on `was` and `mine`, one that went none on `now`.
    """

    names: tuple[str, ...]
    was: tuple[tuple[float, float], ...]
    now: tuple[tuple[float, float], ...]
    mine: tuple[tuple[float, float], ...]


def carry_edge(change: Carrying, name: str, ends: Ends) -> Carried:
    """Carry an edge whose mouths are straight to another size."""
    was, now, mine = (piece.edge(name) for piece in (change.was, change.now, change.other))
    mouths = find_mouths(change, name)
    if mouths is None:
        return _carry_in_order(change, was, now, mine, ends)
    return _carry_beside(change, was, now, mine, mouths, ends)


def _carry_in_order(change: Carrying, was: Edge, now: Edge, mine: Edge, ends: Ends) -> Carried:
    """Carry a line by the likeliest pairing that keeps the order of its points.

    Two sizes may have as many vertices that do not stand for the same places: then part of
    a change lies closer together than it was drawn, and an end that came in overtakes what
    lies before it.
    """
    lines, turns = (was.points, now.points, mine.points), (was.turns, now.turns, mine.turns)
    scale, held = change.scale(mine.name), mine.turn_points
    found = []
    for knots in chain(
        list_matchings(mine.points, was.points, (mine.turns, was.turns)),
        [by_millimetres(*lines, (was.turns, now.turns))],
    ):
        points, drawn, stood = carried_points(*lines, turns, knots)
        moves = _run_out(arc_lengths(points), scale * change.turn.apply(drawn), ends)
        kept = np.arange(len(points))
        back, crowded = _measure_disorder(points, moves, stood, drawn)
        if back > CHORD_ERROR_MM:
            kept = _leave_out_overtaking(points, moves, held)
            part = [line[kept] for line in (points, moves, stood, drawn)]
            back, crowded = _measure_disorder(*part)
        found.append(((max(back - CHORD_ERROR_MM, 0.0), crowded), back, points[kept], moves[kept]))
        if back <= CHORD_ERROR_MM and crowded == 0.0:
            break
    return min(found, key=lambda item: item[0])[1:]


def _leave_out_overtaking(points: Array, moves: Array, held: Array) -> npt.NDArray[np.intp]:
    """Vertices without those that overtake another, where the line is the same without them.

    A line that was cut shorter by as much as it is long there runs to and fro on itself.
    """
    every = np.arange(len(points))
    arc = arc_lengths(points)
    if (np.diff(arc) <= SAME_POINT_MM).any():
        return every
    along = np.gradient(points, arc, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    place = arc + (moves * along).sum(axis=1)
    before = np.maximum.accumulate(np.concatenate([[-np.inf], place[:-1]]))
    behind = np.minimum.accumulate(np.concatenate([place[1:], [np.inf]])[::-1])[::-1]
    in_order = (place > before) & (place < behind)
    in_order[[0, -1]] = True
    kept = every[in_order]
    _, off = locate_all((points + moves)[kept], (points + moves)[~in_order])
    lost = len(held) and np.hypot(*(held[:, None] - points[kept]).T).min(axis=0).max() > 0.0
    return every if lost or (len(off) and off.max() > _LEFT_OUT_MM) else kept


def _measure_disorder(
    points: Array, moves: Array, stood: Array, drawn: Array
) -> tuple[float, float]:
    """How much of a carried line turned round, and how much came to lie crowded, mm.

    Both are judged against what the drawing did to the like of each chord: one that was
    turned round there too is in order, and one that was shortened.
    """

    def keep_chords(line: Array, by: Array) -> tuple[Array, Array]:
        old, new = np.diff(line, axis=0), np.diff(line + by, axis=0)
        square = np.maximum((old * old).sum(axis=1), SAME_POINT_MM**2)
        return (old * new).sum(axis=1) / square, np.hypot(new[:, 0], new[:, 1])

    here, size = keep_chords(points, moves)
    there, _ = keep_chords(stood, drawn)
    back = float(size[(here < 0.0) & (there >= 0.0)].sum())
    crowded = (here < _CROWDED * np.minimum(there, 1.0)) & (there >= 0.0)
    return back, float(np.hypot(*np.diff(points, axis=0).T)[crowded].sum())


def _run_out(arc: Array, moves: Array, ends: Ends) -> Array:
    """Displacements whose ends are those of the corners, which both neighbours share.

    In proportion an edge may ask another one than its corner has: the difference runs out
    before the first vertex that did not move.
    """
    moves = moves.copy()
    for end, corner in zip((0, -1), ends, strict=True):
        miss = corner - moves[end]
        mine = moves if end == 0 else moves[::-1]
        way = arc if end == 0 else arc[-1] - arc[::-1]
        still = np.flatnonzero(np.hypot(mine[1:, 0], mine[1:, 1]) == 0.0)
        over = way[still[0] + 1] if len(still) else way[-1]
        if np.abs(miss).max() > SAME_POINT_MM:
            ramp = np.clip(1.0 - way / over, 0.0, 1.0)[:, None]
            moves += (ramp if end == 0 else ramp[::-1]) * miss
        moves[end] = corner
    return moves


def find_mouths(change: Carrying, edge: str) -> Mouths | None:
    """Find the mouths that changed on an edge; None when there are none, or not in one order."""
    pieces = (change.was, change.now, change.other)
    old, new, own = (
        {d.name: mouth_of(piece, d) for d in piece.darts if d.edge == edge} for piece in pieces
    )
    changed = {dart.name for dart in change.darts} & {*old, *new}
    if not changed:
        return None
    lines = [piece.edge(edge) for piece in pieces]
    before, after = sorted(old.values()), sorted(new.values())
    ratio = _close_mouths(lines[1].length, after) / _close_mouths(lines[0].length, before)
    here, there = match_lines(lines[2].points, lines[0].points, (lines[2].turns, lines[0].turns))
    rows = []
    for name in changed:
        if name in old and name in new:
            rows.append((old[name], name, new[name], own[name]))
        elif name in new:
            at = _open_mouths(_close_mouths(new[name][0], after) / ratio, before)
            mine = float(np.interp(at, there, here))
            rows.append(((at, at), name, new[name], (mine, mine)))
        else:
            at = _open_mouths(_close_mouths(old[name][0], before) * ratio, after)
            rows.append((old[name], name, (at, at), own[name]))
    was, names, now, mines = zip(*sorted(rows), strict=True)
    for column, line in zip((was, now, mines), lines, strict=True):
        beside = np.diff([0.0, *chain.from_iterable(column), line.length])[::2]
        if not (beside > SAME_POINT_MM).all():  # not in their order, with a stretch beside each
            return None
    return Mouths(names, was, now, mines)


def _close_mouths(at: float, mouths: Sequence[tuple[float, float]]) -> float:
    """A distance along an edge without the mouths before it."""
    return at - sum(max(min(at, high) - low, 0.0) for low, high in mouths)


def _open_mouths(at: float, mouths: Sequence[tuple[float, float]]) -> float:
    """A distance along an edge with the mouths before it counted in."""
    for low, high in mouths:
        if low <= at - SAME_POINT_MM:
            at += high - low
    return at


def _carry_beside(
    change: Carrying, was: Edge, now: Edge, mine: Edge, mouths: Mouths, ends: Ends
) -> Carried:
    """Carry an edge part by part.

    The place at which a mouth came stands twice, once for each leg; where one went, both legs
    go to the middle between them.
    """
    edges = (was, now, mine)
    columns = [
        [0.0, *chain.from_iterable(column), edge.length]
        for column, edge in zip((mouths.was, mouths.now, mouths.mine), edges, strict=True)
    ]
    places = [
        np.array([point_at(edge.points, at) for at in column])
        for column, edge in zip(columns, edges, strict=True)
    ]
    shifts = change.scale(mine.name) * change.turn.apply(places[1] - places[0])
    shifts[0], shifts[-1] = ends
    for k, (low, high) in enumerate(mouths.now):
        if high - low <= SAME_POINT_MM:
            legs = slice(2 * k + 1, 2 * k + 3)
            shifts[legs] = (places[2][legs] + shifts[legs]).mean(axis=0) - places[2][legs]
    back, points, moves = 0.0, [], []
    for k in range(0, len(columns[0]), 2):
        before, after, own = (
            _take_part(edge, column[k], column[k + 1])
            for column, edge in zip(columns, edges, strict=True)
        )
        over, here, moved = _carry_in_order(change, before, after, own, (shifts[k], shifts[k + 1]))
        back = max(back, over)
        points.append(here)
        moves.append(moved)
    return back, np.vstack(points), np.vstack(moves)


def _take_part(edge: Edge, low: float, high: float) -> Edge:
    """A stretch of an edge, with its turn points."""
    points = between(edge.points, low, high)
    corners = edge.points[[t for t in edge.turns if low < edge.arc[t] < high]].reshape(-1, 2)
    turns = [int(np.hypot(*(points - corner).T).argmin()) for corner in corners]
    return Edge(edge.name, points, tuple(turns))
