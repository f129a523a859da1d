"""What the record tells of seams that were matched, and why one cannot be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from propagate.counts import say_range
from propagate.engine.following.giving import Ask, excess_before, excess_of
from propagate.engine.record import Change, ChangeKind
from propagate.engine.relations.same_shape import Shaped
from propagate.engine.rows import Match
from propagate.engine.state import State
from propagate.engine.strips_found import strip_of
from propagate.errors import Conflict
from propagate.geometry.polyline import locate_all
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Seam, Span
from propagate.pattern.runs import run_words
from propagate.pattern.spans import run_length
from propagate.tolerances import SEAM_LENGTH_MM

__all__ = [
    "gain_words",
    "note_corners",
    "note_match",
    "note_traced",
    "refusal_of",
    "tell_missed",
    "tell_strips",
    "tell_taken_back",
]

_SEEN_MM = 0.5
"""A deviation below this needs no look (well inside the trade's 1/16 in)."""


def tell_missed(state: State, asks: Sequence[Ask], causes: Mapping[str, str]) -> None:
    """Say what could not be met within what a seam allows.

    Raises
    ------
    Conflict
        When a follower is off by more than its seam allows.
    """
    missed = [(ask, off) for ask in asks if abs(off := excess_of(state, ask)) > SEAM_LENGTH_MM]
    beyond = [(ask, off) for ask, off in missed if abs(off) > ask.seam.tolerance]
    if beyond:
        raise _cannot_be_met(state, *max(beyond, key=lambda item: abs(item[1])), missed)
    for ask, off in missed:
        if ask.seam.name in causes or ask.wanted is None:
            wanted = run_length(state.lookup, ask.seam.follow) - off
            state.notice(
                ask.seam.name,
                f"the follower cannot be brought to {wanted:.1f} mm by moving its ends: it stays "
                f"off by {off:+.2f} mm, within the {ask.seam.tolerance:g} mm that the seam allows",
                "ease it in, or draw the follower anew",
                about=("follower stays off",),
            )


def tell_taken_back(state: State, asks: Sequence[Ask], apart: Mapping[str, float]) -> None:
    """Say which followers an edit drew and their leads take back, for a change never goes back."""
    for ask in asks:
        seam, by = ask.seam, apart[ask.seam.name]
        drawn = [span for span in seam.follow if span.key in state.redrawn]
        if not drawn or not state.given.loose >= {span.piece for span in drawn}:
            continue
        if abs(by) <= seam.tolerance or any(span.key in state.changes for span in seam.lead):
            continue
        state.notice(
            seam.name,
            f"{run_words(seam.follow)} was edited alone and is {abs(by):.1f} mm "
            f"{'longer' if by > 0 else 'shorter'} again: {run_words(seam.lead)} leads, and a "
            "change never goes back to the lead",
            "change the lead, or both sides, or let the seam carry a change both ways",
            typed="both_ways = true on the seam",
        )


def tell_strips(state: State, before: Mapping[str, SizedPiece]) -> None:
    """Say which pieces that changed were taken for strips without a word of the set."""
    for piece, old in before.items():
        strip = strip_of(state.pattern, piece)
        if strip is None or strip.widths_mm is None or state.lookup(piece) is old:
            continue
        near, far = strip.near[0], strip.far[0]
        low, high = (f"{width:.1f}" for width in strip.widths_mm)
        state.notice(
            piece,
            f"was taken for a strip {say_range(low, high)} mm wide: both long sides, '{near}' "
            f"and '{far}', changed alike, and its ends moved without turning",
            "look whether it is one, and if not, or if other edges are its long sides, say so in "
            "the set",
            typed=f'strip = ["{near}", "{far}"] for the piece, or strip = [] that it is none',
        )


def _cannot_be_met(
    state: State, ask: Ask, off: float, missed: Sequence[tuple[Ask, float]]
) -> Conflict:
    """The conflict of a follower that cannot get its length, with what else is asked of it."""
    seam = ask.seam
    follower, lead = run_words(seam.follow), run_words(seam.lead)
    has = run_length(state.lookup, seam.follow)
    own = {span.key for span in seam.follow}
    strips = {span.piece for span in seam.follow if strip_of(state.pattern, span.piece)}
    own |= {f"{name}.{edge}" for name in strips for edge in state.lookup(name).edge_names}
    others = [
        (other.seam, by)
        for other, by in missed
        if other is not ask and own & {span.key for span in other.seam.follow}
    ]
    asked = f"{lead} asks for {has - off:.2f} mm"
    other_cause = f"{follower} can be brought to {has:.2f} mm and no nearer by moving its ends"
    apart, cure = abs(off), "move a corner of the follower in a drawing, or raise its hold"
    if others:
        other, by = others[0]
        wish = run_length(state.lookup, other.lead) + state.ease_of(other).total
        of, on = run_words(other.lead), run_words(other.follow)
        other_cause = f"seam '{other.name}': {of} asks {on} for {wish:.2f} mm as well"
        apart = abs(off - by) if on != follower else abs(wish - (has - off))
        cure = "correct the ease of one of the seams, or one of the leads"
        if strips:
            other_cause += ", and the two sides of a strip grow alike"
            cure += f", or let '{min(strips)}' lead on one of its sides"
    return Conflict(
        f"{state.where}, seam '{seam.name}': {asked}, but {other_cause}; {apart:.2f} mm lie "
        f"between them; {cure}",
        causes=(asked, other_cause),
        distance_mm=apart,
    )


def note_match(
    state: State,
    seam: Seam,
    before: Mapping[str, SizedPiece],
    apart: float,
    shaped: Shaped | None,
    cause: str,
) -> None:
    """Note what a seam did to its follower."""
    changed = [
        span.key
        for span in seam.follow
        if before[span.piece].edge(span.edge) != state.lookup(span.piece).edge(span.edge)
    ]
    if not changed:
        return
    apart = state.apart[seam.name] = state.apart.get(seam.name, 0.0) + apart
    kind = ChangeKind.MATCHED
    gained = gain_words(apart, excess_before(state, seam))
    text = f"matched to its lead across seam '{seam.name}' ({gained})"
    if shaped is not None:
        kind, text = ChangeKind.SHAPED, _shape_words(state, seam, apart, shaped)
    for key in changed:
        noted = state.changes.setdefault(key, Change(key, kind, text, cause))
        by = state.matched.setdefault(key, set())
        if seam.name in by:  # a second match replaces the words of its first
            state.changes[key] = replace(noted, kind=kind, what=text)
        by.add(seam.name)


def gain_words(gain: float, was_over: float) -> str:
    """How much longer something became, and what of that the set had been off by before, mm."""
    if abs(was_over) <= SEAM_LENGTH_MM:
        return f"{gain:+.2f} mm"
    return f"{gain:+.2f} mm, {-was_over:+.2f} mm of it because the set was off before"


def note_corners(state: State, before: Mapping[str, SizedPiece], seams: Sequence[Seam]) -> None:
    """Note the edges that changed because a corner of theirs moved."""
    for piece, old in before.items():
        own = next((s.key for seam in seams for s in seam.follow if s.piece == piece), None)
        strip = strip_of(state.pattern, piece) is not None
        what = "goes along with the strip" if strip else "follows its corner"
        for was, now in zip(old.edges, state.lookup(piece).edges, strict=True):
            key = f"{piece}.{now.name}"
            if was != now and key not in state.matched:
                state.change(key, ChangeKind.FOLLOWS_CORNER, what, own)


def note_traced(state: State, seam: Seam) -> set[str]:
    """All seams of a traced piece and its lead gave its edges their length; their names."""
    piece, lead = seam.follow[0].piece, {span.piece for span in seam.lead}
    found = set()
    for other in state.pattern.relations.followed_by.get(piece, ()):
        if {span.piece for span in other.lead} == lead:
            state.matched.setdefault(other.follow[0].key, set()).add(other.name)
            found.add(other.name)
    return found


def _shape_words(state: State, seam: Seam, apart: float, shaped: Shaped) -> str:
    """Say how nearly the follower took the shape."""
    line = state.lookup(shaped.span.piece).edge(shaped.span.edge).points
    off = float(locate_all(line, shaped.wanted)[1].max())
    text = (
        f"takes the shape of its lead across seam '{seam.name}' "
        f"({gain_words(apart, excess_before(state, seam))}), "
        f"{off:.2f} mm off it at most"
    )
    where = f"the lead of seam '{seam.name}'"
    if shaped.beyond_mm > _SEEN_MM:
        state.notice(
            shaped.span.piece,
            f"{where} changed by up to {shaped.beyond_mm:.1f} mm beyond the hold "
            f"'{seam.hold}', where its mate may not change",
            "move the hold, or draw the lead there as it was",
            about=("changed beyond the hold", where),
        )
    if off > _SEEN_MM:
        state.notice(
            shaped.span.piece,
            f"lies up to {off:.1f} mm off the shape of {where}, because of its own ends, its "
            "length and its hold",
            "look at its line, and draw it anew where it must lie on its lead",
            about=("off the shape", where),
        )
    if state.match is None or off > state.match.largest_deviation_mm:
        state.match = Match(seam.name, -apart, largest_deviation_mm=off)
    return text


def refusal_of(
    state: State, seam: Seam, wanted: float, found: float, taken: list[Span]
) -> Conflict:
    """The conflict of a follower that may not give way: fixed, or decided by something else."""
    parts, given = state.pattern.relations.parts_of, state.given.pieces
    cure, other = "", "is fixed"
    if not seam.fixed:
        other = f"was given its length by: {state.changes[taken[0].key].what}"
    if not seam.fixed and taken and all(span.piece in given for span in taken):
        cure = "set lead_wins = true on the seam and the lead wins, or send only one side"
        # A piece that carries the rest of a revised line, as a facing does, may not have been sent.
        revised = {parts[name] for name in given if name in parts}
        every = dict.fromkeys(span.piece for span in (*seam.lead, *seam.follow))
        absent = [name for name in every if name not in given and parts.get(name) in revised]
        if absent:
            names = " and ".join(f"'{name}'" for name in absent)
            carries, were = ("carries", "was") if len(absent) == 1 else ("carry", "were")
            cure = (
                f"{names}, which {carries} the rest of that line, {were} not sent: send {names} "
                f"too, or {cure}"
            )
        cure = f"; {cure}"
    follower, lead = run_words(seam.follow), run_words(seam.lead)
    return Conflict(
        f"{state.where}, seam '{seam.name}': {lead} asks for {wanted:.2f} mm, but {follower} has "
        f"{found:.2f} mm and {other}; {abs(wanted - found):.2f} mm lie between them{cure}",
        causes=(f"{lead} asks for {wanted:.2f} mm", f"{follower} {other}"),
        distance_mm=abs(wanted - found),
    )
