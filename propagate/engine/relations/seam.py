"""Match followers to their leads, when no edit has matched them already.

A piece that is cut like its lead is traced from it.  Else its length is always corrected;
before that it may take the shape of what the lead got.  Followers that share corners are
matched together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from propagate.engine.following.cluster import Ask, excess_of, solve_followers
from propagate.engine.following.ends import shape_end
from propagate.engine.graph import RelationNode, run_nodes
from propagate.engine.record import Change, ChangeKind
from propagate.engine.relations.cut import place_mark
from propagate.engine.relations.same_shape import Shaped, deviation, take_shape
from propagate.engine.relations.traced import trace
from propagate.engine.rows import Match
from propagate.engine.state import State
from propagate.errors import Conflict
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Run, Seam, Span
from propagate.pattern.spans import run_length
from propagate.tolerances import SEAM_LENGTH_MM

__all__ = ["apply", "walk_redrawn"]

Array = npt.NDArray[np.float64]
_ROUNDS = 16
_SEEN_MM = 0.5
"""A deviation below this needs no look (well inside the trade's 1/16 in)."""


def apply(state: State, group: Sequence[Seam], causes: Mapping[str, str]) -> None:
    """Match the followers of seams that share pieces.

    Parameters
    ----------
    state : State
    group : sequence of Seam
        Every seam of the followers; none that is only checked or mirrored.
    causes : mapping of seam name to the change that reached it
        Of the seams that are due; the others of the group keep their lengths.

    Raises
    ------
    Conflict
        When a follower is fixed, or an edit or another relation gave it another length,
        and the two are apart by more than the seam's tolerance.
    """
    for seam in group:
        if seam.name in causes and _drawn_by_edit(state, seam):
            _walk_notches(state, seam)
    group = [seam for seam in group if not _drawn_by_edit(state, seam)]
    before = {span.piece: state.lookup(span.piece) for seam in group for span in seam.follow}
    first = {seam.name for seam in group if seam.name not in state.led}
    shaped: dict[str, Shaped] = {}
    traced: set[str] = set()
    for seam in group:
        if seam.name in causes and seam.name not in traced:
            traced |= _traced(state, seam, causes[seam.name])
    for seam in group:
        if state.job.follow == "shape" and seam.name in causes and seam.name not in traced:
            found = _shape(state, seam) if seam.name in first else None
            if found is not None:
                shaped[seam.name] = found
    asks = [ask for seam in group if (ask := _ask(state, seam, group, causes)) is not None]
    apart = {ask.seam.name: -excess_of(state, ask) for ask in asks}
    asks = [ask for ask in asks if _may_give(state, ask, apart[ask.seam.name])]
    if any(abs(apart[ask.seam.name]) > SEAM_LENGTH_MM for ask in asks):
        state.pieces.update(solve_followers(state, asks))
        _tell_missed(state, asks, causes)
    for ask in asks:
        _walk_notches(state, ask.seam)
    by_name = {ask.seam.name: ask for ask in asks if ask.seam.name in causes}
    for name, ask in by_name.items():
        if name not in traced:
            _note(state, ask.seam, before, apart[name], shaped.get(name), causes[name])
    _note_corners(state, before, [ask.seam for ask in by_name.values()] or group)


def _traced(state: State, seam: Seam, cause: str) -> set[str]:
    """Trace the follower when its lead changed since; returns the seams that it settles."""
    led = tuple(state.lookup(span.piece).edge(span.edge) for span in seam.lead)
    # A trace begins anew from the piece as it was, so it is for a new lead alone.
    fresh = state.led.get(seam.name) != led
    state.led[seam.name] = led
    if not fresh or trace(state, seam, cause) is None:
        return set()
    return _note_traced(state, seam)


def _shape(state: State, seam: Seam) -> Shaped | None:
    """Give the follower the displacement of its lead; it is put on once."""
    if seam.fixed or _taken(state, seam):
        return None
    return take_shape(state, seam, shape_end(state, seam))


def _taken(state: State, seam: Seam) -> list[Span]:
    """Spans of the follower that the edit or another relation decided."""
    return [span for span in seam.follow if state.decided(span.key)]


def _ask(state: State, seam: Seam, group: Sequence[Seam], causes: Mapping[str, str]) -> Ask | None:
    """What a seam asks: the length of its lead; what it has when its lead did not change."""
    moving = {span.piece for one in group for span in one.follow}
    if any(span.piece in moving for span in seam.lead):
        return Ask(seam, None)
    if seam.name in causes or seam.name in state.led:
        return Ask(seam, run_length(state.lookup, seam.lead) + state.ease_of(seam).total)
    lead_changed = run_length(state.lookup, seam.lead) - run_length(state.source, seam.lead)
    return Ask(seam, run_length(state.source, seam.follow) + lead_changed)


def _tell_missed(state: State, asks: Sequence[Ask], causes: Mapping[str, str]) -> None:
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
            )


