"""Read the path data of a drawing: several lines, open or closed, curves of every kind.

Elliptical arcs become cubic curves over at most 22.5 degrees each; such a cubic leaves the
arc by less than 1e-7 of its radius (the error of 2.7e-4 for a quarter, tabled in textbooks
on Bezier curves, falls with the sixth power of the angle).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

from propagate.errors import FormatError
from propagate.io.words import quoted

__all__ = ["MOST_SEGMENTS", "Line", "arc_segments", "parse_path"]

Point = tuple[float, float]
MOST_SEGMENTS = 100_000
ARC_STEP = math.pi / 8

_TOKEN = re.compile(
    r"[\s,]*(?:(?P<letter>[A-Za-z])|(?P<number>[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?))"
)
_FLAG = re.compile(r"[\s,]*([01])")
_NUMBERS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


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
        Says at which character what was found; also for more than `MOST_SEGMENTS`.
    """
    reader = _Reader(text)
    reader.read()
    return [line for line in reader.lines if line.segments]


class _Reader:
    def __init__(self, text: str) -> None:
        self.text = text
        self.place = 0
        self.lines: list[Line] = []
        self.here: Point = (0.0, 0.0)
        self.control: tuple[str, Point] | None = None
        self.count = 0

    def wrong(self, expected: str) -> FormatError:
        found = self.text[self.place : self.place + 12] or "the end"
        return FormatError(
            f"path data cannot be read at character {self.place + 1}: found {quoted(found)}, "
            f"expected {expected}"
        )

    def at_end(self) -> bool:
        return not self.text[self.place :].strip(" \t\r\n\f,") if self._near_end() else False

    def _near_end(self) -> bool:
        return self.place >= len(self.text) or _TOKEN.match(self.text, self.place) is None

    def letter(self) -> str | None:
        match = _TOKEN.match(self.text, self.place)
        if match is None or match["letter"] is None:
            return None
        if match["letter"].upper() not in _NUMBERS:
            raise self.wrong("one of M L H V C S Q T A Z")
        self.place = match.end()
        return match["letter"]

    def number(self) -> float:
        match = _TOKEN.match(self.text, self.place)
        if match is None or match["number"] is None or not math.isfinite(float(match["number"])):
            raise self.wrong("a number")
        self.place = match.end()
        return float(match["number"])

    def flag(self) -> bool:
        match = _FLAG.match(self.text, self.place)
        if match is None:
            raise self.wrong("an arc flag, 0 or 1")
        self.place = match.end()
        return match[1] == "1"

    def read(self) -> None:
        command: str | None = None
        if self.at_end() or self.text.strip() == "none":
            return
        while not self.at_end():
            letter = self.letter()
            if letter is None and (command is None or command in "Zz"):
                raise self.wrong("a command")
            if letter is not None:
                if command is None and letter not in "Mm":
                    self.place = 0
                    raise self.wrong("path data that starts with M")
                command = letter
            elif command in ("M", "m"):
                command = "L" if command == "M" else "l"
            assert command is not None
            self._one(command)

    def _one(self, command: str) -> None:
        self.count += 1
        if self.count > MOST_SEGMENTS:
            raise FormatError(f"path data has more than {MOST_SEGMENTS} commands")
        kind = command.upper()
        if kind == "Z":
            self._close()
        elif kind == "M":
            self.here = self._point(command)
            self.lines.append(Line(self.here))
            self.control = None
        else:
            self._draw(command, kind)

    def _close(self) -> None:
        line = self.lines[-1]
        line.closed = bool(line.segments)
        self.here = line.start
        self.control = None
        self.lines.append(Line(self.here))  # what follows without a move starts here

    def _point(self, command: str) -> Point:
        ox, oy = self.here if command.islower() else (0.0, 0.0)
        x = self.number()
        return ox + x, oy + self.number()

    def _draw(self, command: str, kind: str) -> None:
        control: tuple[str, Point] | None = None
        segments: list[tuple[Point, ...]]
        if kind == "H":
            ox = self.here[0] if command == "h" else 0.0
            segments = [((ox + self.number(), self.here[1]),)]
        elif kind == "V":
            oy = self.here[1] if command == "v" else 0.0
            segments = [((self.here[0], oy + self.number()),)]
        elif kind == "A":
            rx, ry, tilt = self.number(), self.number(), self.number()
            large, rising = self.flag(), self.flag()
            segments = arc_segments(
                self.here, (rx, ry), math.radians(tilt), large, rising, self._point(command)
            )
        else:
            points = [self._point(command) for _ in range(_NUMBERS[kind] // 2)]
            if kind in "ST":
                points.insert(0, self._mirrored(kind))
            segments = [tuple(points)]
            if kind in "CS":
                control = ("S", points[1])
            elif kind in "QT":
                control = ("T", points[0])
        self.lines[-1].segments += segments
        self.here = segments[-1][-1]
        self.control = control

    def _mirrored(self, kind: str) -> Point:
        if self.control is None or self.control[0] != kind:
            return self.here
        x, y = self.control[1]
        return 2 * self.here[0] - x, 2 * self.here[1] - y


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
