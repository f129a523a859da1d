"""The seams that a garment has, once it is recognised, as proposals."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.counts import say_range
from propagate.pattern.answers import Question, reverse_run
from propagate.pattern.ease import Ease, EaseSaid
from propagate.pattern.garments import GarmentKind
from propagate.pattern.relations import Run, Seam
from propagate.pattern.titles import make_readable
from propagate.suggesting.claims import Claim, claim_spans, claims_meet
from propagate.suggesting.copies import (
    Likeness,
    find_copies,
    find_likenesses,
    list_images,
    say_of_first,
)
from propagate.suggesting.eases import STEADY_MM, tell_amounts, tell_stretches
from propagate.suggesting.fits import Fit
from propagate.suggesting.garments import Garment, find_garments
from propagate.suggesting.lengths import LIKE_MM, judge_lengths
from propagate.suggesting.mirrors import FOLD_DEG, judge_partners
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import (
    MIRROR_PRIOR,
    PRIOR,
    Fact,
    Proposal,
    rank_proposals,
)
from propagate.suggesting.rows import measure_run
from propagate.suggesting.ways import Way, judge_kinship, weigh_way
from propagate.suggesting.words import name_run

__all__ = ["add_mirrored", "propose_nets", "put_before", "recognise_garments"]

SPEAKS_FOR = 0.84
"""A garment's seam of this score speaks against others in its way."""
KNOWN, EACH, MOST = 1.5, 1.3, 5.0
"""What it is worth that a garment has a seam, and each other seam of it that fits."""
OTHERWISE = -4.0
ELSEWHERE = -2.5
"""A seam to the twin of an edge that the garment may sew to others, such as its neck."""
FREE = -5.0
"""A seam to the twin of an edge that the garment leaves free, such as that of a lapel."""
SQUARE_DEG = 3.0
NEARLY = 0.25
"""By so small a part two edges of a piece differ that may be taken for each other."""


def recognise_garments(
    nest: Nest, kinds: Sequence[GarmentKind], refused: Collection[Question] = ()
) -> tuple[Garment, ...]:
    """The garments that the pieces of a set are; a piece that is drawn twice is looked at once.

    None of them has a seam that was `refused`.
    """
    if not kinds:
        return ()
    copies = find_copies(nest, marks=False)
    known: dict[tuple[Run, Run], float] = {}

    def weigh(fit: Fit) -> float:
        if not fit.follow:
            return 0.0
        runs = (fit.lead, fit.follow)
        if runs not in known:
            facts, lead, _, _ = _weigh_fit(nest, fit)
            # Where a run goes from piece to piece, as round an armhole, nothing runs on across
            # its ends.
            around = len({span.piece for span in lead}) > 1
            told = (fact for fact in facts if not (around and fact.about == "corners"))
            known[runs] = sum(fact.weight for fact in told)
        return known[runs]

    pieces = [piece for piece in nest.pattern.pieces if piece not in copies]
    return find_garments(nest, kinds, pieces, weigh, copies, refused)


def propose_nets(nest: Nest, found: Sequence[Garment]) -> list[Proposal]:
    """The seams of the garments, each with its evidence."""
    proposals = []
    names = _name_fits(found)
    for garment in found:
        taken: list[Claim] = []
        for fit in garment.fits:
            if fit.follow:
                name = names.get((fit.lead, fit.follow))
                proposals.append(_propose_net(nest, garment, fit, name, taken))
                taken += proposals[-1].claims
    return proposals


def _name_fits(found: Iterable[Garment]) -> dict[tuple[Run, Run], str]:
    """Name each join as its kind does; where two garments have one, the first has the word."""
    names: dict[str, tuple[Run, Run]] = {}
    for garment in found:
        for fit in garment.fits:
            names.setdefault(fit.join.name.replace(" ", "_"), (fit.lead, fit.follow))
    return {runs: name for name, runs in names.items()}


