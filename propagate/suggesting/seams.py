"""Propose seams: pairs of runs that agree in length in all sizes, weighed by all that is seen.

Candidates come from lengths alone (sorted in the base size, then compared in all sizes at
once); only what is left is looked at closely.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from propagate.pattern.answers import backwards
from propagate.pattern.relations import Seam
from propagate.suggesting import corners, lengths, marks, shapes
from propagate.suggesting.closed import capped, left_open
from propagate.suggesting.directions import LIKELY, Laid, Link, fold_facts, links
from propagate.suggesting.layers import Pocket
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import Fact, Proposal, score_of, words_of
from propagate.suggesting.rows import Row
from propagate.suggesting.settled import Settled, claims_of
from propagate.suggesting.words import name_of, same_words
from propagate.values import dataclass

__all__ = ["EXPLAINED", "LEAST", "PRIOR", "Way", "judge_kinship", "ranked", "seams", "weigh_way"]


PRIOR = -5.0
"""Log-odds that two runs of about equal length are sewn together."""
LEAST = 0.05
"""Proposals below are not worth reading."""
EXPLAINED = -12.0
"""Outweighs all else: a bag shares every bit of evidence with the facing on the same line."""
UNSURE = 1.2
"""Difference of two directions, log-odds, below which the direction is not certain."""
_COPY = 0.001
_UNCERTAIN = "the direction is not certain: the other way fits as well"
_CLOSED = (
    "it is not certain that the piece is sewn to itself: laid along its outline the edge fits as "
    "well, as that of another piece would"
)
_CLOSES = (
    "with the seam beside it, it would close the corner of the two pieces, as on a facing, a "
    "lining or a bag; a hem does not, and no notches meet on it that would tell"
)


@dataclass(frozen=True)
class Way:
    """One of the two ways to lay the follower along the lead.

    `twisted` tells that a piece would be sewn to itself with a twist: both its edges along the
    outline make a band with one side.  Nobody sews so, whatever fits.
    """

    reversed: bool
    twisted: bool
    facts: tuple[Fact, ...]
    notches: tuple[tuple[str, str], ...]
    crossing: dict[str, tuple[str, str]]
    weight: float


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
        best = min(self.ways.values(), key=_rank_way)
        score = score_of(PRIOR, (*self.common, *best.facts))
        return Laid(self.lead.run, self.follow.run, weights, score)


def seams(
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
    near, left = lengths.candidates(nest, rows, taken)
    pairs = [
        _weigh_pair(nest, rows[i], rows[j], rivals, pockets, mains, settled)
        for i, j, rivals in near
        if max(i, j) >= known_rows and settled.allows(rows[i], rows[j])
    ]
    said = links(nest, [*(pair.laid for pair in pairs), *settled.laid])
    found = [
        _make_proposal(nest, pair, own, turn=settled.turns(pair.lead.run, pair.follow.run))
        for pair, own in zip(pairs, said, strict=False)
    ]
    found = left_open(nest, found, PRIOR, LIKELY)
    return ranked(one for one in found if one.score >= LEAST or settled.turns(*one.runs)), left


def ranked(found: Iterable[Proposal]) -> list[Proposal]:
    """The likeliest first; equals by name, so that the order never varies."""
    return sorted(found, key=lambda one: (-round(one.score, 9), one.kind, one.name))


def _weigh_pair(
    nest: Nest,
    a: Row,
    b: Row,
    rivals: int,
    pockets: Sequence[Pocket],
    mains: frozenset[str],
    settled: Settled,
) -> _Pair:
    lead, follow = sorted((a, b), key=lambda row: _rank_lead(nest, row, mains))
    common = (
        *lengths.facts(nest, lead, follow, rivals),
        *judge_kinship(nest, lead, follow),
        *_pocket_facts(lead, follow, pockets),
        *settled.facts(lead, follow),
        *lead.facts,
        *follow.facts,
    )
    ways = {turned: weigh_way(nest, lead, follow, turned) for turned in (True, False)}
    return _Pair(lead, follow, common, ways, _bag_pair(lead, follow, pockets))


def _make_proposal(
    nest: Nest, pair: _Pair, said: Mapping[bool, tuple[Link, ...]], *, turn: bool
) -> Proposal:
    """The proposal of the better way, once the neighbouring seams had their say.

    `turn` asks for the other one.
    """
    lead, follow = pair.lead, pair.follow
    ways = {
        turned: weigh_way(nest, lead, follow, turned, said[turned]) if said[turned] else way
        for turned, way in pair.ways.items()
    }
    best, second = sorted(ways.values(), key=_rank_way)
    if turn:
        best, second = second, best
    facts = [*pair.common, *best.facts]
    if best.weight - second.weight < UNSURE:
        words = _CLOSED if second.twisted else _UNCERTAIN
        facts.append(capped(PRIOR, facts, words))
    closes = any(link.end for link in said[best.reversed]) and not best.notches
    if closes and not pair.bags and not _are_copies(nest, lead, follow):
        facts.append(capped(PRIOR, facts, _CLOSES))
    other = backwards(follow.run) if best.reversed else follow.run
    evidence, against = words_of(facts)
    name = f"{name_of(lead.run)}_to_{name_of(other)}"
    seam = Seam(
        name,
        lead.run,
        other,
        ease=lengths.ease(follow.lengths - lead.lengths),
        notches=best.notches,
        crossing=best.crossing,
        check=pair.bags,
    )
    return Proposal(
        "seam",
        name,
        (lead.run, other),
        score_of(PRIOR, facts),
        evidence,
        against,
        (seam,),
        claims_of(nest, (*lead.run, *other)),
        facts=tuple(facts),
    )


def _rank_way(way: Way) -> tuple[bool, float]:
    """The likelier way first, one with a twist last."""
    return way.twisted, -way.weight


def _rank_lead(nest: Nest, row: Row, mains: frozenset[str]) -> tuple[bool, float, str]:
    """Order in which runs lead: pieces with an opening first, then the larger ones.

    One order for the whole set, so that leads make no cycle.  A copy is as large as its
    original, whatever the last digits of its area say.
    """
    return min((piece not in mains, -round(nest.area[piece]), piece) for piece in row.pieces)


def weigh_way(nest: Nest, lead: Row, follow: Row, turned: bool, said: tuple[Link, ...] = ()) -> Way:
    """Weigh one direction of the follower: notches, corners, shape, folds and neighbours."""
    notes, pairs = marks.facts(nest, lead, follow, turned)
    shape = shapes.facts(lead, follow, turned)
    meeting = {link.end for link in said if link.end is not None}
    angles, crossing = corners.facts(
        lead, follow, turned, stacked=shape.stacked, chained=bool(meeting)
    )
    folds = fold_facts(nest, lead.ends, follow.ends[::-1] if turned else follow.ends)
    own = [*notes, *shape.facts, *angles, *folds]
    # Two pieces drawn right side up are sewn with one edge running back.
    weight = sum(fact.weight for fact in own) + (0.3 if turned else 0.0)
    return Way(
        turned,
        not turned and bool(lead.pieces & follow.pieces),
        (*own, *dict.fromkeys(link.fact for link in said)),
        pairs,
        # Where the two turn a corner together, what crosses the seam is the seam beside it.
        {end: keys for end, keys in crossing.items() if end not in meeting},
        weight + sum(link.weight for link in said),
    )


def judge_kinship(nest: Nest, lead: Row, follow: Row) -> list[Fact]:
    """What pieces, allowances and names say of two runs."""
    facts = []
    if lead.pieces & follow.pieces:
        facts.append(Fact(-2.5, "both edges are of one piece"))
    info = nest.pattern.info
    allowances = [
        info[span.piece].allowance.of(span.edge) if span.piece in info else 0.0
        for span in (*lead.run, *follow.run)
    ]
    if max(allowances) > 0.0:
        if max(allowances) - min(allowances) < 0.05:
            facts.append(Fact(0.2, f"the allowances are alike ({allowances[0]:g} mm)"))
        else:
            listed = ", ".join(f"{value:g}" for value in allowances)
            facts.append(Fact(-0.3, f"the allowances differ ({listed} mm)"))
    shared = same_words(lead.run, follow.run)
    if shared:
        facts.append(Fact(0.4, f"both are called '{shared}'"))
    return facts


def _are_copies(nest: Nest, lead: Row, follow: Row) -> bool:
    """Whether the two pieces are as large as each other, as a lining cut like its main is."""
    a, b = (sum(nest.area[piece] for piece in row.pieces) for row in (lead, follow))
    return abs(a - b) <= _COPY * max(a, b)


def _bag_pair(lead: Row, follow: Row, pockets: Iterable[Pocket]) -> bool:
    keys = lead.keys | follow.keys
    return any(keys in pocket.paired for pocket in pockets)


def _pocket_facts(lead: Row, follow: Row, pockets: Iterable[Pocket]) -> list[Fact]:
    """What the layers of a pocket say: bag edges are sewn, edges that ride are not."""
    facts = []
    if _bag_pair(lead, follow, pockets):
        facts.append(
            Fact(2.0, "the two edges lie on each other when the layers are laid on the opening")
        )
    for pocket in pockets:
        for row in (row for row in (lead, follow) if len(row.run) > 1):
            fills = {one.piece for one in pocket.fillings}
            bags = row.pieces & fills & pocket.bag_pieces
            if bags and len(fills - pocket.bag_pieces) > 0:
                facts.append(
                    Fact(
                        EXPLAINED,
                        f"'{min(bags)}' is a bag (a free edge of it lies on another layer's); "
                        f"'{min(fills - pocket.bag_pieces)}' fills the corner too and is none",
                    )
                )
        facts += _judge_riding(lead, follow, pocket)
    return facts


def _judge_riding(lead: Row, follow: Row, pocket: Pocket) -> list[Fact]:
    """Edges that lie on the same edge of the silhouette ride on each other."""
    sides = []
    for row in (lead, follow):
        lies_on = {line for span in row.run for line in pocket.ridden.get(span.key, ())}
        lies_on |= {span.edge for span in row.run if span.piece == pocket.mouth.piece}
        sides.append(lies_on)
    if lead.keys | follow.keys <= pocket.mouths:
        return [Fact(-1.5, "both are the opening's own line: the pocket's layers say so already")]
    if sides[0] & sides[1]:
        shared = f"{pocket.mouth.piece}.{min(sides[0] & sides[1])}"
        return [Fact(-3.0, f"both ride on '{shared}': they lie on each other, as layers")]
    return []
