"""Pieces that are drawn more than once, as they are or mirrored, and pieces like themselves.

Two pieces are copies when their edges, in order, have the same lengths, corners and shapes in every
size.  A piece that is a copy of itself in another way (a straight strip) can be sewn in either,
as long as its marks and its grain lie alike.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field

import numpy as np

from propagate.pattern.answers import reverse_run
from propagate.pattern.relations import Run, Seam, Span
from propagate.suggesting.claims import claims_meet
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.suggesting.proposal import LIKELY, Proposal, rank_proposals
from propagate.values import dataclass

__all__ = [
    *("Likeness", "find_copies", "find_likenesses", "hold_bands", "list_images", "say_of_first"),
    "say_once",
]

SAME_MM, SAME_DEG = 0.25, 0.8
MARK_MM = 0.6
"""As far as this from its place a mark may be: it is drawn beside the line, and rounded."""
GRAIN_DEG = 3.0
_SHAPE_DEG = 1.5
_SWAP = {"start": "end", "end": "start"}
_SELF = (
    "the two pieces are copies of each other, so that each of their edges fits its own: most often "
    "one piece is drawn twice"
)


@dataclass(frozen=True)
class Likeness:
    """How a piece is another one again.

    Attributes
    ----------
    of, piece : str
        The piece and its copy.
    edges : mapping of an edge of `of` to that of `piece`
    mirrored : bool
    marks : mapping of a landmark of `of` to that of `piece`
        Where they lie alike.
    """

    of: str
    piece: str
    edges: Mapping[str, str]
    mirrored: bool
    marks: Mapping[str, str] = field(default_factory=dict)

    def carry(self, run: Run) -> Run:
        """A run with the spans of `of` on `piece` instead."""
        found = []
        for span in run:
            if span.piece == self.of:
                begin, end = self._carry_mark(span.begin), self._carry_mark(span.end)
                span = Span(self.piece, self.edges[span.edge], begin, end)
            found.append(span)
        return tuple(found)

    def _carry_mark(self, mark: str) -> str:
        if mark in _SWAP:
            return _SWAP[mark] if self.mirrored else mark
        return self.marks.get(mark, mark)


def find_likenesses(nest: Nest, of: str, piece: str, *, marks: bool = True) -> list[Likeness]:
    """Every way in which a piece is another one again; of itself, all but as it is.

    With `marks` it has the same marks on each edge, and the cloth lies in it the same way; without,
    that way comes first in which most marks meet, and of those one in which the cloth does.
    """
    theirs, own = nest.outline_names(of), nest.outline_names(piece)
    if len(theirs) != len(own) or abs(nest.area[of] - nest.area[piece]) > 0.002 * nest.area[of]:
        return []
    found: list[tuple[int, bool, Likeness]] = []
    for mirrored in (False, True):
        for first in range(len(own)):
            if of == piece and not mirrored and first == 0:
                continue
            order = [(first - k if mirrored else first + k) % len(own) for k in range(len(own))]
            edges = {a: own[k] for a, k in zip(theirs, order, strict=True)}
            pairs = [
                (nest.edges[f"{of}.{a}"], nest.edges[f"{piece}.{b}"]) for a, b in edges.items()
            ]
            if not all(_are_alike(nest, a, b, mirrored=mirrored) for a, b in pairs):
                continue
            met = {
                name: other
                for a, b in pairs
                for name, other in _match_marks(a, b, mirrored=mirrored).items()
            }
            alone = sum(len(a.marks) + len(b.marks) for a, b in pairs) - 2 * len(met)
            off_grain = not _are_on_grain(nest, pairs, mirrored=mirrored)
            if not (marks and (alone or off_grain)):
                found.append((alone, off_grain, Likeness(of, piece, edges, mirrored, met)))
    return [like for *_, like in sorted(found, key=lambda one: one[:2])]


def find_copies(nest: Nest, *, marks: bool = True) -> dict[str, Likeness]:
    """Pieces that are one before them again, each with how that one is the copy."""
    found: dict[str, Likeness] = {}
    first: list[str] = []
    for piece in nest.pattern.pieces:
        for one in first:
            ways = find_likenesses(nest, piece, one, marks=marks)
            if ways:
                found[piece] = ways[0]
                break
        else:
            first.append(piece)
    return found


def _are_alike(nest: Nest, one: EdgeMeasure, two: EdgeMeasure, *, mirrored: bool) -> bool:
    """Whether an edge has the lengths, corners and shape of another, for a piece and its copy."""
    if np.abs(one.lengths - two.lengths).max() > SAME_MM:
        return False
    for at_start in (True, False):
        own = nest.corner(one.piece, one.edge, at_start=at_start)
        theirs = nest.corner(two.piece, two.edge, at_start=at_start != mirrored)
        if float(np.abs(own - theirs).max()) > SAME_DEG:
            return False
    # Mirrored and walked the other way, a line turns to the same side as before.
    profile = -two.profile[::-1] if mirrored else two.profile
    return bool(float(np.sqrt(np.mean((one.profile - profile) ** 2))) <= _SHAPE_DEG)


def _match_marks(one: EdgeMeasure, two: EdgeMeasure, *, mirrored: bool) -> dict[str, str]:
    """The marks of an edge that its copy has at the same places in every size."""
    free = {name: two.lengths - place if mirrored else place for name, place in two.marks.items()}
    found: dict[str, str] = {}
    for name, place in one.marks.items():
        gaps = {
            other: float(np.abs(there - place).max())
            for other, there in free.items()
            if (name in one.notches) == (other in two.notches)
        }
        nearest = min(gaps, key=lambda other: gaps[other], default=None)
        if nearest is not None and gaps[nearest] <= MARK_MM:
            found[name] = nearest
            del free[nearest]
    return found


def _are_on_grain(
    nest: Nest, pairs: Sequence[tuple[EdgeMeasure, EdgeMeasure]], *, mirrored: bool
) -> bool:
    """Whether the cloth lies in a piece as in its copy; warp and weft are square to each other."""
    turns = (
        _measure_from_grain(nest, one) - (-1 if mirrored else 1) * _measure_from_grain(nest, two)
        for one, two in pairs
    )
    return all(abs((turn + 45.0) % 90.0 - 45.0) <= GRAIN_DEG for turn in turns)


def _measure_from_grain(nest: Nest, edge: EdgeMeasure) -> float:
    """The angle from the grain to the chord of an edge in the base size, degrees."""
    sized = nest.in_base(edge.piece)
    points, grain = sized.edge(edge.edge).points, sized.grain.direction
    x, y = points[-1] - points[0]
    return float(np.degrees(np.arctan2(grain[0] * y - grain[1] * x, grain[0] * x + grain[1] * y)))


def say_once(nest: Nest, sewn: Sequence[Proposal], known: Mapping[str, Likeness]) -> list[Proposal]:
    """Seams of copies, each said of one of them alone; copies are not sewn to each other unasked.

    Of seams that are the same but for copies and want the same edge, that one stays whose pieces
    are drawn for the same side of the body.
    """
    if not known:
        return list(sewn)
    # Where all pieces are there twice, the copies may be a lining.
    single = {*nest.pattern.pieces} - {*known} - {way.piece for way in known.values()}
    # Pieces of which there are copies, and that are sewn to other pieces than those.
    elsewhere: set[str] = set()
    for one in sewn:
        lead, follow = (_find_first_pieces(run, known) for run in one.runs)
        if one.score >= LIKELY and not lead & follow:
            elsewhere |= lead | follow
    kept: list[Proposal] = []
    seen: dict[frozenset[tuple[Run, ...]], list[Proposal]] = {}

    def rank(one: Proposal) -> tuple[object, ...]:
        copies = [known[s.piece] for run in one.runs for s in run if s.piece in known]
        odd = sum(way.mirrored for way in copies) % 2
        return (-round(one.score, 1), odd, len(copies), -round(one.score, 9), one.name)

    for one in sorted(sewn, key=rank):
        lead, follow = (_find_first_pieces(run, known) for run in one.runs)
        if lead & follow:
            # A pocket's bags lie on each other as its layers tell.
            bags = any(isinstance(each, Seam) and each.check for each in one.relations)
            sure = bags or not (single or lead & follow & elsewhere)
            kept.append(one if sure else one.hold_back(_SELF))
            continue
        lead_run, follow_run = (say_of_first(run, known) for run in one.runs)
        alike = seen.setdefault(list_images(lead_run, follow_run), [])
        if not any(claims_meet(one.claims, other.claims) for other in alike):
            alike.append(one)
            kept.append(one)
    return rank_proposals(kept)


def hold_bands(banded: Sequence[Proposal], known: Mapping[str, Likeness]) -> list[Proposal]:
    """Bands along a piece that is drawn twice are not certain: its copy fits as well."""
    twice = {*known, *(way.piece for way in known.values())}
    held = []
    for one in banded:
        pieces = {span.piece for run in one.runs[1:] for span in run} & twice
        if pieces:
            one = one.hold_back(f"'{min(pieces)}' is drawn twice, and its copy fits as well")
        held.append(one)
    return held


def _find_first_pieces(run: Run, known: Mapping[str, Likeness]) -> set[str]:
    """The pieces of a run, those that are copies as what they are copies of."""
    return {known[s.piece].piece if s.piece in known else s.piece for s in run}


def say_of_first(run: Run, known: Mapping[str, Likeness]) -> Run:
    """A run with every copy as the piece that it is a copy of."""
    for piece in {span.piece for span in run} & known.keys():
        run = known[piece].carry(run)
    return run


def list_images(lead: Run, follow: Run) -> frozenset[tuple[Run, ...]]:
    """Every way in which a seam of two runs may be written."""
    back = (reverse_run(lead), reverse_run(follow))
    return frozenset([(lead, follow), (follow, lead), back, back[::-1]])
