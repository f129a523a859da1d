"""Where polylines meet lines, circles and each other."""

from __future__ import annotations

import numpy as np

from propagate.geometry.arrays import Array, Indices, cross_product
from propagate.geometry.polyline import arc_lengths, point_at
from propagate.tolerances import SAME_POINT_MM

__all__ = ["circle_crossings", "crossings", "line_crossings", "nearest_crossing"]

_least, _most = np.minimum.reduce, np.maximum.reduce
_ROUNDS = 8
_FEW = 500
"""Pairs of chords of which a table is made without more ado."""


def line_crossings(points: Array, origin: Array, direction: Array) -> Array:
    """Return distances along a polyline at which it crosses an endless line, ascending, mm."""
    normal = np.array([-direction[1], direction[0]])
    side = (points - origin) @ normal
    side = np.where(np.abs(side) < SAME_POINT_MM, 0.0, side)
    arc = arc_lengths(points)
    hits = [float(arc[i]) for i in (side == 0.0).nonzero()[0]]
    for i in (side[:-1] * side[1:] < 0).nonzero()[0]:
        share = side[i] / (side[i] - side[i + 1])
        hits.append(float(arc[i] + share * (arc[i + 1] - arc[i])))
    return np.array(sorted(hits))


def circle_crossings(points: Array, centre: Array, radius: float) -> Array:
    """Return distances along a polyline at which it crosses a circle, ascending, mm.

    Each chord is intersected in closed form: ``|p + t d - c|^2 = r^2``.  A chord that
    misses the circle by less than 1e-6 mm touches it.
    """
    start, delta = points[:-1], points[1:] - points[:-1]
    to = start - centre
    a = (delta**2).sum(axis=1)
    b = (to * delta).sum(axis=1)
    c = (to**2).sum(axis=1) - radius**2
    disc = b * b - a * c
    # disc / a is the square of half the chord's part inside the circle, r^2 - d^2.
    real = (disc >= -2.0 * radius * SAME_POINT_MM * a) & (a > 0)
    root = np.sqrt(np.where(real & (disc > 0), disc, 0.0))
    arc = arc_lengths(points)
    steps = np.sqrt(a)
    hits: list[float] = []
    for sign in (-1.0, 1.0):
        share = (-b + sign * root) / np.where(a > 0, a, 1.0)
        slack = SAME_POINT_MM / np.where(steps > 0, steps, 1.0)
        ok = real & (share >= -slack) & (share <= 1 + slack)
        hits.extend((arc[:-1] + np.clip(share, 0, 1) * steps)[ok].tolist())
    hits.sort()
    kept: list[float] = []
    for hit in hits:
        if not kept or hit - kept[-1] > SAME_POINT_MM:
            kept.append(hit)
    return np.array(kept)


def crossings(first: Array, second: Array) -> Array:
    """Find the places where two polylines cross.

    Returns
    -------
    (k, 2) array
        Distance along `first` and along `second` of each crossing, in the order of
        the first, mm.
    """
    near_first, near_second = _near_chords(first, second)
    if not (len(near_first) and len(near_second)):
        return np.empty((0, 2))
    arc_first, arc_second = arc_lengths(first), arc_lengths(second)
    p, r = first[near_first], first[near_first + 1] - first[near_first]
    q, s = second[near_second], second[near_second + 1] - second[near_second]
    cross = cross_product(r[:, None], s[None])
    gap = q[None, :, :] - p[:, None, :]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = cross_product(gap, s[None]) / cross
        u = cross_product(gap, r[:, None]) / cross
        hit = (cross != 0) & (t >= -1e-12) & (t <= 1 + 1e-12) & (u >= -1e-12) & (u <= 1 + 1e-12)
    here, there = np.nonzero(hit)
    i, j = near_first[here], near_second[there]
    pairs = np.column_stack(
        [
            arc_first[i] + t[here, there] * (arc_first[i + 1] - arc_first[i]),
            arc_second[j] + u[here, there] * (arc_second[j + 1] - arc_second[j]),
        ]
    ).reshape(-1, 2)
    if len(pairs) > 1:
        pairs = pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
        new = np.concatenate([[True], np.abs(np.diff(pairs, axis=0)).max(axis=1) > SAME_POINT_MM])
        pairs = pairs[new]
    return pairs


def nearest_crossing(first: Array, second: Array, to: Array) -> tuple[float, float, Array] | None:
    """Find the crossing of two lines nearest to a point: distances along both, mm, and place."""
    found = [(s, t, point_at(first, s)) for s, t in crossings(first, second).tolist()]
    return min(found, key=lambda hit: float(np.hypot(*(hit[2] - to))), default=None)


def _near_chords(first: Array, second: Array) -> tuple[Indices, Indices]:
    """Return indices of the chords of two polylines that may cross.

    Those that lie in the box into which both reach; the box of what is left of each is smaller
    again, and a few rounds leave what is near.
    """
    near = (np.arange(len(first) - 1), np.arange(len(second) - 1))
    boxes = [_chord_boxes(first), _chord_boxes(second)]
    count = len(near[0]) * len(near[1])
    for _ in range(_ROUNDS if count else 0):
        (left, right), (low, high) = (
            (max(_least(a), _least(c)) - SAME_POINT_MM, min(_most(b), _most(d)) + SAME_POINT_MM)
            for (a, b), (c, d) in zip(*boxes, strict=True)
        )
        inside = [
            (x[1] >= left) & (x[0] <= right) & (y[1] >= low) & (y[0] <= high) for x, y in boxes
        ]
        near = (near[0][inside[0]], near[1][inside[1]])
        before, count = count, len(near[0]) * len(near[1])
        if count == before or count <= _FEW:
            break
        boxes = [
            [(a[kept], b[kept]) for a, b in box] for box, kept in zip(boxes, inside, strict=True)
        ]
    return near


def _chord_boxes(points: Array) -> list[tuple[Array, Array]]:
    """Return least and largest x of every chord, and of y."""
    return [(np.minimum(line[:-1], line[1:]), np.maximum(line[:-1], line[1:])) for line in points.T]
