"""Elliptical arcs of path data: their centre form, and cubic curves that stand for them.

The formulas are those of the W3C recommendation *Scalable Vector Graphics (SVG) 1.1*, F.6.5 and
F.6.6 (from memory).
"""

from __future__ import annotations

import math

from propagate.values import dataclass

__all__ = ["Arc", "Point", "arc_segments", "find_arc"]

Point = tuple[float, float]

_STEP = math.pi / 8
"""A cubic curve stands for no more of an arc."""
_FLATTEST = 1e-9
"""Half the chord of an arc in parts of its radius, below which digits are lost and it is straight:
it bends by less than a billionth of its length."""


@dataclass(frozen=True)
class Arc:
    """An elliptical arc by its centre.

    Attributes
    ----------
    centre, radii : Point
    tilt, begin, sweep : float
        Of the ellipse, of the start on it, and from there to the end, radians.
    """

    centre: Point
    radii: Point
    tilt: float
    begin: float
    sweep: float

    def place(self, p: float, q: float) -> Point:
        """Put a point of the plane of the unit circle where the arc lies."""
        x, y = _turn_point(self.radii[0] * p, self.radii[1] * q, self.tilt)
        return self.centre[0] + x, self.centre[1] + y

    def point_at(self, angle: float) -> Point:
        """Return the place on it at an angle, radians."""
        return self.place(math.cos(angle), math.sin(angle))

    def direction_at(self, angle: float) -> Point:
        """Return the direction of travel at an angle, radians."""
        x, y = -self.radii[0] * math.sin(angle), self.radii[1] * math.cos(angle)
        x, y = _turn_point(x, y, self.tilt)
        return (x, y) if self.sweep > 0 else (-x, -y)


def _turn_point(x: float, y: float, angle: float) -> Point:
    cos, sin = math.cos(angle), math.sin(angle)
    return x * cos - y * sin, x * sin + y * cos


def find_arc(
    start: Point, radii: Point, tilt: float, large: bool, rising: bool, end: Point
) -> Arc | None:
    """Return the centre form of an arc from its end point form; None where it is straight.

    So is one that is too large, or whose ends are too near, for its bend to be told from a line:
    the numbers of a damaged file may be anything.
    """
    try:
        arc = _find_centre(start, radii, tilt, large, rising, end)
    except (OverflowError, ZeroDivisionError):
        return None
    told = arc is not None and math.isfinite(math.fsum((*arc.centre, *arc.radii, arc.sweep)))
    return arc if told else None


def _find_centre(
    start: Point, radii: Point, tilt: float, large: bool, rising: bool, end: Point
) -> Arc | None:
    rx, ry = abs(radii[0]), abs(radii[1])
    if rx == 0.0 or ry == 0.0 or start == end:
        return None
    x, y = _turn_point((start[0] - end[0]) / 2, (start[1] - end[1]) / 2, -tilt)
    size = math.hypot(x / rx, y / ry)
    if size < _FLATTEST and not large:
        return None
    if size > 1.0:
        rx, ry = rx * size, ry * size
    rest = rx**2 * y**2 + ry**2 * x**2
    factor = math.sqrt(max(0.0, (rx**2 * ry**2 - rest) / rest)) * (-1 if large == rising else 1)
    cx, cy = factor * rx * y / ry, -factor * ry * x / rx
    begin = math.atan2((y - cy) / ry, (x - cx) / rx)
    stop = math.atan2((-y - cy) / ry, (-x - cx) / rx)
    sweep = (stop - begin) % math.tau if rising else -((begin - stop) % math.tau)
    mx, my = _turn_point(cx, cy, tilt)
    centre = (mx + (start[0] + end[0]) / 2, my + (start[1] + end[1]) / 2)
    return Arc(centre, (rx, ry), tilt, begin, sweep)


def arc_segments(
    start: Point, radii: Point, tilt: float, large: bool, rising: bool, end: Point
) -> list[tuple[Point, ...]]:
    """Return an elliptical arc as cubic curves, each without its start."""
    arc = find_arc(start, radii, tilt, large, rising, end)
    if arc is None:
        return [(end,)]
    steps = max(1, math.ceil(abs(arc.sweep) / _STEP - 1e-9))
    step = arc.sweep / steps
    handle = 4 / 3 * math.tan(step / 4)
    found: list[tuple[Point, ...]] = []
    for index in range(steps):
        a, b = arc.begin + index * step, arc.begin + (index + 1) * step
        first = arc.place(math.cos(a) - handle * math.sin(a), math.sin(a) + handle * math.cos(a))
        second = arc.place(math.cos(b) + handle * math.sin(b), math.sin(b) - handle * math.cos(b))
        found.append((first, second, end if index == steps - 1 else arc.point_at(b)))
    return found
