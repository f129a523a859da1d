"""Small drafting helpers of the scoop skirt: lines with Bezier curves, cuts, frames.

A `Line` is drawn in the drafting frame (x from the centre to the flank, y up, mm)
and put on the page by a `Frame`.  Coordinates are rounded to 1e-6 mm on the page,
so that the files do not depend on the last digit of a machine's sine.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from propagate.pattern.model import Array, Edge

__all__ = [
    "Frame",
    "Line",
    "at_distance",
    "cut",
    "direction",
    "edges_of",
    "length",
    "newton",
    "turned",
]

DIGITS = 6
CHORD = 0.008  # mm; the format promises 0.01


def direction(degrees: float) -> Array:
    """Return the unit vector (2,) at `degrees` counter-clockwise from x."""
    angle = math.radians(degrees)
    return np.array([math.cos(angle), math.sin(angle)])


def turned(points: Array, degrees: float) -> Array:
    """Return `points` (..., 2) turned counter-clockwise about the origin."""
    c, s = direction(degrees)
    x, y = points[..., 0], points[..., 1]
    return np.stack([x * c - y * s, x * s + y * c], axis=-1)


def length(points: Array) -> float:
    """Length of a polyline (n, 2), mm."""
    return float(np.sum(np.hypot(*np.diff(points, axis=0).T)))


def at_distance(points: Array, distance: float) -> Array:
    """Return the point (2,) of a polyline `distance` mm from its start."""
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return np.array([np.interp(distance, arc, points[:, i]) for i in (0, 1)])


def cut(points: Array, begin: float, end: float) -> Array:
    """Return the part of a polyline between two distances from its start, mm.

    Both ends are put in as vertices; a vertex nearer than 1e-6 mm to one gives way.
    """
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    inner = points[(arc > begin + 1e-6) & (arc < end - 1e-6)]
    return np.vstack([at_distance(points, begin), inner, at_distance(points, end)])


def newton(
    misses: Callable[[Array], Array], start: Sequence[float], tolerance: float = 1e-9
) -> Array:
    """Solve ``misses(x) = 0`` by Newton steps with a Jacobian from differences.

    Raises
    ------
    ArithmeticError
        The misses do not fall below `tolerance` mm in 30 steps.
    """
    x = np.array(start, dtype=np.float64)
    step = 1e-5
    for _ in range(30):
        miss = misses(x)
        if float(np.abs(miss).max()) < tolerance:
            return x
        slopes = [(misses(x + step * unit) - miss) / step for unit in np.eye(len(x))]
        x = x - np.linalg.solve(np.stack(slopes, axis=1), miss)
    raise ArithmeticError(f"the draft does not close: misses {misses(x)} mm after 30 steps")


@dataclass(frozen=True)
class Line:
    """A line of straight (2 points) and cubic (4 points) segments.

    Attributes
    ----------
    segments : tuple of (2, 2) or (4, 2) arrays, mm
    turns : tuple of int
        Corners inside the line; only for lines of straight segments.
    as_path : bool
        Written as path data with its curves instead of as points.
    """

    segments: tuple[Array, ...]
    turns: tuple[int, ...] = ()
    as_path: bool = False

    @classmethod
    def through(cls, points: Array, turns: tuple[int, ...] = ()) -> Line:
        """Return the polyline through `points` (n, 2)."""
        return cls(tuple(points[i : i + 2] for i in range(len(points) - 1)), turns)

    @property
    def points(self) -> Array:
        """(n, 2) polyline with a chord error of at most `CHORD`, mm."""
        first = self.segments[0][:1]
        return np.vstack([first, *(_flat(segment)[1:] for segment in self.segments)])


def _flat(control: Array) -> Array:
    """Flatten one segment at even parameters.

    The chord error of a step h in the parameter is at most h^2/8 times the largest
    second derivative, which for a cubic is 6 times the largest second difference of
    its control points.
    """
    if len(control) == 2:
        return control
    bend = 6.0 * float(np.hypot(*np.diff(control, n=2, axis=0).T).max())
    count = 8 * math.ceil(math.sqrt(bend / (8.0 * CHORD)) / 8.0)
    t = np.linspace(0.0, 1.0, count + 1)[:, None]
    s = 1.0 - t
    p0, p1, p2, p3 = control
    flat: Array = s**3 * p0 + 3 * s**2 * t * p1 + 3 * s * t**2 * p2 + t**3 * p3
    flat[0], flat[-1] = p0, p3
    return flat


@dataclass(frozen=True)
class Frame:
    """Where a piece lies on the page: mirrored in y, then turned, then moved."""

    degrees: float
    offset: tuple[float, float]
    mirrored: bool = False

    def put(self, points: Array) -> Array:
        """Return drafting points (..., 2) as page points, rounded."""
        flip = np.array([-1.0 if self.mirrored else 1.0, 1.0])
        placed = turned(points * flip, self.degrees) + np.array(self.offset)
        rounded: Array = np.round(placed, DIGITS) + 0.0
        return rounded

    def pair(self, point: Array) -> tuple[float, float]:
        """Return one drafting point as a page point."""
        x, y = self.put(point)
        return float(x), float(y)


def edges_of(lines: Sequence[tuple[str, Line]], frame: Frame, start: str) -> tuple[Edge, ...]:
    """Return an outline drawn clockwise as edges, counter-clockwise on the page.

    A mirrored frame turns the sense by itself; in any other the lines are taken
    backwards.  The outline is listed from the edge `start`.
    """
    edges = [_edge(name, line, frame) for name, line in lines]
    if not frame.mirrored:
        edges.reverse()
    first = next(i for i, edge in enumerate(edges) if edge.name == start)
    return tuple(edges[first:] + edges[:first])


def _edge(name: str, line: Line, frame: Frame) -> Edge:
    segments = [frame.put(segment) for segment in line.segments]
    turns = line.turns
    if not frame.mirrored:
        segments = [segment[::-1] for segment in reversed(segments)]
        turns = tuple(sorted(len(segments) - turn for turn in turns))
    placed = Line(tuple(segments), turns)
    return Edge(name, placed.points, turns, _path(segments) if line.as_path else None)


def _path(segments: Sequence[Array]) -> str:
    def text(points: Array) -> str:
        return " ".join(f"{float(v):.{DIGITS}f}".rstrip("0").rstrip(".") for v in points.ravel())

    words = [f"M {text(segments[0][0])}"]
    words += [f"{'L' if len(s) == 2 else 'C'} {text(s[1:])}" for s in segments]
    return " ".join(words)
