"""Carry the change of an edge to another size: in order, and beside its mouths part by part.

A mouth is cloth that was put in or taken out.  Spread over the edge its millimetres would
move what lies beside it; so the line before it and the line behind it are carried each by
itself, and between them the mouth is as it was drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from propagate.engine.darts.changes import DartChange, dart_changes, mouth_of
from propagate.geometry.correspond import (
    Knots,
    by_millimetres,
    carried_points,
    list_matchings,
    match_lines,
)
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import arc_lengths, between, locate_all, point_at
from propagate.pattern.model import Array, Edge, SizedPiece
from propagate.tolerances import CHORD_ERROR_MM, ON_LINE_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = [
    "Mouths",
    "carried_beside",
    "carried_in_order",
    "changed_mouths",
    "mouths_on",
    "to_corners",
]

_CROWDED = 0.5
"""A chord that keeps less than this share of what its like in the drawing kept is crowded."""
_LEFT_OUT_MM = 0.1
"""A line that leaves out some vertices lies no farther from them."""


def carried_in_order(
    was: Edge, now: Edge, mine: Edge, turn: Motion, scale: float, ends: tuple[Array, Array]
) -> tuple[float, Array, Array]:
    """Points of an edge and their displacements, by the likeliest pairing that keeps their order.

    Two sizes may have as many vertices that do not stand for the same places: then part of
    a change lies closer together than it was drawn, and an end that came in overtakes what
    lies before it.

    Returns
    -------
    back, points, moves : float, (n, 2) and (n, 2) arrays, mm
        Length over which the edge runs back on itself.
    """
    turns = (was.turns, now.turns, mine.turns)
    lines = (was.points, now.points, mine.points)
    held = mine.points[list(mine.turns)].reshape(-1, 2)
    found = []
    for knots in _pair_knots(was, now, mine):
        points, drawn, stood = carried_points(*lines, turns, knots)
        moves = to_corners(arc_lengths(points), scale * turn.apply(drawn), ends)
        kept = np.arange(len(points))
        back, crowded = _out_of_order(points, moves, stood, drawn)
        if back > CHORD_ERROR_MM:
            kept = _overtaking_left_out(points, moves, held)
            part = [line[kept] for line in (points, moves, stood, drawn)]
            back, crowded = _out_of_order(*part)
        found.append(((max(back - CHORD_ERROR_MM, 0.0), crowded), back, points[kept], moves[kept]))
        if back <= CHORD_ERROR_MM and crowded == 0.0:
            break
    return min(found, key=lambda item: item[0])[1:]


def _pair_knots(was: Edge, now: Edge, mine: Edge) -> Iterator[Knots]:
    """How an edge and its like in the base size may belong together, the likeliest first."""
    yield from list_matchings(mine.points, was.points, (mine.turns, was.turns))
    yield by_millimetres(was.points, now.points, mine.points, (was.turns, now.turns))


def _overtaking_left_out(points: Array, moves: Array, held: Array) -> npt.NDArray[np.intp]:
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


def _out_of_order(points: Array, moves: Array, stood: Array, drawn: Array) -> tuple[float, float]:
    """How much of a carried line turned round, and how much came to lie crowded, mm.

    Both are judged against what the drawing did to the like of each chord: one that was
    turned round there too is in order, and one that was shortened.
    """

    def kept(line: Array, by: Array) -> tuple[Array, Array]:
        old, new = np.diff(line, axis=0), np.diff(line + by, axis=0)
        square = np.maximum((old * old).sum(axis=1), SAME_POINT_MM**2)
        return (old * new).sum(axis=1) / square, np.hypot(new[:, 0], new[:, 1])

    here, size = kept(points, moves)
    there, _ = kept(stood, drawn)
    back = float(size[(here < 0.0) & (there >= 0.0)].sum())
    crowded = (here < _CROWDED * np.minimum(there, 1.0)) & (there >= 0.0)
    return back, float(np.hypot(*np.diff(points, axis=0).T)[crowded].sum())


def to_corners(arc: Array, moves: Array, ends: tuple[Array, Array]) -> Array:
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


def changed_mouths(was: SizedPiece, now: SizedPiece) -> tuple[DartChange, ...]:
    """Darts that a drawing changed, or that came or went.

    One whose legs are no vertices of the drawn line was not drawn there: it only went along.
    """
    return tuple(
        change
        for change in dart_changes(was, now)
        if change.what != "changed" or _is_drawn(now, change.name)
    )


def _is_drawn(piece: SizedPiece, name: str) -> bool:
    """Whether the legs of a dart are vertices of its edge."""
    dart = next(one for one in piece.darts if one.name == name)
    arc = piece.edge(dart.edge).arc
    return all(float(np.abs(arc - at).min()) <= ON_LINE_MM for at in mouth_of(piece, dart))


def mouths_on(was: SizedPiece, now: SizedPiece, other: SizedPiece, edge: str) -> Mouths | None:
    """Find the mouths that changed on an edge; None when there are none, or not in one order."""
    changed = {change.name for change in changed_mouths(was, now)}
    old, new, own = (
        {d.name: mouth_of(piece, d) for d in piece.darts if d.edge == edge}
        for piece in (was, now, other)
    )
    if not changed & {*old, *new}:
        return None
    lines = [piece.edge(edge) for piece in (was, now, other)]
    before, after = sorted(old.values()), sorted(new.values())
    ratio = _close_mouths(lines[1].length, after) / _close_mouths(lines[0].length, before)
    here, there = match_lines(lines[2].points, lines[0].points, (lines[2].turns, lines[0].turns))
    rows = []
    for name in changed & {*old, *new}:
        if name in old and name in new:
            rows.append((old[name], name, new[name], own[name]))
        elif name in new:
            at = _open_mouths(_close_mouths(new[name][0], after) / ratio, before)
            mine = float(np.interp(at, there, here))
            rows.append(((at, at), name, new[name], (mine, mine)))
        else:
            at = _open_mouths(_close_mouths(old[name][0], before) * ratio, after)
            rows.append((old[name], name, (at, at), own[name]))
    rows.sort()
    found = Mouths(
        tuple(row[1] for row in rows),
        tuple(row[0] for row in rows),
        tuple(row[2] for row in rows),
        tuple(row[3] for row in rows),
    )
    columns = zip((found.was, found.now, found.mine), lines, strict=True)
    return found if all(_stand_apart(column, line.length) for column, line in columns) else None


def _stand_apart(column: Sequence[tuple[float, float]], length: float) -> bool:
    """Whether mouths stand in their order along an edge, with a stretch beside each."""
    ends = [0.0, *(at for pair in column for at in pair), length]
    beside = np.diff(ends)[::2]
    return bool((beside > SAME_POINT_MM).all())


def _close_mouths(at: float, mouths: Sequence[tuple[float, float]]) -> float:
    """A distance along an edge without the mouths before it."""
    return at - sum(max(min(at, high) - low, 0.0) for low, high in mouths)


def _open_mouths(at: float, mouths: Sequence[tuple[float, float]]) -> float:
    """A distance along an edge with the mouths before it counted in."""
    for low, high in sorted(mouths):
        if low <= at - SAME_POINT_MM:
            at += high - low
    return at


def carried_beside(
    was: Edge,
    now: Edge,
    mine: Edge,
    mouths: Mouths,
    turn: Motion,
    scale: float,
    ends: tuple[Array, Array],
) -> tuple[float, Array, Array]:
    """Points of an edge and their displacements, part by part, as `carried_in_order` gives them.

    The place at which a mouth came stands twice, once for each leg; where one went, both legs
    go to the middle between them.

    Parameters
    ----------
    was, now, mine : Edge
        Before and after in the base size, and before in another size; mouths straight.
    mouths : Mouths
    turn, scale : Motion, float
        What takes a displacement of the base size to this one.
    ends : ((2,) array, (2,) array)
        Displacements of the corners.
    """
    columns = [
        [0.0, *(at for pair in column for at in pair), edge.length]
        for column, edge in ((mouths.was, was), (mouths.now, now), (mouths.mine, mine))
    ]
    places = [
        np.array([point_at(edge.points, at) for at in column])
        for column, edge in zip(columns, (was, now, mine), strict=True)
    ]
    shifts = scale * turn.apply(places[1] - places[0])
    shifts[0], shifts[-1] = ends
    for k, (low, high) in enumerate(mouths.now):
        if high - low <= SAME_POINT_MM:
            legs = slice(2 * k + 1, 2 * k + 3)
            shifts[legs] = (places[2][legs] + shifts[legs]).mean(axis=0) - places[2][legs]
    back, points, moves = 0.0, [], []
    for k in range(0, len(columns[0]), 2):
        parts = [
            _take_part(edge, column[k], column[k + 1])
            for column, edge in zip(columns, (was, now, mine), strict=True)
        ]
        own, here, moved = carried_in_order(
            parts[0], parts[1], parts[2], turn, scale, (shifts[k], shifts[k + 1])
        )
        back = max(back, own)
        points.append(here)
        moves.append(moved)
    return back, np.vstack(points), np.vstack(moves)


def _take_part(edge: Edge, low: float, high: float) -> Edge:
    """A stretch of an edge, with its turn points."""
    points = between(edge.points, low, high)
    corners = edge.points[[t for t in edge.turns if low < edge.arc[t] < high]].reshape(-1, 2)
    turns = [int(np.hypot(*(points - corner).T).argmin()) for corner in corners]
    return Edge(edge.name, points, tuple(turns))
