"""Carry an edge on which a dart came, went or changed: what lies beside its mouth, part by part.

The mouth is cloth that was put in or taken out.  Spread over the edge its millimetres would
move what lies beside it; so the line before it and the line behind it are carried each by
itself, and between them the mouth is as it was drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from propagate.engine.darts.changes import DartChange, dart_changes, mouth_of
from propagate.geometry.correspond import carried_points, matching
from propagate.geometry.polyline import between
from propagate.pattern.model import Array, Edge, SizedPiece
from propagate.tolerances import ON_LINE_MM, SAME_POINT_MM

__all__ = ["Mouths", "carried_beside", "changed_mouths", "mouths_on"]


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
    ratio = _closed(lines[1].length, after) / _closed(lines[0].length, before)
    here, there = matching(lines[2].points, lines[0].points, (lines[2].turns, lines[0].turns))
    rows = []
    for name in changed & {*old, *new}:
        if name in old and name in new:
            rows.append((old[name], name, new[name], own[name]))
        elif name in new:
            at = _opened(_closed(new[name][0], after) / ratio, before)
            mine = float(np.interp(at, there, here))
            rows.append(((at, at), name, new[name], (mine, mine)))
        else:
            at = _opened(_closed(old[name][0], before) * ratio, after)
            rows.append((old[name], name, (at, at), own[name]))
    rows.sort()
    found = Mouths(
        tuple(row[1] for row in rows),
        tuple(row[0] for row in rows),
        tuple(row[2] for row in rows),
        tuple(row[3] for row in rows),
    )
    columns = zip((found.was, found.now, found.mine), lines, strict=True)
    return found if all(_parted(column, line.length) for column, line in columns) else None


def _parted(column: Sequence[tuple[float, float]], length: float) -> bool:
    """Whether mouths stand in their order along an edge, with a stretch beside each."""
    ends = [0.0, *(at for pair in column for at in pair), length]
    beside = np.diff(ends)[::2]
    return bool((beside > SAME_POINT_MM).all())


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
        if ends[1][k + 2] - ends[1][k + 1] <= SAME_POINT_MM:
            closed.append(sum(map(len, points)) - 1)
        elif ends[0][k + 2] - ends[0][k + 1] <= SAME_POINT_MM:
            drawn = between(now.points, ends[1][k + 1], ends[1][k + 2])[1:-1]
            points.append(np.repeat(here[-1:], len(drawn), axis=0))
            moves.append(drawn - a[-1])
    return np.vstack(points), np.vstack(moves), closed


def _part(edge: Edge, low: float, high: float) -> tuple[Array, tuple[int, ...]]:
    """A stretch of an edge and its turn points."""
    points = between(edge.points, low, high)
    corners = edge.points[[t for t in edge.turns if low < edge.arc[t] < high]].reshape(-1, 2)
    turns = [int(np.hypot(*(points - corner).T).argmin()) for corner in corners]
    return points, tuple(turns)
