"""The ring of corners: what meets at each corner when all is sewn, and who disagrees.

Each seam and each zone of a band joins two ends to two ends.  Followed from corner to
corner round the garment the joins must agree: where all others say that an end meets the other
end, the join is written from the wrong end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from propagate.engine.review.taken import pieces_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Span
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["Joined", "Points", "ends_of", "find_against_ring", "list_joined", "list_meeting"]

Point = tuple[str, int | str]
"""Piece, and the number of its corner or the name of a landmark on an edge."""
Pairs = tuple[tuple[Point, Point], ...]


@dataclass(frozen=True)
class Joined:
    """Two runs that are joined end to end.

    Attributes
    ----------
    name : str
        As a person would say it; ``seam`` is its name when it is a seam.
    seam : str or None
    ends, other : (Point, Point)
        Begin and end of both sides, as written.
    pieces : tuple of str
    """

    name: str
    seam: str | None
    ends: tuple[Point, Point]
    other: tuple[Point, Point]
    pieces: tuple[str, ...]

    def pairs(self, *, turned: bool = False) -> Pairs:
        """What meets, as written or with the other side turned round."""
        other = self.other[::-1] if turned else self.other
        return tuple(zip(self.ends, other, strict=True))


class Points:
    """Points that are one when sewn: a pair for each two that meet."""

    def __init__(self, pairs: Iterable[tuple[Point, Point]]) -> None:
        self._of: dict[Point, Point] = {}
        for a, b in pairs:
            self._of[self._root(a)] = self._root(b)

    def _root(self, point: Point) -> Point:
        while point in self._of and self._of[point] != point:
            point = self._of[point]
        return point

    def same(self, a: Point, b: Point) -> bool:
        """Whether two points are one."""
        return self._root(a) == self._root(b)


def list_joined(pattern: PatternSet) -> tuple[list[Joined], list[tuple[Point, Point]]]:
    """Return what a person may have written from the wrong end, and what meets besides."""
    relations = pattern.relations
    sides: list[tuple[str, str | None, Run, Run]] = []
    fixed: list[tuple[Point, Point]] = []
    for seam in relations.seams.values():
        if seam.mirror:
            fixed += _join_spans(pattern, seam.lead)
        else:
            sides.append((f"seam '{seam.name}'", seam.name, seam.lead, seam.follow))
    for band in relations.bands.values():
        for zone in (zone for zone in band.zones if zone.run):
            span = Span(band.piece, band.sewn, zone.begin, zone.end)
            name = f"band '{band.name}', zone '{zone.name}'"
            sides.append((name, None, (span,), zone.run))
    found = []
    for name, seam_name, lead, follow in sides:
        fixed += [*_join_spans(pattern, lead), *_join_spans(pattern, follow)]
        ends = ends_of(pattern, lead), ends_of(pattern, follow)
        found.append(Joined(name, seam_name, *ends, pieces_of(lead, follow)))
    for assembly in relations.assemblies.values():
        for part in assembly.parts:
            for own, theirs in part.put:
                mine = pattern.sized(part.piece, pattern.base).landmark(own)
                main = pattern.sized(assembly.lead, pattern.base).landmark(theirs)
                fixed.append(
                    (
                        _find_point(pattern, part.piece, mine.edge, own),
                        _find_point(pattern, assembly.lead, main.edge, theirs),
                    )
                )
    return found, fixed


def list_meeting(pattern: PatternSet) -> Points:
    """What meets when the whole set is sewn as written."""
    found, fixed = list_joined(pattern)
    return Points([*fixed, *(pair for one in found for pair in one.pairs())])


def ends_of(pattern: PatternSet, run: Run) -> tuple[Point, Point]:
    """Return where a run begins and ends."""
    first, last = run[0], run[-1]
    return (
        _find_point(pattern, first.piece, first.edge, first.begin),
        _find_point(pattern, last.piece, last.edge, last.end),
    )


def _join_spans(pattern: PatternSet, run: Run) -> Iterator[tuple[Point, Point]]:
    """Where one span of a run goes over into the next."""
    for before, after in pairwise(run):
        yield (
            _find_point(pattern, before.piece, before.edge, before.end),
            _find_point(pattern, after.piece, after.edge, after.begin),
        )


def _find_point(pattern: PatternSet, piece: str, edge: str, mark: str) -> Point:
    """A landmark as a corner of its piece where it lies on one."""
    sized = pattern.sized(piece, pattern.base)
    names = sized.edge_names
    along = sized.distance(edge, mark)
    if along <= ON_LINE_MM:
        return piece, names.index(edge)
    if along >= sized.edge(edge).length - ON_LINE_MM:
        return piece, (names.index(edge) + 1) % len(names)
    return piece, mark


def find_against_ring(
    found: Sequence[Joined], fixed: Sequence[tuple[Point, Point]]
) -> list[Joined]:
    """Return the joins each of which, turned round alone, makes the whole ring agree.

    Empty when it agrees as written.  More than one when nothing tells which of them it is.
    """
    as_written = [one.pairs() for one in found]
    against = _find_against(found, as_written, fixed)
    cures = []
    for k in against:
        turned = [one.pairs(turned=i == k) for i, one in enumerate(found)]
        if not _find_against(found, turned, fixed):
            cures.append(k)
    return [found[k] for k in cures or against]


def _find_against(
    found: Sequence[Joined], pairs: Sequence[Pairs], fixed: Sequence[tuple[Point, Point]]
) -> list[int]:
    against = []
    for k in range(len(found)):
        (a0, b0), (a1, b1) = pairs[k]
        others = [pair for i, both in enumerate(pairs) if i != k for pair in both]
        points = Points([*fixed, *others])
        crosswise = points.same(a0, b1) or points.same(a1, b0)
        straight = points.same(a0, b0) or points.same(a1, b1)
        closed = points.same(a0, a1) or points.same(b0, b1)
        if crosswise and not straight and not closed:
            against.append(k)
    return against
