"""Propose bands: an edge whose zones, from notch to notch, have the lengths of other runs.

The runs of neighbouring zones should also follow each other on the garment, so the best
sequence of runs is sought as a whole (Viterbi's recursion, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from propagate.pattern.answers import backwards
from propagate.pattern.relations import Band, Run, Span, Zone
from propagate.suggesting.chains import Meeting
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.suggesting.proposal import Claim, Fact, Proposal, score_of, words_of
from propagate.suggesting.rows import Row
from propagate.suggesting.seams import LEAST, ranked
from propagate.suggesting.settled import claims_of
from propagate.values import dataclass

__all__ = ["bands"]

Array = npt.NDArray[np.float64]

PRIOR = -5.0
FIT_MM = 1.5
STEADY_MM = 0.5
EASE_SHARE = 0.05
FOLLOWS = 2.0
"""What it is worth, in the search, that one zone's run goes on where the last one stopped."""


@dataclass(frozen=True)
class _Fit:
    """A run that fits a zone; an empty one when the zone keeps its length."""

    run: Run
    ease: float
    gap: float
    worth: float


def bands(nest: Nest, rows: Sequence[Row], meeting: Meeting) -> list[Proposal]:
    """Return the band proposals, the likeliest first."""
    runs = [row for row in rows if meeting.closed(row.run)]
    if not runs:
        return []
    table = np.array([row.lengths for row in runs])
    found = []
    for edge in nest.edges.values():
        notches = sorted(edge.notches, key=lambda name: edge.marks[name][nest.base])
        if len(notches) < 1 or len(nest.outline_names(edge.piece)) < 3:
            continue
        proposal = _propose_band(nest, edge, notches, runs, table, meeting)
        if proposal is not None and proposal.score >= LEAST:
            found.append(proposal)
    return ranked(found)


def _propose_band(
    nest: Nest,
    edge: EdgeMeasure,
    notches: list[str],
    rows: Sequence[Row],
    table: Array,
    meeting: Meeting,
) -> Proposal | None:
    names = ["start", *notches, "end"]
    places = np.array(
        [np.zeros_like(edge.lengths), *(edge.marks[name] for name in notches), edge.lengths]
    )
    zones = np.diff(places, axis=0)
    choices = [_find_fits(edge, zone, rows, table, nest.base) for zone in zones]
    if sum(len(options) > 1 for options in choices) < 2:
        return None
    best = _choose_sequence(choices, meeting)
    if sum(bool(fit.run) for fit in best) < 2:
        return None
    facts = _collect_facts(zones, best, choices, meeting)
    band = Band(
        edge.piece,
        edge.piece,
        edge.edge,
        _find_far(nest, edge),
        tuple(
            Zone(f"zone_{k + 1}", names[k], names[k + 1], fit.run, fit.ease)
            for k, fit in enumerate(best)
        ),
    )
    return _make_proposal(nest, edge, band, facts)


def _make_proposal(nest: Nest, edge: EdgeMeasure, band: Band, facts: list[Fact]) -> Proposal:
    runs = tuple(zone.run for zone in band.zones if zone.run)
    evidence, against = words_of(facts)
    # A run may be sewn to both halves of a band; each stretch is claimed once.
    claims: dict[Claim, None] = dict.fromkeys(
        claims_of(nest, [Span(edge.piece, edge.edge), *(span for run in runs for span in run)])
    )
    return Proposal(
        "band",
        band.name,
        ((Span(edge.piece, edge.edge),), *runs),
        score_of(PRIOR, facts),
        evidence,
        against,
        (band,),
        tuple(claims),
        facts=tuple(facts),
    )


