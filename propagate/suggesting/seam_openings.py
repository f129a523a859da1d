"""Propose openings in seams that keep their length: a zip, a placket, a slit at the hem.

A mark on a seam lies as far from one of its ends in every size, or in steps as zips are sold.
The rest of the seam is sewn.  What the mark is for, only a person knows.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np

from propagate.engine.levels import level_crossings
from propagate.geometry.arrays import Array
from propagate.pattern.answers import Joining
from propagate.pattern.relation_edges import runs_of
from propagate.pattern.relations import Seam, SeamOpening, Span
from propagate.suggesting.claims import claim_mouths
from propagate.suggesting.nest import Nest, measure_lean
from propagate.suggesting.pocket_bags import MOST_MARKS, NEAR_MM
from propagate.suggesting.proposal import LIKELY, SEWN, Fact, Proposal, rank_proposals
from propagate.suggesting.rows import measure_run
from propagate.suggesting.settled import Settled
from propagate.values import dataclass

__all__ = ["propose_seam_openings"]

OPEN_MM = (60.0, 800.0)
"""Openings in seams are so long, from a slit at a side to the zip of a long dress (common practice,
no source)."""
SLIT_MM = 400.0
"""A slit at a hem is no longer (common practice, no source); what lies as far above a hem in every
size is the hip or the knee, of a garment that is graded above it."""
HIP_MM = (100.0, 310.0)
"""So far below the waist the hip is notched."""
HELD_MM = 0.5
"""What keeps its length is as long in every size within this."""
UNITS_MM = (10.0, 25.4)
STEP_MM = 20.0
"""Zips are sold in whole centimetres or inches, the next one 2 cm longer at least (common practice,
no source)."""
ALONG_GRAIN = float(np.cos(np.radians(30.0)))
LEVEL_MM = 1.0
"""A mark so near to a level, or to the height of another notch of its piece, shows that level."""
OPENING_PRIOR = -1.0
"""Log-odds that a mark which keeps its distance from an end of a seam ends an opening."""
_UNSURE = "what the mark is for is not told by geometry"


@dataclass(frozen=True)
class _Part:
    """A part of a seam between one of its ends and a mark.

    Attributes
    ----------
    seam : Seam
    sides : tuple of Span
        Of each side of the seam, from its end to the mark.
    lengths, whole : (sizes,) arrays, mm
        Of the part, and of the whole seam.
    beside, beyond : tuple of ``PIECE.EDGE``
        What crosses the seam at that end, and at the other.
    """

    seam: Seam
    sides: tuple[Span, ...]
    lengths: Array
    whole: Array
    beside: tuple[str | None, ...]
    beyond: tuple[str | None, ...]

    @property
    def pieces(self) -> frozenset[str]:
        """Pieces that it lies on."""
        return frozenset(side.piece for side in self.sides)


def propose_seam_openings(
    nest: Nest, found: Sequence[Proposal], held: Sequence[Joining], settled: Settled
) -> list[Proposal]:
    """One proposal for each mark on a likely seam that may be the end of an opening.

    Parameters
    ----------
    found : sequence of Proposal
        Seams, bands and pockets that may hold.
    held : sequence of relations
        What holds.
    """
    likely = [*held, *(r for one in found if one.score >= LIKELY for r in one.relations)]
    sure = [*held, *(r for one in found if one.score >= SEWN for r in one.relations)]
    ends = {
        f"{span.piece}.{mark}"
        for one in likely
        for _, run in runs_of(one)
        for span in run
        for mark in (span.begin, span.end)
    }
    sewn = {span.key for one in sure for _, run in runs_of(one) for span in run}
    derived = nest.pattern.relations.derived  # their marks follow those of their main pieces
    parts = [
        part
        for seam in sure
        if isinstance(seam, Seam) and not seam.check
        for part in _list_parts(nest, seam)
        if part.pieces.isdisjoint(derived)
        and not any(f"{side.piece}.{side.end}" in ends for side in part.sides)
        and not _shows_level(nest, part.sides[0])
    ]
    proposals: dict[object, Proposal] = {}
    for part in parts:
        if _is_alone(part, parts) and not _may_be_level(nest, part, sewn):
            one = _propose_opening(nest, part)
            proposals.setdefault(one.question, one)
    return settled.leave_out(rank_proposals(proposals.values()))


def _list_parts(nest: Nest, seam: Seam) -> Iterator[_Part]:
    """Parts of a seam up to a mark, or to two that meet, that may be openings."""
    runs = [run for run in (seam.lead, seam.follow) if run]
    pieces = [{span.piece for span in run} for run in runs]
    if not (seam.mirror or (len(runs) == 2 and pieces[0].isdisjoint(pieces[1]))):
        return
    rows = [measure_run(nest, run) for run in runs]
    along = all(_goes_along_grain(nest, span) for run in runs for span in run)
    if not along or max(len(row.marks) for row in rows) > MOST_MARKS:
        return
    for marks in _list_meeting([row.marks for row in rows]):
        ways = []
        for at_end in (False, True):
            outer = [run[-1] if at_end else run[0] for run in runs]
            names = [name.partition(".") for name, _ in marks]
            if any(
                span.piece != piece or mark not in nest.edges[span.key].notches
                for span, (piece, _, mark) in zip(outer, names, strict=True)
            ):
                continue
            lengths = np.asarray(rows[0].lengths - marks[0][1] if at_end else marks[0][1])
            sides = tuple(
                Span(span.piece, span.edge, span.end if at_end else span.begin, mark)
                for span, (_, _, mark) in zip(outer, names, strict=True)
            )
            if _may_be_opening(lengths):
                first, last = (tuple(row.ends[k].crossing for row in rows) for k in (0, 1))
                across = (last, first) if at_end else (first, last)
                ways.append(_Part(seam, sides, lengths, rows[0].lengths, *across))
        # Where the whole seam is as long in every size, both ends are as far in each.
        ways.sort(key=lambda way: (not _is_sold(way.lengths), float(way.lengths[nest.base])))
        yield from ways[:1]


def _list_meeting(
    marks: Sequence[Sequence[tuple[str, Array]]],
) -> Iterator[tuple[tuple[str, Array], ...]]:
    """The marks of a mirror seam; of a seam of two, those that meet."""
    if len(marks) == 1:
        yield from ((mark,) for mark in marks[0])
        return
    for mark, at in marks[0]:
        for other, there in marks[1]:
            if float(np.abs(at - there).max()) <= NEAR_MM:
                yield (mark, at), (other, there)


def _goes_along_grain(nest: Nest, span: Span) -> bool:
    piece = nest.in_base(span.piece)
    return measure_lean(piece.edge(span.edge).points, piece.grain.direction) >= ALONG_GRAIN


def _may_be_opening(lengths: Array) -> bool:
    """Whether a part is as long as an opening, in every size or in steps as zips are sold."""
    if not (OPEN_MM[0] <= float(lengths.min()) and float(lengths.max()) <= OPEN_MM[1]):
        return False
    if float(np.ptp(lengths)) <= HELD_MM:
        return True
    steps = np.abs(np.diff(lengths))
    # What is graded moves in every step; the same zip is bought for sizes beside each other.
    is_kept = steps <= HELD_MM
    return bool(is_kept.any() and (is_kept | (steps >= STEP_MM - HELD_MM)).all()) and _is_sold(
        lengths
    )


def _is_sold(lengths: Array) -> bool:
    """Whether zips are sold so long, for every size."""
    off = [np.abs(lengths - unit * np.round(lengths / unit)).max() for unit in UNITS_MM]
    return min(map(float, off)) <= HELD_MM


def _shows_level(nest: Nest, side: Span) -> bool:
    """Whether the mark lies on a level, or as high as another edge's notch, in all sizes."""
    near: set[str] | None = None
    for size in nest.pattern.sizes:
        piece = nest.pattern.sized(side.piece, size)
        mark = piece.landmark(side.end)
        up, at = piece.grain.direction, piece.distance(side.edge, side.end)
        edge = piece.edge(side.edge).points
        here = {
            other.name
            for other in piece.landmarks
            if other.kind == "notch"
            and other.edge != side.edge
            and abs(float(np.subtract(other.point, mark.point) @ up)) <= LEVEL_MM
        }
        here |= {
            f"level {name}"
            for name in piece.levels
            if any(abs(float(s) - at) <= LEVEL_MM for s in level_crossings(piece, name, edge))
        }
        near = here if near is None else near & here
    return bool(near)


