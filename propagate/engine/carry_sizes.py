"""Carry a change that was drawn in the base size alone to another size."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.register import Registered
from propagate.engine.relations.ends import landmark_on
from propagate.engine.reshape import rounded
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import arc_lengths, point_at
from propagate.pattern.model import Edge, InternalLine, SizedPiece
from propagate.tolerances import STEP_MM

__all__ = ["Carry", "carried_to"]

Array = npt.NDArray[np.float64]
Carry = Literal["millimetres", "proportion"]


def carried_to(
    base_old: SizedPiece, base_new: Registered, other: SizedPiece, carry: Carry
) -> SizedPiece:
    """Carry a change of the base size to another size, edge by edge.

    The displacement at each share of an edge's length is the base's, turned with the
    grain; in proportion it is scaled by the lengths of the edges.  Corners take the mean
    of their two edges.
    """
    spin = complex(*other.grain.direction) / complex(*base_old.grain.direction)
    turn = Motion(spin / abs(spin))
    corners = _corner_moves(base_old, base_new.piece, other, turn, carry)
    edges = []
    for i, (was, now, mine) in enumerate(
        zip(base_old.edges, base_new.piece.edges, other.edges, strict=True)
    ):
        if now == was:
            edges.append(mine)
            continue
        scale = mine.length / was.length if carry == "proportion" else 1.0
        # A straight edge has two points in one size and must still take a curve on.
        points = densify_smoothly(mine.points, STEP_MM)
        share = arc_lengths(points)
        share = share / share[-1]
        moves = scale * turn.apply(_displacement(was, now, share))
        # Ends follow the corners, which both neighbours share.
        start, end = corners[i] - moves[0], corners[(i + 1) % len(corners)] - moves[-1]
        moves = moves + np.outer(1 - share, start) + np.outer(share, end)
        turns = mine.points[list(mine.turns)].reshape(-1, 2)
        kept = [_vertex(points, turn) for turn in turns]
        edges.append(Edge(mine.name, rounded(points + moves), tuple(kept)))
    for i, edge in enumerate(edges):
        previous = edges[i - 1]
        if (edge.points[0] != previous.points[-1]).any():
            points = edge.points.copy()
            points[0] = previous.points[-1]
            edges[i] = Edge(edge.name, points, edge.turns)
    new = replace(other, edges=tuple(edges))
    new = replace(new, landmarks=tuple(landmark_on(new, other, mark) for mark in other.landmarks))
    return _with_inside(base_old, base_new, _with_marks(base_new, new, carry), turn, carry)


def _vertex(points: Array, point: Array) -> int:
    """Index of the vertex nearest to a point."""
    return int(np.hypot(*(points - point).T).argmin())


def _displacement(was: Edge, now: Edge, share: Array) -> Array:
    """Displacement (n, 2) of an edge at shares (n,) of its length."""
    arc = arc_lengths(now.points)
    columns = [
        np.interp(share * arc[-1], arc, now.points[:, k])
        - np.interp(share * was.length, was.arc, was.points[:, k])
        for k in (0, 1)
    ]
    return np.column_stack(columns)


def _corner_moves(
    was: SizedPiece, now: SizedPiece, other: SizedPiece, turn: Motion, carry: Carry
) -> list[Array]:
    """Displacement of each corner (the start of each edge) in the other size."""
    moves = []
    for i, (a, b) in enumerate(zip(was.edges, now.edges, strict=True)):
        scale = 1.0
        if carry == "proportion":
            pairs = ((other.edges[i], a), (other.edges[i - 1], was.edges[i - 1]))
            scale = float(np.mean([mine.length / base.length for mine, base in pairs]))
        moves.append(scale * turn.apply(b.points[0] - a.points[0]))
    return moves


def _with_marks(base_new: Registered, new: SizedPiece, carry: Carry) -> SizedPiece:
    """Landmarks that were moved along their edge, or are new, in the other size.

    A new one keeps its distance from the nearer end of its edge, or its share of it.
    """
    marks = {mark.name: mark for mark in new.landmarks}
    for change in base_new.marks:
        if not change.edge:
            continue
        edge = new.edge(change.edge)
        base = base_new.piece.edge(change.edge).length
        if change.what == "moved":
            ratio = edge.length / base if carry == "proportion" else 1.0
            along = new.distance(change.edge, change.name) + ratio * change.moved_mm
        elif carry == "proportion":
            along = change.moved_mm / base * edge.length
        else:
            from_end = base - change.moved_mm
            along = change.moved_mm if change.moved_mm <= from_end else edge.length - from_end
        x, y = rounded(point_at(edge.points, min(max(along, 0.0), edge.length)))
        mark = marks.get(change.name, base_new.piece.landmark(change.name))
        marks[change.name] = replace(mark, point=(float(x), float(y)))
    return replace(new, landmarks=tuple(marks.values()))


def _with_inside(
    base_old: SizedPiece, base_new: Registered, new: SizedPiece, turn: Motion, carry: Carry
) -> SizedPiece:
    """Dart tips, drill marks and lines that were moved, by the same displacement."""
    moved = {change.name for change in base_new.marks if not change.edge}
    if not moved:
        return new
    scale = 1.0
    if carry == "proportion":
        scale = sum(e.length for e in new.edges) / sum(e.length for e in base_old.edges)
    was = _inside(base_old)
    shift = {
        key: scale * turn.apply(points - was[key])
        for key, points in _inside(base_new.piece).items()
        if key[1] in moved
    }

    def put(kind: str, name: str, point: tuple[float, float]) -> tuple[float, float]:
        if (kind, name) not in shift:
            return point
        x, y = rounded(np.asarray(point) + shift[kind, name][0])
        return (float(x), float(y))

    def line(old: InternalLine) -> InternalLine:
        by = shift.get(("line", old.name))
        if by is None:
            return old
        return InternalLine(
            old.name,
            rounded(old.points + (by if by.shape == old.points.shape else by.mean(axis=0))),
        )

    return replace(
        new,
        darts=tuple(replace(d, tip=put("dart", d.name, d.tip)) for d in new.darts),
        drills=tuple(replace(m, point=put("drill", m.name, m.point)) for m in new.drills),
        lines=tuple(line(item) for item in new.lines),
    )


def _inside(piece: SizedPiece) -> dict[tuple[str, str], Array]:
    """Points of what lies inside a piece, by kind and name."""
    return {
        **{("dart", dart.name): np.array([dart.tip]) for dart in piece.darts},
        **{("drill", mark.name): np.array([mark.point]) for mark in piece.drills},
        **{("line", line.name): line.points for line in piece.lines},
    }
