"""Lines beside a run: what is sewn to it is as long as a line at a distance from its seam line.

The fold of a binding does not lie on the seam line.  Round a circle of radius r it lies, at a
distance d, on one of radius r + d or r - d: it is longer or shorter by 2 pi d.  Of any smooth line
the parallel is longer by d times the angle by which the line turns (Steiner's formula).
"""

from __future__ import annotations

from typing import Protocol

import numpy as np

from propagate.geometry.corner import turns_along
from propagate.geometry.polyline import arc_lengths, between
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.runs import Run, Span
from propagate.pattern.spans import Lookup, folded_mouths, run_length, span_ends
from propagate.pattern.told import told
from propagate.tolerances import SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["INSIDE", "OUT", "Beside", "LineBeside", "is_beside", "length_beside", "line_beside"]


OUT = told(
    "length",
    "how far outside of the seam line of the run the line lies that gives the length: the fold of "
    "a binding",
)
INSIDE = told("length", "how far inside of it", key="in")


class Beside(Protocol):
    """What says at which distance from a run its length is taken."""

    @property
    def out(self) -> float:
        """How far outside of the piece, mm."""

    @property
    def inside(self) -> float:
        """How far inside of it, mm."""


@dataclass(frozen=True)
class LineBeside:
    """The line at a distance from a run.

    Attributes
    ----------
    places : (n,) array
        Distances along the run, darts closed, mm.
    lengths : (n,) array
        Length of the line beside it up to each, mm.
    """

    places: Array
    lengths: Array

    def at(self, distance: float) -> float:
        """Length of the line up to a distance along the run, mm."""
        return float(np.interp(distance, self.places, self.lengths))


def is_beside(said: Beside) -> bool:
    """Whether another line than the seam line itself gives the length."""
    return bool(said.out or said.inside)


def length_beside(lookup: Lookup, run: Run, said: Beside) -> float:
    """Length of a run as a join says it: of its seam line, or of the line beside it, mm."""
    if not is_beside(said):
        return run_length(lookup, run)
    return float(line_beside(lookup, run, said.out - said.inside).lengths[-1])


def line_beside(lookup: Lookup, run: Run, out: float) -> LineBeside:
    """The line at a distance from a run, darts closed; the run goes on smoothly from span to span.

    Parameters
    ----------
    lookup : callable
    run : Run
    out : float
        mm outside of the pieces, negative inside.
    """
    places, lengths = [np.zeros(1)], [np.zeros(1)]
    for span in run:
        for arc, turned in _sewn_parts(lookup(span.piece), span):
            # Where the line bends more tightly than `out` nothing is left of its parallel.
            steps = np.maximum(np.diff(arc) + out * np.diff(turned), 0.0)
            places.append(places[-1][-1] + arc[1:] - arc[0])
            lengths.append(lengths[-1][-1] + np.cumsum(steps))
    return LineBeside(np.concatenate(places), np.concatenate(lengths))


def _sewn_parts(piece: SizedPiece, span: Span) -> list[tuple[Array, Array]]:
    """Of each part of a span between darts, as it is sewn: distances, and turns up to each."""
    begin, end = span_ends(piece, span)
    low, high = min(begin, end), max(begin, end)
    edge = piece.edge(span.edge)
    cuts = [0.0, *(leg for mouth in folded_mouths(piece, span.edge) for leg in mouth), edge.length]
    parts = []
    for first, last in zip(cuts[::2], cuts[1::2], strict=True):
        a, b = max(first, low), min(last, high)
        if b - a <= SAME_POINT_MM:
            continue
        points = between(edge.points, first, last)
        arc = arc_lengths(points) + first
        inner = (arc > a + SAME_POINT_MM) & (arc < b - SAME_POINT_MM)
        at = np.concatenate([[a], arc[inner], [b]])
        parts.append((at, np.interp(at, arc, turns_along(points))))
    if begin <= end:
        return parts
    # Against its edge it turns the other way, and the outer side is the other one: the same sign.
    return [(edge.length - at[::-1], -turned[::-1]) for at, turned in reversed(parts)]
