"""Propose pockets in seams: a bag that is sewn to both sides of a seam between two notches.

Two notches that meet on a seam are as far apart as two of a third piece, in every size: that is
the mouth, and the third piece its bag.  A bag whose end is as far from its notch as the end of the
seam is goes up to there, and is sewn from there on.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import combinations, permutations

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import point_at, sample_line
from propagate.pattern.relations import Run, Seam, SeamOpening, Span
from propagate.pattern.spans import span_points
from propagate.suggesting.claims import claim_mouths, claim_spans
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.suggesting.proposal import PRIOR, SEWN, Fact, Proposal, rank_proposals
from propagate.suggesting.rows import measure_run
from propagate.suggesting.settled import Settled
from propagate.values import dataclass

__all__ = ["propose_seam_pockets"]

Array = npt.NDArray[np.float64]

NEAR_MM = 0.6
"""Marks of one draft that meet lie this near to each other in every size."""
HAND_MM = (80.0, 260.0)
"""A hand goes through an opening so long, a child's too (common practice, no source: 140 to 180 mm
for adults)."""
HELD_MM = 0.5
"""The mouth is as long in every size: hands are not graded (common practice, no source)."""
SMALL = 0.5
"""A bag is smaller than that part of the smaller piece that it is sewn to."""
HANGS = 0.04
"""How far the middle of a bag lies below that of its mouth, in parts of the mouth, at least."""
LIKE_MM, BENT_MM, CLEAR_MM = 0.3, 1.0, 0.25
"""Two lines are one line so near to each other; a mouth is bent by so much, at least, where that
tells anything; and of two ways one is that much nearer."""
SAMPLES = 33
_UNSURE_WAY = "nothing tells which end of the bag is the upper one: the other way fits as well"
_WHOLE = (
    "the whole edge of the bag would be the mouth; no notches of it tell, only that it is as long"
)
_MANY = "which of the bags lies on which side of the pocket is not told by their geometry"


@dataclass(frozen=True)
class _Mouth:
    """Two notches on each side of a seam that meet, the upper one first.

    Attributes
    ----------
    sides : (Span, Span)
        From the upper to the lower notch, of the lead and of the follower.
    tops : (Span, Span)
        From the end of the seam above to the upper notch.
    lengths, above : (sizes,) arrays, mm
        Of the mouth, and from the end of the seam above it, on the lead.
    seam : Proposal
    """

    sides: tuple[Span, Span]
    tops: tuple[Span, Span]
    lengths: Array
    above: Array
    seam: Proposal


@dataclass(frozen=True)
class _Bag:
    """An edge of a piece that fits a mouth, from its upper end to its lower one.

    Attributes
    ----------
    span : Span
    reaches : str or None
        The end of the edge at which it begins, where that is the end of the seam.
    off : float
        How far its length is from the mouth's at worst, mm.
    hangs : float
        How far the middle of the piece lies below the middle of the mouth, in parts of it.
    apart : ((float, float), (float, float))
        How far its line lies from that of the mouth on each side, and the other way round, mm.
    """

    span: Span
    reaches: str | None
    off: float
    hangs: float
    apart: tuple[tuple[float, float], tuple[float, float]]

    @property
    def whole(self) -> bool:
        """Whether it is a whole edge, without notches."""
        return {self.span.begin, self.span.end} == {"start", "end"}

    @property
    def near(self) -> float:
        """How far its line is from the nearer of the two lines of the mouth, mm."""
        return min(own for own, _ in self.apart)

    @property
    def is_bent_so(self) -> bool:
        """Whether its line is that of the mouth, and is not the other way round."""
        return self.near <= LIKE_MM and min(other for _, other in self.apart) - self.near > CLEAR_MM

    @property
    def tells_way(self) -> bool:
        """Whether something tells which of its ends is the upper one."""
        return self.reaches is not None or self.hangs >= HANGS or self.is_bent_so

    @property
    def run(self) -> Run:
        """What of it is sewn."""
        return (
            Span(self.span.piece, self.span.edge, self.reaches or self.span.begin, self.span.end),
        )


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
        mouths = list(_list_mouths(nest, seam))
        for mouth in mouths:
            bags = _list_bags(nest, mouth, taken, copies)
            one = _propose_pocket(nest, mouth, bags, settled) if bags else None
            if one is not None:
                found.setdefault(one.question, one)
    return settled.leave_out(rank_proposals(found.values()))


def _list_mouths(nest: Nest, seam: Proposal) -> Iterator[_Mouth]:
    """Two notches of one edge of the lead that meet two of one edge of the follower."""
    for relation in seam.relations:
        if not isinstance(relation, Seam) or not relation.follow or relation.check:
            continue
        lead, follow = (measure_run(nest, run) for run in (relation.lead, relation.follow))
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
            yield _Mouth((first[0], second[0]), (first[1], second[1]), long, far, seam)


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


def _list_bags(
    nest: Nest, mouth: _Mouth, taken: Collection[str], copies: Collection[str]
) -> list[_Bag]:
    """The edge of each piece that fits a mouth best."""
    mains = [span.piece for span in mouth.sides]
    largest = SMALL * min(nest.area[piece] for piece in mains)
    found: dict[str, _Bag] = {}
    for edge in nest.edges.values():
        small = edge.piece not in mains and nest.area[edge.piece] <= largest
        if small and edge.key not in taken and edge.piece not in copies and not edge.crowded:
            for bag in _fit_bag(nest, mouth, edge):
                before = found.get(edge.piece)
                if before is None or _rank_bag(bag) < _rank_bag(before):
                    found[edge.piece] = bag
    marked = [bag for bag in found.values() if not bag.whole]
    return sorted(
        marked or found.values(), key=lambda bag: (nest.area[bag.span.piece], bag.span.key)
    )


def _rank_bag(bag: _Bag) -> tuple[bool, bool, bool, float, float, str]:
    return (
        bag.whole,
        bag.reaches is None,
        not bag.is_bent_so,
        -bag.hangs,
        round(bag.off, 6),
        str(bag.span),
    )


def _fit_bag(nest: Nest, mouth: _Mouth, edge: EdgeMeasure) -> Iterator[_Bag]:
    marks: Mapping[str, Array] = edge.marks
    ends = list(permutations(marks, 2)) if marks else [("start", "end"), ("end", "start")]
    for upper, lower in ends:
        begin, end = edge.place(upper), edge.place(lower)
        off = float(np.abs(np.abs(end - begin) - mouth.lengths).max())
        if off > NEAR_MM:
            continue
        forward = float(begin[nest.base]) < float(end[nest.base])
        above = begin if forward else edge.lengths - begin
        near = float(np.abs(above - mouth.above).max()) <= NEAR_MM
        whole_above = all(span.begin in ("start", "end") for span in mouth.tops)
        reaches = ("start" if forward else "end") if near and marks and whole_above else None
        span = Span(edge.piece, edge.edge, upper, lower)
        first, second = (_measure_apart(nest, side, span) for side in mouth.sides)
        yield _Bag(span, reaches, off, _measure_hanging(nest, edge, upper, lower), (first, second))


def _measure_apart(nest: Nest, side: Span, bag: Span) -> tuple[float, float]:
    """How far two lines lie apart, chord on chord, either side up, and the other way round, mm."""
    wanted, own = (_lay_chord(nest, span) for span in (side, bag))
    back = _lay_chord(nest, Span(bag.piece, bag.edge, bag.end, bag.begin))
    near, other = (
        min(float(np.abs(wanted - line).max()), float(np.abs(wanted - line.conj()).max()))
        for line in (own, back)
    )
    return near, other


def _lay_chord(nest: Nest, span: Span) -> npt.NDArray[np.complex128]:
    """Points of a span in the base size, laid so that its chord goes to the right."""
    x, y = sample_line(span_points(nest.in_base(span.piece), span), SAMPLES).T
    line = x - x[0] + 1j * (y - y[0])
    return np.asarray(line * abs(line[-1]) / line[-1])


def _measure_hanging(nest: Nest, edge: EdgeMeasure, upper: str, lower: str) -> float:
    """How far the middle of a piece lies towards the lower end of its mouth, in parts of it."""
    sized = nest.in_base(edge.piece)
    points = sized.edge(edge.edge).points
    a, b = (
        np.asarray(point_at(points, float(edge.place(mark)[nest.base]))) for mark in (upper, lower)
    )
    x, y = sized.outline.T
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    middle = np.array(
        [((x + np.roll(x, -1)) * cross).sum(), ((y + np.roll(y, -1)) * cross).sum()]
    ) / (3.0 * cross.sum())
    way = b - a
    return float((middle - (a + b) / 2.0) @ way / max(float(way @ way), 1e-9))


def _propose_pocket(
    nest: Nest, mouth: _Mouth, bags: Sequence[_Bag], settled: Settled
) -> Proposal | None:
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
    bow = max(float(np.abs(_lay_chord(nest, side).imag).max()) for side in mouth.sides)
    is_drawn = bow >= BENT_MM and max(first.near, last.near) <= LIKE_MM
    facts = [*_judge_mouth(nest, mouth, bags), *_judge_bag(nest, mouth, first, reaches=reaches)]
    if is_drawn:
        words = (
            f"its line is that between the notches, which is bent by {bow:.1f} mm, within "
            f"{max(first.near, last.near):.2f} mm"
        )
        facts.append(Fact(2.0, words))
    name = f"{mouth.sides[0].piece}_seam_pocket"
    seams = tuple(
        Seam(
            f"bag_on_{side[0].piece}",
            side,
            bag,
            notches=_pair_tops(mouth.sides[k], (first, last)[k]) if reaches and not turned else (),
            check=k == 1 and first is last,
        )
        for k, (side, bag) in enumerate(zip(sides, (own[0], own[-1]), strict=True))
    )
    opening = SeamOpening(name, tuple((side,) for side in mouth.sides))
    claims = (
        *claim_spans(nest, [bag[0] for bag in own]),
        *claim_mouths(nest, mouth.sides),
    )
    found = Proposal("pocket", name, runs, PRIOR, tuple(facts), (*seams, opening), claims)
    if len(bags) > 2 or (len(bags) == 2 and abs(gain) <= CLEAR_MM):
        found = found.hold_back(_MANY)
    if first.whole and not is_drawn:
        found = found.hold_back(_WHOLE, -1.0)
    if not (first.tells_way and last.tells_way):
        found = found.hold_back(_UNSURE_WAY)
    return found


def _pair_tops(side: Span, bag: _Bag) -> tuple[tuple[str, str], ...]:
    return ((f"{side.piece}.{side.begin}", f"{bag.span.piece}.{bag.span.begin}"),)


def _judge_mouth(nest: Nest, mouth: _Mouth, bags: Sequence[_Bag]) -> Iterator[Fact]:
    long = mouth.lengths
    sizes = f"in all {len(long)} sizes" if len(long) > 1 else "in the one size"
    fits = " and ".join(f"'{bag.span.piece}'" for bag in bags)
    marks = "two notches" if not bags[0].whole else "the ends of an edge"
    upper, lower = (f"'{mouth.sides[0].piece}.{mark}'" for mark in _ends(mouth.sides[0]))
    yield Fact(
        3.0 if len(long) > 1 else 2.0,
        f"{marks} of {fits} are as far apart as {upper} and {lower}, which meet notches of "
        f"'{mouth.sides[1].piece}', within {max(bag.off for bag in bags):.2f} mm {sizes}",
    )
    moved = float(np.ptp(long))
    if len(long) > 1 and moved <= HELD_MM:
        words = f"it is {long[nest.base]:.0f} mm long in every size, as the mouth of a pocket is"
        yield Fact(1.5, words)
    elif len(long) > 1:
        yield Fact(-1.5, f"it is graded by {moved:.1f} mm; a mouth seldom is")
    if 135.0 <= float(long[nest.base]) <= 190.0:
        yield Fact(1.0, "a hand goes through it (140 to 180 mm are usual)")


def _ends(span: Span) -> tuple[str, str]:
    return span.begin, span.end


def _judge_bag(nest: Nest, mouth: _Mouth, bag: _Bag, *, reaches: bool) -> Iterator[Fact]:
    area = nest.area[bag.span.piece] / min(nest.area[side.piece] for side in mouth.sides)
    yield Fact(1.0, f"'{bag.span.piece}' is {100.0 * area:.0f} % of the smaller piece, as a bag is")
    if reaches:
        words = f"'{bag.span.key}' ends as far above it as the seam, in every size: the bag goes on"
        yield Fact(1.5, words)
    elif bag.hangs >= HANGS:
        yield Fact(1.0, f"most of '{bag.span.piece}' lies below the mouth, as a bag hangs")
