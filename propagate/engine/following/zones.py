"""What a seam asks of its follower stretch by stretch, between the notches that it pairs.

A seam of two notch pairs is three seams, one for each stretch: each has its own share of the
ease, and a change of the lead between two notches is met between the two that they meet.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import compress, pairwise

import numpy as np

from propagate.engine.following.ends import answering_ends, hold_on_span
from propagate.engine.following.giving import MET_MM, Ask, excess_of, was_sewn
from propagate.engine.state import State
from propagate.engine.strips_found import strip_of
from propagate.geometry.polyline import is_straight, locate
from propagate.pattern.ease import Ease, ease_in_size
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Run, Seam, Span
from propagate.pattern.spans import run_length, span_ends, span_length
from propagate.tolerances import SAME_POINT_MM, SEAM_LENGTH_MM
from propagate.values import dataclass

__all__ = ["asks_by_zone"]

Lookup = Callable[[str], SizedPiece]

_CLOSE_MM = 3.0
"""Notches nearer to each other (a double notch) or to an end have no stretch of their own."""


@dataclass(frozen=True)
class _Place:
    """A landmark on a run: which span it lies on, and its distance from the run's start, mm."""

    span: int
    landmark: str
    distance: float


@dataclass(frozen=True)
class _Cut:
    """A notch pair at which a seam is divided.

    Attributes
    ----------
    stood : float
        Distance along the lead, as it is now, at which its notch would lie had it stayed
        where it was, mm.
    goes_along : bool
        The follower's notch goes where its line goes, and is not walked elsewhere: a corner, or
        on a strip, of which every stretch gives without its neighbours.
    """

    lead: _Place
    follow: _Place
    stood: float
    goes_along: bool

    @property
    def on_lead(self) -> float:
        """Distance along the lead at which the seam is divided, mm.

        A notch that was drawn elsewhere on the lead is walked along the follower afterwards;
        what counts until then is where the line of the lead changed.
        """
        return self.lead.distance if self.goes_along else self.stood


def asks_by_zone(state: State, ask: Ask) -> list[Ask]:
    """Divide what a seam asks at its notch pairs; the ask itself where there are none.

    Where one stretch became longer and the next shorter, the notch between them may as well be
    walked along the line: the two are one; not where an edit asked for just that.  So it is on a
    straight edge, but for a strip.  A seam with one range of ease says nothing of its stretches.
    """
    cuts = _find_cuts(state, ask)
    while cuts:
        zones = _cut_zones(state, ask, cuts)
        changes = [-excess_of(state, zone) for zone in zones]
        kept = [
            cut
            for cut, (before, after) in zip(cuts, pairwise(changes), strict=True)
            if cut.goes_along
            or ask.seam.name in state.asked
            or before * after >= 0.0
            or min(abs(before), abs(after)) <= MET_MM
        ]
        if len(kept) == len(cuts):
            return zones
        cuts = kept
    return [ask]


def _find_cuts(state: State, ask: Ask) -> list[_Cut]:
    """Find the notch pairs that divide a seam, in their order along it."""
    seam = ask.seam
    ease = ease_in_size(seam.ease, state.size_of(seam.lead[0].piece))
    if not seam.notches or (isinstance(ease, Ease) and ease.between is not None):
        return []
    pairs = [_make_cut(state, ask, *pair) for pair in seam.notches]
    found = sorted((cut for cut in pairs if cut is not None), key=lambda cut: cut.on_lead)
    ends = [run_length(state.lookup, run) for run in (seam.lead, seam.follow)]
    on_lead = [0.0, *(cut.on_lead for cut in found), ends[0]]
    on_follow = [0.0, *(cut.follow.distance for cut in found), ends[1]]
    if any(b <= a for a, b in pairwise(on_follow)):
        return []  # pairs that cross each other tell nothing
    low, high = _find_held(state, seam)
    return [
        cut
        for k, cut in enumerate(found, start=1)
        if min(_least_gap(on_lead, k), _least_gap(on_follow, k)) >= _CLOSE_MM
        and not low - _CLOSE_MM < on_follow[k] < high + _CLOSE_MM
    ]


def _find_held(state: State, seam: Seam) -> tuple[float, float]:
    """Find between which distances along the follower its hold keeps it, mm; none: far off."""
    answer, done = answering_ends(state, seam), 0.0
    places = []
    for span in seam.follow:
        piece = state.lookup(span.piece)
        hold = hold_on_span(piece, span, seam.hold)
        if hold is not None:
            places.append(done + abs(hold - span_ends(piece, span)[0]))
        done += span_length(piece, span)
    if not places:
        return -np.inf, -np.inf
    return (places[-1] if answer.start else 0.0), (places[-1] if answer.end else done)


