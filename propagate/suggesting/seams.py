"""Propose seams: pairs of runs that agree in length in all sizes, weighed by all that is seen.

Candidates come from lengths alone (sorted in the base size, then compared in all sizes at
once); only what is left is looked at closely.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from propagate.pattern.answers import reverse_run
from propagate.pattern.relations import Seam
from propagate.suggesting import lengths
from propagate.suggesting.claims import claim_spans
from propagate.suggesting.directions import Laid, Link, link_neighbours
from propagate.suggesting.eases import tell_stretches
from propagate.suggesting.layers import Pocket
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import LEAST, LIKELY, PRIOR, Fact, Proposal, rank_proposals
from propagate.suggesting.rows import Row
from propagate.suggesting.settled import Settled
from propagate.suggesting.ways import Way, judge_kinship, weigh_way
from propagate.suggesting.words import name_run
from propagate.values import dataclass

__all__ = ["EXPLAINED", "NOT_CERTAIN", "UNCERTAIN", "propose_seams"]

EXPLAINED = -12.0
"""Outweighs all else: a bag shares every bit of evidence with the facing on the same line."""
UNCERTAIN = 1.2
"""Difference of two directions, log-odds, below which the direction is not certain."""
_COPY = 0.001
NOT_CERTAIN = "the direction is not certain: the other way fits as well"
"""What speaks against a seam then."""
_CLOSED = (
    "it is not certain that the piece is sewn to itself: laid along its outline the edge fits as "
    "well, as that of another piece would"
)
_CLOSES = (
    "with the seam beside it, it would close the corner of the two pieces, as on a facing, a "
    "lining or a bag; a hem does not, and no notches meet on it that would tell"
)
_OPEN = (
    "sewn here too, '{0}' and '{1}' would be closed all round; one edge stays open, such as a "
    "pocket's mouth, and this one has the least evidence"
)


@dataclass(frozen=True)
class _Pair:
    """Two runs with what speaks for them either way round."""

    lead: Row
    follow: Row
    common: tuple[Fact, ...]
    ways: Mapping[bool, Way]
    bags: bool

    @property
    def laid(self) -> Laid:
        """What the neighbouring seams look at."""
        weights = {turned: way.weight for turned, way in self.ways.items()}
        best = min(self.ways.values(), key=lambda way: way.rank)
        likely = Proposal("seam", "", (), PRIOR, (*self.common, *best.facts))
        return Laid(self.lead.run, self.follow.run, weights, likely.score)


def propose_seams(
    nest: Nest,
    rows: Sequence[Row],
    pockets: Sequence[Pocket],
    settled: Settled,
    *,
    known_rows: int = 0,
) -> tuple[list[Proposal], int]:
    """Return the seam proposals, the likeliest first, and how many pairs were not weighed.

    Pairs among the first `known_rows` rows are left out: they were weighed before.
    """
    mains = frozenset(pocket.mouth.piece for pocket in pockets)
    taken = frozenset(k for k, row in enumerate(rows) if settled.takes(row))
    near, left = lengths.find_candidates(nest, rows, taken)
    pairs = []
    for i, j, rivals in near:
        if max(i, j) >= known_rows and settled.allows(rows[i], rows[j]):
            # One order for the whole set, so that leads make no cycle: pieces with an opening
            # first, then the larger ones.  A copy is as large as its original, whatever the
            # last digits of its area say.
            lead, follow = sorted(
                (rows[i], rows[j]),
                key=lambda row: min((p not in mains, -round(nest.area[p]), p) for p in row.pieces),
            )
            common = (
                *lengths.judge_lengths(nest, lead, follow, rivals),
                *judge_kinship(nest, lead, follow),
                *_judge_pockets(lead, follow, pockets),
                *settled.judge_taken(lead, follow),
                *lead.facts,
                *follow.facts,
            )
            ways = {turned: weigh_way(nest, lead, follow, turned) for turned in (True, False)}
            bags = any(lead.keys | follow.keys in pocket.paired for pocket in pockets)
            pairs.append(_Pair(lead, follow, common, ways, bags))
    said = link_neighbours(nest, [*(pair.laid for pair in pairs), *settled.laid])
    found = [
        _propose_seam(nest, pair, own, turn=settled.turns("seam", (pair.lead.run, pair.follow.run)))
        for pair, own in zip(pairs, said, strict=False)
    ]
    found = [
        one
        for one in _leave_open(nest, found)
        if one.score >= LEAST or settled.turns("seam", one.runs)
    ]
    return rank_proposals(found), left


def _propose_seam(
    nest: Nest, pair: _Pair, said: Mapping[bool, tuple[Link, ...]], *, turn: bool
) -> Proposal:
    """Propose the better way, once the neighbouring seams had their say; `turn` asks for the other.

    Where the two directions are alike, or where it is one of the seams that close two pieces,
    it is held back.
    """
    lead, follow = pair.lead, pair.follow
    ways = {
        turned: weigh_way(nest, lead, follow, turned, said[turned]) if said[turned] else way
        for turned, way in pair.ways.items()
    }
    best, second = sorted(ways.values(), key=lambda way: way.rank)
    if turn:
        best, second = second, best
    other = reverse_run(follow.run) if best.reversed else follow.run
    name = f"{name_run(lead.run)}_to_{name_run(other)}"
    ease = lengths.tell_ease(follow.lengths - lead.lengths)
    seam = Seam(
        name,
        lead.run,
        other,
        ease=(ease and tell_stretches(nest, best)) or ease,
        notches=best.notches,
        crossing=best.crossing,
        check=pair.bags,
    )
    claims = claim_spans(nest, (*lead.run, *other))
    facts = (*pair.common, *best.facts)
    found = Proposal("seam", name, (lead.run, other), PRIOR, facts, (seam,), claims)
    if best.weight - second.weight < UNCERTAIN:
        found = found.hold_back(_CLOSED if second.twisted else NOT_CERTAIN)
    closes = any(link.end for link in said[best.reversed]) and not best.notches
    # Two pieces that are as large as each other may be a main and a lining that is cut like it.
    a, b = (sum(nest.area[piece] for piece in row.pieces) for row in (lead, follow))
    if closes and not pair.bags and abs(a - b) > _COPY * max(a, b):
        found = found.hold_back(_CLOSES)
    return found


def _leave_open(nest: Nest, found: Sequence[Proposal]) -> list[Proposal]:
    """Hold back the least likely seam of two pieces that the seams would close all round."""
    groups: dict[frozenset[str], list[Proposal]] = {}
    for one in found:
        pieces = frozenset(span.piece for run in one.runs for span in run)
        if len(pieces) == 2 and one.score >= LIKELY:
            groups.setdefault(pieces, []).append(one)
    held: dict[str, Proposal] = {}
    for pieces, seams in groups.items():
        every = {f"{piece}.{name}" for piece in pieces for name in nest.outline_names(piece)}
        if every <= set().union(*(one.edges for one in seams)):
            least = min(seams, key=lambda one: (round(one.score, 9), one.name))
            held[least.name] = least.hold_back(_OPEN.format(*sorted(pieces)))
    return [held.get(one.name, one) for one in found]


def _judge_pockets(lead: Row, follow: Row, pockets: Sequence[Pocket]) -> list[Fact]:
    """What the layers of a pocket say: bag edges are sewn, edges that ride are not."""
    facts = []
    keys = lead.keys | follow.keys
    if any(keys in pocket.paired for pocket in pockets):
        words = "the two edges lie on each other when the layers are laid on the opening"
        facts.append(Fact(2.0, words))
    for pocket in pockets:
        fills = {one.piece for one in pocket.fillings}
        plain = fills - pocket.bag_pieces
        for row in (row for row in (lead, follow) if len(row.run) > 1):
            bags = row.pieces & fills & pocket.bag_pieces
            if bags and plain:
                words = (
                    f"'{min(bags)}' is a bag (a free edge of it lies on another layer's); "
                    f"'{min(plain)}' fills the corner too and is none"
                )
                facts.append(Fact(EXPLAINED, words))
        if keys <= pocket.mouths:
            words = "both are the opening's own line: the pocket's layers say so already"
            facts.append(Fact(-1.5, words))
            continue
        lie_on = [
            {
                *(line for span in row.run for line in pocket.ridden.get(span.key, ())),
                *(span.edge for span in row.run if span.piece == pocket.mouth.piece),
            }
            for row in (lead, follow)
        ]
        if lie_on[0] & lie_on[1]:
            shared = f"{pocket.mouth.piece}.{min(lie_on[0] & lie_on[1])}"
            words = f"both ride on '{shared}': they lie on each other, as layers"
            facts.append(Fact(-3.0, words))
    return facts
