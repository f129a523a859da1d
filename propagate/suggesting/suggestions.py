"""Everything that is proposed for a set, and where proposals are in each other's way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from functools import cached_property

from propagate.pattern.garments import GarmentKind
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam, Span
from propagate.suggesting.bands import Meeting, join_half_bands, propose_bands
from propagate.suggesting.claims import Claimed
from propagate.suggesting.copies import find_copies, hold_bands, list_images, say_once
from propagate.suggesting.free_edges import hold_unknown
from propagate.suggesting.garments import Garment
from propagate.suggesting.layers import Pocket, find_pockets
from propagate.suggesting.mirrors import propose_mirror_seams
from propagate.suggesting.nest import Nest, measure_nest
from propagate.suggesting.nets import add_mirrored, propose_nets, put_before, recognise_garments
from propagate.suggesting.openings import propose_openings, propose_stacks
from propagate.suggesting.proposal import (
    LEAST,
    LIKELY,
    SEWN,
    UNSURE,
    Fact,
    Proposal,
    rank_proposals,
)
from propagate.suggesting.rows import Joint, list_rows
from propagate.suggesting.seam_openings import propose_seam_openings
from propagate.suggesting.seam_pockets import propose_seam_pockets
from propagate.suggesting.seams import propose_seams
from propagate.suggesting.settled import NOTHING, Known, Settled
from propagate.values import dataclass

__all__ = ["Suggestions", "suggest", "suggest_beside"]


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
        likely = [one for one in self.proposals if one.score >= UNSURE]
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


def suggest(pattern: PatternSet, *, kinds: Sequence[GarmentKind] = ()) -> Suggestions:
    """Propose how the pieces of a set are joined, from their geometry in all sizes.

    Relations that the set already has are not looked at.

    Parameters
    ----------
    pattern : PatternSet
    kinds : sequence of GarmentKind
        Kinds of garment that are looked for; what one knows of its seams is proposed.

    Returns
    -------
    Suggestions
        In an order that depends on the set alone.
    """
    nest = measure_nest(pattern)
    return suggest_beside(nest, NOTHING, recognise_garments(nest, kinds))


def suggest_beside(nest: Nest, known: Known, garments: Sequence[Garment] = ()) -> Suggestions:
    """Propose how pieces are joined, beside what holds, with what the garments know of them."""
    settled = Settled(nest, known)
    pocketed = find_pockets(nest)
    fillings = [fill for pocket in pocketed for fill in pocket.fillings]
    joints = [joint for fill in fillings for joint in fill.joints(nest)]
    opened = settled.leave_out(propose_openings(nest, pocketed))
    rows = list_rows(nest, joints)
    sewn, left = propose_seams(nest, rows, pocketed, settled)
    netted = settled.leave_out(propose_nets(nest, garments))
    joined = [*settled.seams, *sewn, *netted]
    across = _run_across(joined, {fill.piece for fill in fillings})
    if across:
        longer = list_rows(nest, [*joints, *across])
        more, left = propose_seams(nest, longer, pocketed, settled, known_rows=len(rows))
        sewn += _leave_out_chains(more, joined)
    alike, copies = find_copies(nest, marks=False), find_copies(nest)
    sewn = put_before(nest, say_once(nest, sewn, alike), netted, copies)
    sewn = hold_unknown(sewn, garments, copies)
    likely = [*settled.seams, *(one for one in sewn if one.score >= SEWN)]
    perhaps = [*settled.seams, *(one for one in sewn if one.score >= LIKELY)]
    faced = _join_facings(nest, pocketed)
    meetings = (Meeting(nest, faced, seams) for seams in (likely, perhaps))
    banded = hold_bands(propose_bands(nest, rows, *meetings), alike)
    banded = hold_unknown(banded, garments, copies)
    sewn = [
        one
        for one in _weigh_beside_bands(sewn, banded)
        if one.score >= LEAST or settled.turns("seam", one.runs)
    ]
    halves = settled.leave_out(join_half_bands(nest, banded))
    joined_so = {one.question for one in halves if not settled.turns("seam", one.runs)}
    sewn = [one for one in sewn if one.question not in joined_so]
    sewn += [one for one in halves if one.question in joined_so]
    sure = [*settled.seams, *sewn, *banded]
    mirrored = add_mirrored(nest, garments, propose_mirror_seams(nest, sure, pocketed), sure)
    layered = propose_stacks(nest, pocketed, [*settled.openings, *opened])
    bagged = propose_seam_pockets(nest, [*settled.seams, *sewn], settled, copies)
    found = [*opened, *sewn, *bagged, *settled.leave_out([*banded, *mirrored, *layered])]
    found += propose_seam_openings(nest, found, known.relations, settled)
    return Suggestions(
        nest.pattern,
        tuple(rank_proposals(found)),
        tuple(edge.key for edge in nest.edges.values() if edge.crowded),
        left,
        tuple(garments),
        {name: way.piece for name, way in copies.items()},
    )


def _run_across(sewn: Sequence[Proposal], fillings: set[str]) -> list[Joint]:
    """Where likely seams let the edges that cross them run on into each other (a yoke)."""
    found = []
    for one in sewn:
        fact = Fact(1.0, f"the spans run on into each other across the seam '{one.name}'")
        for seam in one.relations if one.score >= SEWN else ():
            if not isinstance(seam, Seam):
                continue
            for end, keys in seam.crossing.items():
                (piece, edge), (other, beyond) = (key.split(".", 1) for key in keys)
                if piece != other and not {piece, other} & fillings:
                    at = 0 if end == "start" else -1
                    first = _walk_touching(seam.lead[at], end, edge, away=False)
                    second = _walk_touching(seam.follow[at], end, beyond, away=True)
                    found.append(Joint(first, second, (fact,)))
    return found


def _leave_out_chains(more: Sequence[Proposal], known: Sequence[Proposal]) -> list[Proposal]:
    """Seams across others, less those of which each part is known as a seam by itself."""
    said = {way for one in known if one.score >= SEWN for way in list_images(*one.runs[:2])}
    return [
        one
        for one in more
        if not all(((a,), (b,)) in said for a, b in zip(*one.runs, strict=False))
        or len(one.runs[0]) != len(one.runs[1])
    ]


def _walk_touching(span: Span, end: str, crossing: str, *, away: bool) -> Span:
    """A crossing edge, walked to or away from the end of a span that it touches."""
    mark = span.begin if end == "start" else span.end
    # The outline comes to an edge's start along the edge before, and leaves its end.
    along = (mark == "end") == away
    begin, stop = ("start", "end") if along else ("end", "start")
    return Span(span.piece, crossing, begin, stop)


def _join_facings(nest: Nest, pocketed: Sequence[Pocket]) -> list[Joint]:
    """Joints with facings; with bags only where there is no facing."""
    found = []
    for pocket in pocketed:
        facings = [fill for fill in pocket.fillings if fill.piece not in pocket.bag_pieces]
        for fill in facings or pocket.fillings:
            found += fill.joints(nest)
    return found


def _weigh_beside_bands(sewn: Sequence[Proposal], banded: Sequence[Proposal]) -> list[Proposal]:
    """Weigh seams along a likely band's edge again: the band says them already."""
    held = {one.runs[0][0].key: one for one in banded if one.score >= SEWN}
    found = []
    for one in sewn:
        # Two halves of a waistband are as long as each other, and each is sewn to its own.
        for band in (held[key] for key in sorted(one.edges) if key in held):
            said = f"the band '{band.name}' (score {band.score:.2f}) says what is sewn to its zones"
            one = one.with_facts(Fact(-4.0, said))
        found.append(_weigh_beside_zones(one, banded))
    return found


def _weigh_beside_zones(one: Proposal, banded: Sequence[Proposal]) -> Proposal:
    """Weigh a seam again whose edges are both sewn to one likely band, as the waists of a skirt."""
    for band in banded:
        sewn = {span.key for run in band.runs[1:] for span in run}
        if band.score >= LIKELY and len(one.edges) > 1 and one.edges <= sewn:
            said = f"both are sewn to the band '{band.name}' (score {band.score:.2f})"
            return one.with_facts(Fact(-4.0 * band.score, said))
    return one