def _is_alone(part: _Part, parts: Sequence[_Part]) -> bool:
    """Whether no other seam of its pieces has such a mark: gores are notched at each seam."""
    return part.seam.mirror or not any(
        part.pieces & other.pieces and other.seam is not part.seam
        for other in parts
        if not other.seam.mirror
    )


def _may_be_level(nest: Nest, part: _Part, sewn: Collection[str]) -> bool:
    """Whether it may as well lie on the hip or the knee.

    A slit begins at a hem, an edge that is sewn to nothing, while the other end lies at none.  On
    a side seam the one pair of notches so far below what is sewn on at the waist is the hip's.
    """
    here, there = (not any(key in sewn for key in keys) for keys in (part.beside, part.beyond))
    length = float(part.lengths[nest.base])
    if part.seam.mirror:
        upper = not here or (there and length <= float(part.whole[nest.base]) / 2.0)
        return not upper and length > SLIT_MM
    if here == there:
        return True
    return length > SLIT_MM if here else HIP_MM[0] <= length <= HIP_MM[1]


def _propose_opening(nest: Nest, part: _Part) -> Proposal:
    side = part.sides[0]
    name = f"{side.piece}_{side.edge}_opening"
    runs = tuple((one,) for one in part.sides)
    claims = tuple(claim_mouths(nest, part.sides))
    facts = tuple(_judge_part(nest, part))
    relations = (SeamOpening(name, runs),)
    found = Proposal("seam opening", name, runs, OPENING_PRIOR, facts, relations, claims)
    return found.hold_back(_UNSURE)


def _judge_part(nest: Nest, part: _Part) -> Iterator[Fact]:
    long, grown = part.lengths, float(np.ptp(part.whole))
    if len(long) == 1:
        yield Fact(0.0, "in one size nothing tells whether it keeps its length")
    elif float(np.ptp(long)) > HELD_MM:
        said = ", ".join(f"{mm:.0f}" for mm in dict.fromkeys(long.round().tolist()))
        yield Fact(2.0, f"it goes up in steps, as zips are sold: {said} mm")
    elif grown > 2.0 * HELD_MM:
        words = f"it is {long[nest.base]:.1f} mm long in every size; the seam grows by {grown:.1f}"
        yield Fact(2.0, f"{words} mm")
    else:
        words = f"it is {long[nest.base]:.1f} mm long in every size, but so is the whole seam"
        yield Fact(1.0, words)
    if _is_sold(long):
        yield Fact(0.5, "zips are sold so long")
    if part.seam.mirror:
        yield Fact(1.0, "the seam joins a piece to its own mirrored twin, as at a centre")
