"""The runs that may be one side of a seam, each with its measures.

A row is an edge, the part of an edge from one of its ends to a landmark, or two spans of
different pieces that run on into each other at a joint.  Rows run along the outline.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from propagate.geometry.profile import SAMPLES, tangent_profile
from propagate.pattern.relations import Run, Span
from propagate.pattern.spans import span_points
from propagate.suggesting.nest import Nest
from propagate.suggesting.proposal import Fact
from propagate.values import dataclass

__all__ = ["End", "Joint", "Row", "list_rows", "measure_run"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class End:
    """An end of a row.

    Attributes
    ----------
    angles : (looks,) array or None
        Interior angle, degrees; None where the row ends on the way, at a landmark.
    crossing : str or None
        ``PIECE.EDGE`` that runs on across the row's end.
    """

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
    joints : tuple of (sizes,) distances from the run's start
        Where one span ends and the next begins.
    """

    run: Run
    lengths: Array
    marks: tuple[tuple[str, Array], ...]
    ends: tuple[End, End]
    profile: Array
    facts: tuple[Fact, ...] = ()
    joints: tuple[Array, ...] = ()

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


def list_rows(nest: Nest, joints: Iterable[Joint]) -> list[Row]:
    """Return all rows: edges, end parts of edges, and joined pairs of spans.

    An edge on the fold of the cloth is sewn to nothing and gives no row; one that is crowded with
    marks gives the whole of it alone.
    """
    rows = []
    for edge in nest.edges.values():
        if nest.is_fold(edge.key):
            continue
        rows.append(_measure_span(nest, Span(edge.piece, edge.edge)))
        for mark in () if edge.crowded else edge.marks:
            rows.append(_measure_span(nest, Span(edge.piece, edge.edge, "start", mark)))
            rows.append(_measure_span(nest, Span(edge.piece, edge.edge, mark, "end")))
    joined: dict[Run, tuple[Fact, ...]] = {}
    for joint in joints:
        joined.setdefault((joint.first, joint.second), joint.facts)
    for run, facts in joined.items():
        if not any(nest.is_fold(span.key) for span in run):
            # A joint that is only supposed is no place for a notch to meet.
            rows.append(replace(measure_run(nest, run, facts), joints=()))
    return rows


def _measure_span(nest: Nest, span: Span) -> Row:
    """Measure one span; it may run against the outline."""
    edge = nest.edges[span.key]
    begin, end = edge.place(span.begin), edge.place(span.end)
    low, high = sorted((begin[nest.base], end[nest.base]))
    inside = tuple(
        (f"{span.piece}.{mark}", np.abs(at - begin))
        for mark, at in edge.marks.items()
        if mark not in (span.begin, span.end) and low < at[nest.base] < high
    )
    profile = edge.profile
    if (span.begin, span.end) != ("start", "end"):
        profile = tangent_profile(span_points(nest.in_base(span.piece), span))
    ends = _look_at_end(nest, span, span.begin), _look_at_end(nest, span, span.end)
    return Row((span,), np.abs(end - begin), inside, ends, profile)


def _look_at_end(nest: Nest, span: Span, mark: str) -> End:
    if mark not in ("start", "end"):
        return End()
    crossing = nest.beside(nest.edges[span.key])[0 if mark == "start" else 1]
    return End(nest.corner(span.piece, span.edge, at_start=mark == "start"), crossing.key)


def measure_run(nest: Nest, run: Run, facts: tuple[Fact, ...] = ()) -> Row:
    """Measure a run of any number of spans, sewn as one line, in its own direction."""
    first, *more = (_measure_span(nest, span) for span in run)
    for second in more:
        first = Row(
            first.run + second.run,
            first.lengths + second.lengths,
            first.marks + tuple((name, at + first.lengths) for name, at in second.marks),
            (first.ends[0], second.ends[1]),
            _join_profiles(first, second, nest.base),
            facts,
            (*first.joints, first.lengths),
        )
    return first


def _join_profiles(first: Row, second: Row, base: int) -> Array:
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