def _cannot_be_met(
    state: State, ask: Ask, off: float, missed: Sequence[tuple[Ask, float]]
) -> Conflict:
    """The conflict of a follower that cannot get its length, with what else is asked of it."""
    seam = ask.seam
    follower = " + ".join(str(span) for span in seam.follow)
    lead = " + ".join(str(span) for span in seam.lead)
    has = run_length(state.lookup, seam.follow)
    own = {span.key for span in seam.follow}
    others = [
        other.seam
        for other, _ in missed
        if other is not ask and own & {span.key for span in other.seam.follow}
    ]
    asked = f"{lead} asks for {has - off:.2f} mm"
    other_cause = f"{follower} can be brought to {has:.2f} mm and no nearer by moving its ends"
    apart, cure = abs(off), "move a corner of the follower in a drawing, or raise its hold"
    if others:
        other = others[0]
        wish = run_length(state.lookup, other.lead) + state.ease_of(other).total
        of = " + ".join(str(span) for span in other.lead)
        other_cause = f"seam '{other.name}': {of} asks {follower} for {wish:.2f} mm as well"
        apart = abs(wish - (has - off))
        cure = "correct the ease of one of the seams, or one of the leads"
    return Conflict(
        f"set '{state.pattern.name}', size '{state.job.name}', seam '{seam.name}': {asked}, but "
        f"{other_cause}; {apart:.2f} mm lie between them; {cure}",
        causes=(asked, other_cause),
        distance_mm=apart,
    )


