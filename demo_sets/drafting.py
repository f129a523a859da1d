"""Lines and curves that the generators of the demonstration sets draft with.

A draft is made in a frame of its own (y up, millimetres) from curves given as
functions, from polylines and from cubic Béziers; `drawing.py` turns what was drafted
into pieces.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from propagate.pattern.model import Array

__all__ = [
    "Bezier",
    "Curve",
    "along",
    "circle_hit",
    "crossing",
    "curve_length",
    "cut",
    "flatten",
    "join",
    "length",
    "locate",
    "offset_left",
    "rotated",
    "solve",
    "unit",
]

Curve = Callable[[Array], Array]
"""Maps an (n,) array of parameters to (n, 2) points."""

CHORD_ERROR = 0.005
"""mm; half of what the set format allows, so that rounding never breaks it."""


# --- curves -----------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Bezier:
    """A cubic Bézier; `control` is a (4, 2) array."""

    control: Array

    @classmethod
    def hermite(
        cls,
        start: npt.ArrayLike,
        leave: npt.ArrayLike,
        end: npt.ArrayLike,
        arrive: npt.ArrayLike,
        handles: tuple[float, float],
    ) -> Bezier:
        """Curve from `start` to `end` with unit directions and handle lengths in mm."""
        p, q = np.asarray(start, float), np.asarray(end, float)
        a = p + handles[0] * np.asarray(leave, float)
        b = q - handles[1] * np.asarray(arrive, float)
        return cls(np.array([p, a, b, q]))

    def __call__(self, t: Array) -> Array:
        """Points at parameters `t` in 0..1."""
        t = np.asarray(t, float)[:, None]
        a, b, c, d = self.control
        s = 1.0 - t
        points: Array = s**3 * a + 3 * s**2 * t * b + 3 * s * t**2 * c + t**3 * d
        return points

    def split(self, t: float) -> tuple[Bezier, Bezier]:
        """Cut in two at parameter `t` (de Casteljau)."""
        rows = [self.control]
        while len(rows[-1]) > 1:
            rows.append((1 - t) * rows[-1][:-1] + t * rows[-1][1:])
        left = np.array([row[0] for row in rows])
        right = np.array([row[-1] for row in rows[::-1]])
        return Bezier(left), Bezier(right)


def flatten(
    curve: Curve, begin: float = 0.0, end: float = 1.0, chord: float = CHORD_ERROR
) -> Array:
    """Return (n, 2) points of `curve` whose chords leave it by at most `chord` mm.

    The step is halved until three points between two vertices lie within `chord`.
    """
    ts = np.linspace(begin, end, 5)
    while True:
        pts = curve(ts)
        base, span = pts[:-1], np.diff(pts, axis=0)
        norm = np.maximum(np.hypot(*span.T), 1e-12)
        worst = np.zeros(len(span))
        for part in (0.25, 0.5, 0.75):
            off = curve(ts[:-1] + part * np.diff(ts)) - base
            worst = np.maximum(
                worst, np.abs(span[:, 0] * off[:, 1] - span[:, 1] * off[:, 0]) / norm
            )
        bad = worst > chord
        if not bad.any():
            return pts
        ts = np.sort(np.concatenate([ts, 0.5 * (ts[:-1] + ts[1:])[bad]]))


def curve_length(curve: Curve, begin: float = 0.0, end: float = 1.0, count: int = 2000) -> float:
    """Length of `curve` by fine chords, mm (smooth in the curve's parameters)."""
    return length(curve(np.linspace(begin, end, count + 1)))


# --- polylines --------------------------------------------------------------


def length(points: Array) -> float:
    """Length of a polyline, mm."""
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _arc(points: Array) -> Array:
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def along(points: Array, distance: float) -> Array:
    """Point (2,) at `distance` mm from the start of a polyline."""
    arc = _arc(points)
    return np.array(
        [np.interp(distance, arc, points[:, 0]), np.interp(distance, arc, points[:, 1])]
    )


def cut(points: Array, begin: float, end: float | None = None, clear: float = 1e-7) -> Array:
    """Part of a polyline between two distances from its start; `None`: to its end.

    Vertices nearer than `clear` mm to the two ends are left out.
    """
    arc = _arc(points)
    last = arc[-1] if end is None else end
    inner = points[(arc > begin + clear) & (arc < last - clear)]
    head = points[:1] if begin <= 0 else along(points, begin)[None]
    tail = points[-1:] if end is None else along(points, last)[None]
    return np.concatenate([head, inner, tail])


def join(*parts: Array) -> Array:
    """One polyline from parts that follow each other (the shared points once)."""
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])


