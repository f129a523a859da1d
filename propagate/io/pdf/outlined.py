"""Lines whose strokes a writer made outlines: curved bands, and rings a hair inside one another."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from propagate.geometry.arrays import cross_product
from propagate.geometry.corner import signed_area
from propagate.geometry.polyline import arc_lengths, length, locate_all, points_at, sample_line
from propagate.io.chain import tidy_chain
from propagate.io.drawn_lines import DrawnLine
from propagate.pattern.model import Array

__all__ = ["count_thin_areas", "outlined_as_lines"]

WIDEST_MM = 1.0
SHORTEST_MM = 25.0
"""Letters that are as thin are shorter."""
MOST_AREAS = 2_000
_SLENDER = 20.0
"""A band is so many times as long as wide."""
_EVEN = 0.1
"""Share by which a band may be wider or narrower than it is elsewhere, but at its corners."""
_SAMPLES = 60
_POINTED = 3.0
"""How many times as wide a band may be at a corner."""
_CAP_COSINE = 0.5
"""A band turns by at least 60 degrees at both corners of an end."""


def outlined_as_lines(lines: Sequence[DrawnLine]) -> tuple[list[DrawnLine], int]:
    """Put the middle line in the place of each outlined stroke, and count them."""
    groups: defaultdict[tuple[object, ...], list[int]] = defaultdict(list)
    for i, line in enumerate(lines):
        if line.look.filled and line.chain.closed and line.chain.length >= 2 * SHORTEST_MM:
            groups[line.look, line.layer, line.sheet].append(i)
    made: dict[int, DrawnLine] = {}
    gone: set[int] = set()
    for members in groups.values():
        if len(members) > MOST_AREAS:
            continue
        rings = {i: _list_corners(lines[i]) for i in members}
        for i, ring in rings.items():
            band = _find_sides(ring)
            found = None if band is None else _find_middle(*band, closed=False)
            if found is not None:
                made[i] = _make_line(lines[i], *found, closed=False)
        whole = {i: ring for i, ring in rings.items() if i not in made}
        for outer, inner in _list_pairs(whole):
            found = (
                None
                if {outer, inner} & gone
                else _find_middle(whole[outer], whole[inner], closed=True)
            )
            if found is not None:
                made[min(outer, inner)] = _make_line(lines[outer], *found, closed=True)
                gone |= {outer, inner}
    kept = [made.get(i, line) for i, line in enumerate(lines) if i in made or i not in gone]
    return kept, len(made)


def count_thin_areas(lines: Sequence[DrawnLine]) -> int:
    """How many areas are as thin as lines, and long."""
    return sum(
        line.look.filled
        and line.chain.closed
        and line.chain.length >= 2 * SHORTEST_MM
        and _find_width(_list_corners(line)) is not None
        for line in lines
    )


def _list_corners(line: DrawnLine) -> Array:
    """(n, 2) a closed line counter-clockwise, with the first point again at the end."""
    points = line.chain.points
    return points if signed_area(points[:-1]) >= 0 else points[::-1]


def _make_line(line: DrawnLine, points: Array, width: float, *, closed: bool) -> DrawnLine:
    first, *rest = [(float(x), float(y)) for x, y in points]
    chain = tidy_chain(first, [(point,) for point in rest], closed) or line.chain
    return replace(line, chain=chain, look=replace(line.look, width=round(width, 3), filled=False))


def _find_width(ring: Array) -> float | None:
    """How wide an area is that is as thin as a line: its area is length times width."""
    half, area = length(ring) / 2, abs(signed_area(ring[:-1]))
    root = half * half - 4 * area
    width = (half - np.sqrt(root)) / 2 if root > 0 else np.inf
    return float(width) if 0 < width <= WIDEST_MM and half >= _SLENDER * width else None


def _find_sides(ring: Array) -> tuple[Array, Array] | None:
    """Both long sides of a band with two square ends, the one as it runs and the other back."""
    width = _find_width(ring)
    if width is None:
        return None
    steps = np.diff(ring, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    ways = steps / np.maximum(lengths, 1e-12)[:, None]
    before, after = np.roll(ways, 1, axis=0), np.roll(ways, -1, axis=0)
    cosines = np.maximum((before * ways).sum(axis=1), (ways * after).sum(axis=1))
    left = np.minimum(cross_product(before, ways), cross_product(ways, after)) > 0
    ends = np.flatnonzero(
        left & (cosines <= _CAP_COSINE) & (np.abs(lengths - width) <= 2 * _EVEN * width)
    )
    if len(ends) != 2:
        return None
    first, second = ends.tolist()
    points = ring[:-1]
    one = points[first + 1 : second + 1]
    other = np.concatenate([points[second + 1 :], points[: first + 1]])
    return (one, other[::-1]) if len(one) > 1 and len(other) > 1 else None


def _list_pairs(rings: dict[int, Array]) -> Iterator[tuple[int, int]]:
    """Rings of which one lies inside the other, as near as both sides of a line."""
    numbers = list(rings)
    if len(numbers) < 2:
        return
    boxes = np.array([[*rings[i].min(axis=0), *-rings[i].max(axis=0)] for i in numbers])
    for i, box in zip(numbers, boxes, strict=True):
        apart = boxes - box
        inside = np.all((apart > 0) & (apart <= _POINTED * WIDEST_MM), axis=1)
        for k in np.flatnonzero(inside).tolist():
            yield i, numbers[k]


def _find_middle(one: Array, other: Array, *, closed: bool) -> tuple[Array, float] | None:
    """The line midway between two lines that run beside one another, and how far apart they are."""
    along_other, from_one = locate_all(other, one)
    along_one, from_other = locate_all(one, other)
    apart = np.concatenate(
        [
            locate_all(other, sample_line(one, _SAMPLES))[1],
            locate_all(one, sample_line(other, _SAMPLES))[1],
        ]
    )
    width = float(np.median(apart))
    near, far = np.quantile(apart, (0.1, 0.9))
    widest = max(from_one.max(), from_other.max())
    if not 0 < width <= WIDEST_MM or widest > _POINTED * width:
        return None
    if near < (1 - _EVEN) * width or far > (1 + _EVEN) * width:
        return None
    middles = (
        np.concatenate([one + points_at(other, along_other), points_at(one, along_one) + other]) / 2
    )
    along = np.concatenate([arc_lengths(one), along_one])
    # at a corner that several places answer to, the one farthest off is its own corner
    order = np.lexsort((-np.concatenate([from_one, from_other]), np.round(along, 6)))
    first = np.unique(np.round(along, 6)[order], return_index=True)[1]
    found = middles[order][first]
    if closed:
        found = np.concatenate([found[:-1], found[:1]])
    return found, width
