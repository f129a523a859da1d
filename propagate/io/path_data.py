"""Path data (``M L H V C S Q T A``, absolute or relative) as a polyline.

The grammar and the arc formulas are those of the W3C recommendation *Scalable Vector
Graphics (SVG) 1.1*, sections 8.3 and F.6 (from memory).  Only one open stretch is
allowed: one move at the start, no closing.

A curve is cut at even parameters.  For a curve f over a step h the distance between
chord and curve is at most ``h**2 / 8 * max|f''|`` (error of linear interpolation, any
numerical analysis textbook), so the number of steps below is a guarantee and not an
estimate.  Control points bound ``|f''|`` of a Bezier curve, the larger radius that of an
elliptical arc.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from propagate.errors import FormatError
from propagate.io.words import quoted
from propagate.pattern.model import Array, frozen_points
from propagate.tolerances import CHORD_ERROR_MM
from propagate.values import dataclass

__all__ = ["TURN_DEG", "flatten_path"]

TURN_DEG = 2.0  # a joint whose tangents differ by more is a turn point
MAX_POINTS = 500_000  # of one path
MAX_STEPS = 10_000  # per curve; more means that the numbers are not millimetres

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_BETWEEN = re.compile(r"[\s,]*")
_Point = tuple[float, float]


def flatten_path(text: str) -> tuple[Array, tuple[int, ...]]:
    """Return the points of path data and the indices of its turn points.

    Parameters
    ----------
    text : str
        Path data in mm.

    Returns
    -------
    points : (n, 2) float64 array, read-only, mm
        Chord error at most `CHORD_ERROR_MM`; the end points of every command are kept
        exactly.
    turns : tuple of int
        Inner joints of commands where the direction jumps by more than `TURN_DEG`.

    Raises
    ------
    FormatError
        Says at which character what was found and what was expected.
    """
    curves = [curve for curve in _curves(_Cursor(text)) if curve.length_bound > 0.0]
    if not curves:
        raise FormatError(
            f"path data {quoted(text[:60])} draws nothing, expected a line or a curve"
        )
    points: list[_Point] = [curves[0].controls[0]]
    turns: list[int] = []
    last: _Curve | None = None
    for curve in curves:
        if last is not None and _jump(last, curve) > TURN_DEG:
            turns.append(len(points) - 1)
        points.extend(curve.after_start())
        if len(points) > MAX_POINTS:
            raise FormatError(
                f"path data needs more than {MAX_POINTS} points; are its numbers millimetres?"
            )
        last = curve
    return frozen_points(points), tuple(turns)


# ------------------------------------------------------------------------------- curves


@dataclass(frozen=True)
class _Curve:
    """A line (2 control points), or a Bezier curve (3 or 4)."""

    controls: tuple[_Point, ...]

    @property
    def length_bound(self) -> float:
        """Length of the control polygon, mm."""
        return sum(math.dist(a, b) for a, b in pairwise(self.controls))

    def direction(self, *, at_end: bool) -> _Point:
        """Direction at one end: towards the nearest control point that differs."""
        controls = self.controls[::-1] if at_end else self.controls
        x, y = controls[0]
        for a, b in controls[1:]:
            if (a, b) != (x, y):
                return (x - a, y - b) if at_end else (a - x, b - y)
        return (0.0, 0.0)

    def after_start(self) -> list[_Point]:
        """Points after the first, the last one exact."""
        control = np.array(self.controls, dtype=np.float64)
        degree = len(control) - 1
        if degree == 1:
            return [self.controls[-1]]
        bend = float(np.hypot(*np.diff(control, 2, axis=0).T).max()) * degree * (degree - 1)
        steps = _steps(bend)
        t = np.arange(1, steps)[:, None] / steps
        level = [control[i] * np.ones_like(t) for i in range(degree + 1)]
        while len(level) > 1:  # de Casteljau
            level = [a + (b - a) * t for a, b in pairwise(level)]
        return [(float(x), float(y)) for x, y in level[0]] + [self.controls[-1]]


@dataclass(frozen=True)
class _Arc(_Curve):
    """An elliptical arc; `controls` are its two ends."""

    centre: _Point
    radii: _Point
    tilt: float
    begin: float
    sweep: float

    def _at(self, angle: float) -> _Point:
        x, y = self.radii[0] * math.cos(angle), self.radii[1] * math.sin(angle)
        x, y = _turned(x, y, self.tilt)
        return self.centre[0] + x, self.centre[1] + y

    def direction(self, *, at_end: bool) -> _Point:
        angle = self.begin + (self.sweep if at_end else 0.0)
        x, y = -self.radii[0] * math.sin(angle), self.radii[1] * math.cos(angle)
        x, y = _turned(x, y, self.tilt)
        return (x, y) if self.sweep > 0 else (-x, -y)

    def after_start(self) -> list[_Point]:
        steps = _steps(max(self.radii) * self.sweep**2)
        inner = [self._at(self.begin + self.sweep * i / steps) for i in range(1, steps)]
        return [*inner, self.controls[-1]]


def _steps(second_derivative: float) -> int:
    """Steps over the parameter range 0..1 that keep the chord error."""
    steps = math.sqrt(second_derivative / (8 * CHORD_ERROR_MM))
    if not steps < MAX_STEPS:
        raise FormatError(
            "path data has a curve that needs more than "
            f"{MAX_STEPS} points; are its numbers millimetres?"
        )
    return max(1, math.ceil(steps))


def _turned(x: float, y: float, angle: float) -> _Point:
    cos, sin = math.cos(angle), math.sin(angle)
    return x * cos - y * sin, x * sin + y * cos


def _jump(before: _Curve, after: _Curve) -> float:
    """Angle between the end of one curve and the start of the next, degrees."""
    ax, ay = before.direction(at_end=True)
    bx, by = after.direction(at_end=False)
    return math.degrees(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))


def _arc(
    start: _Point, radii: _Point, tilt: float, large: bool, rising: bool, end: _Point
) -> _Curve:
    """Centre form of an arc from its end point form (SVG 1.1, F.6.5 and F.6.6)."""
    rx, ry = abs(radii[0]), abs(radii[1])
    if rx == 0.0 or ry == 0.0 or start == end:
        return _Curve((start, end))
    x, y = _turned((start[0] - end[0]) / 2, (start[1] - end[1]) / 2, -tilt)
    size = math.hypot(x / rx, y / ry)
    if size > 1.0:
        rx, ry = rx * size, ry * size
    rest = rx**2 * y**2 + ry**2 * x**2
    factor = math.sqrt(max(0.0, (rx**2 * ry**2 - rest) / rest)) * (-1 if large == rising else 1)
    cx, cy = factor * rx * y / ry, -factor * ry * x / rx
    begin = math.atan2((y - cy) / ry, (x - cx) / rx)
    stop = math.atan2((-y - cy) / ry, (-x - cx) / rx)
    sweep = (stop - begin) % math.tau if rising else -((begin - stop) % math.tau)
    mx, my = _turned(cx, cy, tilt)
    centre = (mx + (start[0] + end[0]) / 2, my + (start[1] + end[1]) / 2)
    return _Arc((start, end), centre, (rx, ry), tilt, begin, sweep)


# ------------------------------------------------------------------------------ reading


class _Cursor:
    """A place in path data."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.place = 0

    def _skip(self) -> None:
        match = _BETWEEN.match(self.text, self.place)
        self.place = match.end() if match else self.place

    def wrong(self, expected: str) -> FormatError:
        """Return the error for what stands here."""
        found = self.text[self.place : self.place + 12] or "the end"
        return FormatError(
            f"path data cannot be read at character {self.place + 1}: "
            f"found {quoted(found)}, expected {expected}"
        )

    def letter(self) -> str | None:
        """Return the next command letter; None at the end or before a number."""
        self._skip()
        if self.place < len(self.text) and self.text[self.place].isalpha():
            self.place += 1
            return self.text[self.place - 1]
        return None

    def at_end(self) -> bool:
        """Tell whether nothing is left."""
        self._skip()
        return self.place >= len(self.text)

    def number(self) -> float:
        """Return the next number."""
        self._skip()
        match = _NUMBER.match(self.text, self.place)
        if match is None or not math.isfinite(float(match[0])):
            raise self.wrong("a number")
        self.place = match.end()
        return float(match[0])

    def flag(self) -> bool:
        """Return the next 0 or 1 of an arc; flags may stand without a gap."""
        self._skip()
        if self.text[self.place : self.place + 1] not in ("0", "1"):
            raise self.wrong("an arc flag, 0 or 1")
        self.place += 1
        return self.text[self.place - 1] == "1"


