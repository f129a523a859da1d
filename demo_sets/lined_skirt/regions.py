"""Parts of a piece between parallels of its lines: facing, lining, interfacing, bag.

Drawn as with a ruler: each line is moved square to itself and run on straight, and the
corners are where two of them cross.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from demo_sets.drafting import Bezier, crossing, cut, length, locate, offset_left
from demo_sets.scoop_skirt.mains import even
from propagate.pattern.model import Array

__all__ = ["bag_curve", "cut_line", "part", "region"]

RUN_ON = 40.0  # mm
CORNER = 3.0  # degrees by which a line turns at a corner
SHARP = 10.0  # a parallel runs on round a corner by no more times its distance


def region(rows: Sequence[tuple[str, Array, float]]) -> dict[str, Array]:
    """Return the lines of a region, counter-clockwise.

    Each row is a name, a line of the outline (counter-clockwise there), and how far outside
    of it the region's own line lies, mm; less than 0 is inside.
    """
    lines = [_run_on(_parallel(line, out)) for _, line, out in rows]
    corners = [crossing(before, after) for before, after in _round(lines)]
    found = {}
    for i, ((name, _, _), line) in enumerate(zip(rows, lines, strict=True)):
        begin, end = corners[i - 1][1], corners[i][0]
        if begin < end:
            found[name] = cut(line, begin, end)
        else:  # a line that lies inside of one which is listed too runs the other way
            found[name] = cut(line, end, begin)[::-1]
    return found


def cut_line(rows: Sequence[tuple[str, Array, float]], square: Sequence[str] = ()) -> Array:
    """Return the cut line round an outline, counter-clockwise and closed.

    Each row is a name, an edge of the outline (counter-clockwise), and its allowance, mm.  The
    cut lines of two edges run on to where they meet.  The allowance of an edge in `square` ends
    square to its seam line instead, where that, run on, reaches the next edge's cut line.
    """
    cuts = [_run_on(_parallel(line, out)) for _, line, out in rows]
    begins, ends, walls = [0.0] * len(rows), [0.0] * len(rows), []
    for i, (name, line, out) in enumerate(rows):
        after = (i + 1) % len(rows)
        if name not in square:
            back, begins[after] = crossing(cuts[i][::-1], cuts[after])
            ends[i] = length(cuts[i]) - back
            walls.append(np.empty((0, 2)))
            continue
        on = _run_on(line)[-2:]
        far, begins[after] = crossing(on, cuts[after])
        ahead = (on[1] - on[0]) / float(np.hypot(*(on[1] - on[0])))
        foot = on[0] + far * ahead
        end = foot + out * np.array([ahead[1], -ahead[0]])
        ends[i] = locate(cuts[i], end)
        walls.append(np.array([end, foot]))
    rounds = zip(cuts, begins, ends, walls, strict=True)
    return np.vstack([np.vstack([cut(c, begin, end), wall]) for c, begin, end, wall in rounds])


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


def _parallel(line: Array, out: float) -> Array:
    """The line moved square to itself, to the right; at its corners the parallels meet."""
    steps = np.diff(line, axis=0)
    turns = np.diff(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0])))
    if out == 0.0 or np.abs(turns).max(initial=0.0) < np.radians(CORNER):
        return offset_left(line, -out)
    parallel = shapely.LineString(line).offset_curve(-out, join_style="mitre", mitre_limit=SHARP)
    points = shapely.get_coordinates(parallel)
    return points if (points[-1] - points[0]) @ (line[-1] - line[0]) > 0.0 else points[::-1]


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
