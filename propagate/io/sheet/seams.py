"""Of two lines around a piece, which is the seam line and which the cut line."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from propagate.geometry.corner import signed_area
from propagate.io.sheet.outlines import closed_line, shape_of
from propagate.io.sheet.stretches import parameters, part_of_chain
from propagate.io.svg.chain import Chain
from propagate.io.svg.rings import Ring
from propagate.pattern.model import Array

__all__ = ["allowance_between", "seam_inside", "seam_to_fold"]

ALLOWANCE_MM = (2.0, 60.0)
"""Seam allowances and hems (common practice, no source)."""
FILLS = 0.75
STEP_MM = 5.0
ENDS_MM = 0.5
"""A seam line that ends at the fold ends this near to the cut line."""


def seam_inside(ring: Ring, others: Sequence[Ring]) -> Ring | None:
    """The seam line inside a cut line: it follows it all around, an allowance away."""
    around = ring.polygon.buffer(ENDS_MM)
    found = [
        other
        for other in others
        if other is not ring and around.contains(other.polygon) and _follows(other, ring)
    ]
    return max(found, key=lambda other: float(other.polygon.area), default=None)


def allowance_between(seam: Ring, cut: Ring) -> tuple[float, float]:
    """The least and the most that a seam line lies inside a cut line, mm."""
    gaps = shapely.distance(cut.polygon.exterior, shapely.points(seam.points))
    return float(gaps.min()), float(gaps.max())


def _follows(seam: Ring, cut: Ring) -> bool:
    """Whether it runs inside the cut line, apart from edges without an allowance.

    These are a straight one, as on a fold, or less than half of it when it fills the cut line.
    """
    gaps = shapely.distance(cut.polygon.exterior, shapely.points(seam.points))
    back = shapely.distance(seam.polygon.exterior, shapely.points(cut.points))
    if max(float(gaps.max()), float(back.max()) / 2) > ALLOWANCE_MM[1]:
        return False
    shared = seam.points[gaps < ALLOWANCE_MM[0]]
    if 2 * len(shared) <= len(gaps) and _in_line(shared):
        return True
    rim = shapely.get_coordinates(shapely.segmentize(seam.polygon.exterior, STEP_MM))
    apart = shapely.distance(cut.polygon.exterior, shapely.points(rim)) >= ALLOWANCE_MM[0]
    fills = float(seam.polygon.area) >= FILLS * float(cut.polygon.area)
    return fills and float(apart.mean()) >= 0.5


def _in_line(points: Array) -> bool:
    """Whether points lie on one straight line."""
    if len(points) < 2:
        return not len(points)
    apart = np.hypot(*(points - points[0]).T)
    far = points[int(apart.argmax())]
    along = (far - points[0]) / max(float(apart.max()), 1e-9)
    off = np.abs((points - points[0]) @ np.array([-along[1], along[0]]))
    return bool(off.max() <= ENDS_MM)


def seam_to_fold(cut: Ring, lines: Sequence[Chain]) -> Ring | None:
    """The seam line inside a cut line where both share a straight edge, as on a fold.

    Parameters
    ----------
    cut : Ring
    lines : sequence of Chain
        Open lines, put together.
    """
    rim = cut.polygon.exterior
    for line in sorted(lines, key=lambda chain: -chain.length):
        if line.length < 0.3 * rim.length or not rim.dwithin(line.figure, ENDS_MM):
            continue
        ends = shapely.points([line.start, line.end])
        if float(shapely.distance(rim, ends).max()) > ENDS_MM:
            continue
        gaps = shapely.distance(rim, shapely.points(line.points))
        if float(gaps.max()) > ALLOWANCE_MM[1] or not cut.polygon.dwithin(line.figure, ENDS_MM):
            continue
        found = _closed_along(line, cut)
        if found is not None and found.polygon.area > 0.4 * cut.polygon.area:
            return found
    return None


def _closed_along(line: Chain, cut: Ring) -> Ring | None:
    """An open line closed along the straight part of a cut line between its ends."""
    whole = cut.parts[0][0]
    opened = Chain(whole.start, whole.segments)
    here, there = parameters(opened, np.array([line.start, line.end]))
    low, high = sorted((here, there))
    if high - low < 1e-6:
        return None
    count = float(len(opened.segments))
    between = [part_of_chain(opened, low, high)]
    around = [part_of_chain(opened, a, b) for a, b in ((high, count), (0.0, low)) if b - a > 1e-6]
    for parts in (between, around):
        start, end = parts[0].start, parts[-1].end
        if sum(part.length for part in parts) > 1.001 * math.dist(start, end):
            continue
        way = parts if (parts is between) == (here > there) else parts[::-1]
        if way is not parts:
            way = [part.reversed() for part in way]
        closed = closed_line([line, *way])
        closed = closed if signed_area(closed.points[:-1]) > 0 else closed.reversed()
        return Ring([(closed, shape_of(closed))])
    return None
