"""Carry a change that was drawn in the base size alone to another size."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.marks_on_lines import put_mark, walked_place
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.revising.caps import edges_with_darts, straight_mouths, with_carried_caps
from propagate.engine.revising.carried_edges import carried_beside, carried_in_order, mouths_on
from propagate.engine.revising.carried_marks import Carry, carried_mark, with_carried_darts
from propagate.engine.revising.register import Registered
from propagate.engine.revising.swing import swung_before
from propagate.errors import EditError
from propagate.geometry.correspond import without_noise
from propagate.geometry.motion import Motion
from propagate.pattern.model import Edge, InternalLine, Mark, SizedPiece
from propagate.tolerances import DRAWN_MM, RESTS_MM

__all__ = ["Carry", "carried_to"]

Array = npt.NDArray[np.float64]


def carried_to(
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
    moved = frozenset(change.name for change in base_new.marks if not change.edge)
    swung = swung_before(base_old, base_new.piece, other, moved, carry)
    if swung is not None:
        base_old, other = swung.base, swung.other
    with_darts = edges_with_darts(base_old, base_new.piece)
    drawn, own = base_new.piece, other
    base_new = replace(base_new, piece=straight_mouths(drawn, with_darts))
    was_drawn, base_old = base_old, straight_mouths(base_old, with_darts)
    other = straight_mouths(other, with_darts)
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
        ends = corners[i], corners[(i + 1) % len(corners)]
        mouths = mouths_on(base_old, base_new.piece, other, was.name)
        if mouths is not None:
            back, points, moves = carried_beside(was, now, mine, mouths, turn, scale, ends)
        else:
            back, points, moves = carried_in_order(was, now, mine, turn, scale, ends)
        if back > DRAWN_MM:
            raise EditError(
                f"{where}: edge '{mine.name}', {mine.length:.1f} mm long there, would run back "
                f"on itself for {back:.1f} mm; {cure}"
            )
        edges.append(_move_edge(mine, points, moves))
    new = replace(other, edges=share_corners(edges, other.edges))
    on = {mark.name: mark.edge for mark in base_new.piece.landmarks}
    marks = tuple(
        carried_mark(base_old, base_new.piece, other, new, mark, turn, carry)
        if on.get(mark.name) == mark.edge
        else mark  # the leg of a dart that went
        for mark in other.landmarks
    )
    new = _with_added(base_new, replace(new, landmarks=marks), carry)
    new = with_carried_darts(base_old, base_new.piece, other, new, turn, carry)
    new = _with_inside(base_old, base_new, new, turn, carry)
    return with_carried_caps(was_drawn, drawn, own, new, with_darts)


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
    last = len(points) - 1
    keep = [0]
    for i in range(1, last + 1):
        while len(keep) > 1 and (i == last or i in turns) and _are_same(points, keep[-1], i):
            keep.pop()
        if i == last or not _are_same(points, keep[-1], i):
            keep.append(i)
    return keep


def _are_same(points: Array, i: int, j: int) -> bool:
    return bool(np.hypot(*(points[i] - points[j])) <= RESTS_MM)


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
        moves.append(scale * turn.apply(without_noise(b.points[:1] - a.points[:1])[0]))
    return moves


def _with_added(base_new: Registered, new: SizedPiece, carry: Carry) -> SizedPiece:
    """Landmarks that are new: each keeps its distance from its nearer end, or its share."""
    marks = list(new.landmarks)
    for change in base_new.marks:
        if change.what != "added":
            continue
        edge = new.edge(change.edge)
        base = base_new.piece.edge(change.edge).length
        if carry == "proportion":
            along = change.moved_mm / base * edge.length
        else:
            from_end = base - change.moved_mm
            along = change.moved_mm
            if from_end < along:
                along = walked_place(edge, from_end, "end")
        marks.append(put_mark(base_new.piece.landmark(change.name), edge, along))
    return replace(new, landmarks=tuple(marks))


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
    was = _collect_inside(base_old)
    shift = {
        key: scale * turn.apply(points - was[key])
        for key, points in _collect_inside(base_new.piece).items()
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
        drills=tuple(Mark(m.name, put("drill", m.name, m.point)) for m in new.drills),
        lines=tuple(line(item) for item in new.lines),
    )


def _collect_inside(piece: SizedPiece) -> dict[tuple[str, str], Array]:
    """Points of what lies inside a piece, by kind and name."""
    return {
        **{("dart", dart.name): np.array([dart.tip]) for dart in piece.darts},
        **{("drill", mark.name): np.array([mark.point]) for mark in piece.drills},
        **{("line", line.name): line.points for line in piece.lines},
    }
