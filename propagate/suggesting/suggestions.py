"""Everything that is proposed for a set, and where proposals are in each other's way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from functools import cached_property
from typing import TYPE_CHECKING

from propagate.pattern.garments import GarmentKind
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam, Span
from propagate.suggesting.bands import bands
from propagate.suggesting.chains import Meeting
from propagate.suggesting.closed import UNSURE_SCORE
from propagate.suggesting.copies import copied, hold_bands, once
from propagate.suggesting.garments import Garment
from propagate.suggesting.layers import Pocket, pockets
from propagate.suggesting.mirrors import SEWN, mirror_seams
from propagate.suggesting.mouths import fillings
from propagate.suggesting.nest import Nest, measure
from propagate.suggesting.nets import beside_nets, mirrored_too, nets, recognised
from propagate.suggesting.openings import openings, stacks
from propagate.suggesting.proposal import Claimed, Fact, Proposal, weighed
from propagate.suggesting.rows import Joint, rows_of
from propagate.suggesting.seams import LEAST, PRIOR, ranked, seams
from propagate.suggesting.settled import NOTHING, Known, Settled
from propagate.values import dataclass

if TYPE_CHECKING:
    import networkx as nx


__all__ = ["Suggestions", "recognise", "suggest"]


@dataclass(frozen=True)
class Suggestions:
    """The proposals for a set, the likeliest first.

    Attributes
    ----------
    pattern : PatternSet
    proposals : tuple of Proposal
    crowded : tuple of str
        ``PIECE.EDGE`` of edges with so many marks that only the whole was compared.
    left_out : int
        Pairs of runs of like lengths that were not weighed, since both have nearer partners.
    garments : tuple of Garment
        The kinds of garment that were recognised.
    copies : mapping of piece name to piece name
        Pieces that are another one again, as it is or mirrored.
    """

    pattern: PatternSet
    proposals: tuple[Proposal, ...]
    crowded: tuple[str, ...] = ()
    left_out: int = 0
    garments: tuple[Garment, ...] = ()
    copies: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def alone(self) -> tuple[str, ...]:
        """Pieces of which no edge takes part in a likely proposal or in the set's own relations."""
        likely = [one for one in self.proposals if one.score >= UNSURE_SCORE]
        sewn = {span.piece for one in likely for run in one.runs for span in run}
        said = self.pattern.relations
        sewn |= {s.piece for seam in said.seams.values() for s in (*seam.lead, *seam.follow)}
        sewn |= {band.piece for band in said.bands.values()}
        sewn |= {layer.piece for stack in said.stacks.values() for layer in stack.layers}
        sewn |= {copy for copy, of in self.copies.items() if of in sewn}
        return tuple(name for name in self.pattern.pieces if name not in sewn)

    def of_edge(self, edge: str) -> tuple[Proposal, ...]:
        """The proposals in which ``PIECE.EDGE`` takes part, the likeliest first."""
        return tuple(one for one in self.proposals if edge in one.edges)

    def rivals(self, proposal: Proposal) -> tuple[Proposal, ...]:
        """The proposals that cannot be written together with one: they want the same stretch."""
        over = (self.proposals[number] for number in self._claimed.over(proposal.claims))
        return tuple(one for one in over if one is not proposal)

    @cached_property
    def _claimed(self) -> Claimed:
        return Claimed([one.claims for one in self.proposals])

    @cached_property
    def groups(self) -> tuple[tuple[Proposal, ...], ...]:
        """All proposals; those that are in each other's way, even through a third, together."""
        import networkx as nx  # takes longer to load than most edits take

        graph: nx.Graph[int] = nx.Graph()
        graph.add_nodes_from(range(len(self.proposals)))
        graph.add_edges_from(self._claimed.chains())
        parts = sorted(sorted(part) for part in nx.connected_components(graph))
        return tuple(tuple(self.proposals[i] for i in part) for part in parts)