def _note(
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
    text = f"matched to its lead across seam '{seam.name}' ({apart:+.2f} mm)"
    if shaped is not None:
        kind, text = ChangeKind.SHAPED, _shape_words(state, seam, apart, shaped)
    for key in changed:
        _note_matched(state, seam, Change(key, kind, text, cause))


def _note_corners(state: State, before: Mapping[str, SizedPiece], seams: Sequence[Seam]) -> None:
    """Note the edges that changed because a corner of theirs moved."""
    for piece, old in before.items():
        own = next((s.key for seam in seams for s in seam.follow if s.piece == piece), None)
        for was, now in zip(old.edges, state.lookup(piece).edges, strict=True):
            key = f"{piece}.{now.name}"
            if was != now and key not in state.matched:
                state.change(key, ChangeKind.FOLLOWS_CORNER, "follows its corner", own)


def _note_matched(state: State, seam: Seam, change: Change) -> None:
    """Note a matched edge; a second match replaces the words of its first."""
    noted = state.changes.setdefault(change.id, change)
    by = state.matched.setdefault(change.id, set())
    if seam.name in by:
        state.changes[change.id] = replace(noted, kind=change.kind, what=change.what)
    by.add(seam.name)


def _note_traced(state: State, seam: Seam) -> set[str]:
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
    if state.match is None or off > state.match.largest_deviation_mm:
        state.match = Match(seam.name, -apart, largest_deviation_mm=off)
    return text


def _may_give(state: State, ask: Ask, apart: float) -> bool:
    """Whether a follower may give way to its lead; said when that is a compromise.

    Raises
    ------
    Conflict
        When it may not, and the two are apart by more than the seam allows.
    """
    seam, taken = ask.seam, _taken(state, ask.seam)
    if not seam.fixed and not taken:
        return True
    if abs(apart) <= SEAM_LENGTH_MM:
        return not seam.fixed
    found = run_length(state.lookup, seam.follow)
    wanted = found + apart
    given = state.given.pieces
    revised = not seam.fixed and all(span.piece in given for span in taken)
    if revised and not seam.lead_wins and abs(apart - _had(state, seam)) <= state.given.agree_mm:
        return False  # what the set was off by before is nothing that the revision did
    if revised and (seam.lead_wins or abs(apart) <= max(state.given.within_mm, seam.tolerance)):
        why = (
            "its lead wins"
            if seam.lead_wins
            else "that is within the tolerance of the drawing"
            if abs(apart) <= state.given.within_mm
            else f"that is within the {seam.tolerance:g} mm that the seam allows"
        )
        state.notice(
            seam.name,
            f"both sides were revised and disagree by {abs(apart):.2f} mm; {why}, so "
            f"{' + '.join(str(span) for span in seam.follow)} was made {wanted:.2f} mm long "
            f"instead of the {found:.2f} mm that were drawn",
        )
        return True
    if abs(apart) > seam.tolerance:
        raise _conflict(state, seam, wanted, found, taken)
    state.notice(seam.name, f"was left as it is: {_conflict(state, seam, wanted, found, taken)}")
    return False


def _had(state: State, seam: Seam) -> float:
    """By how much the lead asked for more than the follower had in the set as it was, mm."""
    asked = run_length(state.source, seam.lead) + state.ease_of(seam).total
    return asked - run_length(state.source, seam.follow)


def _drawn_by_edit(state: State, seam: Seam) -> bool:
    """Whether the edit drew the follower's silhouette and so has matched it already.

    The pieces are not cut apart yet: they still have the lengths of the source.
    """
    nodes = run_nodes(state.pattern, seam.follow)
    drawn = all("/" in node and node in state.changes for node in nodes)
    return drawn and not any(span.key in state.changes for span in seam.follow)


def walk_redrawn(state: State, order: Iterable[RelationNode]) -> None:
    """Place the notch pairs of seams whose two sides the edit drew, before any piece is cut."""
    for kind, name in order:
        seam = state.pattern.relations.seams.get(name) if kind == "seam" else None
        if seam is not None and not (seam.check or seam.mirror):
            _walk_notches(state, seam)


def _walk_notches(state: State, seam: Seam) -> bool:
    """Place one notch of each pair by walking from the other, where the seam was redrawn.

    One that lies where its edge was kept decides; else the lead's does.
    """
    moved = False
    for lead, follow in seam.notches:
        first = _from_run_start(state, seam.lead, lead)
        second = _from_run_start(state, seam.follow, follow)
        if first is None or second is None or (first.held and second.held):
            continue
        ease = state.ease_of(seam)
        if second.held:
            wanted = second.distance
            for _ in range(_ROUNDS):  # ease is a small share of the seam: this closes in quickly
                wanted = second.distance - ease.before(wanted, first.total)
            name, mark, off = lead, first, wanted - first.distance
        else:
            given = ease.before(first.distance, first.total)
            name, mark, off = follow, second, first.distance + given - second.distance
        if abs(off) > SEAM_LENGTH_MM:
            piece, _, landmark = name.partition(".")
            state.walked[(piece, landmark)] = mark.placed + (-off if mark.flipped else off)
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
    placed = place_mark(state, edited, piece, landmark) if edited is not None else None
    if edited is None or placed is None:
        return None
    total = edited.edge(placed.edge).length
    segment = edited.base.segments[placed.edge][0]
    flipped = not any(
        span.key == segment.span.key
        and edited.base.sized[span.piece].distance(span.edge, span.begin) in segment.on_piece[:1]
        for span in (run[0],)
    )
    distance = total - placed.distance if flipped else placed.distance
    return _Notch(distance, total, placed.distance, flipped, placed.kept)


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
