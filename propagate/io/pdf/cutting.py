"""Cut lines at the sides of an upright box, exactly: curves stay curves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import chain, pairwise

import numpy as np

from propagate.io.chain import Chain, Point
from propagate.io.pdf.polyline import Polyline
from propagate.pattern.model import Array
from propagate.tolerances import SAME_POINT_MM

__all__ = ["Box", "cut_lines", "find_bounds", "holds_point", "part_of_segment"]

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


def holds_point(box: Box, point: Point, margin: float = 0.0) -> bool:
    """Whether a point lies in a box, or no farther than `margin` from it."""
    across = box[0] - margin <= point[0] <= box[2] + margin
    return across and box[1] - margin <= point[1] <= box[3] + margin


def cut_lines(lines: Sequence[Chain | Polyline], boxes: Sequence[Box]) -> list[list[Chain] | None]:
    """The parts of each line that lie in its box; None when it lies in it as a whole.

    A line ends where it leaves its box, and goes on as another part where it comes back.
    """
    if not lines:
        return []
    controls = [_list_controls(line) for line in lines]
    counts = list(map(len, controls))
    starts = np.cumsum([0, *counts])
    xy = np.concatenate(controls)
    box = np.repeat(np.array(boxes), counts, axis=0)
    low, high = xy < box[:, :2], xy > box[:, 2:]
    out = np.any(low | high, axis=1)
    leaving = out[:-1] | out[1:]
    beside = np.any((low[:-1] & low[1:]) | (high[:-1] & high[1:]), axis=1)
    found: list[list[Chain] | None] = []
    for line, its_box, first, last in zip(lines, boxes, starts[:-1], starts[1:], strict=True):
        if not out[first:last].any():
            found.append(None)
        elif isinstance(line, Polyline) or len(line.segments) == last - first - 1:
            near = np.flatnonzero(~beside[first : last - 1]).tolist()
            found.append(_cut_line(line, its_box, near, leaving[first : last - 1].tolist()))
        else:
            every = range(len(line.segments))
            found.append(_cut_line(line, its_box, every, [True] * len(every)))
    return found


def _list_controls(line: Chain | Polyline) -> Array:
    if isinstance(line, Polyline):
        return line.xy
    return np.array([line.start, *chain.from_iterable(line.segments)])


def _cut_line(
    line: Chain | Polyline, box: Box, near: Sequence[int], leaving: Sequence[bool]
) -> list[Chain]:
    """The parts of a line in a box.

    Segments that are not `near` lie beside it, and those of them that are not `leaving` lie in it.
    """
    parts: list[list[tuple[Point, Segment]]] = [[]]
    segments, before = list(line.segments), -1
    for i in near:
        if i > before + 1 and parts[-1]:
            parts.append([])
        before = i
        start, segment = segments[i - 1][-1] if i else line.start, segments[i]
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
    if len(segment) == 1:
        return _cut_straight(start, segment[0], box)
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
    pieces = [
        (
            holds_point(box, find_curve_point(controls, (low + high) / 2), _EDGE_MM),
            part_of_segment(controls, low, high),
        )
        for low, high in _list_parts(crossings)
    ]
    # a curve that ends on a side of the box is cut there, too, and nothing is left of that part
    return [
        (inside, (first, rest))
        for inside, (first, rest) in pieces
        if max(math.dist(first, point) for point in rest) > SAME_POINT_MM
    ]


def _cut_straight(start: Point, end: Point, box: Box) -> list[tuple[bool, tuple[Point, Segment]]]:
    """The same of a straight segment."""
    crossings: list[float] = []
    for axis in (0, 1):
        a, b, low, high = start[axis], end[axis], box[axis], box[axis + 2]
        if (a < low and b < low) or (a > high and b > high):
            return [(False, (start, (end,)))]
        if a != b:
            crossings += [
                (side - a) / (b - a) for side in (low, high) if a <= side <= b or b <= side <= a
            ]
    if not crossings:
        return [(True, (start, (end,)))]
    found: list[tuple[bool, tuple[Point, Segment]]] = []
    for low, high in _list_parts(crossings):
        inside = holds_point(box, _mix_points(start, end, (low + high) / 2), _EDGE_MM)
        last = _mix_points(start, end, high) if high < 1.0 else end
        first = _mix_points(start, last, low / high) if low > 0.0 else start
        found.append((inside, (first, (last,))))
    return found


def _list_parts(crossings: Sequence[float]) -> list[tuple[float, float]]:
    """From where to where the parts of a segment run that is cut, 0 to 1."""
    places = [0.0, *sorted(t for t in crossings if 1e-12 < t < 1.0 - 1e-12), 1.0]
    return [(low, high) for low, high in pairwise(places) if high - low > 1e-12]


def _find_roots(values: Sequence[float], side: float) -> list[float]:
    """Where a Bezier curve in one coordinate takes a value."""
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
