"""Strokes in rows: what lies in the gaps between them, and the dash that they show."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from propagate.geometry.arrays import Array, Indices, cross_product
from propagate.io.chain import Point
from propagate.values import dataclass

__all__ = [
    "FEWEST",
    "TOUCH_MM",
    "Ends",
    "Links",
    "Row",
    "bridge_gap",
    "find_corner",
    "find_pattern",
    "find_turns",
    "usual_gap",
]

FEWEST = 3
"""Strokes in a row that make a dashed line."""
_STRAIGHT_DEG = 2.0
_STEPS_TO_CORNER = 4
_MOST_BEND = math.radians(20)
"""Turn from stroke to stroke that is a bend; a greater one has a corner in it."""
_BENT_BACK = 0.25
"""How far behind the end of a stroke its corner may seem to lie where the other way is bent, as a
share of the gap."""
_SHORT_SHARE = 0.15
"""Share of the strokes of a line that may be longer or shorter than its dashes: where it begins or
turns back, or where two of them meet."""
TOUCH_MM = 0.05


@dataclass(frozen=True, eq=False)
class Ends:
    """Both ends of all strokes: end ``2 i`` is the start of stroke ``i``, ``2 i + 1`` its end."""

    points: Array
    outward: Array
    lengths: Array
    paintings: Indices
    """Strokes that are painted at once have one number."""


@dataclass(frozen=True, eq=False)
class Links:
    """The end that each end goes on at, -1 where it does not, and corners between two of them."""

    partner: Array
    corners: Mapping[int, Point]


@dataclass(frozen=True, eq=False)
class Row:
    """Strokes in their order, each with whether it runs backwards; whether the row is a ring."""

    strokes: tuple[tuple[int, bool], ...]
    ring: bool

    def steps(self) -> list[tuple[int, int]]:
        """The end of each stroke and the start of the next."""
        row = [*self.strokes, *(self.strokes[:1] if self.ring else ())]
        return [(2 * a[0] + (not a[1]), 2 * b[0] + b[1]) for a, b in pairwise(row)]


def usual_gap(row: Row, links: Links, ends: Ends) -> tuple[list[float], float]:
    """The gaps of a row and the usual one; those around corners count as usual."""
    steps = row.steps()
    gaps = [math.dist(ends.points[a], ends.points[b]) for a, b in steps]
    straight = [gap for gap, (a, _) in zip(gaps, steps, strict=True) if a not in links.corners]
    usual = float(np.median(straight)) if straight else 0.0
    return [
        usual if a in links.corners else gap for gap, (a, _) in zip(gaps, steps, strict=True)
    ], usual


def find_corner(one: int, other: int, links: Links, ends: Ends) -> tuple[float, Point] | None:
    """How long the way around the corner ahead of two ends is, and the corner."""
    p, q = ends.points[one], ends.points[other]
    apart = math.dist(p, q)
    if apart < TOUCH_MM:
        return apart, (float(p[0]), float(p[1]))
    (d, bend), (e, turn) = (_find_way_ahead(end, links, ends) for end in (one, other))
    if abs(cross_product(d, e)) < 0.1:
        return None
    s = t = 0.0
    for _ in range(_STEPS_TO_CORNER):  # Newton's method; the first step is that of straight lines
        there, ahead = _go_on(p, d, bend, s)
        here, back = _go_on(q, e, turn, t)
        cross = cross_product(ahead, back)
        if abs(cross) < 0.05:
            return None
        s += float(cross_product(here - there, back) / cross)
        t += float(cross_product(here - there, ahead) / cross)
        if max(abs(s), abs(t)) > 4 * apart + 1.0:
            return None
    if min(s, t) < -_BENT_BACK * apart:
        return None
    if min(s, t) < TOUCH_MM / 5:  # a dash ends at the corner, and the other way may bend
        at = p if s < t else q
        return apart, (float(at[0]), float(at[1]))
    corner = _go_on(p, d, bend, s)[0]
    return s + t, (float(corner[0]), float(corner[1]))


def find_turns(links: Links, ends: Ends) -> dict[int, Point]:
    """Corners in gaps around which the strokes follow one another as around a bend.

    There the line turns by more than it does along the strokes on either side.
    """
    corners: dict[int, Point] = {}
    for one, other in enumerate(links.partner.tolist()):
        if other < one:
            continue
        ahead, back = ends.outward[one], -ends.outward[other]
        turn = math.acos(min(max(float(ahead @ back), -1.0), 1.0))
        if turn <= _MOST_BEND:
            continue
        gap = math.dist(ends.points[one], ends.points[other])
        bends = [abs(_find_way_ahead(end, links, ends)[1]) for end in (one, other)]
        if turn <= 1.5 * _MOST_BEND and 0.0 in bends:  # by a stub around a corner little is known
            continue
        corner = find_corner(one, other, links, ends)
        if corner is not None and turn > _MOST_BEND / 2 + 2 * gap * max(bends):
            corners[one] = corners[other] = corner[1]
    return corners


def _go_on(at: Array, way: Array, bend: float, length: float) -> tuple[Array, Array]:
    """Where a line is that goes on so far with one bend, and its direction there."""
    aside = np.array([-way[1], way[0]])
    place = at + length * way + 0.5 * bend * length**2 * aside
    return place, way + bend * length * aside


def _find_way_ahead(end: int, links: Links, ends: Ends) -> tuple[Array, float]:
    """The direction in which a line goes on, and its bend to the left, 1/mm.

    By the circle through both ends of the stroke and the beginning of the one before.
    """
    way, before = ends.outward[end], int(links.partner[end ^ 1])
    if before < 0:
        return way, 0.0
    last = ends.points[end] - ends.points[end ^ 1]
    first = ends.points[end ^ 1] - ends.points[before ^ 1]
    angle = math.atan2(cross_product(first, last), float(first @ last))
    long = float(np.hypot(*last))
    bend = 2 * angle / (long + float(np.hypot(*first)))
    tangent = math.atan2(last[1], last[0]) + bend * long / 2
    tip = np.array([math.cos(tangent), math.sin(tangent)])
    if abs(angle) > _MOST_BEND or float(tip @ way) < math.cos(_MOST_BEND / 3):
        return way, 0.0
    return tip, bend


def bridge_gap(step: tuple[int, int], links: Links, ends: Ends) -> list[tuple[Point, ...]]:
    """What lies in a gap: a straight line, a corner, or a curve that runs on both ways."""
    one, other = step
    p, q = ends.points[one], ends.points[other]
    d, e = ends.outward[one], ends.outward[other]
    end = float(q[0]), float(q[1])
    if math.dist(p, q) < TOUCH_MM:
        return [(end,)]
    if one in links.corners:
        corner = links.corners[one]
        if min(math.dist(corner, p), math.dist(corner, q)) > TOUCH_MM / 100:
            return [(corner,), (end,)]
        along = (q - p) / math.dist(p, q)  # from the corner on it is as bent at either end
        if math.dist(corner, p) < math.dist(corner, q):
            d = e - 2 * (e @ along) * along
        else:
            e = d - 2 * (d @ along) * along
    if d @ e < -math.cos(math.radians(_STRAIGHT_DEG)):
        return [(end,)]
    reach = math.dist(p, q) / 3
    a, b = p + reach * d, q + reach * e
    return [((float(a[0]), float(a[1])), (float(b[0]), float(b[1])), end)]


def find_pattern(row: Row, links: Links, ends: Ends) -> tuple[float, ...]:
    """On, off and so on, mm: long strokes and the short ones between two of them."""
    if len(row.strokes) < 2:
        return ()
    inner = row.strokes if row.ring or len(row.strokes) < FEWEST + 2 else row.strokes[1:-1]
    lengths = [float(ends.lengths[i]) for i, _ in inner]
    gap = round(usual_gap(row, links, ends)[1], 2)
    few, many = np.quantile(lengths, (_SHORT_SHARE, 1.0 - _SHORT_SHARE), method="nearest")
    limit = (few + many) / 2
    long = [i for i, length in enumerate(lengths) if length >= limit]
    if many < 1.6 * few or len(long) < 2:
        return round(float(np.median(lengths)), 2), gap
    runs = [b - a for a, b in pairwise(long)]
    steps = Counter(runs)
    period = max(steps, key=lambda step: (steps[step], -step))
    spots = [i for i, step in zip(long[:-1], runs, strict=True) if step == period]
    usual = [float(np.median([lengths[i + k] for i in spots])) for k in range(period)]
    return tuple(part for length in usual for part in (round(length, 2), gap))
