"""Cut lines at the sides of an upright box, exactly: curves stay curves."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain, pairwise

import numpy as np

from propagate.io.chain import Chain, Point

__all__ = ["Box", "find_bounds", "cut_lines", "part_of_segment"]

Box = tuple[float, float, float, float]
"""(left, bottom, right, top), mm."""
Segment = tuple[Point, ...]
_EDGE_MM = 1e-6
"""What runs along a side of the box lies inside."""


def find_bounds(line: Chain) -> Box:
    """The box around the control points of a line."""
    points = [line.start, *chain.from_iterable(line.segments)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def cut_lines(lines: Sequence[Chain], boxes: Sequence[Box]) -> list[list[Chain]]:
    """The parts of each line that lie in its box; the line itself when it lies in it as a whole.

    A line ends where it leaves its box, and goes on as another part where it comes back.
    """
    if not lines:
        return []
    controls = [list(chain.from_iterable(line.segments)) for line in lines]
    counts = [1 + len(points) for points in controls]
    starts = np.cumsum([0, *counts])
    xy = np.array(
        [
            point
            for line, points in zip(lines, controls, strict=True)
            for point in (line.start, *points)
        ]
    )
    box = np.repeat(np.array(boxes), counts, axis=0)
    low, high = xy < box[:, :2], xy > box[:, 2:]
    out = np.any(low | high, axis=1)
    leaving = out[:-1] | out[1:]
    beside = np.any((low[:-1] & low[1:]) | (high[:-1] & high[1:]), axis=1)
    found = []
    for line, its_box, first, last in zip(lines, boxes, starts[:-1], starts[1:], strict=True):
        if not out[first:last].any():
            found.append([line])
        elif len(line.segments) == last - first - 1:
            near = np.flatnonzero(~beside[first : last - 1]).tolist()
            found.append(_cut_line(line, its_box, near, leaving[first : last - 1].tolist()))
        else:
            every = range(len(line.segments))
            found.append(_cut_line(line, its_box, every, [True] * len(every)))
    return found


def _cut_line(line: Chain, box: Box, near: Sequence[int], leaving: Sequence[bool]) -> list[Chain]:
    """The parts of a line in a box.

    Segments that are not `near` lie beside it, and those of them that are not `leaving` lie in it.
    """
    parts: list[list[tuple[Point, Segment]]] = [[]]
    before = -1
    for i in near:
        if i > before + 1 and parts[-1]:
            parts.append([])
        before = i
        start, segment = line.segments[i - 1][-1] if i else line.start, line.segments[i]
        pieces = _cut_segment(start, segment, box) if leaving[i] else [(True, (start, segment))]
        for inside, piece in pieces:
            if inside:
                parts[-1].append(piece)
            elif parts[-1]:
                parts.append([])
    if not parts[-1]:
        parts.pop()
    if line.closed and len(parts) > 1 and parts[0][0][0] == line.start == parts[-1][-1][1][-1]:
        parts[0] = parts.pop() + parts[0]
    elif line.closed and len(parts) == 1 and parts[0][0][0] == parts[0][-1][1][-1]:
        return [Chain(parts[0][0][0], tuple(piece[1] for piece in parts[0]), True)]
    return [Chain(part[0][0], tuple(piece[1] for piece in part)) for part in parts]


def _cut_segment(
    start: Point, segment: Segment, box: Box
) -> list[tuple[bool, tuple[Point, Segment]]]:
    """A segment in pieces, each with whether it lies in the box."""
    controls = (start, *segment)
    xs, ys = [p[0] for p in controls], [p[1] for p in controls]
    if max(xs) < box[0] or max(ys) < box[1] or min(xs) > box[2] or min(ys) > box[3]:
        return [(False, (start, segment))]
    if min(xs) >= box[0] and min(ys) >= box[1] and max(xs) <= box[2] and max(ys) <= box[3]:
        return [(True, (start, segment))]
    crossings = [
        t
        for values, sides in ((xs, (box[0], box[2])), (ys, (box[1], box[3])))
        for side in sides
        if min(values) <= side <= max(values)
        for t in _find_roots(values, side)
    ]
    places = [0.0, *sorted(t for t in crossings if 1e-12 < t < 1.0 - 1e-12), 1.0]
    found = []
    for low, high in pairwise(places):
        if high - low > 1e-12:
            x, y = find_curve_point(controls, (low + high) / 2)
            inside = (
                box[0] - _EDGE_MM <= x <= box[2] + _EDGE_MM
                and box[1] - _EDGE_MM <= y <= box[3] + _EDGE_MM
            )
            found.append((inside, part_of_segment(controls, low, high)))
    return found


def _find_roots(values: Sequence[float], side: float) -> list[float]:
    """Where a Bezier curve in one coordinate takes a value."""
    if len(values) == 2:
        run = values[1] - values[0]
        return [(side - values[0]) / run] if run else []
    v = [value - side for value in values]
    if len(v) == 3:
        powers = [v[0] - 2 * v[1] + v[2], 2 * (v[1] - v[0]), v[0]]
    else:
        powers = [
            v[3] - 3 * v[2] + 3 * v[1] - v[0],
            3 * (v[0] - 2 * v[1] + v[2]),
            3 * (v[1] - v[0]),
            v[0],
        ]
    roots = np.roots(powers)
    return [float(root.real) for root in roots if abs(root.imag) < 1e-9]


def find_curve_point(controls: Sequence[Point], t: float) -> Point:
    """A point of a Bezier curve, by de Casteljau's construction."""
    points = list(controls)
    while len(points) > 1:
        points = [_mix_points(a, b, t) for a, b in pairwise(points)]
    return points[0]


def part_of_segment(controls: Sequence[Point], low: float, high: float) -> tuple[Point, Segment]:
    """The start and the further control points of a part of a segment."""
    points = tuple(controls)
    if high < 1.0:
        points = _halve_segment(points, high)[0]
    if low > 0.0:
        points = _halve_segment(points, low / high)[1]
    return points[0], points[1:]


def _halve_segment(controls: Segment, t: float) -> tuple[Segment, Segment]:
    before, after = [controls[0]], [controls[-1]]
    points = list(controls)
    while len(points) > 1:
        points = [_mix_points(a, b, t) for a, b in pairwise(points)]
        before.append(points[0])
        after.append(points[-1])
    return tuple(before), tuple(after[::-1])


def _mix_points(a: Point, b: Point, t: float) -> Point:
    return (1 - t) * a[0] + t * b[0], (1 - t) * a[1] + t * b[1]
