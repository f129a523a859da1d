"""Put the marks of an opening in a seam where it keeps its length and its distance from the top."""

from __future__ import annotations

from propagate.engine.marks_on_lines import put_mark, walked_place, with_marks
from propagate.engine.record import ChangeKind
from propagate.engine.seam_openings import nearest_on_offer, place_of
from propagate.engine.state import State
from propagate.errors import Conflict
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import SeamOpening, Span
from propagate.tolerances import ON_LINE_MM, RESTS_MM

__all__ = ["apply"]


def apply(state: State, opening: SeamOpening, cause: str) -> bool:
    """Move the marks of an opening on each of its sides; returns whether one moved.

    Raises
    ------
    Conflict
        When the opening is longer than what is left of its edge, or an edit made it longer or
        shorter and the set says that this must not be.
    """
    moved = False
    spans = [run[0] for run in opening.sides]
    # It stays where it was, but where the edit moved its marks on an edge that it left alone.
    moved_alone = (
        span
        for span in spans
        if span.key not in state.redrawn
        and state.remarked & {f"{span.piece}.{name}" for name in (span.begin, span.end)}
    )
    asked = next(moved_alone, None)
    first = spans[0] if asked is None else asked
    was = place_of(state.source(first.piece), first)
    now = place_of(
        state.lookup(first.piece) if asked is None else state.given.pieces[first.piece], first
    )
    shift, wanted = 0.0 if asked is None else now[0] - was[0], now[1]
    if asked is None or (opening.change != "keep" and abs(now[1] - was[1]) > ON_LINE_MM):
        wanted = _choose_length(state, opening, was[1], now[1])
    for span in spans:
        from_end = place_of(state.source(span.piece), span)[0] + shift
        piece = state.lookup(span.piece)
        fresh = _with_marks(state, opening, span, (from_end, wanted))
        if fresh != piece:
            state.pieces[span.piece] = fresh
            text = f"opening '{opening.name}' of {wanted:.1f} mm put {from_end:.1f} mm from its end"
            state.change(span.key, ChangeKind.NOTCH_FOLLOWS, text, cause)
            moved = True
    return moved


def _choose_length(state: State, opening: SeamOpening, was: float, now: float) -> float:
    """How long the opening is to be: as it was, or what can be bought for what it became."""
    if opening.name in state.asked:
        return nearest_on_offer(opening, now)
    if opening.change == "keep" or abs(now - was) <= ON_LINE_MM:
        return was
    near = nearest_on_offer(opening, now)
    if opening.change == "conflict":
        offer = ", ".join(f"{one:g}" for one in opening.lengths) or "none said"
        raise Conflict(
            f"opening '{opening.name}' would be {now:.1f} mm long, and it is bought {was:.1f} mm "
            f'long (on offer: {offer}); keep the edit clear of it, or say change = "nearest"',
            causes=(f"the edit: {now:.1f} mm", f"'{opening.name}': {was:.1f} mm"),
            distance_mm=now - was,
        )
    if abs(near - was) > ON_LINE_MM:
        state.notice(
            opening.name,
            f"was {was:.1f} mm long, the change made it {now:.1f} mm: it is {near:.1f} mm now, "
            "the nearest that can be bought",
            "look whether it is on offer, and long enough to be used",
            about=("another length bought",),
        )
        return near
    return was


def _with_marks(
    state: State, opening: SeamOpening, span: Span, place: tuple[float, float]
) -> SizedPiece:
    """The piece with the two marks of a side at their distances."""
    piece = state.lookup(span.piece)
    edge = piece.edge(span.edge)
    if sum(place) > edge.length + ON_LINE_MM:
        raise Conflict(
            f"opening '{opening.name}', {place[1]:.1f} mm long and {place[0]:.1f} mm from the end "
            f"of '{span.key}', finds {edge.length:.1f} mm there; make the opening or the change "
            "smaller",
            causes=(
                f"'{opening.name}': {sum(place):.1f} mm",
                f"'{span.key}': {edge.length:.1f} mm",
            ),
            distance_mm=sum(place) - edge.length,
        )
    source = state.source(span.piece)
    ends = source.distance(span.edge, span.begin), source.distance(span.edge, span.end)
    forward = ends[0] <= ends[1]
    walked = {span.begin: place[0], span.end: sum(place)}
    put = {}
    for mark in piece.landmarks_on(span.edge):
        if mark.name in walked:
            far = min(walked[mark.name], edge.length)
            at = walked_place(edge, far, "start" if forward else "end")
            if abs(piece.distance(span.edge, mark.name) - at) > RESTS_MM:
                put[mark.name] = put_mark(mark, edge, at)
    return with_marks(piece, put)
