"""Carry a change that was drawn in the base size alone to another size."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.marks_on_lines import put_mark, walked_place
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.revising.caps import (
    carry_caps,
    find_edges_with_darts,
    straighten_mouths,
)
from propagate.engine.revising.carried_edges import carry_edge
from propagate.engine.revising.carried_marks import carry_darts, carry_mark
from propagate.engine.revising.carrying import Carry, Carrying
from propagate.engine.revising.register import Registered
from propagate.engine.revising.swing import swing_before
from propagate.errors import EditError
from propagate.geometry.correspond import without_noise
from propagate.geometry.polyline import as_pair
from propagate.pattern.model import Edge, InternalLine, Mark, SizedPiece
from propagate.tolerances import DRAWN_MM, RESTS_MM

__all__ = ["Carry", "carry_piece"]

Array = npt.NDArray[np.float64]


def carry_piece(
    base_old: SizedPiece,
    base_new: Registered,
    other: SizedPiece,
    carry: Carry,
    *,
    where: str = "piece",
    cure: str = "send this size too",
) -> SizedPiece:
    """Carry a change of the base size to another size, edge by edge.

    Each vertex gets the displacement that its like has in the base size, turned with the
    grain; in proportion it is scaled by the lengths of the edges.  Corners take the mean
    of their two edges.  What did not move in the base size keeps every digit.  A dart that was
    swung is swung in the other size too, by the same cut.

    Parameters
    ----------
    base_old : SizedPiece
    base_new : Registered
    other : SizedPiece
    carry : "millimetres" or "proportion"
    where, cure : str
        For the message: what is carried from where to where, and what to do.

    Raises
    ------
    EditError
        When an edge is too short for its change and would run back on itself.
    """
    inside = frozenset(one.name for one in base_new.marks if not one.edge)
    drawn = swing_before(Carrying(base_old, base_new.piece, other, carry), inside)
    with_darts = find_edges_with_darts(drawn)
    change = straighten_mouths(drawn, with_darts)
    corners = _move_corners(change)
    edges = []
    for i, (was, now, mine) in enumerate(
        zip(change.was.edges, change.now.edges, change.other.edges, strict=True)
    ):
        if now == was:
            edges.append(mine)
            continue
        ends = corners[i], corners[(i + 1) % len(corners)]
        back, points, moves = carry_edge(change, mine.name, ends)
        if back > DRAWN_MM:
            raise EditError(
                f"{where}: edge '{mine.name}', {mine.length:.1f} mm long there, would run back "
                f"on itself for {back:.1f} mm; {cure}"
            )
        edges.append(_move_edge(mine, points, moves))
    new = replace(change.other, edges=share_corners(edges, change.other.edges))
    on = {mark.name: mark.edge for mark in change.now.landmarks}
    marks = [
        # One that lies elsewhere in the base size is the leg of a dart that went.
        carry_mark(change, new, mark) if on.get(mark.name) == mark.edge else mark
        for mark in change.other.landmarks
    ]
    for added in base_new.marks:
        if added.what != "added":
            continue
        # A new one keeps its distance from its nearer end, or its share.
        edge, base = new.edge(added.edge), change.now.edge(added.edge).length
        along, from_end = added.moved_mm, base - added.moved_mm
        if carry == "proportion":
            along = added.moved_mm / base * edge.length
        elif from_end < along:
            along = walked_place(edge, from_end, "end")
        marks.append(put_mark(change.now.landmark(added.name), edge, along))
    new = carry_darts(change, replace(new, landmarks=tuple(marks)))
    return carry_caps(drawn, _carry_inside(change, new, inside), with_darts)


def _move_edge(mine: Edge, points: Array, moves: Array) -> Edge:
    """The edge with its points displaced; turn points stay turn points."""
    still = (moves == 0.0).all(axis=1)
    if still.all():
        return mine
    placed = np.where(still[:, None], points, rounded(points + moves))
    turns = {int(np.hypot(*(points - mine.points[turn]).T).argmin()) for turn in mine.turns}
    keep = _keep_distinct(placed, turns)
    return Edge(mine.name, placed[keep], tuple(i for i, k in enumerate(keep) if k in turns))


def _keep_distinct(points: Array, turns: set[int]) -> list[int]:
    """Indices of the points without those that came to lie on the one before.

    Where an edge was cut shorter, its last vertices may end up in one place.
    """

    def is_on_last(i: int) -> bool:
        return bool(np.hypot(*(points[keep[-1]] - points[i])) <= RESTS_MM)

    last = len(points) - 1
    keep = [0]
    for i in range(1, last + 1):
        while len(keep) > 1 and (i == last or i in turns) and is_on_last(i):
            keep.pop()
        if i == last or not is_on_last(i):
            keep.append(i)
    return keep


def _move_corners(change: Carrying) -> list[Array]:
    """Displacement of each corner (the start of each edge) in the other size."""
    edges, moves = change.was.edges, []
    for before, was, now in zip((edges[-1], *edges[:-1]), edges, change.now.edges, strict=True):
        scale = (change.scale(was.name) + change.scale(before.name)) / 2
        move = without_noise(now.points[:1] - was.points[:1])[0]
        moves.append(scale * change.turn.apply(move))
    return moves


def _carry_inside(change: Carrying, new: SizedPiece, moved: Collection[str]) -> SizedPiece:
    """Dart tips, drill marks and lines that were moved, by the same displacement."""
    if not moved:
        return new
    scale = 1.0
    if change.carry == "proportion":
        scale = sum(e.length for e in new.edges) / sum(e.length for e in change.was.edges)
    was = _collect_inside(change.was)
    shift = {
        key: scale * change.turn.apply(points - was[key])
        for key, points in _collect_inside(change.now).items()
        if key[1] in moved
    }

    def put_point(kind: str, name: str, point: tuple[float, float]) -> tuple[float, float]:
        by = shift.get((kind, name))
        return point if by is None else as_pair(rounded(np.asarray(point) + by[0]))

    def put_line(line: InternalLine) -> InternalLine:
        by = shift.get(("line", line.name))
        if by is None:
            return line
        move = by if by.shape == line.points.shape else by.mean(axis=0)
        return InternalLine(line.name, rounded(line.points + move))

    return replace(
        new,
        darts=tuple(replace(d, tip=put_point("dart", d.name, d.tip)) for d in new.darts),
        drills=tuple(Mark(m.name, put_point("drill", m.name, m.point)) for m in new.drills),
        lines=tuple(put_line(line) for line in new.lines),
    )


def _collect_inside(piece: SizedPiece) -> dict[tuple[str, str], Array]:
    """Points of what lies inside a piece, by kind and name."""
    return {
        **{("dart", dart.name): np.array([dart.tip]) for dart in piece.darts},
        **{("drill", mark.name): np.array([mark.point]) for mark in piece.drills},
        **{("line", line.name): line.points for line in piece.lines},
    }
