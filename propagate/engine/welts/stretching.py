"""A piece that is sewn to an opening made longer or shorter along it.

By hand it is cut in the middle and spread, or lapped.  Here what lies between the last
centimetres at both ends is stretched evenly, so that corners keep their shape and a slanted foot
stays straight; back again is exactly what it was.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.engine.marks_on_lines import nearest_place, put_mark
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.tape import edge_from_parts
from propagate.geometry.arrays import Array
from propagate.geometry.polyline import as_pair, is_straight, point_at
from propagate.pattern.model import InternalLine, Mark, SizedPiece
from propagate.pattern.runs import Span
from propagate.pattern.spans import span_ends
from propagate.values import dataclass

__all__ = ["stretch_span"]

_KEPT_MM = 30.0
"""So much at each end of the edge keeps its shape, where the edge is long enough."""
_LONG_MM = 100.0


@dataclass(frozen=True)
class _Stretch:
    """Points go apart along a direction, from a middle; beyond `half` by as much as its ends."""

    middle: Array
    ahead: Array
    half: float
    by: float

    def of(self, points: Array) -> Array:
        """Move points (n, 2) to their new places."""
        away = (points - self.middle) @ self.ahead
        share = np.clip(away / self.half, -1.0, 1.0)
        return points + np.outer(share * self.by / 2.0, self.ahead)

    def breaks(self, points: Array) -> Array:
        """Add a point to a line where the stretch begins and where it ends."""
        away = (points - self.middle) @ self.ahead
        found = [points[:1]]
        for k in range(len(points) - 1):
            a, b = away[k], away[k + 1]
            shares = [
                (at - a) / (b - a)
                for at in (-self.half, self.half)
                if min(a, b) + 1e-6 < at < max(a, b) - 1e-6
            ]
            chord = points[k + 1] - points[k]
            found += [(points[k] + share * chord)[None] for share in sorted(shares)]
            found.append(points[k + 1 : k + 2])
        return np.vstack(found)


def stretch_span(piece: SizedPiece, span: Span, by: float) -> SizedPiece:
    """Make a stretch of one of the edges of a piece longer by some millimetres, or shorter.

    Parameters
    ----------
    span : Span
        What is stretched; the piece goes apart along the line between its two ends.
    by : float
        mm; below 0 it becomes shorter.
    """
    points = piece.edge(span.edge).points
    ends = np.array([point_at(points, at) for at in span_ends(piece, span)])
    long = float(np.hypot(*(ends[1] - ends[0])))
    kept = _KEPT_MM if min(long, long + by) >= _LONG_MM else 0.0
    stretch = _Stretch(ends.mean(axis=0), (ends[1] - ends[0]) / long, long / 2.0 - kept, by)

    def put(point: tuple[float, float]) -> tuple[float, float]:
        return as_pair(rounded(stretch.of(np.array([point]))[0]))

    edges = []
    for edge in piece.edges:
        line = stretch.breaks(edge.points)
        line = edge.points if is_straight(stretch.of(line)) else line
        corners = rounded(stretch.of(edge.turn_points))
        edges.append(edge_from_parts(edge.name, [rounded(stretch.of(line))], corners))
    new = replace(
        piece,
        edges=share_corners(edges, piece.edges),
        darts=tuple(replace(dart, tip=put(dart.tip)) for dart in piece.darts),
        lines=tuple(InternalLine(one.name, rounded(stretch.of(one.points))) for one in piece.lines),
        drills=tuple(Mark(mark.name, put(mark.point)) for mark in piece.drills),
        levels={name: put(at) for name, at in piece.levels.items()},
    )
    marks = []
    for mark in piece.landmarks:
        own = new.edge(mark.edge)
        marks.append(put_mark(mark, own, nearest_place(own, put(mark.point))))
    return replace(new, landmarks=tuple(marks))