def _make_cut(state: State, ask: Ask, lead: str, follow: str) -> _Cut | None:
    seam = ask.seam
    on_lead = _find_place(state.lookup, seam.lead, lead)
    on_follow = _find_place(state.lookup, seam.follow, follow)
    if on_lead is None or on_follow is None or follow in state.remarked:
        return None
    piece, _, landmark = follow.partition(".")
    sized = state.lookup(piece)
    edge = sized.edge(seam.follow[on_follow.span].edge)
    along = sized.distance(edge.name, landmark)
    at_corner = min(along, edge.length - along) <= SAME_POINT_MM
    goes_along = at_corner or strip_of(state.pattern, piece) is not None
    if is_straight(edge.points) and not goes_along and seam.name not in state.asked:
        return None
    stood = on_lead.distance
    if ask.wanted is not None:
        walked = _walk_landmark(state, seam.lead[on_lead.span], lead.partition(".")[2])
        own = _walk_landmark(state, seam.follow[on_follow.span], landmark)
        if abs(own - walked) > SEAM_LENGTH_MM:  # else the follower's went with it already
            stood += walked
    return _Cut(on_lead, on_follow, stood, goes_along)


def _walk_landmark(state: State, span: Span, landmark: str) -> float:
    """Tell how far towards the end of a span a landmark would lie had it stayed, mm."""
    was, now = state.source(span.piece), state.lookup(span.piece)
    edge = now.edge(span.edge)
    along = now.distance(span.edge, landmark)
    if min(along, edge.length - along) <= SAME_POINT_MM:
        return 0.0  # a corner of the lead is where it is
    if edge is was.edge(span.edge):
        place = was.distance(span.edge, landmark)
    else:
        place, _ = locate(edge.points, was.landmark(landmark).point)
    begin, end = span_ends(now, span)
    place = min(max(place, min(begin, end)), max(begin, end))
    return (place - along) * (1.0 if begin < end else -1.0)


def _least_gap(places: Sequence[float], k: int) -> float:
    return min(places[k] - places[k - 1], places[k + 1] - places[k])


def _find_place(lookup: Lookup, run: Run, name: str) -> _Place | None:
    """Find where a landmark lies on a run; None where it lies on none of its spans."""
    piece, _, landmark = name.partition(".")
    done = 0.0
    for k, span in enumerate(run):
        sized = lookup(span.piece)
        if span.piece == piece and sized.landmark(landmark).edge == span.edge:
            begin, end = span_ends(sized, span)
            along = sized.distance(span.edge, landmark)
            if min(begin, end) - SAME_POINT_MM <= along <= max(begin, end) + SAME_POINT_MM:
                return _Place(k, landmark, done + span_length(sized, replace(span, end=landmark)))
        done += span_length(sized, span)
    return None


def _cut_zones(state: State, ask: Ask, cuts: Sequence[_Cut]) -> list[Ask]:
    """Divide what the seam asks between its cuts.

    What a pair was apart before stays; what the whole was off by is taken out evenly, where it
    is taken out.
    """
    seam = ask.seam
    leads = _divide_run(state.lookup, seam.lead, [cut.lead for cut in cuts])
    follows = _divide_run(state.lookup, seam.follow, [cut.follow for cut in cuts])
    whole = run_length(state.lookup, seam.lead)
    sizes = [b - a for a, b in pairwise([0.0, *(cut.on_lead for cut in cuts), whole])]
    eases, _ = _measure_off(state, state.lookup, seam, sizes, follows)
    before = [run_length(state.source, run) for run in leads]
    _, off = _measure_off(state, state.source, seam, before, follows)
    if not was_sewn(state, seam):
        off = [0.0] * len(off)
    left = 0.0 if ask.wanted is None else ask.wanted - whole - state.ease_of(seam).total
    left -= sum(off)
    found = []
    for k, (lead, follow) in enumerate(zip(leads, follows, strict=True)):
        ease = eases[k] + off[k] + left * sizes[k] / whole
        zone = replace(seam, name=f"{seam.name} {k + 1}", lead=lead, follow=follow, ease=ease)
        zone = replace(zone, out=0.0, inside=0.0)  # which the ease of the stretch has already
        wanted = None if ask.wanted is None else sizes[k] + ease
        between = k > 0, k < len(leads) - 1
        found.append(Ask(replace(zone, notches=()), wanted, seam, between))
    return found


def _measure_off(
    state: State, lookup: Lookup, seam: Seam, sizes: Sequence[float], follows: Sequence[Run]
) -> tuple[list[float], list[float]]:
    """Measure the ease that each stretch of a seam should have, and by how much it is off, mm.

    The stretches of the lead have these sizes.
    """
    whole = seam_ease(lookup, seam, state.size_of(seam.lead[0].piece))
    at, eases, off = 0.0, [], []
    for size, follow in zip(sizes, follows, strict=True):
        apart = run_length(lookup, follow) - size
        eases.append(whole.meant_between(at, at + size, apart))
        off.append(apart - eases[-1])
        at += size
    return eases, off


def _divide_run(lookup: Lookup, run: Run, places: Sequence[_Place]) -> list[Run]:
    """Divide a run at some landmarks on it."""
    parts = []
    first, begin = 0, run[0].begin
    for place in [*places, None]:
        last, end = (len(run) - 1, run[-1].end) if place is None else (place.span, place.landmark)
        spans = list(run[first : last + 1])
        spans[0] = replace(spans[0], begin=begin)
        spans[-1] = replace(spans[-1], end=end)
        long = (np.ptp(span_ends(lookup(span.piece), span)) > SAME_POINT_MM for span in spans)
        parts.append(tuple(compress(spans, long)))
        first, begin = last, end
    return parts