def put_before(
    nest: Nest,
    sewn: Sequence[Proposal],
    known: Sequence[Proposal],
    copies: Mapping[str, Likeness],
) -> list[Proposal]:
    """All seams: those of a garment instead of the same ones, and before others in their way."""
    own = {way: one for one in known for way in list_images(one.runs[0], one.runs[1])}
    better = {
        id(own[one.runs]) for one in sewn if one.runs in own and one.score > own[one.runs].score
    }
    likely = [one for one in known if one.score >= SPEAKS_FOR]
    found = [one for one in known if id(one) not in better]
    for one in sewn:
        if one.runs in own and id(own[one.runs]) not in better:
            continue
        wanted = claim_spans(nest, [s for run in one.runs for s in say_of_first(run, copies)])
        same = own.get(one.runs)  # a seam is not in the way of itself
        others = (net for net in likely if net is not same)
        over = next((net for net in others if claims_meet(wanted, net.claims)), None)
        if over is not None:
            seam = make_readable(over.name)
            words = f"it is in the way of '{seam}', which the whole garment speaks for"
            one = one.with_facts(Fact(OTHERWISE, words))
        found.append(one)
    return rank_proposals(found)


def add_mirrored(
    nest: Nest, found: Sequence[Garment], mirrored: Sequence[Proposal], sewn: Sequence[Proposal]
) -> list[Proposal]:
    """Seams to the twin, with what the garments know of them and of folds."""
    kept = {one.runs[0]: one for one in mirrored}
    names = _name_fits(found)
    for garment in found:
        mine = {span.key for fit in garment.fits if fit.join.mirror for span in fit.lead}
        elsewhere, free = _list_sewn_elsewhere(garment), _list_free(garment)
        for run, one in kept.items():
            if run[0].piece in garment.pieces and not {span.key for span in run} & mine:
                words, weight = "is known without such a seam: it may lie on the fold", 0.0
                if {span.key for span in run} <= elsewhere:
                    words, weight = "sews this edge to others, if to anything", ELSEWHERE
                if {span.key for span in run} <= free:
                    words, weight = "leaves this edge free, or cuts it on the fold", FREE
                kept[run] = one.hold_back(f"{garment.kind.name} {words}", weight)
        for fit in garment.fits:
            if fit.join.mirror and not any(nest.is_fold(span.key) for span in fit.lead):
                run = fit.lead if fit.lead[0].begin == "start" else reverse_run(fit.lead)
                one = kept.pop(run) if run in kept else _propose_twin(nest, run, sewn)
                name = names.get((fit.lead, fit.follow))
                if name is not None:
                    seams = tuple(replace(seam, name=name) for seam in one.relations)
                    one = replace(one, name=name, relations=seams)
                for part in [other for other in kept if set(other) < set(run)]:
                    del kept[part]
                one = _add_garment(nest, garment, fit, one)
                if fit.join.fold and _may_lie_on_fold(nest, run):
                    one = one.hold_back("it is straight: it may as well lie on the fold")
                kept[run] = one
    return rank_proposals(kept.values())


def _list_sewn_elsewhere(garment: Garment) -> set[str]:
    """Edges that the kind sews to other edges, found or not, and never to their own twin."""
    joins = garment.kind.joins
    sewn = {(s.piece, s.edge) for one in joins if one.follow for s in (*one.lead, *one.follow)}
    sewn -= {(s.piece, s.edge) for one in joins if one.mirror for s in one.lead}
    return {
        f"{cast.piece}.{name}"
        for role, cast in garment.cast.items()
        for edge, side in cast.sides.items()
        for name in side.edges
        if (role, edge) in sewn
    }


def _may_lie_on_fold(nest: Nest, run: Run) -> bool:
    """Whether a run is straight, of a piece of which no pair is said to be cut."""
    straight = all(float(np.ptp(nest.edges[span.key].profile)) < FOLD_DEG for span in run)
    return straight and not any(nest.pattern.info[span.piece].pair for span in run)


def _list_free(garment: Garment) -> set[str]:
    """Edges that the kind leaves free."""
    return {
        f"{cast.piece}.{name}"
        for role, cast in garment.cast.items()
        for edge in garment.kind.role(role).free & cast.sides.keys()
        for name in cast.sides[edge].edges
    }


def _propose_twin(nest: Nest, run: Run, sewn: Sequence[Proposal]) -> Proposal:
    """A seam to the twin: square where it leaves the outline, else the line would peak."""
    facts = []
    for end, at in zip(("start", "end"), measure_run(nest, run).ends, strict=True):
        off = np.inf if at.angles is None else float(np.abs(at.angles - 90.0).max())
        if off <= SQUARE_DEG:
            facts.append(Fact(1.0, f"it is square (90°) at its {end} within {off:.1f}°"))
    claims = claim_spans(nest, run)
    rivals = (other for other in sewn if claims_meet(claims, other.claims))
    facts.append(judge_partners(rivals, Fact(1.0, "no other run of the set fits it")))
    name = f"{name_run(run)}_mirrored"
    seam = Seam(name, run, (), mirror=True)
    return Proposal("mirror seam", name, (run,), MIRROR_PRIOR, tuple(facts), (seam,), claims)