def locate(points: Array, place: npt.ArrayLike) -> float:
    """Distance from the start of the polyline's point that is nearest to `place`."""
    steps = np.diff(points, axis=0)
    to = np.asarray(place, float) - points[:-1]
    part = np.clip((to * steps).sum(1) / (steps**2).sum(1), 0.0, 1.0)
    gap = np.hypot(*(to - part[:, None] * steps).T)
    best = int(np.argmin(gap))
    return float(_arc(points)[best] + part[best] * np.hypot(*steps[best]))


def crossing(line: Array, other: Array) -> tuple[float, float]:
    """Distances along two polylines of their first crossing (first along `line`).

    Raises ValueError when they do not cross.
    """
    for i, (p, r) in enumerate(zip(line[:-1], np.diff(line, axis=0), strict=True)):
        s = np.diff(other, axis=0)
        det = r[0] * s[:, 1] - r[1] * s[:, 0]
        gap = other[:-1] - p
        with np.errstate(divide="ignore", invalid="ignore"):
            t = (gap[:, 0] * s[:, 1] - gap[:, 1] * s[:, 0]) / det
            u = (gap[:, 0] * r[1] - gap[:, 1] * r[0]) / det
        hits = np.flatnonzero((t >= 0) & (t <= 1) & (u >= 0) & (u <= 1))
        if len(hits):
            j = hits[np.argmin(t[hits])]
            one = _arc(line)[i] + t[j] * np.hypot(*r)
            two = _arc(other)[j] + u[j] * np.hypot(*s[j])
            return float(one), float(two)
    raise ValueError("the two lines of the draft do not cross")


def circle_hit(points: Array, centre: npt.ArrayLike, radius: float) -> float:
    """Distance along a polyline where it first leaves the circle.

    Raises ValueError when the polyline never gets `radius` away from `centre`.
    """
    gap = np.hypot(*(points - np.asarray(centre, float)).T)
    out = np.flatnonzero((gap[:-1] < radius) & (gap[1:] >= radius))
    if not len(out):
        raise ValueError(f"the line does not leave the circle of radius {radius} mm")
    i = int(out[0])
    p, d = points[i] - np.asarray(centre, float), points[i + 1] - points[i]
    a, b, c = d @ d, p @ d, p @ p - radius**2
    t = (-b + math.sqrt(b * b - a * c)) / a
    return float(_arc(points)[i] + t * math.sqrt(a))


def offset_left(points: Array, distance: float) -> Array:
    """Polyline `distance` mm to the left of a smooth polyline, vertex by vertex."""
    steps = np.diff(points, axis=0)
    steps = steps / np.hypot(*steps.T)[:, None]
    mean = np.concatenate([steps[:1], steps[:-1] + steps[1:], steps[-1:]])
    mean = mean / np.hypot(*mean.T)[:, None]
    return points + distance * np.column_stack([-mean[:, 1], mean[:, 0]])


# --- small mathematics ------------------------------------------------------


def unit(degrees: float) -> Array:
    """Unit vector (2,) at an angle from the x axis."""
    return np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])


def rotated(points: Array, degrees: float, about: npt.ArrayLike = (0.0, 0.0)) -> Array:
    """Points turned counter-clockwise about a point."""
    c, s = unit(degrees)
    centre = np.asarray(about, float)
    return np.asarray(
        (np.atleast_2d(np.asarray(points, float)) - centre) @ np.array([[c, s], [-s, c]]) + centre
    )


def solve(
    residual: Callable[[Array], npt.ArrayLike], start: npt.ArrayLike, close: float = 1e-9
) -> Array:
    """Solve as many equations as unknowns by Newton's method (differences of 1e-5).

    Raises ArithmeticError when 60 steps do not bring every residual below `close`.
    """
    x = np.atleast_1d(np.array(start, float))
    for _ in range(60):
        r = np.atleast_1d(np.asarray(residual(x), float))
        if np.abs(r).max() < close:
            return x
        columns = []
        for k in range(len(x)):
            step = np.zeros_like(x)
            step[k] = 1e-5
            ahead, behind = np.atleast_1d(residual(x + step)), np.atleast_1d(residual(x - step))
            columns.append((np.asarray(ahead) - np.asarray(behind)) / 2e-5)
        x = x - np.linalg.solve(np.column_stack(columns), r)
    raise ArithmeticError(f"the draft does not close: residuals {r} at {x}")
