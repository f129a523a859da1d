"""Match followers to their leads, when no edit has matched them already.

A piece that is cut like its lead is traced from it.  Else its length is always corrected;
before that it may take the shape of what the lead got.  Followers that share corners are
matched together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from propagate.engine.darts.telling import tell_own_darts
from propagate.engine.following.ends import shape_end
from propagate.engine.following.giving import Ask, excess_before, excess_of
from propagate.engine.following.zones import asks_by_zone
from propagate.engine.graph import RelationNode, run_nodes
from propagate.engine.relations.cut import place_mark
from propagate.engine.relations.notch_pairs import follow_mouths
from propagate.engine.relations.pleats import fold_anew
from propagate.engine.relations.same_shape import Shaped, take_shape
from propagate.engine.relations.seam_told import (
    note_corners,
    note_match,
    note_traced,
    refusal_of,
    tell_missed,
    tell_strips,
    tell_taken_back,
)
from propagate.engine.relations.traced import trace_follower
from propagate.engine.state import State
from propagate.engine.strips_found import strip_of
from propagate.pattern.relations import Run, Seam, Span
from propagate.pattern.runs import run_words
from propagate.pattern.spans import run_length
from propagate.tolerances import SEAM_LENGTH_MM
from propagate.values import dataclass

__all__ = ["apply", "walk_redrawn"]

_ROUNDS = 16


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
        if seam.name not in causes or seam.name in traced:
            continue
        led = tuple(state.lookup(span.piece).edge(span.edge) for span in seam.lead)
        # A trace begins anew from the piece as it was, so it is for a new lead alone.
        fresh = state.led.get(seam.name) != led
        state.led[seam.name] = led
        # What the set calls a strip is none that is cut like its lead.
        may_trace = fresh and not _is_strip(state, seam, said=True)
        if may_trace and trace_follower(state, seam, causes[seam.name]) is not None:
            traced |= note_traced(state, seam)
    for seam in group:
        if seam.name not in causes or seam.name in traced:
            continue
        tell_own_darts(state, seam)
        once = state.job.follow == "shape" and seam.name in first
        if once and not (seam.fixed or _find_decided(state, seam) or _is_strip(state, seam)):
            found = take_shape(state, seam, shape_end(state, seam))
            if found is not None:
                shaped[seam.name] = found
    asks = [_make_ask(state, seam, group, causes) for seam in group]
    apart = {ask.seam.name: -excess_of(state, ask) for ask in asks}
    asks = [ask for ask in asks if _may_give(state, ask, apart[ask.seam.name])]
    if any(_is_off(state, ask, apart[ask.seam.name]) for ask in asks):
        from propagate.engine.following.cluster import solve_followers  # few edits need it

        state.pieces.update(solve_followers(state, asks))
        fold_anew(state)
        tell_missed(state, asks, causes)
        tell_taken_back(state, asks, apart)
        tell_strips(state, before)
    for ask in asks:
        _walk_notches(state, ask.seam)
        follow_mouths(state, ask.seam)
    by_name = {ask.seam.name: ask for ask in asks if ask.seam.name in causes}
    for name, ask in by_name.items():
        if name not in traced:
            note_match(state, ask.seam, before, apart[name], shaped.get(name), causes[name])
    note_corners(state, before, [ask.seam for ask in by_name.values()] or group)


def _is_off(state: State, ask: Ask, apart: float) -> bool:
    """Whether a follower is to be matched: it is off as a whole or between two notches."""
    if abs(apart) > SEAM_LENGTH_MM:
        return True
    changed = False
    for span in (*ask.seam.lead, *ask.seam.follow):
        was, now = state.source(span.piece), state.lookup(span.piece)
        changed |= now is not was and (
            now.edge(span.edge) != was.edge(span.edge)
            or now.landmarks_on(span.edge) != was.landmarks_on(span.edge)
        )
    if ask.seam.name not in state.asked and not changed:
        return False  # between two notches it is as it was
    zones = asks_by_zone(state, ask)
    return any(abs(excess_of(state, zone)) > SEAM_LENGTH_MM for zone in zones)


def _is_strip(state: State, seam: Seam, *, said: bool = False) -> bool:
    """Whether a strip follows, which keeps its own line; `said`: one that the set calls so."""
    found = [strip_of(state.pattern, span.piece) for span in seam.follow]
    return any(one is not None and not (said and one.widths_mm) for one in found)


def _find_decided(state: State, seam: Seam) -> list[Span]:
    """Spans of the follower that the edit or another relation decided."""
    return [span for span in seam.follow if state.decided(span.key)]


def _make_ask(state: State, seam: Seam, group: Sequence[Seam], causes: Mapping[str, str]) -> Ask:
    """What a seam asks: the length of its lead; what it has when its lead did not change."""
    moving = {span.piece for one in group for span in one.follow}
    if any(span.piece in moving for span in seam.lead):
        return Ask(seam, None)
    if seam.name in causes or seam.name in state.led:
        return Ask(seam, run_length(state.lookup, seam.lead) + state.ease_of(seam).total)
    if _find_decided(state, seam):  # drawn, and nothing asks otherwise: so it stays
        return Ask(seam, run_length(state.lookup, seam.follow))
    lead_changed = run_length(state.lookup, seam.lead) - run_length(state.source, seam.lead)
    return Ask(seam, run_length(state.source, seam.follow) + lead_changed)


def _may_give(state: State, ask: Ask, apart: float) -> bool:
    """Whether a follower may give way to its lead; said when that is a compromise.

    Raises
    ------
    Conflict
        When it may not, and the two are apart by more than the seam allows.
    """
    seam, taken = ask.seam, _find_decided(state, ask.seam)
    if not seam.fixed and not taken:
        return True
    if abs(apart) <= SEAM_LENGTH_MM:
        return not seam.fixed
    found = run_length(state.lookup, seam.follow)
    wanted = found + apart
    given = state.given.pieces
    revised = not seam.fixed and all(span.piece in given for span in taken)
    had = excess_before(state, seam)
    if revised and not seam.lead_wins and abs(apart + had) <= state.given.agree_mm:
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
            f"{run_words(seam.follow)} was made {wanted:.2f} mm long "
            f"instead of the {found:.2f} mm that were drawn",
            "look which of the two is right",
            about=("both sides revised",),
        )
        return True
    if abs(apart) > seam.tolerance:
        raise refusal_of(state, seam, wanted, found, taken)
    state.notice(
        seam.name,
        f"was left as it is: {refusal_of(state, seam, wanted, found, taken)}",
        "change one of the two sides so that they agree",
    )
    return False


def _drawn_by_edit(state: State, seam: Seam) -> bool:
    """Whether the edit drew the follower's silhouette and so has matched it already.

    The pieces are not cut apart yet: they still have the lengths of the source.
    """
    if not state.matched_by_edit:
        return False
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
    first = run[0]
    flipped = (
        first.key != segment.span.key
        or edited.base.sized[first.piece].distance(first.edge, first.begin) != segment.on_piece[0]
    )
    distance = total - placed.distance if flipped else placed.distance
    return _Notch(distance, total, placed.distance, flipped, placed.kept)
