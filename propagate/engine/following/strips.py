"""Strips among the followers: a zone between two marks has one unknown, by how much it grows.

Marks are where what is asked of a strip begins and ends, on either of its long sides.  What no
seam asks about keeps its length.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from propagate.engine.following.giving import Setting
from propagate.engine.following.lengths import Line
from propagate.engine.following.outline import EdgeLine, with_vertices
from propagate.engine.strip import Strip, StripField, stretched_piece, strip_field
from propagate.engine.strips_found import strip_of
from propagate.geometry.arrays import Array
from propagate.geometry.polyline import points_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Run
from propagate.pattern.spans import span_ends
from propagate.tolerances import SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["StripPlan", "plan_strips"]

_CLOSE_MM = 3.0
"""Marks of the two sides that lie across from each other within this are one."""


@dataclass(frozen=True, eq=False)
class StripPlan:
    """What may give on a strip.

    Attributes
    ----------
    marks : (k + 1,) array
        Places, ascending, mm.
    asked : tuple of int
        The zones, by number, that have an unknown.
    first : int
        Number of the first unknown.
    stays : float
        The place that does not move, mm: the fold, or the middle of what is sewn.
    """

    strip: Strip
    marks: Array
    asked: tuple[int, ...]
    first: int
    stays: float

    def field(self, q: Array) -> StripField:
        """Return the displacement for the values of all unknowns."""
        gains = np.zeros(len(self.marks) - 1)
        gains[list(self.asked)] = q[self.first : self.first + len(self.asked)]
        return strip_field(self.strip, self.marks, gains, self.stays)

    def lines(self, places: Mapping[str, Sequence[float]]) -> list[EdgeLine]:
        """Make every edge a line that hangs on the unknowns.

        Parameters
        ----------
        places : mapping of edge name to distances
            Where a vertex is needed.
        """
        unknowns = np.arange(self.first, self.first + len(self.asked))
        each = np.eye(self.first + len(self.asked))[self.first :]
        fields = [self.field(one) for one in each]
        found = []
        for edge in self.strip.piece.edges:
            points = with_vertices(edge.points, places.get(edge.name, ()))
            at = self.strip.places_on(edge.name, points)
            slope = np.zeros((len(points), 2, len(fields)))
            for k, field in enumerate(fields):
                slope[:, :, k] = field.at(at)
            found.append(EdgeLine(edge, Line(points, unknowns, slope), edge.turns))
        return found

    def stretched(self, q: Array) -> SizedPiece | None:
        """Stretch the strip by the unknowns; None where they leave it as it is."""
        own = q[self.first : self.first + len(self.asked)]
        if np.abs(own).max(initial=0.0) <= SAME_POINT_MM:
            return None
        return stretched_piece(self.strip, self.field(q))


def plan_strips(setting: Setting) -> dict[str, StripPlan]:
    """Find what may give on each strip among the followers, by name, unknowns from 0 on."""
    found: dict[str, StripPlan] = {}
    count = 0
    for name, piece in setting.pieces.items():
        sides = strip_of(setting.state.pattern, name)
        if sides is None:
            continue
        strip = Strip(piece, sides.near, sides.far)
        stretches = [
            stretch
            for ask in setting.asks
            for run in ask.runs
            for stretch in _find_stretches(strip, name, run)
        ]
        marks = _find_marks(stretches)
        middles = (marks[1:] + marks[:-1]) / 2
        asked = tuple(
            k
            for k, middle in enumerate(middles.tolist())
            if any(low < middle < high for low, high in stretches)
        )
        if asked:
            found[name] = StripPlan(
                strip, marks, asked, count, _find_still(setting, name, strip, marks)
            )
            count += len(asked)
    return found


def _find_stretches(strip: Strip, name: str, run: Run) -> list[tuple[float, float]]:
    """Find the stretches of a strip that a run asks about, edges that run on taken together."""
    found: list[tuple[float, float]] = []
    goes_on = False
    for span in run:
        side = next((s for s in (strip.near, strip.far) if span.edge in s), None)
        if span.piece != name or side is None:
            goes_on = False
            continue
        at = np.array(span_ends(strip.piece, span))
        if span.edge in strip.starts:
            places = strip.starts[span.edge] + at
        else:
            places = strip.places(points_at(strip.piece.edge(span.edge).points, at))
        begin, end = np.clip(np.sort(places), *strip.body).tolist()
        if goes_on:
            found[-1] = min(found[-1][0], begin), max(found[-1][1], end)
        else:
            found.append((begin, end))
        goes_on = True
    return found


def _find_marks(stretches: Sequence[tuple[float, float]]) -> Array:
    """Find where zones begin and end: the ends of stretches, those that are close as one."""
    groups: list[list[float]] = []
    for place in sorted({place for stretch in stretches for place in stretch}):
        if groups and place - groups[-1][-1] <= _CLOSE_MM:
            groups[-1].append(place)
        else:
            groups.append([place])
    return np.array([(group[0] + group[-1]) / 2 for group in groups])


def _find_still(setting: Setting, name: str, strip: Strip, marks: Array) -> float:
    """Find the place that does not move: the fold, else the middle, the least movement."""
    info = setting.state.pattern.info.get(name)
    piece, whole = strip.piece, float(marks[0] + marks[-1]) / 2
    if info is None or info.fold is None or info.fold in (*strip.near, *strip.far):
        return whole
    line = strip.line
    gaps = [np.hypot(*(piece.edge(info.fold).points - end).T).min() for end in (line[0], line[-1])]
    return float(strip.body[0] if gaps[0] <= gaps[1] else strip.body[1])
