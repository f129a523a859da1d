"""Lines cut where others end on them, each stretch once.

Drawings split an outline anywhere, draw parts of it twice and let lines end on the middle of
others.  Here every line is cut where another one ends on it, so that lines meet at their ends
alone; what was drawn twice has the same two ends then, and is left out once.  A stretch knows
the line that it is of, so that what is put together again is that line, digit for digit.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import shapely

from propagate.geometry.polyline import locate_all, sample_line
from propagate.io.chain import Chain, Point
from propagate.pattern.model import Array
from propagate.tolerances import DECIMALS, SAME_POINT_MM
from propagate.values import dataclass

__all__ = [
    "Rank",
    "Stretch",
    "cut_at_ends",
    "doubled_among",
    "nodes_of",
    "leave_doubled",
    "find_parameters",
    "part_of_chain",
]

Rank = tuple[bool, int, list[list[float]]]
"""Which of several lines alike stays: with curves, of fewer segments, of lesser coordinates."""

NEWTON_STEPS = 4
ON_END = 1e-6
"""A place this near to a joint, in parameters, is the joint."""


@dataclass(frozen=True, eq=False)
class Stretch:
    """A part of a drawn line.

    Attributes
    ----------
    line : Chain
        The line as it was drawn.
    begin, end : float
        Where the part begins and ends: the number of a segment and the parameter on it.
    chain : Chain
        The part itself.
    """

    line: Chain
    begin: float
    end: float
    chain: Chain

    @staticmethod
    def whole(line: Chain) -> Stretch:
        """A line as one stretch."""
        return Stretch(line, 0.0, float(len(line.segments)), line)


def cut_at_ends(lines: Sequence[Chain], near: float, also: Iterable[Point] = ()) -> list[Stretch]:
    """Cut open lines where the end of another one lies on them.

    Parameters
    ----------
    lines : sequence of Chain
        Open ones.
    near : float
        An end this near to a line lies on it, mm.
    also : iterable of points
        Further places to cut at.

    Returns
    -------
    list of Stretch
        In the order of the lines, and along each of them.
    """
    ends = [point for line in lines for point in (line.start, line.end)]
    places = np.array(sorted({*ends, *also}), dtype=np.float64).reshape(-1, 2)
    if not len(places) or not lines:
        return [Stretch.whole(line) for line in lines]
    tree = shapely.STRtree([line.figure for line in lines])
    points, hit = tree.query(shapely.points(places), predicate="dwithin", distance=near)
    order = np.lexsort((points, hit))
    found: list[Stretch] = []
    begins = np.searchsorted(hit[order], np.arange(len(lines) + 1))
    for index, line in enumerate(lines):
        on_it = places[points[order[begins[index] : begins[index + 1]]]]
        away = [
            place
            for place in on_it
            if math.dist(place, line.start) > near and math.dist(place, line.end) > near
        ]
        if not away:
            found.append(Stretch.whole(line))
            continue
        cuts = _thin_cuts(line, find_parameters(line, np.array(away)), near)
        marks = [0.0, *cuts, float(len(line.segments))]
        found += [
            Stretch(line, begin, end, part_of_chain(line, begin, end))
            for begin, end in pairwise(marks)
        ]
    return found


def find_parameters(line: Chain, places: Array) -> list[float]:
    """Where on a line the points nearest to some places are, as segment and parameter."""
    along, _ = locate_all(line.points, places)
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line.points, axis=0).T))])
    found = []
    for place, reach in zip(places, along, strict=True):
        chord = min(int(np.searchsorted(arc, reach, side="right")) - 1, len(arc) - 2)
        step = arc[chord + 1] - arc[chord]
        share = min(1.0, max(0.0, (reach - arc[chord]) / step)) if step else 0.0
        segment = bisect_right(line.joints, chord) - 1
        last = line.joints[segment + 1] if segment + 1 < len(line.joints) else len(arc) - 1
        first = line.joints[segment]
        t = (chord - first + share) / max(last - first, 1)
        controls = _list_controls(line, segment)
        if len(controls) > 2:
            t = _find_nearest_parameter(controls, place, t)
        found.append(segment + t)
    return found


def _list_controls(line: Chain, segment: int) -> Array:
    start = line.start if segment == 0 else line.segments[segment - 1][-1]
    return np.array([start, *line.segments[segment]])


def _find_nearest_parameter(controls: Array, place: Array, t: float) -> float:
    """The parameter of the point of a curve nearest to a place, from a first guess."""
    degree = len(controls) - 1
    first = np.diff(controls, axis=0) * degree
    second = np.diff(first, axis=0) * (degree - 1)
    for _ in range(NEWTON_STEPS):
        off = _evaluate_bezier(controls, t) - place
        slope, bend = _evaluate_bezier(first, t), _evaluate_bezier(second, t)
        down = float(slope @ slope + off @ bend)
        if down <= 0.0:
            break
        t = min(1.0, max(0.0, t - float(off @ slope) / down))
    return t


def _evaluate_bezier(controls: Array, t: float) -> Array:
    """A point of a Bezier curve (de Casteljau)."""
    while len(controls) > 1:
        controls = controls[:-1] + (controls[1:] - controls[:-1]) * t
    return np.asarray(controls[0])


def _thin_cuts(line: Chain, cuts: Sequence[float], near: float) -> list[float]:
    """Cuts in order, those that would leave a stretch shorter than `near` taken as one."""
    found: list[float] = []
    for cut in sorted(cuts):
        joint = round(cut)
        cut = float(joint) if abs(cut - joint) < ON_END else cut
        if not 0.0 < cut < len(line.segments):
            continue
        if not found or math.dist(_find_point(line, found[-1]), _find_point(line, cut)) > near:
            found.append(cut)
    return found


def _find_point(line: Chain, place: float) -> Point:
    segment = min(int(place), len(line.segments) - 1)
    x, y = _evaluate_bezier(_list_controls(line, segment), place - segment)
    return float(x), float(y)


def part_of_chain(line: Chain, begin: float, end: float) -> Chain:
    """The part of a line between two places on it, its curves cut exactly.

    Parameters
    ----------
    line : Chain
    begin, end : float
        Number of a segment and parameter on it; `begin` is less than `end`.
    """
    count = len(line.segments)
    if begin <= 0.0 and end >= count:
        return line
    first, last = int(begin), min(math.ceil(end), count)
    segments: list[tuple[Point, ...]] = []
    start: Point | None = None
    for segment in range(first, last):
        low = max(begin - segment, 0.0)
        high = min(end - segment, 1.0)
        before = line.start if segment == 0 else line.segments[segment - 1][-1]
        controls = (before, *line.segments[segment])
        if (low, high) != (0.0, 1.0):
            # Ends that stay are the same numbers.
            points = np.array(controls)
            if high < 1.0:
                points = _halve_controls(points, high)[0]
            if low > 0.0:
                points = _halve_controls(points, low / high)[1]
            found = [(round(float(x), DECIMALS), round(float(y), DECIMALS)) for x, y in points]
            found[0] = controls[0] if low == 0.0 else found[0]
            found[-1] = controls[-1] if high == 1.0 else found[-1]
            controls = tuple(found)
        start = controls[0] if start is None else start
        segments.append(controls[1:])
    assert start is not None
    return Chain(start, tuple(segments))


def _halve_controls(controls: Array, t: float) -> tuple[Array, Array]:
    before, after = [controls[0]], [controls[-1]]
    while len(controls) > 1:
        controls = controls[:-1] + (controls[1:] - controls[:-1]) * t
        before.append(controls[0])
        after.append(controls[-1])
    return np.array(before), np.array(after[::-1])


# ------------------------------------------------------------------------------------ once


def leave_doubled(
    stretches: Sequence[Stretch], near: float, ends: float | None = None
) -> tuple[list[Stretch], int]:
    """Leave out stretches that lie on another with the same ends, and count them.

    Parameters
    ----------
    stretches : sequence of Stretch
    near, ends : float
        How far off they, and their ends, may be to be the same, mm.

    Which of several stays does not depend on their order or direction: the one with curves,
    with fewer segments, with the lesser coordinates.
    """
    nodes = nodes_of([s.chain for s in stretches], near if ends is None else ends)
    groups: dict[tuple[int, int], list[int]] = {}
    for index, (a, b) in enumerate(nodes):
        groups.setdefault((min(a, b), max(a, b)), []).append(index)
    dropped: set[int] = set()
    for group in groups.values():
        if len(group) > 1:
            chains = [(i, stretches[i].chain) for i in group]
            dropped |= doubled_among([(i, _rank_chain(c), c.points) for i, c in chains], near)
    kept = [stretch for i, stretch in enumerate(stretches) if i not in dropped]
    return kept, len(dropped)


def nodes_of(chains: Sequence[Chain], near: float) -> list[tuple[int, int]]:
    """Number the ends of lines, those within `near` of each other alike."""
    ends = np.array([point for chain in chains for point in (chain.start, chain.end)])
    if not len(ends):
        return []
    # most ends lie on one another to the last digit: each place is asked about once
    _, first_at, place_of = np.unique(ends, axis=0, return_index=True, return_inverse=True)
    places = shapely.points(ends[first_at])
    numbers = list(range(len(ends)))
    pairs = shapely.STRtree(places).query(places, predicate="dwithin", distance=near)
    first, second = first_at[pairs[:, pairs[0] < pairs[1]]]
    for a, b in zip(first.tolist(), second.tolist(), strict=True):
        low, high = sorted((_find_root(numbers, a), _find_root(numbers, b)))
        numbers[high] = low
    of_place = np.array([_find_root(numbers, i) for i in first_at.tolist()])
    roots = of_place[place_of.ravel()].tolist()
    return list(zip(roots[::2], roots[1::2], strict=True))


def _find_root(numbers: list[int], index: int) -> int:
    while numbers[index] != index:
        index = numbers[index]
    return index


def doubled_among(group: Sequence[tuple[int, Rank, Array]], near: float) -> set[int]:
    """Of lines with the same ends, the numbers of those that lie on another one.

    Parameters
    ----------
    group : sequence of (number, rank, points)
        The one of the lowest rank stays.
    near : float
        mm.
    """
    reach = 2 * near + SAME_POINT_MM
    kept: list[Array] = []
    drawn: set[bytes] = set()
    dropped: set[int] = set()
    for index, _, points in sorted(group, key=lambda item: item[1]):
        if points.tobytes() in drawn:
            dropped.add(index)
            continue
        drawn |= {points.tobytes(), points[::-1].tobytes()}
        places = sample_line(points, 9)
        ways = [way for other in kept for way in (other, other[::-1])]
        if any(bool((np.hypot(*(places - way).T) <= reach).all()) for way in ways):
            dropped.add(index)
        else:
            kept.append(places)
    return dropped


def _rank_chain(chain: Chain) -> Rank:
    points = chain.points.tolist()
    return not chain.curved, len(chain.segments), min(points, points[::-1])
