"""Propose pockets in seams: a bag that is sewn to both sides of a seam between two notches.

Two notches that meet on a seam are as far apart as two of a third piece, in every size: that is
the mouth, and the third piece its bag.  A bag whose end is as far from its notch as the end of the
seam is goes up to there, and is sewn from there on.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations

import numpy as np
import numpy.typing as npt

from propagate.pattern.relations import Run, Seam, SeamOpening, Span
from propagate.suggesting.claims import claim_mouths, claim_spans
from propagate.suggesting.nest import Nest
from propagate.suggesting.pocket_bags import (
    BENT_MM,
    CLEAR_MM,
    HANGS,
    LIKE_MM,
    MOST_MARKS,
    NEAR_MM,
    Bag,
    Mouth,
    lay_chord,
    list_bags,
)
from propagate.suggesting.proposal import PRIOR, SEWN, Fact, Proposal, rank_proposals, say_gap
from propagate.suggesting.rows import measure_run
from propagate.suggesting.settled import Settled

__all__ = ["propose_seam_pockets"]

Array = npt.NDArray[np.float64]

HAND_MM, USUAL_HAND_MM = (80.0, 260.0), (135.0, 190.0)
"""A hand goes through an opening so long, a child's too; and how long one for adults mostly is,
with room beyond 140 to 180 mm (common practice, no source)."""
HELD_MM = 0.5
"""The mouth is as long in every size: hands are not graded (common practice, no source)."""
_UNSURE_WAY = "nothing tells which end of the bag is the upper one: the other way fits as well"
_WHOLE = (
    "the whole edge of the bag would be the mouth; no notches of it tell, only that it is as long"
)
_MANY = "which of the bags lies on which side of the pocket is not told by their geometry"


def propose_seam_pockets(
    nest: Nest, sewn: Sequence[Proposal], settled: Settled, copies: Collection[str]
) -> list[Proposal]:
    """One proposal for each two notches of a likely seam that a piece fits.

    Parameters
    ----------
    sewn : sequence of Proposal
        Seams that hold or may hold.
    copies : collection of str
        Pieces that are another one again, which are not looked at.
    """
    taken = {span.key for one in sewn if one.score >= SEWN for run in one.runs for span in run}
    found: dict[object, Proposal] = {}
    for seam in (one for one in sewn if one.kind == "seam" and one.score >= SEWN):
        for mouth in _list_mouths(nest, seam):
            bags = list_bags(nest, mouth, taken, copies)
            if bags:
                one = _propose_pocket(nest, mouth, bags, settled)
                found.setdefault(one.question, one)
    return settled.leave_out(rank_proposals(found.values()))


def _list_mouths(nest: Nest, seam: Proposal) -> Iterator[Mouth]:
    """Two notches of one edge of the lead that meet two of one edge of the follower."""
    for relation in seam.relations:
        if not isinstance(relation, Seam) or not relation.follow or relation.check:
            continue
        lead, follow = (measure_run(nest, run) for run in (relation.lead, relation.follow))
        if max(len(lead.marks), len(follow.marks)) > MOST_MARKS:
            continue
        met = [
            (name, other, at)
            for name, at in lead.marks
            for other, there in follow.marks
            if float(np.abs(at - there).max()) <= NEAR_MM
        ]
        for (a, b, at), (c, d, then) in combinations(met, 2):
            if at[nest.base] > then[nest.base]:
                (a, b, at), (c, d, then) = (c, d, then), (a, b, at)
            above = float(at[nest.base]) <= float((lead.lengths - then)[nest.base])
            upper, lower = ((a, b), (c, d)) if above else ((c, d), (a, b))
            far = at if above else lead.lengths - then
            spans = [
                _find_span(nest, run, *marks, above=above)
                for run, marks in zip(
                    (relation.lead, relation.follow), zip(upper, lower, strict=True), strict=True
                )
            ]
            first, second = spans
            long = then - at
            if first is None or second is None or not _is_for_a_hand(long):
                continue
            yield Mouth((first[0], second[0]), (first[1], second[1]), long, far)


def _is_for_a_hand(long: Array) -> bool:
    return HAND_MM[0] <= float(long.min()) and float(long.max()) <= HAND_MM[1]


def _find_span(
    nest: Nest, run: Run, upper: str, lower: str, *, above: bool
) -> tuple[Span, Span] | None:
    """The span between two marks of one edge, and that above it; None where they lie on two."""
    outer = run[0] if above else run[-1]
    end = outer.begin if above else outer.end
    piece, _, mark = upper.partition(".")
    low_piece, _, low = lower.partition(".")
    for span in run:
        edge = nest.edges[span.key]
        if span.piece == piece == low_piece and {mark, low} <= edge.marks.keys():
            top = Span(piece, span.edge, end if span == outer else "", mark)
            return Span(piece, span.edge, mark, low), top
    return None


def _propose_pocket(nest: Nest, mouth: Mouth, bags: Sequence[Bag], settled: Settled) -> Proposal:
    """The pocket behind a mouth, its bag the same on both sides, or a bag for each."""
    first, last = bags[0], bags[-1] if len(bags) == 2 else bags[0]
    gain = sum(a.apart[k][0] - b.apart[k][0] for k, a, b in ((0, first, last), (1, last, first)))
    if gain > CLEAR_MM:
        first, last = last, first
    reaches = first.reaches is not None and last.reaches is not None
    sides = tuple(
        (Span(side.piece, side.edge, top.begin if reaches else side.begin, side.end),)
        for side, top in zip(mouth.sides, mouth.tops, strict=True)
    )
    own = tuple(dict.fromkeys(bag.run if reaches else (bag.span,) for bag in (first, last)))
    turned = settled.turns("pocket", (*sides, *own))
    if turned:
        own = tuple((Span(s.piece, s.edge, s.end, s.begin),) for (s,) in own)
    runs: tuple[Run, ...] = (*sides, *own)
    drawn = _judge_line(nest, mouth, max(first.near, last.near))
    facts = [*_judge_mouth(nest, mouth, bags), *_judge_bag(nest, mouth, first, reaches=reaches)]
    facts += [] if drawn is None else [drawn]
    name = f"{mouth.sides[0].piece}_seam_pocket"
    seams = _sew_bags(mouth, sides, own, (first, last), pairs=reaches and not turned)
    opening = SeamOpening(name, tuple((side,) for side in mouth.sides))
    claims = (
        *claim_spans(nest, [bag[0] for bag in own]),
        *claim_mouths(nest, mouth.sides),
    )
    found = Proposal("pocket", name, runs, PRIOR, tuple(facts), (*seams, opening), claims)
    if len(bags) > 2 or (len(bags) == 2 and abs(gain) <= CLEAR_MM):
        found = found.hold_back(_MANY)
    if first.whole and drawn is None:
        found = found.hold_back(_WHOLE, -1.0)
    if not (first.tells_way and last.tells_way):
        found = found.hold_back(_UNSURE_WAY)
    return found


def _sew_bags(
    mouth: Mouth,
    sides: Sequence[Run],
    own: Sequence[Run],
    bags: tuple[Bag, Bag],
    *,
    pairs: bool,
) -> tuple[Seam, Seam]:
    """The seam of the bag on each side; one bag on both is matched to the first and walked there.

    `pairs` tells that the upper notches of bag and side meet inside of these seams.
    """

    def sew(k: int) -> Seam:
        side, bag = sides[k], own[min(k, len(own) - 1)]
        notches = _pair_tops(mouth.sides[k], bags[k]) if pairs else ()
        walked = k == 1 and bags[0] is bags[1]
        return Seam(f"bag_on_{side[0].piece}", side, bag, notches=notches, check=walked)

    return sew(0), sew(1)


def _judge_line(nest: Nest, mouth: Mouth, near: float) -> Fact | None:
    """What it says that the bag is bent as the mouth is; None where that tells nothing."""
    bow = max(float(np.abs(lay_chord(nest, side).imag).max()) for side in mouth.sides)
    if bow < BENT_MM or near > LIKE_MM:
        return None
    words = f"its line is that between the notches, which is bent by {bow:.1f} mm, within "
    return Fact(2.0, words + say_gap(near))


def _pair_tops(side: Span, bag: Bag) -> tuple[tuple[str, str], ...]:
    return ((f"{side.piece}.{side.begin}", f"{bag.span.piece}.{bag.span.begin}"),)


def _judge_mouth(nest: Nest, mouth: Mouth, bags: Sequence[Bag]) -> Iterator[Fact]:
    long = mouth.lengths
    sizes = f"in all {len(long)} sizes" if len(long) > 1 else "in the one size"
    fits = " and ".join(f"'{bag.span.piece}'" for bag in bags)
    marks = "two notches" if not bags[0].whole else "the ends of an edge"
    side = mouth.sides[0]
    upper, lower = (f"'{side.piece}.{mark}'" for mark in (side.begin, side.end))
    yield Fact(
        3.0 if len(long) > 1 else 2.0,
        f"{marks} of {fits} are as far apart as {upper} and {lower}, which meet notches of "
        f"'{mouth.sides[1].piece}', within {say_gap(max(bag.off for bag in bags))} {sizes}",
    )
    moved = float(np.ptp(long))
    if len(long) > 1 and moved <= HELD_MM:
        words = f"it is {long[nest.base]:.0f} mm long in every size, as the mouth of a pocket is"
        yield Fact(1.5, words)
    elif len(long) > 1:
        yield Fact(-1.5, f"it is graded by {moved:.1f} mm; a mouth seldom is")
    if USUAL_HAND_MM[0] <= float(long[nest.base]) <= USUAL_HAND_MM[1]:
        yield Fact(1.0, "a hand goes through it (140 to 180 mm are usual)")


def _judge_bag(nest: Nest, mouth: Mouth, bag: Bag, *, reaches: bool) -> Iterator[Fact]:
    area = nest.area[bag.span.piece] / min(nest.area[side.piece] for side in mouth.sides)
    yield Fact(1.0, f"'{bag.span.piece}' is {100.0 * area:.0f} % of the smaller piece, as a bag is")
    if reaches:
        words = f"'{bag.span.key}' ends as far above it as the seam, in every size: the bag goes on"
        yield Fact(1.5, words)
    elif bag.hangs >= HANGS:
        yield Fact(1.0, f"most of '{bag.span.piece}' lies below the mouth, as a bag hangs")
