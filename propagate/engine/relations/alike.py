"""Give copies what became of the piece that they are cut like."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from propagate.engine.alike import farthest_apart, laid_edge, laid_on_copy
from propagate.engine.compare import edge_status
from propagate.engine.marks_on_lines import put_mark_at
from propagate.engine.record import ChangeKind
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.state import State
from propagate.errors import Conflict
from propagate.geometry.motion import Motion
from propagate.pattern.alike import Alike
from propagate.pattern.model import (
    Dart,
    Edge,
    Grain,
    InternalLine,
    Label,
    Landmark,
    Mark,
    SizedPiece,
)

__all__ = ["apply"]

Named = TypeVar("Named", Landmark, Dart, InternalLine, Mark)


def apply(state: State, alike: Alike, cause: str) -> bool:
    """Draw the copies as the first piece is now; returns whether one of them changed.

    Raises
    ------
    Conflict
        When an edit or another relation drew a copy, and otherwise than the first.
    """
    first, *others = alike.pieces
    drawn = [_draw_copy(state, alike, first, other, cause) for other in others]
    return any(drawn)


def _draw_copy(state: State, alike: Alike, first: str, other: str, cause: str) -> bool:
    was, own = state.source(first), state.source(other)
    now, here = state.lookup(first), state.lookup(other)
    if now == was:
        return False
    drawn = _drawn_like(was, now, own, laid_on_copy(was, own))
    if drawn == here:
        return False
    off = farthest_apart(drawn, here)
    if here != own and other in state.given.pieces and off > alike.tolerance:
        raise Conflict(
            f"set '{state.pattern.name}', size '{state.job.name}', alike '{alike.name}': "
            f"'{first}' and '{other}' were both changed and lie up to {off:.2f} mm apart, "
            f"expected at most {alike.tolerance:g} mm; change one of them, or both alike",
            causes=(f"'{other}' is to be drawn like '{first}'", f"'{other}' was drawn otherwise"),
            distance_mm=off,
        )
    state.pieces[other] = drawn
    for edge in here.edges:
        if drawn.edge(edge.name) != edge:
            text = f"drawn like '{first}.{edge.name}'"
            state.change(f"{other}.{edge.name}", ChangeKind.ALIKE, text, cause)
    return True


def _drawn_like(was: SizedPiece, now: SizedPiece, own: SizedPiece, laid: Motion) -> SizedPiece:
    """A copy with what changed of its model; what did not change keeps its digits."""
    edges = []
    for edge in own.edges:
        new = now.edge(edge.name)
        same = edge_status(was.edge(edge.name), new) == "same"
        edges.append(edge if same else _round_edge(laid_edge(new, laid)))
    return replace(
        own,
        edges=share_corners(edges, own.edges),
        landmarks=_take_named(
            was.landmarks, now.landmarks, own.landmarks, lambda m: _lay_mark(m, laid)
        ),
        darts=_take_named(was.darts, now.darts, own.darts, lambda d: _lay_dart(d, laid)),
        lines=_take_named(was.lines, now.lines, own.lines, lambda one: _lay_line(one, laid)),
        drills=_take_named(was.drills, now.drills, own.drills, lambda m: _lay_drill(m, laid)),
        grain=own.grain if now.grain == was.grain else _lay_grain(now.grain, laid),
        levels={
            **own.levels,
            **{
                name: _lay_point(point, laid)
                for name, point in now.levels.items()
                if point != was.levels.get(name)
            },
        },
        label=own.label if now.label == was.label else _lay_label(now.label, laid),
    )


def _take_named(
    was: Sequence[Named], now: Sequence[Named], own: Sequence[Named], put: Callable[[Named], Named]
) -> tuple[Named, ...]:
    """What a copy has of a kind: its own where the model's stayed, else the model's, put on it."""
    before = {one.name: one for one in was}
    mine = {one.name: one for one in own}
    found = [
        mine[one.name] if one.name in mine and before.get(one.name) == one else put(one)
        for one in now
    ]
    found = [_with_own_legs(one, mine.get(one.name)) for one in found]
    order = {one.name: i for i, one in enumerate(own)}
    return tuple(sorted(found, key=lambda one: order.get(one.name, len(order))))


def _with_own_legs(one: Named, own: Named | None) -> Named:
    """A dart with its legs named in the order that the copy has them."""
    if isinstance(one, Dart) and isinstance(own, Dart) and set(one.legs) == set(own.legs):
        return replace(one, legs=own.legs)
    return one


def _lay_point(point: tuple[float, float], laid: Motion) -> tuple[float, float]:
    x, y = rounded(laid.apply(np.asarray(point)))
    return float(x), float(y)


def _round_edge(edge: Edge) -> Edge:
    return Edge(edge.name, rounded(edge.points), edge.turns)


def _lay_mark(mark: Landmark, laid: Motion) -> Landmark:
    return put_mark_at(mark, _lay_point(mark.point, laid))


def _lay_dart(dart: Dart, laid: Motion) -> Dart:
    legs = dart.legs[::-1] if laid.face_down else dart.legs
    return replace(dart, tip=_lay_point(dart.tip, laid), legs=legs)


def _lay_line(one: InternalLine, laid: Motion) -> InternalLine:
    return InternalLine(one.name, rounded(laid.apply(one.points)))


def _lay_drill(mark: Mark, laid: Motion) -> Mark:
    return Mark(mark.name, _lay_point(mark.point, laid))


def _lay_grain(grain: Grain, laid: Motion) -> Grain:
    return Grain(_lay_point(grain.start, laid), _lay_point(grain.end, laid))


def _lay_label(label: Label | None, laid: Motion) -> Label | None:
    if label is None:
        return None
    turn = np.degrees(laid.angle)
    angle = turn - label.angle if laid.face_down else turn + label.angle
    return Label(_lay_point(label.point, laid), float(angle))