def _propose_net(
    nest: Nest, garment: Garment, fit: Fit, name: str | None, taken: Sequence[Claim]
) -> Proposal:
    facts, lead, follow, way = _weigh_fit(nest, fit)
    name = name or f"{name_run(lead)}_to_{name_run(follow)}"
    seam = Seam(
        name,
        lead,
        follow,
        ease=_tell_ease(nest, fit, way),
        notches=way.notches,
        crossing=way.crossing,
        check=fit.join.check,
    )
    # What lies on what: a facing and a lining are sewn to the same edge.
    claims = tuple(
        claim for claim in claim_spans(nest, (*lead, *follow)) if not claims_meet((claim,), taken)
    )
    one = Proposal("seam", name, (lead, follow), PRIOR, tuple(facts), (seam,), claims)
    return _add_garment(nest, garment, fit, one)


def _weigh_fit(nest: Nest, fit: Fit) -> tuple[list[Fact], Run, Run, Way]:
    """What is measured of two runs, and both of them, the lead along its outline."""
    lead, follow = fit.lead, fit.follow
    if lead[0].begin == "end" or lead[0].end == "start":
        lead, follow = reverse_run(lead), reverse_run(follow)
    turned = follow[0].begin == "end" or follow[0].end == "start"
    first = measure_run(nest, lead)
    second = measure_run(nest, reverse_run(follow) if turned else follow)
    way = weigh_way(nest, first, second, turned)
    facts = judge_lengths(nest, first, second, 0)
    if fit.exact:
        facts = [fact for fact in facts if fact.about != "short runs"]
    else:
        words = _say_ease(nest, fit)
        told = [fact for fact in facts[1:] if fact.weight > 0.0]
        facts = [Fact(2.0 if _is_steady(nest, fit) else 1.0, words), *told]
    facts += way.facts
    if not first.pieces & second.pieces:
        facts += judge_kinship(nest, first, second)
    return facts, lead, follow, way


def _say_ease(nest: Nest, fit: Fit) -> str:
    if fit.join.share is not None:
        part = 100.0 * float(np.median(fit.differ / measure_run(nest, fit.lead).lengths) + 1.0)
        least, most = (100.0 * (share + 1.0) for share in fit.join.share)
        return (
            f"the one is {part:.1f} % as long as the other in every size, as the {fit.join.name} "
            f"is sewn on ({least:g} to {most:g} %)"
        )
    if fit.gathered:
        ratios = fit.differ / measure_run(nest, fit.lead).lengths + 1.0
        much = say_range(f"{ratios.min():.2f}", f"{ratios.max():.2f}")
        return f"gathered: {much} times as long as what it is sewn on to"
    low, high = float(fit.differ.min()), float(fit.differ.max())
    least, most = fit.join.ease
    return (
        f"the one is longer by {low:.1f} to {high:.1f} mm, as the {fit.join.name} is eased "
        f"({least:g} to {most:g} mm)"
    )


def _tell_ease(nest: Nest, fit: Fit, way: Way) -> EaseSaid:
    """What the follower is longer by: nothing, stretch by stretch, an amount, a share, by sizes."""
    if fit.exact:
        return 0.0
    stretches = tell_stretches(nest, way)
    if stretches is not None:
        return stretches
    share = _find_share(nest, fit)
    if fit.gathered and share is not None:
        return Ease(gathers=round(1.0 + share, 3))
    steady = float(np.ptp(fit.differ)) <= STEADY_MM
    if share is not None and share < 0.0 and fit.join.share is not None:
        return Ease(stretched=round(1.0 + share, 3))  # a rib: as much as it is, it is meant
    if share is not None and (fit.join.share is not None or not steady):
        return Ease(share=share)
    return tell_amounts(nest, fit.differ)


def _find_share(nest: Nest, fit: Fit) -> float | None:
    """The share of its lead by which a follower is longer in every size."""
    lead = measure_run(nest, fit.lead).lengths
    share = round(float(np.median(fit.differ / lead)), 3)
    return share if np.abs(fit.differ - share * lead).max() <= STEADY_MM else None


