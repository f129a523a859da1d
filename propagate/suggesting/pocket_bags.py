"""Bags that fit the mouth of a pocket in a seam: by notches, as they are bent, as they hang."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from itertools import permutations

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import point_at, sample_line
from propagate.pattern.relations import Run, Span
from propagate.pattern.spans import span_points
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.values import dataclass

__all__ = [
    *("BENT_MM", "CLEAR_MM", "HANGS", "LIKE_MM", "MOST_MARKS", "NEAR_MM"),
    *("Bag", "Mouth", "lay_chord", "list_bags"),
]

Array = npt.NDArray[np.float64]

NEAR_MM = 0.6
"""Marks of one draft that meet lie this near to each other in every size."""
MOST_MARKS = 12
"""An edge that has more of them, as for gathers or buttons, has no pocket's among them."""
SMALL = 0.5
"""A bag is smaller than that part of the smaller piece that it is sewn to."""
HANGS = 0.04
"""How far the middle of a bag lies below that of its mouth, in parts of the mouth, at least."""
LIKE_MM, BENT_MM, CLEAR_MM = 0.3, 1.0, 0.25
"""Two lines are one line so near to each other; a mouth is bent by so much, at least, where that
tells anything; and of two ways one is that much nearer."""
SAMPLES = 33
"""Points of a line that are compared with those of another one."""


@dataclass(frozen=True)
class Mouth:
    """Two notches on each side of a seam that meet, the upper one first.

    Attributes
    ----------
    sides : (Span, Span)
        From the upper to the lower notch, of the lead and of the follower.
    tops : (Span, Span)
        From the end of the seam above to the upper notch.
    lengths, above : (sizes,) arrays, mm
        Of the mouth, and from the end of the seam above it, on the lead.
    """

    sides: tuple[Span, Span]
    tops: tuple[Span, Span]
    lengths: Array
    above: Array


@dataclass(frozen=True)
class Bag:
    """An edge of a piece that fits a mouth, from its upper end to its lower one.

    Attributes
    ----------
    span : Span
    reaches : str or None
        The end of the edge at which it begins, where that is the end of the seam.
    off : float
        How far its length is from the mouth's at worst, mm.
    hangs : float
        How far the middle of the piece lies below the middle of the mouth, in parts of it.
    apart : ((float, float), (float, float))
        How far its line lies from that of the mouth on each side, and the other way round, mm.
    """

    span: Span
    reaches: str | None
    off: float
    hangs: float
    apart: tuple[tuple[float, float], tuple[float, float]]

    @property
    def whole(self) -> bool:
        """Whether it is a whole edge, without notches."""
        return {self.span.begin, self.span.end} == {"start", "end"}

    @property
    def near(self) -> float:
        """How far its line is from the nearer of the two lines of the mouth, mm."""
        return min(own for own, _ in self.apart)

    @property
    def is_bent_so(self) -> bool:
        """Whether its line is that of the mouth, and is not the other way round."""
        return self.near <= LIKE_MM and min(other for _, other in self.apart) - self.near > CLEAR_MM

    @property
    def tells_way(self) -> bool:
        """Whether something tells which of its ends is the upper one."""
        return self.reaches is not None or self.hangs >= HANGS or self.is_bent_so

    @property
    def run(self) -> Run:
        """What of it is sewn."""
        return (
            Span(self.span.piece, self.span.edge, self.reaches or self.span.begin, self.span.end),
        )


def list_bags(
    nest: Nest, mouth: Mouth, taken: Collection[str], copies: Collection[str]
) -> list[Bag]:
    """The edge of each piece that fits a mouth best."""
    mains = [span.piece for span in mouth.sides]
    largest = SMALL * min(nest.area[piece] for piece in mains)
    found: dict[str, Bag] = {}
    for edge in nest.edges.values():
        small = edge.piece not in mains and nest.area[edge.piece] <= largest
        few = len(edge.marks) <= MOST_MARKS
        if small and few and edge.key not in taken and edge.piece not in copies:
            for bag in _fit_bag(nest, mouth, edge):
                before = found.get(edge.piece)
                if before is None or _rank_bag(bag) < _rank_bag(before):
                    found[edge.piece] = bag
    marked = [bag for bag in found.values() if not bag.whole]
    return sorted(
        marked or found.values(), key=lambda bag: (nest.area[bag.span.piece], bag.span.key)
    )


def _rank_bag(bag: Bag) -> tuple[bool, bool, bool, float, float, str]:
    return (
        bag.whole,
        bag.reaches is None,
        not bag.is_bent_so,
        -bag.hangs,
        round(bag.off, 6),
        str(bag.span),
    )


def _fit_bag(nest: Nest, mouth: Mouth, edge: EdgeMeasure) -> Iterator[Bag]:
    marks: Mapping[str, Array] = edge.marks
    ends = list(permutations(marks, 2)) if marks else [("start", "end"), ("end", "start")]
    for upper, lower in ends:
        begin, end = edge.place(upper), edge.place(lower)
        if abs(abs(end[nest.base] - begin[nest.base]) - mouth.lengths[nest.base]) > NEAR_MM:
            continue
        off = float(np.abs(np.abs(end - begin) - mouth.lengths).max())
        if off > NEAR_MM:
            continue
        forward = float(begin[nest.base]) < float(end[nest.base])
        above = begin if forward else edge.lengths - begin
        near = float(np.abs(above - mouth.above).max()) <= NEAR_MM
        whole_above = all(span.begin in ("start", "end") for span in mouth.tops)
        reaches = ("start" if forward else "end") if near and marks and whole_above else None
        span = Span(edge.piece, edge.edge, upper, lower)
        first, second = (_measure_apart(nest, side, span) for side in mouth.sides)
        yield Bag(span, reaches, off, _measure_hanging(nest, edge, upper, lower), (first, second))


def _measure_apart(nest: Nest, side: Span, bag: Span) -> tuple[float, float]:
    """How far two lines lie apart, chord on chord, either side up, and the other way round, mm."""
    wanted, own = (lay_chord(nest, span) for span in (side, bag))
    back = lay_chord(nest, Span(bag.piece, bag.edge, bag.end, bag.begin))
    near, other = (
        min(float(np.abs(wanted - line).max()), float(np.abs(wanted - line.conj()).max()))
        for line in (own, back)
    )
    return near, other


def lay_chord(nest: Nest, span: Span) -> npt.NDArray[np.complex128]:
    """Points of a span in the base size, laid so that its chord goes to the right."""
    x, y = sample_line(span_points(nest.in_base(span.piece), span), SAMPLES).T
    line = x - x[0] + 1j * (y - y[0])
    return np.asarray(line * abs(line[-1]) / line[-1])


def _measure_hanging(nest: Nest, edge: EdgeMeasure, upper: str, lower: str) -> float:
    """How far the middle of a piece lies towards the lower end of its mouth, in parts of it."""
    sized = nest.in_base(edge.piece)
    points = sized.edge(edge.edge).points
    a, b = (
        np.asarray(point_at(points, float(edge.place(mark)[nest.base]))) for mark in (upper, lower)
    )
    x, y = sized.outline.T
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    middle = np.array(
        [((x + np.roll(x, -1)) * cross).sum(), ((y + np.roll(y, -1)) * cross).sum()]
    ) / (3.0 * cross.sum())
    way = b - a
    return float((middle - (a + b) / 2.0) @ way / max(float(way @ way), 1e-9))
