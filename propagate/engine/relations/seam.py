"""Match a follower to its lead, when no edit has matched them already.

A piece that is cut like its lead is traced from it.  Else its length is always corrected;
before that it may take the shape of what the lead got.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from propagate.engine.graph import run_nodes
from propagate.engine.relations.lengthen import free_end, match_length
from propagate.engine.relations.same_shape import Shaped, deviation, take_shape
from propagate.engine.relations.traced import trace
from propagate.engine.state import FOLLOWS_CORNER, State
from propagate.errors import Conflict
from propagate.pattern.relations import Run, Seam, Span
from propagate.pattern.spans import run_length
from propagate.tolerances import SEAM_LENGTH_MM

__all__ = ["apply"]

Array = npt.NDArray[np.float64]
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
    if state.job.follow == "shape" and before is None and not (seam.fixed or taken):
        shaped = take_shape(state, seam, free_end(state, seam))
        found = run_length(state.lookup, seam.follow)
    if abs(found - wanted) > SEAM_LENGTH_MM:
        if seam.fixed or taken:
            _give_way(state, seam, wanted, found, taken)
        match_length(state, seam, wanted)
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
    revised = not seam.fixed and all(span.piece in state.given.pieces for span in taken)
    if not revised or (not seam.lead_wins and apart > state.given.within_mm):
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
    both = (
        not seam.fixed and bool(taken) and all(span.piece in state.given.pieces for span in taken)
    )
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
        f"set '{state.pattern.name}', size '{state.job.name}', seam '{seam.name}': {lead} asks "
        f"for {wanted:.2f} mm, but {follower} has {found:.2f} mm and {other}; "
        f"{abs(wanted - found):.2f} mm lie between them{cure}",
        causes=(f"{lead} asks for {wanted:.2f} mm", f"{follower} {other}"),
        distance_mm=abs(wanted - found),
    )
