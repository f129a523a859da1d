"""Match a follower to its lead, when no edit has matched them already.

A piece that is cut like its lead is traced from it.  Else its length is always corrected;
before that it may take the shape of what the lead got.

The correction is the smallest one that a hand would make: the free end moves along the
seam's own direction and the displacement fades smoothly before the hold.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.graph import run_nodes
from propagate.engine.relations.ends import landmark_on, with_corners
from propagate.engine.relations.same_shape import Shaped, deviation, hold_distance, take_shape
from propagate.engine.relations.traced import trace
from propagate.engine.reshape import rounded
from propagate.engine.state import FOLLOWS_CORNER, State
from propagate.engine.tape import edge_from_parts
from propagate.errors import Conflict
from propagate.geometry.fade import fade_end
from propagate.geometry.polyline import between, end_direction, length, unit
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Run, Seam, Span
from propagate.pattern.spans import run_length
from propagate.tolerances import RESTS_MM, SEAM_LENGTH_MM, STEP_MM

__all__ = ["apply"]

Array = npt.NDArray[np.float64]
End = Literal["start", "end"]

_ROUNDS = 12
_FLAT = 0.2
"""Gain in length per move of an end below which moving it is no cure."""
_SEEN_MM = 0.5
"""A deviation below this needs no look (well inside the trade's 1/16 in)."""


def apply(state: State, seam: Seam, cause: str) -> bool:
    """Match the follower's length; returns whether it changed.

    Raises
    ------
    Conflict
        When the follower is fixed, or an edit or another lead gave it another length.
    """
    if seam.check or seam.mirror:
        return False
    if _drawn_by_edit(state, seam):
        return _walk_notches(state, seam)
    before = state.led.get(seam.name)
    led = tuple(state.lookup(span.piece).edge(span.edge) for span in seam.lead)
    state.led[seam.name] = led
    # A trace begins anew from the piece as it was, so it is for a new lead alone.
    traced = trace(state, seam, cause) if before != led else None
    if traced is not None:
        _note_traced(state, seam)
        return traced
    wanted = run_length(state.lookup, seam.lead) + seam.ease
    found = run_length(state.lookup, seam.follow)
    taken = [
        span
        for span in seam.follow
        if state.decided(span.key, seam.name) or _same_lead_moved_it(state, seam, span.key)
    ]
    apart = wanted - found
    was = {span.piece: state.lookup(span.piece) for span in seam.follow}
    shaped = None
    # The displacement of the lead is put on once; what comes later is length alone.
    if state.follow == "shape" and before is None and not (seam.fixed or taken):
        shaped = take_shape(state, seam, _free_end(state, seam))
        found = run_length(state.lookup, seam.follow)
    if abs(found - wanted) > SEAM_LENGTH_MM:
        if seam.fixed or taken:
            _give_way(state, seam, wanted, found, taken)
        _match(state, seam, wanted)
    elif shaped is None:
        return _walk_notches(state, seam)
    apart = state.apart[seam.name] = state.apart.get(seam.name, 0.0) + apart
    text = f"matched to its lead across seam '{seam.name}' ({apart:+.2f} mm)"
    if shaped is not None:
        text = _shape_words(state, seam, apart, shaped)
    keys = [span.key for span in seam.follow]
    for piece, old in was.items():
        for was_edge, edge in zip(old.edges, state.lookup(piece).edges, strict=True):
            key = f"{piece}.{edge.name}"
            if was_edge != edge and key in keys:
                _note_matched(state, seam, key, text, cause)
            elif was_edge != edge:
                own = next(span.key for span in seam.follow if span.piece == piece)
                state.change(key, FOLLOWS_CORNER, own)
    return True


def _same_lead_moved_it(state: State, seam: Seam, key: str) -> bool:
    """Whether an edge follows a corner that another seam with the same lead piece moved.

    Such a piece is meant to be cut like its lead but is not: its corner is asked two things,
    and moving it until both lengths agree would bend it in silence.
    """
    change = state.changes.get(key)
    if change is None or change.what != FOLLOWS_CORNER or key in state.matched:
        return False
    lead = {span.piece for span in seam.lead}
    seams = state.pattern.relations.seams
    return any(
        {span.piece for span in seams[name].lead} == lead
        for name in state.matched.get(change.cause or "", ())
    )


def _match(state: State, seam: Seam, wanted: float) -> None:
    """Bring the follower's run to a length; marks that end its spans or darts move with it.

    What the free end cannot give, as on a steep cap that gets much shorter, the other end
    gives, unless the follower is held there.
    """
    span, free = _free_end(state, seam)
    other: tuple[Span, End] = (
        (seam.follow[-1], "end") if free == "start" else (seam.follow[0], "start")
    )
    held = seam.hold is not None and seam.hold in state.lookup(span.piece).levels
    held |= _on_fold(state, *other)
    off = wanted - run_length(state.lookup, seam.follow)
    for _ in range(_ROUNDS):
        before = off
        source = state.pattern.sized(span.piece, state.size_of(span.piece))
        piece = state.lookup(span.piece)
        state.pieces[span.piece] = _lengthened(seam, piece, source, span, free, off)
        off = wanted - run_length(state.lookup, seam.follow)
        if abs(off) <= SEAM_LENGTH_MM / 10:
            return
        if abs(off) > abs(before) / 4:
            if held:
                break
            (span, free), other = other, (span, free)
    if abs(off) > SEAM_LENGTH_MM:
        state.notice(
            seam.name,
            f"moving its ends along the seam does not bring the follower to {wanted:.1f} mm: it "
            f"stays off by {-off:+.1f} mm; draw the follower anew",
        )


def _note_matched(state: State, seam: Seam, key: str, text: str, cause: str) -> None:
    """Note what a seam did to its follower; a second match replaces the words of its first."""
    noted = state.changes.get(key)
    by = state.matched.setdefault(key, set())
    if noted is not None and seam.name in by:
        state.changes[key] = replace(noted, what=text)
    by.add(seam.name)
    state.change(key, text, cause)


def _note_traced(state: State, seam: Seam) -> None:
    """All seams of a traced piece and its lead gave its edges their length."""
    piece, lead = seam.follow[0].piece, {span.piece for span in seam.lead}
    for other in state.pattern.relations.followed_by.get(piece, ()):
        if {span.piece for span in other.lead} == lead:
            state.matched.setdefault(other.follow[0].key, set()).add(other.name)


def _shape_words(state: State, seam: Seam, apart: float, shaped: Shaped) -> str:
    """Say how nearly the follower took the shape."""
    off = deviation(state, shaped)
    text = (
        f"takes the shape of its lead across seam '{seam.name}' ({apart:+.2f} mm), "
        f"{off:.2f} mm off it at most"
    )
    where = f"the lead of seam '{seam.name}'"
    if shaped.beyond_mm > _SEEN_MM:
        state.notice(
            shaped.span.piece,
            f"{where} changed by up to {shaped.beyond_mm:.1f} mm beyond the hold "
            f"'{seam.hold}', where its mate may not change",
        )
    if off > _SEEN_MM:
        state.notice(
            shaped.span.piece,
            f"lies up to {off:.1f} mm off the shape of {where}, because of its own ends, its "
            "length and its hold",
        )
    worst = state.match.get("largest_deviation_mm", -1.0)
    if off > worst:
        state.match.update(seam=seam.name, apart_before_mm=-apart, largest_deviation_mm=off)
    return text


def _give_way(state: State, seam: Seam, wanted: float, found: float, taken: list[Span]) -> None:
    """Let a revised follower give way and say so; a conflict when it may not."""
    apart = abs(wanted - found)
    revised = not seam.fixed and all(span.piece in state.given for span in taken)
    if not revised or (not seam.lead_wins and apart > state.drawn_to):
        raise _conflict(state, seam, wanted, found, taken)
    why = "its lead wins" if seam.lead_wins else "that is within the tolerance of the drawing"
    state.notice(
        seam.name,
        f"both sides were revised and disagree by {apart:.2f} mm; {why}, so "
        f"{' + '.join(str(span) for span in seam.follow)} was made {wanted:.2f} mm long instead of "
        f"the {found:.2f} mm that were drawn",
    )


def _drawn_by_edit(state: State, seam: Seam) -> bool:
    """Whether the edit drew the follower's silhouette and so has matched it already.

    The pieces are not cut apart yet: they still have the lengths of the source.
    """
    nodes = run_nodes(state.pattern, seam.follow)
    drawn = all("/" in node and node in state.changes for node in nodes)
    return drawn and not any(span.key in state.changes for span in seam.follow)


def _walk_notches(state: State, seam: Seam) -> bool:
    """Place the follower's notches by walking from the lead's, where it was redrawn."""
    moved = False
    for lead, follow in seam.notches:
        first = _from_run_start(state, seam.lead, lead)
        second = _from_run_start(state, seam.follow, follow)
        if first is None or second is None or second.held:
            continue
        off = first.distance + seam.ease * first.distance / first.total - second.distance
        if abs(off) > SEAM_LENGTH_MM:
            piece, _, landmark = follow.partition(".")
            forward = second.placed + (-off if second.flipped else off)
            state.walked[(piece, landmark)] = forward
            moved = True
    return moved


@dataclass(frozen=True)
class _Notch:
    """A notch on a silhouette edge that is the whole of a run."""

    distance: float
    total: float
    placed: float
    flipped: bool
    held: bool


def _from_run_start(state: State, run: Run, name: str) -> _Notch | None:
    piece, _, landmark = name.partition(".")
    owner = state.pattern.relations.parts_of.get(piece, piece)
    edited = state.edited.get(owner)
    placed = edited.place(piece, landmark) if edited is not None else None
    if edited is None or placed is None:
        return None
    total = edited.edge(placed.edge).length
    segment = edited.base.segments[placed.edge][0]
    flipped = not any(
        span.key == segment.span.key
        and edited.base.sized[span.piece].distance(span.edge, span.begin) in segment.on_piece[:1]
        for span in (run[0],)
    )
    held = any(
        stretch.source == "lower"
        and stretch.kept
        and stretch.here[0] - 1e-6 <= placed.distance <= stretch.here[1] + 1e-6
        for stretch in edited.stretches[placed.edge]
    )
    distance = total - placed.distance if flipped else placed.distance
    return _Notch(distance, total, placed.distance, flipped, held)


def _conflict(state: State, seam: Seam, wanted: float, found: float, taken: list[Span]) -> Conflict:
    both = not seam.fixed and bool(taken) and all(span.piece in state.given for span in taken)
    cure = (
        "; set lead_wins = true on the seam and the lead wins, or send only one side"
        if both
        else ""
    )
    other = (
        "is fixed" if seam.fixed else f"was given its length by: {state.changes[taken[0].key].what}"
    )
    follower = " + ".join(str(span) for span in seam.follow)
    lead = " + ".join(str(span) for span in seam.lead)
    return Conflict(
        f"set '{state.pattern.name}', size '{state.chosen.name}', seam '{seam.name}': {lead} asks "
        f"for {wanted:.2f} mm, but {follower} has {found:.2f} mm and {other}; "
        f"{abs(wanted - found):.2f} mm lie between them{cure}",
        causes=(f"{lead} asks for {wanted:.2f} mm", f"{follower} {other}"),
        distance_mm=abs(wanted - found),
    )


def _free_end(state: State, seam: Seam) -> tuple[Span, End]:
    """The follower's end that answers the end of the lead that moved; the first if both did.

    An end on a fold is held when the other end is not: moved along the seam it would run
    over the fold.
    """
    first, last = seam.lead[0], seam.lead[-1]
    start: tuple[Span, End] = (seam.follow[0], "start")
    end: tuple[Span, End] = (seam.follow[-1], "end")
    folded = _on_fold(state, *start), _on_fold(state, *end)
    if folded[0] != folded[1]:
        return end if folded[0] else start
    if _has_moved(state, last, last.end) and not _has_moved(state, first, first.begin):
        return end
    return start


def _on_fold(state: State, span: Span, end: End) -> bool:
    """Whether an end of a run is the corner of its edge with the piece's fold."""
    info = state.pattern.info.get(span.piece)
    mark = span.begin if end == "start" else span.end
    if info is None or info.fold is None or mark not in ("start", "end"):
        return False
    names = state.lookup(span.piece).edge_names
    beside = names.index(span.edge) + (1 if mark == "end" else -1)
    return names[beside % len(names)] == info.fold


def _has_moved(state: State, span: Span, landmark: str) -> bool:
    """Whether an end of a span lies elsewhere than in the size its piece was taken from."""
    name = f"{span.edge}.{landmark}" if landmark in ("start", "end") else landmark
    was = state.pattern.sized(span.piece, state.size_of(span.piece)).landmark(name).point
    now = state.lookup(span.piece).landmark(name).point
    return bool(np.hypot(*np.subtract(now, was)) > RESTS_MM)


def _reached(points: Array, direction: Array, gain: float) -> Array:
    """Move the last point of a line until the line gains a length, or as nearly as it can.

    The fade bends the curve a little, so the gain in length is not quite the move.  The
    length is convex in the move: where it hardly changes any more, going on leads away.
    """
    wanted = length(points) + gain
    reach, slope = gain, 1.0
    last, best = (0.0, gain), (abs(gain), points)
    for _ in range(_ROUNDS):
        new = fade_end(points, rounded(points[-1] + reach * direction), length(points), STEP_MM)
        miss = wanted - length(new)
        best = min(best, (abs(miss), new), key=lambda found: found[0])
        if abs(miss) < SEAM_LENGTH_MM / 100:
            break
        if abs(miss) > abs(last[1]) / 2:
            slope = (last[1] - miss) / (reach - last[0])
            if slope < _FLAT:
                break
        last = (reach, miss)
        reach += float(np.clip(miss / slope, -abs(gain), abs(gain)))
    return best[1]


def _lengthened(
    seam: Seam, piece: SizedPiece, source: SizedPiece, span: Span, free: End, gain: float
) -> SizedPiece:
    """Move the free end of a span along the seam and fade; its neighbour's end follows."""
    edge = piece.edge(span.edge)
    forward = piece.distance(span.edge, span.begin) < piece.distance(span.edge, span.end)
    at_start = forward == (free == "start")
    points = edge.points[::-1] if at_start else edge.points
    hold = hold_distance(seam, piece, points)
    held = between(points, 0.0, hold) if hold > 0 else points[:1]
    points = between(points, hold, length(points))
    direction = unit(end_direction(points, "end"))
    new = _reached(points, direction, gain)
    new = np.vstack([held, rounded(new[1:])])
    fresh = edge_from_parts(
        edge.name, [new[::-1] if at_start else new], edge.points[list(edge.turns)]
    )
    moved = with_corners(piece, edge, fresh, source)
    return replace(moved, landmarks=tuple(landmark_on(moved, piece, m) for m in piece.landmarks))
