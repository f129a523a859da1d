"""Put buttons and buttonholes where the length of their edge has them, as many as it needs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.engine.buttons import along_span, places_wanted
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.errors import Conflict
from propagate.geometry.polyline import are_alike, as_pair, point_at
from propagate.pattern.buttons import Buttons, marks_called, middle_of, points_of
from propagate.pattern.model import Array, InternalLine, Mark, SizedPiece
from propagate.pattern.relations import Span
from propagate.pattern.spans import run_length, span_ends
from propagate.tolerances import RESTS_MM
from propagate.values import dataclass

__all__ = ["apply"]


def apply(state: State, buttons: Buttons, cause: str) -> bool:
    """Space the marks of each side anew; returns whether one moved.

    Each keeps its distance from the edge, and a buttonhole its length and its angle to it.

    Raises
    ------
    Conflict
        When the edge has no room for two.
    """
    wanted = places_wanted(state.lookup, buttons)
    if not len(wanted):
        long = run_length(state.lookup, buttons.sides[0])
        needed = buttons.start + buttons.end
        raise Conflict(
            f"buttons '{buttons.name}': found {long:.1f} mm along '{buttons.sides[0][0].key}', "
            f"expected more than the {needed:.1f} mm that lie before the first and behind the "
            "last; make the change or these distances smaller",
            causes=(f"'{buttons.sides[0][0].key}': {long:.1f} mm", f"'{buttons.name}'"),
            distance_mm=needed - long,
        )
    moved = False
    for run, name in zip(buttons.sides, buttons.marks, strict=True):
        piece, span = state.lookup(run[0].piece), run[0]
        had = marks_called(piece, name)
        drawn = piece if span.piece in state.given.pieces else state.source(span.piece)
        fresh = _space_marks(piece, drawn, span, name, wanted)
        if fresh is piece:
            continue
        state.pieces[span.piece] = fresh
        gap = float(wanted[1] - wanted[0])
        text = f"{len(wanted)} of '{name}' spaced {gap:.1f} mm apart"
        if len(had) != len(wanted):
            text = f"{len(had)} of '{name}' before, now {len(wanted)}, {gap:.1f} mm apart"
            state.notice(
                span.piece,
                f"{text}, by the length of '{span.edge}'",
                "look whether they are as many as are wanted",
                about=("spaced anew", name),
            )
        state.change_beside(span.key, name, text, cause)
        moved = True
    return moved


def _space_marks(
    piece: SizedPiece, drawn: SizedPiece, span: Span, name: str, wanted: Array
) -> SizedPiece:
    """The piece with its marks at some distances along a span; itself when they lie there.

    `drawn` is the piece whose marks tell what one looks like: a strip that is stretched takes the
    holes that lie on it along.
    """
    had, models = marks_called(piece, name), marks_called(drawn, name)
    fresh: list[Mark | InternalLine] = []
    for k, place in enumerate(wanted):
        model, called = models[min(k, len(models) - 1)], f"{name}_{k + 1}"
        new = _move_mark(_Span(drawn, span), _Span(piece, span), model, called, float(place))
        rests = (
            k < len(had)
            and had[k].name == called
            and are_alike(points_of(had[k]), points_of(new), RESTS_MM)
        )
        fresh.append(had[k] if rests else new)
    if fresh == had:
        return piece
    own = {mark.name for mark in had}
    lines = [m for m in fresh if isinstance(m, InternalLine)]
    drills = [m for m in fresh if isinstance(m, Mark)]
    return replace(
        piece,
        lines=(*(m for m in piece.lines if m.name not in own), *lines),
        drills=(*(m for m in piece.drills if m.name not in own), *drills),
    )


@dataclass(frozen=True)
class _Span:
    """A span on a piece."""

    piece: SizedPiece
    span: Span

    def frame(self, place: float) -> tuple[Array, Array, Array]:
        """Point at a distance along it, unit direction of its edge there, and square to that."""
        begin, end = span_ends(self.piece, self.span)
        edge = self.piece.edge(self.span.edge)
        at = begin + place if begin <= end else begin - place
        low, high = max(at - _NEAR_MM, 0.0), min(at + _NEAR_MM, edge.length)
        way = point_at(edge.points, high) - point_at(edge.points, low)
        way = way / np.hypot(*way)
        return point_at(edge.points, at), way, np.array([-way[1], way[0]])


def _move_mark(
    was: _Span, now: _Span, mark: Mark | InternalLine, name: str, place: float
) -> Mark | InternalLine:
    """A mark like another one, at a distance along a span, as far from the edge as that is."""
    middle = middle_of(mark)
    foot, along, square = was.frame(along_span(was.piece, was.span, middle))
    new_foot, new_along, new_square = now.frame(place)
    apart = points_of(mark) - middle
    away = float((middle - foot) @ square)  # what lies along the edge is chosen by the row
    points = rounded(
        new_foot
        + (away + apart @ square)[:, None] * new_square
        + (apart @ along)[:, None] * new_along
    )
    if isinstance(mark, Mark):
        return Mark(name, as_pair(points[0]))
    return InternalLine(name, points)


_NEAR_MM = 5.0
"""Stretch of the edge on both sides by which its direction is judged."""
