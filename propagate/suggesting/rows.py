"""The runs that may be one side of a seam, each with its measures.

A row is an edge, the part of an edge from one of its ends to a landmark, or two spans of
different pieces that run on into each other at a joint.  Rows run along the outline.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

import numpy as np
import numpy.typing as npt

from propagate.geometry.profile import SAMPLES, tangent_profile
from propagate.pattern.relations import Run, Span
from propagate.pattern.spans import span_points
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.suggesting.proposal import Fact
from propagate.values import dataclass

__all__ = ["End", "Joint", "Row", "end_of", "row_of", "rows_of", "single_rows"]

Array = npt.NDArray[np.float64]
Place = tuple[str, str, str]
"""Piece, edge and ``start``, ``end`` or a landmark."""


@dataclass(frozen=True)
class End:
    """An end of a row.

    Attributes
    ----------
    place : Place
    angles : (looks,) array or None
        Interior angle, degrees; None where the row ends on the way, at a landmark.
    crossing : str or None
        ``PIECE.EDGE`` that runs on across the row's end.
    """

    place: Place
    angles: Array | None = None
    crossing: str | None = None


@dataclass(frozen=True)
class Joint:
    """Where a span of one piece runs on into a span of another.

    `first` ends where `second` starts.
    """

    first: Span
    second: Span
    facts: tuple[Fact, ...]


@dataclass(frozen=True)
class Row:
    """A run that may be a side of a seam.

    Attributes
    ----------
    run : Run
    lengths : (sizes,) array, mm, darts closed
    marks : tuple of (``PIECE.LANDMARK``, (sizes,) distances from the run's start)
    ends : (End, End)
    profile : (SAMPLES,) directions about their mean, degrees
    facts : tuple of Fact
        What is known of the joint of two spans.
    """

    run: Run
    lengths: Array
    marks: tuple[tuple[str, Array], ...]
    ends: tuple[End, End]
    profile: Array
    facts: tuple[Fact, ...] = ()

    @cached_property
    def pieces(self) -> frozenset[str]:
        """Pieces that the run is made of."""
        return frozenset(span.piece for span in self.run)

    @cached_property
    def whole(self) -> bool:
        """Both ends are corners."""
        return all(end.angles is not None for end in self.ends)

    @cached_property
    def keys(self) -> frozenset[str]:
        """``PIECE.EDGE`` of the spans."""
        return frozenset(span.key for span in self.run)


def rows_of(nest: Nest, joints: Iterable[Joint]) -> list[Row]:
    """Return all rows: edges, end parts of edges, and joined pairs of spans.

    An edge on the fold of the cloth is sewn to nothing and gives no row.
    """
    sewn = [edge for edge in nest.edges.values() if not nest.is_fold(edge.key)]
    rows = [row for edge in sewn for row in single_rows(nest, edge)]
    seen = set()
    for joint in joints:
        run = (joint.first, joint.second)
        if run not in seen and not any(nest.is_fold(span.key) for span in run):
            seen.add(run)
            rows.append(_join_rows(nest, joint))
    return rows


def single_rows(nest: Nest, edge: EdgeMeasure) -> list[Row]:
    """The whole edge, then its parts from either end to each landmark, unless it is crowded."""
    spans = [Span(edge.piece, edge.edge)]
    for mark in () if edge.crowded else edge.marks:
        spans += [Span(edge.piece, edge.edge, "start", mark)]
        spans += [Span(edge.piece, edge.edge, mark, "end")]
    return [_measure_single(nest, edge, span) for span in spans]


def end_of(nest: Nest, span: Span, *, at_begin: bool) -> End:
    """The end of a span that runs either way along its edge."""
    mark = span.begin if at_begin else span.end
    place = (span.piece, span.edge, mark)
    if mark not in ("start", "end"):
        return End(place)
    crossing = nest.neighbour(span.piece, span.edge, -1 if mark == "start" else 1)
    angles = nest.corner(span.piece, span.edge, at_start=mark == "start")
    return End(place, angles, crossing.key)


def _find_places(edge: EdgeMeasure, span: Span) -> tuple[Array, Array]:
    ends = {"start": np.zeros_like(edge.lengths), "end": edge.lengths, **edge.marks}
    return ends[span.begin], ends[span.end]


def _measure_single(nest: Nest, edge: EdgeMeasure, span: Span) -> Row:
    """Measure one span; it may run against the outline."""
    begin, end = _find_places(edge, span)
    lengths = np.abs(end - begin)
    inside = tuple(
        (f"{span.piece}.{mark}", np.abs(at - begin))
        for mark, at in edge.marks.items()
        if mark not in (span.begin, span.end)
        and _is_between(at[nest.base], begin[nest.base], end[nest.base])
    )
    profile = edge.profile
    if (span.begin, span.end) != ("start", "end"):
        sized = nest.pattern.sized(span.piece, nest.pattern.base)
        profile = tangent_profile(span_points(sized, span))
    ends = (end_of(nest, span, at_begin=True), end_of(nest, span, at_begin=False))
    return Row((span,), lengths, inside, ends, profile)


def _is_between(value: float, a: float, b: float) -> bool:
    return bool(min(a, b) < value < max(a, b))


def row_of(nest: Nest, run: Run) -> Row:
    """A run of any number of spans, sewn as one line, in its own direction."""
    first, *more = (_measure_single(nest, nest.edges[span.key], span) for span in run)
    for second in more:
        first = _join_two(nest, first, second, ())
    return first


def _join_rows(nest: Nest, joint: Joint) -> Row:
    first, second = (
        _measure_single(nest, nest.edges[span.key], span) for span in (joint.first, joint.second)
    )
    return _join_two(nest, first, second, joint.facts)


def _join_two(nest: Nest, first: Row, second: Row, facts: tuple[Fact, ...]) -> Row:
    marks = first.marks + tuple((name, at + first.lengths) for name, at in second.marks)
    return Row(
        first.run + second.run,
        first.lengths + second.lengths,
        marks,
        (first.ends[0], second.ends[1]),
        _one_profile(first, second, nest.base),
        facts,
    )


def _one_profile(first: Row, second: Row, base: int) -> Array:
    """Profile of two spans that run on into each other without a turn."""
    a, b = first.lengths[base], second.lengths[base]
    middle = (np.arange(SAMPLES) + 0.5) / SAMPLES
    at = np.concatenate([middle * a, a + middle * b])
    # The second span sets out in the direction in which the first one arrives.
    arrive = first.profile[-1] + (first.profile[-1] - first.profile[-2]) / 2
    leave = second.profile[0] - (second.profile[1] - second.profile[0]) / 2
    angles = np.concatenate([first.profile, second.profile + arrive - leave])
    profile: Array = np.interp(middle * (a + b), at, angles)
    return np.asarray(profile - profile.mean())
