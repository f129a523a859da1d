"""The seam line against the lines beside it: allowances, and the true course of a curve."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from propagate.geometry.polyline import length, locate_all, near_vertices, points_at
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.shapes import Line
from propagate.lengths import MM_PER_INCH
from propagate.pattern.model import Array
from propagate.pattern.relations import Allowance

__all__ = ["measured_allowance", "seam_inside", "truer"]

MOST_CURVE_POINTS = 50_000
_SPREAD_MM = 0.5
_PLACES = 7
_TRUE_MM = 0.1
_ROUND = (0.5, MM_PER_INCH / 16)
_ROUND_WITHIN_MM = 0.02


def measured_allowance(
    edges: Sequence[Array], names: Sequence[str], cut: Array, notes: Notes, where: str
) -> Allowance:
    """Measure the allowance of every edge as the distance of the cut line from it.

    The distance is taken at places between a fifth and four fifths of the edge, away from
    corners; the median counts.
    """
    closed = np.vstack([cut, cut[:1]])
    widths: dict[str, float] = {}
    every = locate_all(closed, np.concatenate([_places(edge) for edge in edges]))[1]
    for name in names:
        gaps = every[len(widths) * _PLACES : (len(widths) + 1) * _PLACES]
        widths[name] = _rounded(float(np.median(gaps)))
        if np.ptp(gaps) > _SPREAD_MM:
            notes.warn(
                f"edge '{name}': the cut line lies {gaps.min():.2f} to {gaps.max():.2f} mm from "
                f"the seam line; its allowance is taken as {widths[name]:g} mm",
                where=where,
            )
    default = Counter(widths.values()).most_common(1)[0][0]
    return Allowance(default, {name: w for name, w in widths.items() if w != default})


def _places(edge: Array) -> Array:
    return points_at(edge, np.linspace(0.2, 0.8, _PLACES) * length(edge))


def _rounded(width: float) -> float:
    for step in _ROUND:
        near = round(width / step) * step
        if abs(near - width) <= _ROUND_WITHIN_MM:
            return round(near, 4)
    return round(width, 2)


def truer(outline: Array, curves: Sequence[Line], notes: Notes, where: str) -> Array:
    """Check an outline against its quality-validation curves.

    A stretch that departs from its curve by more than 0.1 mm is replaced by the curve,
    when the curve's ends are vertices of the outline.
    """
    if sum(len(curve.points) for curve in curves) > MOST_CURVE_POINTS:
        notes.warn(
            f"its quality-validation curves have more than {MOST_CURVE_POINTS} points; they were "
            "not looked at",
            where=where,
        )
        return outline
    for curve, off in zip(curves, _departures(outline, curves), strict=True):
        points = curve.points
        if off <= _TRUE_MM:
            continue
        ends = near_vertices(outline, points[[0, -1]])
        if (ends < 0).any() or ends[0] == ends[1] or curve.closed:
            notes.warn(
                f"a quality-validation curve departs from the outline by {off:.2f} mm and does "
                "not begin and end on it; the outline is taken as drawn",
                where=where,
            )
            continue
        notes.info(
            f"the outline departs from its quality-validation curve by {off:.2f} mm: the curve "
            "is taken",
            where=where,
        )
        outline = _replaced(outline, int(ends[0]), int(ends[1]), points)
    return outline


def _departures(outline: Array, curves: Sequence[Line]) -> list[float]:
    """How far each curve departs from an outline, mm; 0 where it has the outline's vertices."""
    if not curves:
        return []
    every = np.concatenate([curve.points for curve in curves])
    gaps = np.zeros(len(every))
    free = near_vertices(outline, every) < 0
    if free.any():
        gaps[free] = locate_all(np.vstack([outline, outline[:1]]), every[free])[1]
    stops = np.cumsum([len(curve.points) for curve in curves])[:-1]
    return [float(part.max()) for part in np.split(gaps, stops)]


def _replaced(outline: Array, begin: int, end: int, points: Array) -> Array:
    count = len(outline)
    if (end - begin) % count > (begin - end) % count:  # the curve runs against the outline
        begin, end, points = end, begin, points[::-1]
    keep = np.arange(end, end + (begin - end) % count + 1) % count
    return np.vstack([outline[keep], points[1:-1]])
