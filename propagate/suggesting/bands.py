"""Propose bands: an edge whose zones, from notch to notch, have the lengths of other runs.

The runs of neighbouring zones should also follow each other on the garment, so the best
sequence of runs is sought as a whole (Viterbi's recursion, from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from propagate.pattern.answers import reverse_run
from propagate.pattern.relations import Band, Run, Seam, Span, Zone
from propagate.suggesting.claims import claim_spans
from propagate.suggesting.nest import EdgeMeasure, Nest, Place
from propagate.suggesting.proposal import (
    LEAST,
    PRIOR,
    SEWN,
    Fact,
    Proposal,
    rank_proposals,
    say_gap,
)
from propagate.suggesting.rows import Joint, Row, measure_run
from propagate.values import dataclass

if TYPE_CHECKING:
    import networkx as nx

__all__ = ["Meeting", "join_half_bands", "propose_bands"]

Array = npt.NDArray[np.float64]

FIT_MM = 1.5
STEADY_MM = 0.5
EASE_SHARE = 0.05
FOLLOWS = 2.0
"""What it is worth, in the search, that one zone's run goes on where the last one stopped."""
HALVES = 6.5
"""Log-odds that two halves of a band are sewn to each other where the runs of both end."""


class Meeting:
    """Places that lie on each other once the likely relations are sewn."""

    def __init__(self, nest: Nest, joints: Iterable[Joint], seams: Sequence[Proposal]) -> None:
        import networkx as nx  # takes longer to load than most edits take

        self._nest = nest
        self._met: nx.utils.UnionFind[Place] = nx.utils.UnionFind()
        self._parts: set[tuple[str, frozenset[str]]] = set()
        for joint in joints:
            self._met.union(
                nest.end_of(joint.first, at_begin=False), nest.end_of(joint.second, at_begin=True)
            )
            self._parts |= {
                (span.key, frozenset((span.begin, span.end)))
                for span in (joint.first, joint.second)
            }
        for proposal in seams:
            for seam in proposal.relations:
                if isinstance(seam, Seam) and seam.follow:
                    for at, at_begin in ((0, True), (-1, False)):
                        ends = (seam.lead[at], seam.follow[at])
                        self._met.union(*(nest.end_of(span, at_begin=at_begin) for span in ends))

    def closes(self, run: Run) -> bool:
        """Every span is a whole edge, or the part that a joint leaves of it."""
        ends = [(span.key, frozenset((span.begin, span.end))) for span in run]
        return all(own == {"start", "end"} or (key, own) in self._parts for key, own in ends)

    def joins(self, before: _Fit, after: _Fit) -> bool:
        """Tell whether one run ends where the other begins."""
        if not (before.run and after.run):
            return False
        a = self._nest.end_of(before.run[-1], at_begin=False)
        b = self._nest.end_of(after.run[0], at_begin=True)
        return bool(self._met[a] == self._met[b])


@dataclass(frozen=True)
class _Fit:
    """A run that fits a zone; an empty one when the zone keeps its length."""

    run: Run
    ease: float
    gap: float
    worth: float


def propose_bands(
    nest: Nest, rows: Sequence[Row], meeting: Meeting, unsure: Meeting
) -> list[Proposal]:
    """Return the band proposals, the likeliest first.

    Where nothing follows on anything by the seams that are likely, those tell that are not sure.
    """
    runs = [row for row in rows if meeting.closes(row.run)]
    runs += [measure_run(nest, run) for row in runs if (run := _double_at_fold(nest, row))]
    if not runs:
        return []
    table = np.array([row.lengths for row in runs])
    found = []
    for edge in nest.edges.values():
        notches = sorted(edge.notches, key=lambda name: edge.marks[name][nest.base])
        if not notches or len(nest.outline_names(edge.piece)) < 3:
            continue
        names = ["start", *notches, "end"]
        zones = np.diff([edge.place(name) for name in names], axis=0)
        choices = [_find_fits(edge, zone, runs, table, nest.base) for zone in zones]
        if sum(len(options) > 1 for options in choices) < 2:
            continue
        best = _choose_sequence(choices, meeting)
        if sum(bool(fit.run) for fit in best) < 2:
            continue
        sure = any(meeting.joins(a, b) for a, b in pairwise(best))
        if not sure:
            best = _choose_sequence(choices, unsure)
        met = meeting if sure else unsure
        one = _propose_band(nest, edge, names, best, _judge_fits(zones, best, choices, met))
        if not sure and any(unsure.joins(a, b) for a, b in pairwise(best)):
            one = one.hold_back("its runs follow each other by seams that are not certain")
        if one.score >= LEAST:
            found.append(one)
    return _let_halves_be(nest, rank_proposals(found))


def _let_halves_be(nest: Nest, ranked: Sequence[Proposal]) -> list[Proposal]:
    """Where a band is another's mirror image, a left and a right half, both lie on the same runs.

    The second one claims its own edge alone, so that they are not in each other's way.
    """
    lines: set[Run] = set()
    found = []
    for one in ranked:
        line = tuple(span for run in one.runs[1:] for span in run)
        if reverse_run(line) in lines:
            one = replace(one, claims=claim_spans(nest, one.runs[0]))
        lines.add(line)
        found.append(one)
    return found