def _is_steady(nest: Nest, fit: Fit) -> bool:
    return float(np.ptp(fit.differ)) <= STEADY_MM or _find_share(nest, fit) is not None


def _add_garment(nest: Nest, garment: Garment, fit: Fit, one: Proposal) -> Proposal:
    """Add that the garment has this seam; held back where it could have another one instead."""
    others = [other for other in garment.fits if other.follow and other is not fit]
    exact = sum(1.0 if other.exact else 0.5 for other in others if not other.gathered)
    weight = min(KNOWN + EACH * exact, MOST)
    if not any(other.pieces & fit.pieces for other in others):
        weight = KNOWN  # nothing else says that these two pieces are of the garment
    if fit.join.perhaps and fit.join.mirror:
        weight = min(weight, KNOWN + EACH)  # as often as not it is sewn to another piece: a fly
    if len(nest.pattern.sizes) == 1:
        weight /= 2  # lengths alone, without grading, fit by chance sooner
    count = len(others)
    words = (
        f"it is the {fit.join.name} of {garment.kind.name}, of which {count} other "
        f"seam{'s fit' if count != 1 else ' fits'} these pieces"
    )
    one = one.with_facts(Fact(weight, words))
    if fit.join.asked:
        one = one.hold_back(f"little tells the {fit.join.name} from what is as long by chance")
    if fit.gathered:
        return one.hold_back("whether it is gathered, and on to this edge, geometry cannot tell")
    if _rests_on_gathers(garment, fit):
        one = one.hold_back("only gathers join its piece to the others")
    if not _is_certain(nest, garment, fit):
        return one.hold_back(
            f"{garment.kind.name} can be made of these pieces in another way that fits as well"
        )
    if fit.join.perhaps:
        return one.hold_back(f"{garment.kind.name} is made without the {fit.join.name} as often")
    marked = any({s.begin, s.end} - {"start", "end"} for s in (*fit.lead, *fit.follow))
    if marked and not fit.exact:
        return one.hold_back(f"from which marks on the {fit.join.name} is eased is not certain")
    opposite = _find_opposite(nest, garment, fit)
    if opposite is not None:
        return one.hold_back(
            f"it is eased, and '{opposite}' opposite is nearly as long and sewn to nothing"
        )
    if fit.follow and not fit.exact and not _is_steady(nest, fit):
        return one.hold_back(
            "whether the difference is ease, a pleat or a dart that is not drawn is not certain"
        )
    return one


def _rests_on_gathers(garment: Garment, fit: Fit) -> bool:
    """Whether nothing but gathers joins the pieces of a seam to the first of the garment."""
    pieces, left = set(fit.pieces), [one for one in garment.fits if not one.gathered]
    while more := [one for one in left if one.pieces & pieces]:
        pieces |= set().union(*(one.pieces for one in more))
        left = [one for one in left if one not in more]
    if garment.cast[garment.kind.roles[0].name].piece in pieces:
        return False
    outside = (one.pieces for one in garment.fits if one.gathered)
    return any(own & pieces and own - pieces for own in outside)


def _find_opposite(nest: Nest, garment: Garment, fit: Fit) -> str | None:
    """An edge that is sewn to nothing, nearly as long as the one of its piece that is eased.

    The outer edge of a collar is a little longer than its neck, by as much as a neck is eased.
    """
    if fit.exact or not fit.follow or fit.join.share is not None:
        return None
    sewn = {key for other in garment.fits for key in other.edges}
    for span in fit.follow:
        own = nest.edges[span.key]
        for name in nest.outline_names(span.piece):
            other = nest.edges[f"{span.piece}.{name}"]
            off = np.abs(other.lengths - own.lengths)
            near = off.max() > LIKE_MM and (off <= NEARLY * own.lengths).all()
            if near and other.key not in sewn and not nest.is_fold(other.key):
                return other.key
    return None


def _is_certain(nest: Nest, garment: Garment, fit: Fit) -> bool:
    """No way as good as this one sews it otherwise, but for pieces that are like themselves."""
    own = set(list_images(fit.lead, fit.follow))
    # What the seam is when a piece that is like itself is taken the other way.
    for piece in fit.pieces:
        for like in find_likenesses(nest, piece, piece):
            own |= {tuple(map(like.carry, runs)) for runs in own}
    for other in garment.others:
        if any((one.lead, one.follow) in own for one in other):
            continue
        if any(fit.edges & one.edges for one in other):
            return False
    return True
