"""Parts of a piece between parallels of its lines: facing, lining, interfacing, bag.

Drawn as with a ruler: each line is moved square to itself and run on straight, and the
corners are where two of them cross.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from demo_sets.drafting import Bezier, crossing, cut, locate, offset_left
from demo_sets.scoop_skirt.mains import even
from propagate.pattern.model import Array

__all__ = ["bag_curve", "part", "region"]

RUN_ON = 40.0  # mm


def region(rows: Sequence[tuple[str, Array, float]]) -> dict[str, Array]:
    """Return the lines of a region, counter-clockwise.

    Each row is a name, a line of the outline (counter-clockwise there), and how far outside
    of it the region's own line lies, mm; less than 0 is inside.
    """
    lines = [_run_on(offset_left(line, -out)) for _, line, out in rows]
    corners = [crossing(before, after) for before, after in _round(lines)]
    found = {}
    for i, ((name, _, _), line) in enumerate(zip(rows, lines, strict=True)):
        begin, end = corners[i - 1][1], corners[i][0]
        if begin < end:
            found[name] = cut(line, begin, end)
        else:  # a line that lies inside of one which is listed too runs the other way
            found[name] = cut(line, end, begin)[::-1]
    return found


def part(points: Array, begin: Array, end: Array) -> Array:
    """Return the part of a line between two of its points, from the first to the second."""
    low, high = locate(points, begin), locate(points, end)
    return cut(points, low, high) if low < high else cut(points, high, low)[::-1]


def bag_curve(mouth: Array, deep: float) -> Array:
    """Return the free edge of a bag, from the end of its mouth round to its start."""
    chord = mouth[0] - mouth[-1]
    along = chord / float(np.hypot(*chord))
    inward = np.array([along[1], -along[0]])
    far = mouth[0] + 0.35 * deep * along + 0.9 * deep * inward
    high = mouth[-1] + deep * inward
    return even(Bezier(np.array([mouth[-1], high, far, mouth[0]])), 60)


def _round(lines: Sequence[Array]) -> list[tuple[Array, Array]]:
    return list(zip(lines, [*lines[1:], lines[0]], strict=True))


def _run_on(line: Array) -> Array:
    """The line with its ends run on in the direction it has there (of a circle)."""
    ends = []
    for points in (line, line[::-1]):
        steps = np.diff(points[:3], axis=0)
        steps = steps / np.hypot(*steps.T)[:, None]
        ahead = steps[0] if len(steps) == 1 else 1.5 * steps[0] - 0.5 * steps[1]
        ends.append(points[0] - RUN_ON * ahead / float(np.hypot(*ahead)))
    return np.vstack([ends[0], line, ends[1]])
