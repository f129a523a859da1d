"""Give copies what became of the piece that they are cut like."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from propagate.engine.alike import farthest_apart, laid_edge, laid_on_copy
from propagate.engine.compare import changed_edges
from propagate.engine.marks_on_lines import put_mark_at
from propagate.engine.record import ChangeKind
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.state import State
from propagate.errors import Conflict
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import as_pair
from propagate.pattern.alike import Alike
from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Dart,
    Edge,
    InternalLine,
    Label,
    Landmark,
    Mark,
    SizedPiece,
)

__all__ = ["apply"]

Named = TypeVar("Named", Edge, Landmark, Dart, InternalLine, Mark)


def apply(state: State, alike: Alike, cause: str) -> bool:
    """Draw the copies as the first piece is now; returns whether one of them changed.

    Raises
    ------
    Conflict
        When an edit or another relation drew a copy, and otherwise than the first.
    """
    first, *others = alike.pieces
    was, now, changed = state.source(first), state.lookup(first), False
    for other in others if now != was else ():
        own, here = state.source(other), state.lookup(other)
        drawn = _take_changes(was, now, _lay_piece(now, own, laid_on_copy(was, own)), own)
        if drawn == here:
            continue
        off = farthest_apart(drawn, here)
        if here != own and other in state.given.pieces and off > alike.tolerance:
            raise Conflict(
                f"{state.where}, alike '{alike.name}': '{first}' and '{other}' were both changed "
                f"and lie up to {off:.2f} mm apart, expected at most {alike.tolerance:g} mm; "
                "change one of them, or both alike",
                causes=(
                    f"'{other}' is to be drawn like '{first}'",
                    f"'{other}' was drawn otherwise",
                ),
                distance_mm=off,
            )
        state.pieces[other] = drawn
        changed = True
        for edge in changed_edges(here, drawn):
            text = f"drawn like '{first}.{edge}'"
            state.change(f"{other}.{edge}", ChangeKind.ALIKE, text, cause)
    return changed


def _lay_piece(piece: SizedPiece, copy: SizedPiece, laid: Motion) -> SizedPiece:
    """A piece as it lies on its copy, with its edges in the copy's order."""

    def put(point: tuple[float, float]) -> tuple[float, float]:
        return as_pair(rounded(laid.apply(point)))

    label, edges = piece.label, [laid_edge(piece.edge(name), laid) for name in copy.edge_names]
    if label is not None:
        turn = float(np.degrees(laid.angle))
        angle = turn - label.angle if laid.face_down else turn + label.angle
        label = Label(put(label.point), angle)
    legs = {frozenset(dart.legs): dart.legs for dart in copy.darts}
    return replace(
        piece,
        edges=tuple(Edge(edge.name, rounded(edge.points), edge.turns) for edge in edges),
        landmarks=tuple(put_mark_at(mark, put(mark.point)) for mark in piece.landmarks),
        darts=tuple(
            replace(dart, tip=put(dart.tip), legs=legs.get(frozenset(dart.legs), own))
            for dart in piece.darts
            for own in [dart.legs[::-1] if laid.face_down else dart.legs]
        ),
        lines=tuple(InternalLine(x.name, rounded(laid.apply(x.points))) for x in piece.lines),
        drills=tuple(Mark(mark.name, put(mark.point)) for mark in piece.drills),
        grain=Grain(put(piece.grain.start), put(piece.grain.end)),
        levels={name: put(point) for name, point in piece.levels.items()},
        label=label,
    )


def _take_changes(
    was: SizedPiece, now: SizedPiece, laid: SizedPiece, own: SizedPiece
) -> SizedPiece:
    """A copy with what changed of its model, as it is laid; the rest keeps its digits."""
    changed = [name for name, point in now.levels.items() if point != was.levels.get(name)]
    order = [now.edge(name) for name in own.edge_names]
    return replace(
        own,
        edges=share_corners(_take_named(was.edges, order, laid.edges, own.edges), own.edges),
        landmarks=_take_named(was.landmarks, now.landmarks, laid.landmarks, own.landmarks),
        darts=_take_named(was.darts, now.darts, laid.darts, own.darts),
        lines=_take_named(was.lines, now.lines, laid.lines, own.lines),
        drills=_take_named(was.drills, now.drills, laid.drills, own.drills),
        grain=own.grain if now.grain == was.grain else laid.grain,
        levels={**own.levels, **{name: laid.levels[name] for name in changed}},
        label=own.label if now.label == was.label else laid.label,
    )


def _take_named(
    was: Sequence[Named], now: Sequence[Named], laid: Sequence[Named], own: Sequence[Named]
) -> tuple[Named, ...]:
    """What a copy has of a kind: its own where the model's stayed, else the model's as laid."""
    before = {one.name: one for one in was}
    mine = {one.name: one for one in own}
    found = [
        mine[one.name] if one.name in mine and before.get(one.name) == one else put
        for one, put in zip(now, laid, strict=True)
    ]
    order = {one.name: i for i, one in enumerate(own)}
    return tuple(sorted(found, key=lambda one: order.get(one.name, len(order))))
