"""Carry an edge on which a dart came or went: what lies beside its mouth, part by part.

The mouth is cloth that was put in or taken out.  Spread over the edge its millimetres would
move what lies beside it; so the line before it and the line behind it are carried each by
itself, and between them the mouth is as it was drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from propagate.engine.darts.changes import dart_changes, mouth_of
from propagate.geometry.correspond import carried_points, matching
from propagate.geometry.polyline import between
from propagate.pattern.model import Array, Edge, SizedPiece
from propagate.tolerances import SAME_POINT_MM

__all__ = ["Mouths", "carried_beside", "mouths_on"]


@dataclass(frozen=True)
class Mouths:
    """Mouths that came or went on an edge, as stretches of it, ascending, mm.

    Attributes
    ----------
    was, now, mine : tuple of (first, last)
        Before and after in the base size, and before in another size.  One that came has no
        width on `was` and `mine`, one that went none on `now`.
    """

    was: tuple[tuple[float, float], ...]
    now: tuple[tuple[float, float], ...]
    mine: tuple[tuple[float, float], ...]


def mouths_on(was: SizedPiece, now: SizedPiece, other: SizedPiece, edge: str) -> Mouths | None:
    """Find the mouths of darts that came or went on an edge; None when there are none."""
    changes = dart_changes(was, now)
    came = sorted(
        mouth_of(now, dart)
        for change in changes
        for dart in now.darts
        if dart.name == change.name and change.what in ("came", "swung") and dart.edge == edge
    )
    gone = [
        dart.name
        for change in changes
        for dart in was.darts
        if dart.name == change.name and change.what in ("went", "swung") and dart.edge == edge
    ]
    went = {d.name: mouth_of(was, d) for d in was.darts if d.name in gone}
    own = {d.name: mouth_of(other, d) for d in other.darts if d.name in gone}
    if not (came or went):
        return None
    lines = [piece.edge(edge) for piece in (was, now, other)]
    ratio = _closed(lines[1].length, came) / _closed(lines[0].length, list(went.values()))
    here, there = matching(lines[2].points, lines[0].points, (lines[2].turns, lines[0].turns))
    rows = []
    for low, high in came:
        at = _opened(_closed(low, came) / ratio, sorted(went.values()))
        mine = float(np.interp(at, there, here))
        rows.append(((at, at), (low, high), (mine, mine)))
    for name, (low, high) in went.items():
        at = _opened(_closed(low, list(went.values())) * ratio, came)
        rows.append(((low, high), (at, at), own[name]))
    rows.sort()
    columns = [tuple(row[k] for row in rows) for k in range(3)]
    return Mouths(columns[0], columns[1], columns[2])


def _closed(at: float, mouths: Sequence[tuple[float, float]]) -> float:
    """A distance along an edge without the mouths before it."""
    return at - sum(max(min(at, high) - low, 0.0) for low, high in mouths)


def _opened(at: float, mouths: Sequence[tuple[float, float]]) -> float:
    """A distance along an edge with the mouths before it counted in."""
    for low, high in sorted(mouths):
        if low <= at - SAME_POINT_MM:
            at += high - low
    return at


def carried_beside(
    was: Edge, now: Edge, mine: Edge, mouths: Mouths
) -> tuple[Array, Array, list[int]]:
    """Points of an edge and their displacements, part by part.

    Parameters
    ----------
    was, now, mine : Edge
        Before and after in the base size, and before in another size.
    mouths : Mouths

    Returns
    -------
    points, moves : (n, 2) arrays
        As `carried_points` gives them.  The place at which a mouth came stands once for each
        leg and for every vertex between them.
    closed : list of int
        Indices of points that come together with the next one, where a mouth went.
    """
    points: list[Array] = []
    moves: list[Array] = []
    closed: list[int] = []
    ends = [
        [0.0, *(at for pair in column for at in pair), edge.length]
        for column, edge in ((mouths.was, was), (mouths.now, now), (mouths.mine, mine))
    ]
    for k in range(0, len(ends[0]), 2):
        (a, a_turns), (b, b_turns), (c, c_turns) = (
            _part(edge, bounds[k], bounds[k + 1])
            for edge, bounds in zip((was, now, mine), ends, strict=True)
        )
        here, moved, _ = carried_points(a, b, c, (a_turns, b_turns, c_turns))
        points.append(here)
        moves.append(moved)
        if k + 2 == len(ends[0]):
            break
        if ends[1][k + 2] - ends[1][k + 1] > SAME_POINT_MM:
            drawn = between(now.points, ends[1][k + 1], ends[1][k + 2])[1:-1]
            points.append(np.repeat(here[-1:], len(drawn), axis=0))
            moves.append(drawn - a[-1])
        else:
            closed.append(sum(map(len, points)) - 1)
    return np.vstack(points), np.vstack(moves), closed


def _part(edge: Edge, low: float, high: float) -> tuple[Array, tuple[int, ...]]:
    """A stretch of an edge and its turn points."""
    points = between(edge.points, low, high)
    corners = edge.points[[t for t in edge.turns if low < edge.arc[t] < high]].reshape(-1, 2)
    turns = [int(np.hypot(*(points - corner).T).argmin()) for corner in corners]
    return points, tuple(turns)
