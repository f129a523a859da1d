"""Path data (``M L H V C S Q T A Z``, absolute or relative), and one open line as a polyline.

The grammar and the arc formulas are those of the W3C recommendation *Scalable Vector
Graphics (SVG) 1.1*, sections 8.3 and F.6 (from memory).

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
from typing import NamedTuple

import numpy as np

from propagate.errors import FormatError
from propagate.io.arcs import Arc, Point, find_arc
from propagate.pattern.model import Array, frozen_points
from propagate.tolerances import CHORD_ERROR_MM
from propagate.values import dataclass
from propagate.visible import quoted

__all__ = ["NUMBER", "PathReader", "Point", "Step", "TURN_DEG", "flatten_path"]

TURN_DEG = 2.0  # a joint whose tangents differ by more is a turn point
MAX_POINTS = 500_000  # of one path
MOST_COMMANDS = 100_000  # of several lines
MAX_STEPS = 10_000  # per curve; more means that the numbers are not millimetres

_BETWEEN = re.compile(r"[\s,]*")
NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBER = re.compile(rf"[\s,]*({NUMBER})")
_OF_ONE, _OF_SEVERAL = "LHVCSQTAlhvcsqta", "MLHVCSQTAZmlhvcsqtaz"
_LETTER = re.compile(r"[\s,]*(\w)")
_FLAG = re.compile(r"[\s,]*([01])")


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
    curves: list[_Curve] = []
    here: Point = (0.0, 0.0)
    for step in PathReader(text, several=False).steps():
        end = step.points[-1]
        if step.arc is not None:
            arc = find_arc(here, *step.arc, end)
            ends = (here, end)
            curves.append(_Curve(ends) if arc is None else _EllipticalArc(ends, arc))
        elif step.kind != "M":
            curves.append(_Curve((here, *step.points)))
        here = end
    curves = [curve for curve in curves if curve.length_bound > 0.0]
    if not curves:
        raise FormatError(
            f"path data {quoted(text[:60])} draws nothing, expected a line or a curve"
        )
    points: list[Point] = [curves[0].controls[0]]
    turns: list[int] = []
    for before, curve in zip([None, *curves], curves, strict=False):
        if before is not None:
            (ax, ay), (bx, by) = before.direction(at_end=True), curve.direction(at_end=False)
            if math.degrees(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by))) > TURN_DEG:
                turns.append(len(points) - 1)
        points.extend(curve.after_start())
        if len(points) > MAX_POINTS:
            raise FormatError(
                f"path data needs more than {MAX_POINTS} points; are its numbers millimetres?"
            )
    return frozen_points(points), tuple(turns)


@dataclass(frozen=True)
class _Curve:
    """A line (2 control points), or a Bezier curve (3 or 4)."""

    controls: tuple[Point, ...]

    @property
    def length_bound(self) -> float:
        """Length of the control polygon, mm."""
        return sum(math.dist(a, b) for a, b in pairwise(self.controls))

    def direction(self, *, at_end: bool) -> Point:
        """Direction at one end: towards the nearest control point that differs."""
        controls = self.controls[::-1] if at_end else self.controls
        x, y = controls[0]
        for a, b in controls[1:]:
            if (a, b) != (x, y):
                return (x - a, y - b) if at_end else (a - x, b - y)
        return (0.0, 0.0)

    def after_start(self) -> list[Point]:
        """Points after the first, the last one exact."""
        control = np.array(self.controls, dtype=np.float64)
        degree = len(control) - 1
        if degree == 1:
            return [self.controls[-1]]
        bend = float(np.hypot(*np.diff(control, 2, axis=0).T).max()) * degree * (degree - 1)
        steps = _count_steps(bend)
        t = np.arange(1, steps)[:, None] / steps
        level = [control[i] * np.ones_like(t) for i in range(degree + 1)]
        while len(level) > 1:  # de Casteljau
            level = [a + (b - a) * t for a, b in pairwise(level)]
        return [(float(x), float(y)) for x, y in level[0]] + [self.controls[-1]]


@dataclass(frozen=True)
class _EllipticalArc(_Curve):
    """An elliptical arc; `controls` are its two ends."""

    arc: Arc

    def direction(self, *, at_end: bool) -> Point:
        return self.arc.direction_at(self.arc.begin + (self.arc.sweep if at_end else 0.0))

    def after_start(self) -> list[Point]:
        begin, sweep = self.arc.begin, self.arc.sweep
        steps = _count_steps(max(self.arc.radii) * sweep**2)
        inner = [self.arc.point_at(begin + sweep * i / steps) for i in range(1, steps)]
        return [*inner, self.controls[-1]]


def _count_steps(second_derivative: float) -> int:
    """Steps over the parameter range 0..1 that keep the chord error."""
    steps = math.sqrt(second_derivative / (8 * CHORD_ERROR_MM))
    if not steps < MAX_STEPS:
        raise FormatError(
            "path data has a curve that needs more than "
            f"{MAX_STEPS} points; are its numbers millimetres?"
        )
    return max(1, math.ceil(steps))


class Step(NamedTuple):
    """One command with its numbers, in absolute places.

    Attributes
    ----------
    kind : "M", "Z", "A" or "C"
        A move, a closing, an arc, or a straight line or Bezier curve.
    points : tuple of Point
        Where a move or an arc ends; the control points of a line or curve after its start.
    arc : ((rx, ry), tilt, large, rising) or None
        Of an arc, its tilt in radians.
    """

    kind: str
    points: tuple[Point, ...] = ()
    arc: tuple[Point, float, bool, bool] | None = None


class PathReader:
    """Reads path data command by command.

    Parameters
    ----------
    text : str
    several : bool
        Several lines, open or closed; else one open line, of which the first command is the only
        move.
    """

    def __init__(self, text: str, *, several: bool) -> None:
        self.text, self.several = text, several
        self.place = 0
        self.here: Point = (0.0, 0.0)
        self._begin = self.here
        self._control: tuple[str, Point] | None = None  # kind and last control point, for S and T

    def steps(self) -> Iterator[Step]:
        """Yield one step for each command.

        Raises
        ------
        FormatError
            Says at which character what was found and what was expected; also for more than
            `MOST_COMMANDS` of several lines.
        """
        if self.several and (self._at_end() or self.text.strip() == "none"):
            return
        command, count = "", 0
        while not command or not self._at_end():
            letter = self._letter()
            if not command and letter not in ("M", "m"):
                if letter is None and self.several:
                    raise self._wrong("a command")
                raise self._wrong("path data that starts with M", at=0)
            if letter is None and command in "Zz":
                raise self._wrong("a command")
            command = letter or {"M": "L", "m": "l"}.get(command, command)
            count += 1
            if self.several and count > MOST_COMMANDS:
                raise FormatError(f"path data has more than {MOST_COMMANDS} commands")
            yield self._step(command)

    def _wrong(self, expected: str, *, at: int | None = None) -> FormatError:
        """The error for what stands here."""
        if at is None:
            at = self.place if self.several else self._after_blanks()
        found = self.text[at : at + 12] or "the end"
        return FormatError(
            f"path data cannot be read at character {at + 1}: found {quoted(found)}, "
            f"expected {expected}"
        )

    def _after_blanks(self) -> int:
        match = _BETWEEN.match(self.text, self.place)
        return match.end() if match else self.place

    def _at_end(self) -> bool:
        if self.several:
            return not self.text[self.place :].strip(" \t\r\n\f,")
        return self._after_blanks() >= len(self.text)

    def _letter(self) -> str | None:
        """The next command letter; None at the end or before a number."""
        match = _LETTER.match(self.text, self.place)
        if match is None or not match[1].isalpha() or (self.several and match[1] > "z"):
            return None
        letter = match[1]
        if letter not in (_OF_SEVERAL if self.several else _OF_ONE) and (
            self.several or self.place
        ):
            raise self._wrong(
                "one of M L H V C S Q T A Z"
                if self.several
                else "one of L H V C S Q T A (one open line; no second M, no Z)"
            )
        self.place = match.end()
        return letter  # one that does not start path data is told by the caller

    def _number(self) -> float:
        match = _NUMBER.match(self.text, self.place)
        if match is None:
            raise self._wrong("a number")
        value = float(match[1])
        if not math.isfinite(value):
            raise self._wrong("a number")
        self.place = match.end()
        return value

    def _flag(self) -> bool:
        """The next 0 or 1 of an arc; flags may stand without a gap."""
        match = _FLAG.match(self.text, self.place)
        if match is None:
            raise self._wrong("an arc flag, 0 or 1")
        self.place = match.end()
        return match[1] == "1"

    def _step(self, command: str) -> Step:
        """Read the numbers of one command."""
        kind = command.upper()
        ox, oy = self.here if command.islower() else (0.0, 0.0)

        def point() -> Point:
            x = self._number()
            return ox + x, oy + self._number()

        if kind == "Z":
            step = Step("Z", (self._begin,))
        elif kind == "M":
            # a single line keeps its own digits, -0 too
            self._begin = point() if self.several else (self._number(), self._number())
            step = Step("M", (self._begin,))
        elif kind == "H":
            step = Step("C", ((ox + self._number(), self.here[1]),))
        elif kind == "V":
            step = Step("C", ((self.here[0], oy + self._number()),))
        elif kind == "A":
            radii = (self._number(), self._number())
            arc = radii, math.radians(self._number()), self._flag(), self._flag()
            step = Step("A", (point(),), arc)
        else:
            first = (self._mirrored(kind),) if kind in "ST" else ()
            count = {"L": 1, "Q": 2, "C": 3, "T": 1, "S": 2}[kind]
            step = Step("C", (*first, *(point() for _ in range(count))))
        self._control = (kind, step.points[-2]) if kind in "CSQT" else None
        self.here = step.points[-1]
        return step

    def _mirrored(self, kind: str) -> Point:
        """The last control point of a curve of the same degree, mirrored in its end."""
        if self._control is None or self._control[0] not in ("CS" if kind == "S" else "QT"):
            return self.here
        x, y = self._control[1]
        return 2 * self.here[0] - x, 2 * self.here[1] - y
