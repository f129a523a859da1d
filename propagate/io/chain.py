"""A line made of straight pieces and Bezier curves, in millimetres with y up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely

from propagate.io.path_data import Point, flatten_path
from propagate.pattern.model import Array, frozen_points
from propagate.tolerances import CHORD_ERROR_MM, DECIMALS, SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["Chain", "Point", "number_text", "tidy_chain"]

_LETTERS = {1: "L", 2: "Q", 3: "C"}


def number_text(value: float, decimals: int = DECIMALS) -> str:
    """The shortest decimal of a number rounded to `decimals`."""
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


@dataclass(frozen=True)
class Chain:
    """A start and, for each segment, its control points after the one before.

    Attributes
    ----------
    start : Point
    segments : tuple of tuples of Point
        One point: a straight line; two: a quadratic curve; three: a cubic one.
    closed : bool
        The last point is the start.
    """

    start: Point
    segments: tuple[tuple[Point, ...], ...]
    closed: bool = False

    @property
    def end(self) -> Point:
        """The last point."""
        return self.segments[-1][-1] if self.segments else self.start

    @property
    def curved(self) -> bool:
        """Whether any segment is a curve."""
        return any(len(segment) > 1 for segment in self.segments)

    def cost(self) -> float:
        """About how many points it is flattened to.

        The number of steps that `flatten_path` takes, from the second differences of the
        control points.
        """
        total = float(len(self.segments))
        for start, segment in zip(self.starts(), self.segments, strict=True):
            if len(segment) > 1:
                controls = (start, *segment)
                bend = max(
                    math.hypot(a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1])
                    for a, b, c in zip(controls, controls[1:], controls[2:], strict=False)
                )
                total += math.sqrt(bend * len(segment) * (len(segment) - 1) / (8 * CHORD_ERROR_MM))
        return total

    def starts(self) -> list[Point]:
        """The first point of every segment."""
        return [self.start, *(segment[-1] for segment in self.segments[:-1])]

    def reversed(self) -> Chain:
        """The same line from its other end."""
        segments = [
            (*segment[-2::-1], start)
            for start, segment in zip(self.starts(), self.segments, strict=True)
        ]
        return Chain(self.end, tuple(segments[::-1]), self.closed)

    def part(self, first: int, last: int) -> Chain:
        """Segments `first` up to but not `last`; of a closed line `last` may run over."""
        count = len(self.segments)
        starts = self.starts()
        segments = tuple(self.segments[i % count] for i in range(first, last))
        return Chain(starts[first % count], segments)

    def split(self, vertices: Sequence[int]) -> list[Chain]:
        """Parts of a closed line from one vertex to the next; each begins a segment."""
        segment = {vertex: index for index, vertex in enumerate(self.joints)}
        at = [segment[vertex] for vertex in vertices]
        ends = (b if b > a else b + len(self.segments) for a, b in pairwise([*at, at[0]]))
        return [self.part(a, b) for a, b in zip(at, ends, strict=True)]

    def with_ends(self, start: Point, end: Point) -> Chain:
        """The same line with its two ends put elsewhere (to close a small gap)."""
        if (start, end) == (self.start, self.end):
            return self
        *before, last = self.segments
        return Chain(start, (*before, (*last[:-1], end)), self.closed)

    def text(self, decimals: int = DECIMALS, *, flip: bool = False) -> str:
        """Path data; `flip` turns y down."""
        sign = -1.0 if flip else 1.0

        def words(points: Sequence[Point]) -> str:
            return " ".join(
                f"{number_text(x, decimals)} {number_text(sign * y, decimals)}" for x, y in points
            )

        parts = [f"M {words([self.start])}"]
        parts += [f"{_LETTERS[len(segment)]} {words(segment)}" for segment in self.segments]
        if self.closed:
            parts.append("Z")
        return " ".join(parts)

    @cached_property
    def _flat(self) -> tuple[Array, tuple[int, ...]]:
        """Points, and the index of the vertex at the start of every segment."""
        points: list[Point] = [self.start]
        joints = []
        here = self.start
        for segment in self.segments:
            joints.append(len(points) - 1)
            if len(segment) == 1:
                points.append(segment[0])
            else:
                flat, _ = flatten_path(Chain(here, (segment,)).text(DECIMALS + 3))
                points += [(float(x), float(y)) for x, y in flat[1:-1]]
                points.append(segment[-1])
            here = segment[-1]
        return frozen_points(points), tuple(joints)

    @property
    def points(self) -> Array:
        """(n, 2) points, chord error at most 0.01 mm; of a closed line the start twice."""
        return self._flat[0]

    @property
    def joints(self) -> tuple[int, ...]:
        """Index into `points` of the start of every segment."""
        return self._flat[1]

    @cached_property
    def figure(self) -> shapely.LineString:
        """The points as a figure that can be measured."""
        return shapely.LineString(self.points)

    @cached_property
    def length(self) -> float:
        """Length, mm."""
        return float(np.hypot(*np.diff(self.points, axis=0).T).sum())


def tidy_chain(
    start: Point, segments: Sequence[tuple[Point, ...]], closed: bool, least: float = SAME_POINT_MM
) -> Chain | None:
    """Round to a nanometre and leave out segments that reach no farther than `least`, mm.

    None when nothing is left.
    """

    def rounded(point: Point) -> Point:
        return round(point[0], DECIMALS) + 0.0, round(point[1], DECIMALS) + 0.0

    here = first = rounded(start)
    kept: list[tuple[Point, ...]] = []
    for segment in segments:
        if len(segment) == 1:
            points: tuple[Point, ...] = (rounded(segment[0]),)
            reach = math.dist(here, points[0])
        else:
            points = tuple(map(rounded, segment))
            reach = max(math.dist(here, point) for point in points)
        if reach > least:
            kept.append(points)
            here = points[-1]
    if closed and kept and math.dist(here, first) > least:
        kept.append((first,))
    elif closed and kept:
        kept[-1] = (*kept[-1][:-1], first)
    return Chain(first, tuple(kept), closed) if kept else None
