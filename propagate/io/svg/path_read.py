"""Read the path data of a drawing: several lines, open or closed, curves of every kind.

Elliptical arcs become cubic curves over at most 22.5 degrees each; such a cubic leaves the
arc by less than 1e-7 of its radius (the error of 2.7e-4 for a quarter, tabled in textbooks
on Bezier curves, falls with the sixth power of the angle).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from propagate.io.path_data import PathReader, Point

__all__ = ["Line", "arc_segments", "parse_path"]

ARC_STEP = math.pi / 8


@dataclass
class Line:
    """One line of a path in the drawing's own units: see `Chain`."""

    start: Point
    segments: list[tuple[Point, ...]] = field(default_factory=list)
    closed: bool = False


def parse_path(text: str) -> list[Line]:
    """Return the lines of path data.

    Raises
    ------
    FormatError
        See `PathReader.steps`.
    """
    lines: list[Line] = []
    here: Point = (0.0, 0.0)
    for step in PathReader(text, several=True).steps():
        end = step.points[-1]
        if step.kind == "Z":
            lines[-1].closed = bool(lines[-1].segments)
        if step.kind in "MZ":
            lines.append(Line(end))  # what follows a closing without a move starts there
        elif step.arc is not None:
            lines[-1].segments += arc_segments(here, *step.arc, end)
        else:
            lines[-1].segments.append(step.points)
        here = end
    return [line for line in lines if line.segments]


def arc_segments(
    start: Point, radii: Point, tilt: float, large: bool, rising: bool, end: Point
) -> list[tuple[Point, ...]]:
    """An elliptical arc as cubic curves (SVG 1.1, F.6.5 and F.6.6)."""
    rx, ry = abs(radii[0]), abs(radii[1])
    if rx == 0.0 or ry == 0.0 or start == end:
        return [(end,)]
    cos, sin = math.cos(tilt), math.sin(tilt)
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x, y = cos * dx + sin * dy, -sin * dx + cos * dy
    size = math.hypot(x / rx, y / ry)
    if size > 1.0:
        rx, ry = rx * size, ry * size
    u, v = x / rx, y / ry  # on the unit circle about the origin, half of the chord
    half = math.hypot(u, v)
    factor = math.sqrt(max(0.0, 1.0 - half**2)) / max(half, 1e-300)
    if large == rising:
        factor = -factor
    cu, cv = factor * v, -factor * u
    begin = math.atan2(v - cv, u - cu)
    stop = math.atan2(-v - cv, -u - cu)
    sweep = (stop - begin) % math.tau if rising else -((begin - stop) % math.tau)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)

    def placed(p: float, q: float) -> Point:
        px, py = (p + cu) * rx, (q + cv) * ry
        return middle[0] + cos * px - sin * py, middle[1] + sin * px + cos * py

    steps = max(1, math.ceil(abs(sweep) / ARC_STEP - 1e-9))
    step = sweep / steps
    handle = 4 / 3 * math.tan(step / 4)
    found: list[tuple[Point, ...]] = []
    for index in range(steps):
        a, b = begin + index * step, begin + (index + 1) * step
        first = placed(math.cos(a) - handle * math.sin(a), math.sin(a) + handle * math.cos(a))
        second = placed(math.cos(b) + handle * math.sin(b), math.sin(b) - handle * math.cos(b))
        last = end if index == steps - 1 else placed(math.cos(b), math.sin(b))
        found.append((first, second, last))
    return found
