"""Carry the change of an edge to another size so that the order of its points is kept."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from propagate.geometry.correspond import Knots, by_millimetres, carried_points, matchings
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import arc_lengths, locate_all
from propagate.pattern.model import Array, Edge
from propagate.tolerances import CHORD_ERROR_MM, SAME_POINT_MM

__all__ = ["carried_in_order", "to_corners"]

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
    yield from matchings(mine.points, was.points, (mine.turns, was.turns))
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
