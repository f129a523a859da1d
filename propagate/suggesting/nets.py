"""The seams that a garment has, once it is recognised, as proposals."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import cast

import numpy as np

from propagate.pattern.answers import backwards
from propagate.pattern.ease import Ease, EaseSaid
from propagate.pattern.garments import GarmentKind
from propagate.pattern.relations import Run, Seam, Span
from propagate.suggesting import lengths
from propagate.suggesting.closed import capped
from propagate.suggesting.copies import as_first, copied, likenesses
from propagate.suggesting.garments import FITS_MM, Fit, Garment, garments
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import (
    Claim,
    Fact,
    Proposal,
    claims_meet,
    score_of,
    weighed,
    words_of,
)
from propagate.suggesting.rows import Row, row_of
from propagate.suggesting.seams import (
    PRIOR,
    Way,
    judge_kinship,
    ranked,
    weigh_way,
)
from propagate.suggesting.settled import claims_of
from propagate.suggesting.words import name_of

__all__ = ["beside_nets", "mirrored_too", "nets", "recognised"]

MIRROR_PRIOR = -4.0
STEADY_MM = 1.0
LIKELY = 0.84
KNOWN, EACH, MOST = 1.5, 1.3, 5.0
"""What it is worth that a garment has a seam, and each other seam of it that fits."""
OTHERWISE = -4.0
SQUARE_DEG = 3.0
Key = frozenset[tuple[Run, Run]]
_Names = dict[tuple[Run, Run], str]


def recognised(nest: Nest, kinds: Sequence[GarmentKind]) -> tuple[Garment, ...]:
    """The garments that the pieces of a set are; a piece that is drawn twice is looked at once."""
    if not kinds:
        return ()
    pieces = tuple(nest.pattern.pieces)
    copies = copied(nest, pieces, marks=False)
    known: dict[tuple[Run, Run], float] = {}

    def weigh(fit: Fit) -> float:
        if not fit.follow:
            return 0.0
        runs = (fit.lead, fit.follow)
        if runs not in known:
            known[runs] = _weigh(nest, fit)
        return known[runs]

    return garments(nest, kinds, [piece for piece in pieces if piece not in copies], weigh)


def _weigh(nest: Nest, fit: Fit) -> float:
    facts, lead, _, _ = _facts(nest, fit)
    # Where a run goes from piece to piece, as round an armhole, nothing runs on across its ends.
    around = len({span.piece for span in lead}) > 1
    return sum(fact.weight for fact in facts if not (around and fact.about == "corners"))


def nets(nest: Nest, found: Iterable[Garment]) -> list[Proposal]:
    """The seams of the garments, each with its evidence."""
    names = _name_fits(found)
    return [one for garment in found for one in _net(nest, garment, names)]


def _name_fits(found: Iterable[Garment]) -> _Names:
    """Name each join as its kind does; where two garments have one, the first has the word."""
    names: dict[str, tuple[Run, Run]] = {}
    for garment in found:
        for fit in garment.fits:
            names.setdefault(fit.join.name.replace(" ", "_"), (fit.lead, fit.follow))
    return {runs: name for name, runs in names.items()}


def beside_nets(nest: Nest, sewn: Sequence[Proposal], known: Sequence[Proposal]) -> list[Proposal]:
    """All seams: those of a garment instead of the same ones, and before others in their way."""
    own = {way: one for one in known for way in _key_of(one)}
    better = {
        id(own[one.runs]) for one in sewn if one.runs in own and one.score > own[one.runs].score
    }
    likely = [one for one in known if one.score >= LIKELY]
    found = [one for one in known if id(one) not in better]
    copies = copied(nest, tuple(nest.pattern.pieces)) if likely else {}
    for one in sewn:
        if one.runs in own and id(own[one.runs]) not in better:
            continue
        wanted = claims_of(nest, [span for run in one.runs for span in as_first(run, copies)])
        over = next((net for net in likely if claims_meet(wanted, net.claims)), None)
        if over is not None:
            words = f"it is in the way of '{over.name}', which the whole garment speaks for"
            one = weighed(one, PRIOR, (*one.facts, Fact(OTHERWISE, words)))
        found.append(one)
    return ranked(found)


def mirrored_too(
    nest: Nest, found: Iterable[Garment], mirrored: Sequence[Proposal], sewn: Sequence[Proposal]
) -> list[Proposal]:
    """Seams to the twin, with what the garments know of them and of folds."""
    kept = {one.runs[0]: one for one in mirrored}
    worn = tuple(found)
    names = _name_fits(worn)
    for garment in worn:
        mine = {span.key for fit in garment.fits if fit.join.mirror for span in fit.lead}
        for run, one in kept.items():
            if run[0].piece in garment.pieces and not {span.key for span in run} & mine:
                words = f"{garment.kind.name} is known without such a seam: it may lie on the fold"
                facts = (*one.facts, capped(MIRROR_PRIOR, one.facts, words))
                kept[run] = weighed(one, MIRROR_PRIOR, facts)
        for fit in garment.fits:
            if fit.join.mirror and not any(nest.is_fold(span.key) for span in fit.lead):
                _add_mirrored(nest, garment, fit, names, kept, sewn)
    return ranked(kept.values())


def _add_mirrored(
    nest: Nest,
    garment: Garment,
    fit: Fit,
    names: _Names,
    kept: dict[Run, Proposal],
    sewn: Sequence[Proposal],
) -> None:
    told = list(_garment_facts(nest, garment, fit, MIRROR_PRIOR, ()))
    run = fit.lead if fit.lead[0].begin == "start" else backwards(fit.lead)
    said = names.get((fit.lead, fit.follow))
    if run in kept:
        one = kept.pop(run)
        if said:
            seam = replace(cast(Seam, one.relations[0]), name=said)
            one = replace(one, name=said, relations=(seam,))
        known = list(one.facts)
    else:
        claims = claims_of(nest, run)
        name = said or f"{name_of(run)}_mirrored"
        seam = Seam(name, run, (), mirror=True)
        one = Proposal("mirror seam", name, (run,), 0.0, (), (), (seam,), claims)
        known = [*_square_facts(nest, run), _partner_fact(one, sewn)]
    facts = [*known, told[0]]
    if len(told) > 1:
        facts.append(capped(MIRROR_PRIOR, facts, told[1].words))
    for part in [other for other in kept if set(other) < set(run)]:
        del kept[part]
    kept[run] = weighed(one, MIRROR_PRIOR, facts)


def _square_facts(nest: Nest, run: Run) -> Iterator[Fact]:
    """A seam to the twin is square where it leaves the outline, else the line would peak."""
    row = row_of(nest, run)
    for end, at in zip(("start", "end"), row.ends, strict=True):
        if at.angles is not None:
            off = float(np.abs(at.angles - 90.0).max())
            if off <= SQUARE_DEG:
                yield Fact(1.0, f"it is square (90°) at its {end} within {off:.1f}°")


def _partner_fact(one: Proposal, sewn: Sequence[Proposal]) -> Fact:
    rival = max(
        (other for other in sewn if claims_meet(one.claims, other.claims)),
        key=lambda other: other.score,
        default=None,
    )
    if rival is None or rival.score < 0.3:
        return Fact(1.0, "no other run of the set fits it")
    return Fact(-5.0 * rival.score, f"another run fits it: {rival} (score {rival.score:.2f})")


def _net(nest: Nest, garment: Garment, names: _Names) -> Iterator[Proposal]:
    taken: list[Claim] = []
    for fit in garment.fits:
        if fit.follow:
            one = _propose(nest, garment, fit, names, taken)
            taken += one.claims
            yield one


def _propose(
    nest: Nest, garment: Garment, fit: Fit, names: _Names, taken: Sequence[Claim]
) -> Proposal:
    facts, lead, follow, way = _facts(nest, fit)
    facts += _garment_facts(nest, garment, fit, PRIOR, facts)
    name = names.get((fit.lead, fit.follow)) or f"{name_of(lead)}_to_{name_of(follow)}"
    seam = Seam(
        name,
        lead,
        follow,
        ease=_ease(nest, fit),
        notches=way.notches,
        crossing=way.crossing,
        check=fit.join.check,
    )
    evidence, against = words_of(facts)
    # What lies on what: a facing and a lining are sewn to the same edge.
    claims = tuple(
        claim for claim in claims_of(nest, (*lead, *follow)) if not claims_meet((claim,), taken)
    )
    return Proposal(
        "seam",
        name,
        (lead, follow),
        score_of(PRIOR, facts),
        evidence,
        against,
        (seam,),
        claims,
        facts=tuple(facts),
    )


def _facts(nest: Nest, fit: Fit) -> tuple[list[Fact], Run, Run, Way]:
    """What is measured of two runs, and both of them, the lead along its outline."""
    lead, follow = fit.lead, fit.follow
    if _runs_back(lead[0]):
        lead, follow = backwards(lead), backwards(follow)
    turned = _runs_back(follow[0])
    first = row_of(nest, lead)
    second = row_of(nest, backwards(follow) if turned else follow)
    way = weigh_way(nest, first, second, turned)
    facts = [*_length_facts(nest, fit, first, second), *way.facts]
    if not first.pieces & second.pieces:
        facts += judge_kinship(nest, first, second)
    return facts, lead, follow, way


def _runs_back(span: Span) -> bool:
    return span.begin == "end" or span.end == "start"


def _length_facts(nest: Nest, fit: Fit, lead: Row, follow: Row) -> list[Fact]:
    facts = lengths.facts(nest, lead, follow, 0)
    if float(np.abs(fit.differ).max()) <= FITS_MM:
        return [fact for fact in facts if fact.about != "short runs"]
    low, high = float(fit.differ.min()), float(fit.differ.max())
    least, most = fit.join.ease
    words = (
        f"the one is longer by {low:.1f} to {high:.1f} mm, as the {fit.join.name} is eased "
        f"({least:g} to {most:g} mm)"
    )
    told = [fact for fact in facts[1:] if fact.weight > 0.0]
    return [Fact(2.0 if _is_steady(nest, fit) else 1.0, words), *told]


def _ease(nest: Nest, fit: Fit) -> EaseSaid:
    """What the follower is longer by: nothing, an amount, a share, or an amount in each size."""
    if float(np.abs(fit.differ).max()) <= FITS_MM:
        return 0.0
    if float(np.ptp(fit.differ)) <= STEADY_MM:
        return round(float(np.median(fit.differ)), 1)
    share = _share(nest, fit)
    if share is not None:
        return Ease(share=share)
    pairs = zip(nest.pattern.sizes, fit.differ, strict=True)
    return Ease(sizes=tuple((size, round(float(value), 1)) for size, value in pairs))


def _share(nest: Nest, fit: Fit) -> float | None:
    """The share of its lead by which a follower is longer in every size."""
    lead = row_of(nest, fit.lead).lengths
    share = round(float(np.median(fit.differ / lead)), 3)
    return share if np.abs(fit.differ - share * lead).max() <= STEADY_MM else None


def _is_steady(nest: Nest, fit: Fit) -> bool:
    return float(np.ptp(fit.differ)) <= STEADY_MM or _share(nest, fit) is not None


def _garment_facts(
    nest: Nest, garment: Garment, fit: Fit, prior: float, facts: Sequence[Fact]
) -> list[Fact]:
    """That the garment has this seam, and whether it could have another one instead."""
    others = [one for one in garment.fits if one.follow and one is not fit]
    exact = sum(1.0 if np.abs(one.differ).max() <= FITS_MM else 0.5 for one in others)
    weight = min(KNOWN + EACH * exact, MOST)
    if not any(_pieces(one) & _pieces(fit) for one in others):
        weight = KNOWN  # nothing else says that these two pieces are of the garment
    if len(nest.pattern.sizes) == 1:
        weight /= 2  # lengths alone, without grading, fit by chance sooner
    count = len(others)
    words = (
        f"it is the {fit.join.name} of {garment.kind.name}, of which {count} other "
        f"seam{'s fit' if count != 1 else ' fits'} these pieces"
    )
    found = [Fact(weight, words)]
    if not _is_certain(nest, garment, fit):
        words = f"{garment.kind.name} can be made of these pieces in another way that fits as well"
        found.append(capped(prior, [*facts, *found], words))
    elif fit.follow and not _is_eased_plainly(nest, fit):
        words = "whether the difference is ease, a pleat or a dart that is not drawn is not certain"
        found.append(capped(prior, [*facts, *found], words))
    return found


def _is_eased_plainly(nest: Nest, fit: Fit) -> bool:
    return float(np.abs(fit.differ).max()) <= FITS_MM or _is_steady(nest, fit)


def _pieces(fit: Fit) -> set[str]:
    return {span.piece for span in (*fit.lead, *fit.follow)}


def _is_certain(nest: Nest, garment: Garment, fit: Fit) -> bool:
    """No way as good as this one sews it otherwise, but for pieces that are like themselves."""
    own = _images(nest, _key((fit.lead, fit.follow)))
    edges = {span.key for span in (*fit.lead, *fit.follow)}
    for other in garment.others:
        if any((one.lead, one.follow) in own for one in other):
            continue
        if any(edges & {span.key for span in (*one.lead, *one.follow)} for one in other):
            return False
    return True


def _images(nest: Nest, key: Key) -> set[tuple[Run, Run]]:
    """A seam, and what it is when a piece that is like itself is taken the other way."""
    found = set(key)
    for piece in {span.piece for runs in key for run in runs for span in run}:
        for like in likenesses(nest, piece, piece):
            found |= {(like.run(a), like.run(b)) for a, b in list(found)}
    return found


def _key(runs: tuple[Run, Run]) -> Key:
    a, b = runs
    back = (backwards(a), backwards(b))
    return frozenset([(a, b), (b, a), back, back[::-1]])


def _key_of(one: Proposal) -> Key:
    return _key((one.runs[0], one.runs[1]))
