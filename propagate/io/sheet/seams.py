"""Of two lines around a piece, which is the seam line and which the cut line."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from propagate.geometry.corner import signed_area
from propagate.io.chain import Chain
from propagate.io.sheet.outlines import closed_line, shape_of
from propagate.io.sheet.stretches import find_parameters, part_of_chain
from propagate.io.svg.rings import Ring
from propagate.pattern.model import Array

__all__ = [
    "allowance_between",
    "are_on_one_line",
    "are_seams_in_cuts",
    "seam_inside",
    "seam_to_fold",
]

ALLOWANCE_MM = (2.0, 60.0)
"""Seam allowances and hems (common practice, no source)."""
FILLS = 0.75
STEP_MM = 5.0
EVEN = 0.9
EVEN_MM = 0.3
MOST_ALLOWANCES = 3
"""Along most of a seam line the cut line runs in one of few widths, within a print's precision;
what is between is where they change over, at the ends of edges."""
SAME_MM = 0.5
"""Two outlines that differ by less were drawn twice."""
ENDS_MM = 0.5
"""A seam line that ends at the fold ends this near to the cut line."""


def seam_inside(ring: Ring, others: Sequence[Ring]) -> Ring | None:
    """The seam line inside a cut line: it follows it all around, an allowance away."""
    around = ring.polygon.buffer(ENDS_MM)
    found = [
        other
        for other in others
        if other is not ring and around.contains(other.polygon) and _follows_inside(other, ring)
    ]
    return max(found, key=lambda other: float(other.polygon.area), default=None)


def are_seams_in_cuts(inner: Sequence[Ring], outer: Sequence[Ring]) -> bool:
    """Whether outlines of two looks are seam and cut lines of one size, and not two sizes.

    Each of the inner ones lies inside an outer one, which follows it in few even widths, most of
    them everywhere but on a fold; sizes differ by more in one place than in another, and many
    edges have both on one line. What both looks draw in one place tells nothing.
    """
    cuts = {id(seam): cut for cut in outer if (seam := seam_inside(cut, inner)) is not None}
    pairs = []
    for seam in inner:
        if id(seam) in cuts:
            pairs.append((seam, cuts[id(seam)]))
        elif not any(are_on_one_line(seam, cut) for cut in outer):
            return False
    around = sum(_shares_fold_alone(*pair) for pair in pairs)
    return 0 < len(pairs) <= 2 * around and all(_is_even(*pair) for pair in pairs)


def are_on_one_line(one: Ring, other: Ring) -> bool:
    """Whether two outlines are one line drawn twice."""
    boxes = np.subtract(one.polygon.bounds, other.polygon.bounds)
    if float(np.abs(boxes).max()) > SAME_MM:
        return False
    return float(one.polygon.exterior.hausdorff_distance(other.polygon.exterior)) <= SAME_MM


def _is_even(seam: Ring, cut: Ring) -> bool:
    _, gaps = _measure_gaps(seam, cut)
    apart = gaps[gaps >= ALLOWANCE_MM[0]]
    rest = apart
    for _ in range(MOST_ALLOWANCES):
        if len(rest):
            near = np.abs(rest[:, None] - rest) <= EVEN_MM
            rest = rest[~near[int(near.sum(axis=1).argmax())]]
    return len(rest) <= (1.0 - EVEN) * len(apart)


def allowance_between(seam: Ring, cut: Ring) -> tuple[float, float]:
    """The least and the most that a seam line lies inside a cut line, mm."""
    gaps = shapely.distance(cut.polygon.exterior, shapely.points(seam.points))
    return float(gaps.min()), float(gaps.max())


def _follows_inside(seam: Ring, cut: Ring) -> bool:
    """Whether it runs inside the cut line, apart from edges without an allowance.

    These are a straight one, as on a fold, or less than half of the rest when it fills the cut
    line.
    """
    gaps = shapely.distance(cut.polygon.exterior, shapely.points(seam.points))
    back = shapely.distance(seam.polygon.exterior, shapely.points(cut.points))
    if max(float(gaps.max()), float(back.max()) / 2) > ALLOWANCE_MM[1]:
        return False
    if _shares_fold_alone(seam, cut):
        return True
    if float(seam.polygon.area) < FILLS * float(cut.polygon.area):
        return False
    # The longest straight side that both have in common, or nothing.
    outline = seam.polygon.normalize().exterior  # begins at a corner
    corners = shapely.get_coordinates(outline.simplify(ENDS_MM / 5))
    sides = shapely.linestrings(np.stack([corners[:-1], corners[1:]], axis=1))
    on = cut.polygon.exterior.buffer(ENDS_MM).covers(sides)
    fold = max(sides[on], key=lambda side: float(side.length), default=shapely.LineString())
    rim, gaps = _measure_gaps(seam, cut)
    sewn = shapely.distance(fold, rim) > ENDS_MM
    return bool(sewn.any()) and float((gaps[sewn] >= ALLOWANCE_MM[0]).mean()) >= 0.5


def _shares_fold_alone(seam: Ring, cut: Ring) -> bool:
    """Whether it runs on the cut line nowhere, or on one straight side."""
    gaps = shapely.distance(cut.polygon.exterior, shapely.points(seam.points))
    shared = seam.points[gaps < ALLOWANCE_MM[0]]
    if 2 * len(shared) > len(gaps) or len(shared) == 1:
        return False
    if not len(shared):
        return True
    apart = np.hypot(*(shared - shared[0]).T)
    far = shared[int(apart.argmax())]
    along = (far - shared[0]) / max(float(apart.max()), 1e-9)
    off = np.abs((shared - shared[0]) @ np.array([-along[1], along[0]]))
    return bool(off.max() <= ENDS_MM)


def _measure_gaps(seam: Ring, cut: Ring) -> tuple[Array, Array]:
    """Points all along a seam line, and how far each lies from the cut line, mm."""
    rim = shapely.points(
        shapely.get_coordinates(shapely.segmentize(seam.polygon.exterior, STEP_MM))
    )
    return rim, shapely.distance(cut.polygon.exterior, rim)


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
    here, there = find_parameters(opened, np.array([line.start, line.end]))
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