def _curves(cursor: _Cursor) -> Iterator[_Curve]:
    """Yield one curve for each command."""
    command = cursor.letter()
    if command not in ("M", "m"):
        cursor.place = 0
        raise cursor.wrong("path data that starts with M")
    here = (cursor.number(), cursor.number())
    command = "L" if command == "M" else "l"
    control: tuple[str, _Point] | None = None  # kind and last control point, for S and T
    while not cursor.at_end():
        before = cursor.place
        command = cursor.letter() or command
        if command.upper() not in "LHVCSQTA":
            cursor.place = before
            raise cursor.wrong("one of L H V C S Q T A (one open line; no second M, no Z)")
        curve = _read(cursor, command, here, control)
        yield curve
        control = None
        if command.upper() in "CSQT":
            control = ("CS" if command.upper() in "CS" else "QT", curve.controls[-2])
        here = curve.controls[-1]


def _read(
    cursor: _Cursor, command: str, here: _Point, control: tuple[str, _Point] | None
) -> _Curve:
    """Read the numbers of one command."""
    ox, oy = here if command.islower() else (0.0, 0.0)
    kind = command.upper()

    def point() -> _Point:
        x = cursor.number()
        return ox + x, oy + cursor.number()

    if kind == "H":
        return _Curve((here, (ox + cursor.number(), here[1])))
    if kind == "V":
        return _Curve((here, (here[0], oy + cursor.number())))
    if kind == "A":
        radii = (cursor.number(), cursor.number())
        tilt = math.radians(cursor.number())
        return _arc(here, radii, tilt, cursor.flag(), cursor.flag(), point())
    if kind in "ST":
        first = here
        if control is not None and kind in control[0]:
            first = (2 * here[0] - control[1][0], 2 * here[1] - control[1][1])
        return _Curve((here, first, *(point() for _ in range(2 if kind == "S" else 1))))
    return _Curve((here, *(point() for _ in range({"L": 1, "Q": 2, "C": 3}[kind]))))