def _propose_band(
    nest: Nest, edge: EdgeMeasure, names: list[str], best: list[_Fit], facts: list[Fact]
) -> Proposal:
    outline = nest.outline_names(edge.piece)
    i = outline.index(edge.edge)
    touching = {outline[i - 1], outline[(i + 1) % len(outline)], edge.edge}
    others = [n for n in outline if n not in touching] or [n for n in outline if n != edge.edge]
    band = Band(
        edge.piece,
        edge.piece,
        edge.edge,
        # The edge along the other side: the longest that does not touch the sewn one.
        max(others, key=lambda n: float(nest.edges[f"{edge.piece}.{n}"].lengths[nest.base])),
        tuple(
            Zone(f"zone_{k + 1}", names[k], names[k + 1], fit.run, fit.ease)
            for k, fit in enumerate(best)
        ),
    )
    runs = ((Span(edge.piece, edge.edge),), *(fit.run for fit in best if fit.run))
    # A run may be sewn to both halves of a band; each stretch is claimed once.
    claims = dict.fromkeys(claim_spans(nest, [span for run in runs for span in run]))
    return Proposal("band", band.name, runs, PRIOR, tuple(facts), (band,), tuple(claims))


def _double_at_fold(nest: Nest, row: Row) -> Run:
    """An edge that comes to the fold, there and back, as it lies on the open piece; else empty."""
    folds = [end.crossing is not None and nest.is_fold(end.crossing) for end in row.ends]
    if len(row.run) > 1 or sum(folds) != 1:
        return ()
    there = reverse_run(row.run) if folds[0] else row.run
    return (*there, *reverse_run(there))


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
        both = (rows[k].run, reverse_run(rows[k].run))
        fits += [_Fit(run, ease, gap, worth) for run in both]
    return fits


def _choose_sequence(choices: list[list[_Fit]], meeting: Meeting) -> list[_Fit]:
    """The runs, one for each zone, that fit best and follow each other most often."""
    worth = [fit.worth for fit in choices[0]]
    back: list[list[int]] = []
    for before, after in pairwise(choices):
        pick, total = [], []
        for fit in after:
            ways = [
                worth[k] + (FOLLOWS if meeting.joins(old, fit) else 0.0)
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


def _judge_fits(
    zones: Array, best: list[_Fit], choices: list[list[_Fit]], meeting: Meeting
) -> list[Fact]:
    fitted = [k for k, fit in enumerate(best) if fit.run]
    moved = np.ptp(zones, axis=1)
    graded = [k for k in fitted if moved[k] > 2 * STEADY_MM]
    gap = max(best[k].gap for k in fitted)
    words = (
        f"{len(fitted)} of {len(best)} zones have the length of a run in every size, within "
        f"{say_gap(gap)}; {len(graded)} of them are graded"
    )
    facts = [Fact(min(1.5 * len(graded) + 0.3 * (len(fitted) - len(graded)), 5.0), words)]
    chain = sum(meeting.joins(a, b) for a, b in pairwise(best))
    if chain:
        words = f"{chain} of {len(best) - 1} times a zone's run starts where the last one stops"
        facts.append(Fact(min(1.0 * chain, 4.0), words))
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


def join_half_bands(nest: Nest, banded: Iterable[Proposal]) -> list[Proposal]:
    """The seams between two halves of a band: their ends where the runs of both end.

    Only one end of each is such a place, as at the centre back of a waistband whose right half
    goes on beyond the fly.  Where both are, nothing tells the centre back from the front.
    """
    found = []
    for a, b in combinations([one for one in banded if one.score >= SEWN], 2):
        meet = [
            (here, there)
            for here, place in _list_band_ends(nest, a)
            for there, other in _list_band_ends(nest, b)
            if place == other
        ]
        if len(meet) == 1:
            runs = tuple((span,) for span in meet[0])
            first, second = (nest.edges[span.key].lengths for span in meet[0])
            gap = float(np.abs(first - second).max())
            if gap <= FIT_MM:
                where = f"the runs of the bands '{a.name}' and '{b.name}' end at one corner"
                name = f"{a.name}_to_{b.name}"
                facts = Fact(HALVES, f"{where}, and both are as long there within {say_gap(gap)}")
                seam = Seam(name, runs[0], runs[1])
                claims = claim_spans(nest, meet[0])
                found.append(Proposal("seam", name, runs, PRIOR, (facts,), (seam,), claims))
    return rank_proposals(found)


def _list_band_ends(nest: Nest, one: Proposal) -> Iterator[tuple[Span, Place]]:
    """The ends of a band to which its zones go, from the sewn edge on, and where those end."""
    for band in one.relations:
        if isinstance(band, Band):
            before, after = nest.beside(nest.edges[f"{band.piece}.{band.sewn}"])
            first, last = band.zones[0].run, band.zones[-1].run
            if first:
                own = Span(band.piece, before.edge, "end", "start")
                yield own, nest.end_of(first[0], at_begin=True)
            if last:
                yield Span(band.piece, after.edge), nest.end_of(last[-1], at_begin=False)
