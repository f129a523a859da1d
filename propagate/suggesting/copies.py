"""Pieces that are drawn more than once, as they are or mirrored, and pieces like themselves.

Two pieces are copies when their edges, in order, have the same lengths, corners and shapes in every
size.  A piece without marks that is a copy of itself in another way (a straight strip) can be sewn
in either.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from propagate.pattern.answers import backwards
from propagate.pattern.relations import Run, Seam, Span
from propagate.suggesting.closed import capped
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import Proposal, claims_meet, weighed
from propagate.values import dataclass

__all__ = ["Likeness", "as_first", "copied", "hold_bands", "likenesses", "once"]

SAME_MM, SAME_DEG = 0.25, 0.8
BAND_PRIOR, LIKELY = -5.0, 0.5
_SHAPE_DEG = 1.5
_SWAP = {"start": "end", "end": "start"}


@dataclass(frozen=True)
class Likeness:
    """How a piece is another one again.

    Attributes
    ----------
    of, piece : str
        The piece and its copy.
    edges : mapping of an edge of `of` to that of `piece`
    mirrored : bool
    """

    of: str
    piece: str
    edges: Mapping[str, str]
    mirrored: bool

    def run(self, run: Run) -> Run:
        """A run with the spans of `of` on `piece` instead."""
        return tuple(self._span(span) if span.piece == self.of else span for span in run)

    def _span(self, span: Span) -> Span:
        begin, end = span.begin, span.end
        if self.mirrored:
            begin, end = _SWAP.get(begin, begin), _SWAP.get(end, end)
        return Span(self.piece, self.edges[span.edge], begin, end)


def likenesses(nest: Nest, of: str, piece: str, *, marks: bool = True) -> list[Likeness]:
    """Every way in which a piece is another one again; of itself, all but as it is.

    With `marks` it has as many marks on each edge.
    """
    theirs, own = nest.outline_names(of), nest.outline_names(piece)
    if len(theirs) != len(own) or abs(nest.area[of] - nest.area[piece]) > 0.002 * nest.area[of]:
        return []
    found = []
    for mirrored in (False, True):
        for first in range(len(own)):
            order = [(first - k if mirrored else first + k) % len(own) for k in range(len(own))]
            if of == piece and not mirrored and first == 0:
                continue
            edges = {a: own[k] for a, k in zip(theirs, order, strict=True)}
            if all(_alike(nest, of, a, piece, b, mirrored, marks) for a, b in edges.items()):
                found.append(Likeness(of, piece, edges, mirrored))
    return found


def copied(nest: Nest, pieces: Sequence[str], *, marks: bool = True) -> dict[str, Likeness]:
    """Pieces that are one before them again, each with how that one is the copy."""
    found: dict[str, Likeness] = {}
    first: list[str] = []
    for piece in pieces:
        ways = [way for one in first for way in likenesses(nest, piece, one, marks=marks)[:1]]
        if ways:
            found[piece] = ways[0]
        else:
            first.append(piece)
    return found


def _alike(nest: Nest, of: str, a: str, piece: str, b: str, mirrored: bool, marks: bool) -> bool:
    one, two = nest.edges[f"{of}.{a}"], nest.edges[f"{piece}.{b}"]
    if np.abs(one.lengths - two.lengths).max() > SAME_MM:
        return False
    if marks and len(one.marks) != len(two.marks):
        return False
    ends = (nest.corner(piece, b, at_start=True), nest.corner(piece, b, at_start=False))
    if mirrored:
        ends = ends[::-1]
    mine = (nest.corner(of, a, at_start=True), nest.corner(of, a, at_start=False))
    if max(float(np.abs(x - y).max()) for x, y in zip(mine, ends, strict=True)) > SAME_DEG:
        return False
    if of == piece and one.marks:
        return False
    # Mirrored and walked the other way, a line turns to the same side as before.
    profile = -two.profile[::-1] if mirrored else two.profile
    return bool(float(np.sqrt(np.mean((one.profile - profile) ** 2))) <= _SHAPE_DEG)


def once(nest: Nest, sewn: Sequence[Proposal], prior: float) -> list[Proposal]:
    """Seams of copies, each said of one of them alone; copies are not sewn to each other unasked.

    Of seams that are the same but for copies and want the same edge, that one stays whose pieces
    are drawn for the same side of the body.
    """
    known = copied(nest, tuple(nest.pattern.pieces), marks=False)
    if not known:
        return list(sewn)
    # Where all pieces are there twice, the copies may be a lining.
    single = {*nest.pattern.pieces} - {*known} - {way.piece for way in known.values()}
    elsewhere = _sewn_elsewhere(sewn, known)
    kept: list[Proposal] = []
    seen: dict[frozenset[tuple[Run, ...]], list[Proposal]] = {}
    for one in sorted(sewn, key=lambda one: _rank(one, known)):
        runs = tuple(as_first(run, known) for run in one.runs)
        of = [_first_pieces(run, known) for run in one.runs]
        if len(of) == 2 and of[0] & of[1]:
            sure = _is_checked(one) or not (single or of[0] & of[1] & elsewhere)
            kept.append(one if sure else _held(one, prior, _SELF))
            continue
        alike = seen.setdefault(_key(runs), [])
        if any(claims_meet(one.claims, other.claims) for other in alike):
            continue
        alike.append(one)
        kept.append(one)
    return sorted(kept, key=lambda one: (-round(one.score, 9), one.kind, one.name))


def hold_bands(nest: Nest, banded: Sequence[Proposal]) -> list[Proposal]:
    """Bands along a piece that is drawn twice are not certain: its copy fits as well."""
    known = copied(nest, tuple(nest.pattern.pieces), marks=False)
    twice = {*known, *(way.piece for way in known.values())}
    held = []
    for one in banded:
        pieces = {span.piece for run in one.runs[1:] for span in run} & twice
        if pieces:
            words = f"'{min(pieces)}' is drawn twice, and its copy fits as well"
            one = _held(one, BAND_PRIOR, words)
        held.append(one)
    return held


_SELF = (
    "the two pieces are copies of each other, so that each of their edges fits its own: most often "
    "one piece is drawn twice"
)


def _sewn_elsewhere(sewn: Sequence[Proposal], known: Mapping[str, Likeness]) -> set[str]:
    """Pieces of which there are copies, and that are sewn to other pieces than those."""
    found: set[str] = set()
    for one in sewn:
        sides = [_first_pieces(run, known) for run in one.runs]
        if one.score >= LIKELY and len(sides) == 2 and not sides[0] & sides[1]:
            found |= sides[0] | sides[1]
    return found


def _first_pieces(run: Run, known: Mapping[str, Likeness]) -> set[str]:
    """The pieces of a run, those that are copies as what they are copies of."""
    return {known[s.piece].piece if s.piece in known else s.piece for s in run}


def _is_checked(one: Proposal) -> bool:
    """A pocket's bags lie on each other as its layers tell."""
    return any(isinstance(each, Seam) and each.check for each in one.relations)


def as_first(run: Run, known: Mapping[str, Likeness]) -> Run:
    """A run with every copy as the piece that it is a copy of."""
    for piece in {span.piece for span in run} & known.keys():
        run = known[piece].run(run)
    return run


def _rank(one: Proposal, known: Mapping[str, Likeness]) -> tuple[object, ...]:
    copies = [known[s.piece] for run in one.runs for s in run if s.piece in known]
    odd = sum(way.mirrored for way in copies) % 2
    return (-round(one.score, 1), odd, len(copies), -round(one.score, 9), one.name)


def _key(runs: tuple[Run, ...]) -> frozenset[tuple[Run, ...]]:
    back = tuple(backwards(run) for run in runs)
    return frozenset([runs, runs[::-1], back, back[::-1]])


def _held(one: Proposal, prior: float, words: str) -> Proposal:
    facts = (*one.facts, capped(prior, one.facts, words))
    return weighed(one, prior, facts)