def suggest(
    pattern: PatternSet,
    known: Known = NOTHING,
    *,
    kinds: Sequence[GarmentKind] = (),
    worn: Sequence[Garment] = (),
) -> Suggestions:
    """Propose how the pieces of a set are joined, from their geometry in all sizes.

    Relations that the set already has are not looked at.

    Parameters
    ----------
    pattern : PatternSet
    known : Known
        What holds and what does not: facts for all that is proposed beside them.
    kinds : sequence of GarmentKind
        Kinds of garment that are looked for; what one knows of its seams is proposed.
    worn : sequence of Garment
        Garments that were recognised before (`recognise`), which need not be looked for again.

    Returns
    -------
    Suggestions
        In an order that depends on the set alone.
    """
    nest = measure(pattern)
    settled = Settled(nest, known)
    pocketed = pockets(nest, fillings(nest))
    joints = _list_joints(nest, pocketed)
    opened = settled.left(openings(nest, pocketed))
    rows = rows_of(nest, joints)
    sewn, left = seams(nest, rows, pocketed, settled)
    across = _across_seams(
        [*settled.seams, *sewn], {fill.piece for one in pocketed for fill in one.fillings}
    )
    if across:
        longer = rows_of(nest, [*joints, *across])
        more, left = seams(nest, longer, pocketed, settled, known_rows=len(rows))
        sewn += more
    worn = (*worn, *recognised(nest, kinds))
    netted = settled.left(nets(nest, worn))
    sewn = beside_nets(nest, once(nest, sewn, PRIOR), netted)
    likely = [*settled.seams, *(one for one in sewn if one.score >= SEWN)]
    banded = bands(nest, rows, Meeting(nest, _list_plain(nest, pocketed), likely))
    banded = hold_bands(nest, banded)
    sewn = [
        one for one in _beside_bands(sewn, banded) if one.score >= LEAST or settled.turns(*one.runs)
    ]
    sure = [*settled.seams, *sewn, *banded]
    mirrored = mirrored_too(nest, worn, mirror_seams(nest, sure, pocketed), sure)
    layered = stacks(nest, pocketed, [*settled.openings, *opened])
    crowded = tuple(edge.key for edge in nest.edges.values() if edge.crowded)
    copies = {name: way.piece for name, way in copied(nest, tuple(pattern.pieces)).items()}
    found = ranked([*opened, *sewn, *settled.left([*banded, *mirrored, *layered])])
    return Suggestions(pattern, tuple(found), crowded, left, worn, copies)


def recognise(pattern: PatternSet, kinds: Sequence[GarmentKind]) -> tuple[Garment, ...]:
    """Recognise the garments that the pieces of a set are, by geometry alone."""
    return recognised(measure(pattern), kinds)


def _list_joints(nest: Nest, pocketed: Sequence[Pocket]) -> list[Joint]:
    return [joint for pocket in pocketed for fill in pocket.fillings for joint in fill.joints(nest)]


def _across_seams(sewn: Sequence[Proposal], fillings: set[str]) -> list[Joint]:
    """Where likely seams let the edges that cross them run on into each other (a yoke)."""
    found = []
    for one in sewn:
        for seam in one.relations:
            if one.score < SEWN or not isinstance(seam, Seam):
                continue
            for end, keys in seam.crossing.items():
                first, second = (key.split(".", 1) for key in keys)
                if first[0] == second[0] or {first[0], second[0]} & fillings:
                    continue
                at = 0 if end == "start" else -1
                fact = Fact(1.0, f"the spans run on into each other across the seam '{one.name}'")
                found.append(
                    Joint(
                        _walk_touching(seam.lead[at], end, first[1], away=False),
                        _walk_touching(seam.follow[at], end, second[1], away=True),
                        (fact,),
                    )
                )
    return found


def _walk_touching(span: Span, end: str, crossing: str, *, away: bool) -> Span:
    """A crossing edge, walked to or away from the end of a span that it touches."""
    mark = span.begin if end == "start" else span.end
    # The outline comes to an edge's start along the edge before, and leaves its end.
    along = (mark == "end") == away
    begin, stop = ("start", "end") if along else ("end", "start")
    return Span(span.piece, crossing, begin, stop)


def _list_plain(nest: Nest, pocketed: Sequence[Pocket]) -> list[Joint]:
    """Joints with facings; with bags only where there is no facing."""
    found = []
    for pocket in pocketed:
        facings = [fill for fill in pocket.fillings if fill.piece not in pocket.bag_pieces]
        for fill in facings or pocket.fillings:
            found += fill.joints(nest)
    return found


def _beside_bands(sewn: Sequence[Proposal], banded: Sequence[Proposal]) -> list[Proposal]:
    """Weigh seams along a likely band's edge again: the band says them already."""
    held = {one.runs[0][0].key: one for one in banded if one.score >= SEWN}
    found = []
    for one in sewn:
        band = next((held[key] for key in sorted(one.edges) if key in held), None)
        if band is not None:
            words = (
                f"the band '{band.name}' (score {band.score:.2f}) says what is sewn to its zones"
            )
            facts = (*one.facts, Fact(-4.0, words))
            one = weighed(one, PRIOR, facts)
        found.append(one)
    return found
