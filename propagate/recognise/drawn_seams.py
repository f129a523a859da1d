"""Both lines of a piece where they are drawn: which is the seam line, the allowances between."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from propagate.geometry.corner import signed_area
from propagate.geometry.polyline import length, locate_all, near_vertices, points_at
from propagate.lengths import MM_PER_INCH
from propagate.pattern.model import Array, Edge, InternalLine, SizedPiece, frozen_points
from propagate.values import dataclass

__all__ = ["Measured", "allowances_between", "as_drawn", "close_on_fold", "drawn_seam"]

_PLACES: Final = 7
_ROUND: Final = (0.5, MM_PER_INCH / 16)
_ROUND_WITHIN_MM: Final = 0.02
_CLOSED_MM: Final = 0.1
_SHARE: Final = 0.5
"""A closed line inside a piece encloses at least this share of it when it is its seam line."""
_CORNER_MM: Final = 1.0


@dataclass(frozen=True)
class Measured:
    """The allowance between two lines along one edge, rounded, and what was found, mm."""

    width: float
    least: float
    most: float


def allowances_between(edges: Sequence[Array], other: Array) -> list[Measured]:
    """Measure how far a closed line lies from every edge.

    The distance is taken at places between a fifth and four fifths of the edge, away from
    corners; the median counts.  It is rounded to half a millimetre or a sixteenth of an inch
    where it lies within 0.02 mm of that.

    Parameters
    ----------
    edges : sequence of (n, 2) arrays, mm
    other : (n, 2) array, mm
        Closed, the first point not repeated.
    """
    closed = np.vstack([other, other[:1]])
    shares = np.linspace(0.2, 0.8, _PLACES)
    places = [points_at(edge, shares * length(edge)) for edge in edges]
    found = []
    for gaps in locate_all(closed, np.concatenate(places))[1].reshape(len(edges), _PLACES):
        width = float(np.median(gaps))
        near = (round(width / step) * step for step in _ROUND)
        rounded = next((one for one in near if abs(one - width) <= _ROUND_WITHIN_MM), None)
        width = round(width, 2) if rounded is None else round(rounded, 4)
        found.append(Measured(width, float(gaps.min()), float(gaps.max())))
    return found


def close_on_fold(sized: SizedPiece) -> SizedPiece:
    """A piece whose seam line leaves out a stretch in which it runs on the cut line, closed there.

    Both lines of half a piece run on its fold, and a drawing that shows it once leaves the
    other open.  Closed is what ends on a straight stretch of the outline and encloses most of it.
    """
    rim = np.vstack([sized.outline, sized.outline[:1]])
    whole = abs(signed_area(sized.outline))
    shares = np.linspace(0.0, 1.0, _PLACES)[:, None]

    def close(line: InternalLine) -> InternalLine:
        first, last = line.points[0], line.points[-1]
        if len(line.points) <= 3 or np.hypot(*(first - last)) <= _CLOSED_MM:
            return line
        if abs(signed_area(line.points)) < _SHARE * whole:
            return line
        if locate_all(rim, last + shares * (first - last))[1].max() > _CLOSED_MM:
            return line
        return InternalLine(line.name, frozen_points(np.vstack([line.points, first])))

    lines = tuple(map(close, sized.lines))
    return replace(sized, lines=lines) if lines != sized.lines else sized


def drawn_seam(nest: Mapping[str, SizedPiece]) -> str | None:
    """Name of the line inside a piece that is its seam line, in every size; None without one."""
    found: dict[str, float] = {}
    for sized in nest.values():
        whole = abs(signed_area(sized.outline))
        own = {
            line.name: abs(signed_area(line.points[:-1])) / whole
            for line in sized.lines
            if len(line.points) > 3 and np.hypot(*(line.points[0] - line.points[-1])) <= _CLOSED_MM
        }
        large = {name: share for name, share in own.items() if _SHARE <= share <= 1.0}
        found = {
            name: min(share, found[name] if found else share)
            for name, share in large.items()
            if not found or name in found
        }
        if not found:
            return None
    return max(found, key=lambda name: (found[name], name))


def as_drawn(edges: Sequence[Edge], ring: Array) -> tuple[Edge, ...] | None:
    """The edges of a seam line with the vertices of the drawn one.

    Parameters
    ----------
    edges : sequence of Edge
        As they follow from the cut line; their corners tell where the drawn line is parted.
    ring : (n, 2) array, mm
        Closed, its first point repeated or not.

    Returns
    -------
    tuple of Edge or None
        None where a corner is no vertex of the drawn line.
    """
    points = ring[:-1] if np.hypot(*(ring[0] - ring[-1])) <= _CLOSED_MM else ring
    points = points if signed_area(points) > 0.0 else points[::-1]
    corners = np.array([edge.points[0] for edge in edges])
    at = near_vertices(points, corners, _CORNER_MM).tolist()
    count = len(points)
    steps = [(b - a) % count or count for a, b in zip(at, [*at[1:], at[0]], strict=True)]
    if min(at) < 0 or sum(steps) != count:
        return None
    found = []
    for edge, start, size in zip(edges, at, steps, strict=True):
        own = points[np.arange(start, start + size + 1) % count]
        turns = near_vertices(own, edge.points[list(edge.turns)], _CORNER_MM).tolist()
        inner = sorted({turn for turn in turns if 0 < turn < size})
        found.append(Edge(edge.name, frozen_points(own), tuple(inner)))
    return tuple(found)