def _find_fits(
    edge: EdgeMeasure, zone: Array, rows: Sequence[Row], table: Array, base: int
) -> list[_Fit]:
    """What may be sewn to a zone: nothing, or any run of its length in both directions."""
    moved = float(np.ptp(zone))
    fits = [_Fit((), 0.0, 0.0, 0.0 if moved < STEADY_MM else -1.0)]
    differ = table - zone
    worst, steady = np.abs(differ).max(axis=1), np.ptp(differ, axis=1)
    eased = (steady <= STEADY_MM) & (worst <= EASE_SHARE * zone[base]) & (moved > 2 * STEADY_MM)
    for k in np.flatnonzero((worst <= FIT_MM) | eased).tolist():
        if edge.piece in rows[k].pieces:
            continue
        ease = 0.0 if worst[k] <= FIT_MM else round(float(np.median(differ[k])), 1)
        gap = float(np.abs(differ[k] - ease).max())
        # A length that never changes is found everywhere: such a run has to follow another.
        worth = (3.0 if moved > 2 * STEADY_MM else -0.5) - gap - (0.5 if ease else 0.0)
        both = (rows[k].run, backwards(rows[k].run))
        fits += [_Fit(run, ease, gap, worth) for run in both]
    return fits


def _follows_on(before: _Fit, after: _Fit, meeting: Meeting) -> bool:
    return bool(before.run and after.run) and meeting.meet(before.run[-1], after.run[0])


def _choose_sequence(choices: list[list[_Fit]], meeting: Meeting) -> list[_Fit]:
    """The runs, one for each zone, that fit best and follow each other most often."""
    worth = [fit.worth for fit in choices[0]]
    back: list[list[int]] = []
    for before, after in pairwise(choices):
        pick, total = [], []
        for fit in after:
            ways = [
                worth[k] + (FOLLOWS if _follows_on(old, fit, meeting) else 0.0)
                for k, old in enumerate(before)
            ]
            best = int(np.argmax(ways))
            pick.append(best)
            total.append(ways[best] + fit.worth)
        back.append(pick)
        worth = total
    at = int(np.argmax(worth))
    path = [at]
    for pick in reversed(back):
        at = pick[at]
        path.append(at)
    return [options[k] for options, k in zip(choices, reversed(path), strict=True)]


def _collect_facts(
    zones: Array, best: list[_Fit], choices: list[list[_Fit]], meeting: Meeting
) -> list[Fact]:
    fitted = [k for k, fit in enumerate(best) if fit.run]
    moved = np.ptp(zones, axis=1)
    graded = [k for k in fitted if moved[k] > 2 * STEADY_MM]
    gap = max(best[k].gap for k in fitted)
    facts = [
        Fact(
            min(1.5 * len(graded) + 0.3 * (len(fitted) - len(graded)), 5.0),
            f"{len(fitted)} of {len(best)} zones have the length of a run in every size, within "
            f"{gap:.2f} mm; {len(graded)} of them are graded",
        )
    ]
    chain = sum(_follows_on(a, b, meeting) for a, b in pairwise(best))
    if chain:
        facts.append(
            Fact(
                min(1.0 * chain, 4.0),
                f"{chain} of {len(best) - 1} times a zone's run starts where the last one stops",
            )
        )
    growth = float(moved.sum())
    share = float(moved[fitted].sum()) / growth if growth > 0 else 0.0
    words = f"the zones with a run hold {share:.0%} of the band's grading"
    facts.append(Fact(1.5 if share > 0.95 else -3.0 * (1.0 - share), words))
    eases = sorted({best[k].ease for k in fitted if best[k].ease})
    if eases:
        listed = ", ".join(f"{value:g}" for value in eases)
        facts.append(Fact(-0.5, f"some runs differ from their zone by a steady {listed} mm (ease)"))
    ambiguous = sum(len({f.run for f in choices[k]}) > 3 for k in fitted)
    if ambiguous:
        facts.append(Fact(0.0, f"another run has the length of its zone too, in {ambiguous} zones"))
    return facts


def _find_far(nest: Nest, edge: EdgeMeasure) -> str:
    """The edge along the other side: the longest that does not touch the sewn one."""
    names = nest.outline_names(edge.piece)
    i = names.index(edge.edge)
    touching = {names[i - 1], names[(i + 1) % len(names)], edge.edge}
    others = [n for n in names if n not in touching] or [n for n in names if n != edge.edge]
    return max(others, key=lambda n: float(nest.edges[f"{edge.piece}.{n}"].lengths[nest.base]))
