"""Closed outlines from lines: closing, chaining, direction, corners."""

from __future__ import annotations

import itertools
import math
from collections import deque
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from propagate.geometry.corner import signed_area
from propagate.io.dxf.conventions import REAL_EDGE_MM
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.shapes import Line, Shapes
from propagate.pattern.model import Array
from propagate.tolerances import SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["Loop", "angle_corners", "closed_lines", "find_loops", "near_vertices", "turning"]

_AT_ONE_PLACE = 50  # ends in one place that are looked at
Xy = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Loop:
    """A closed outline, counter-clockwise, its first point not repeated.

    Attributes
    ----------
    points : (n, 2) array, mm
    lines : tuple of Line
        What it was drawn with.
    closing : str
        How it was closed: "flag", "repeated point", "both", "neither", "chained".
    area : float
        mm^2.
    """

    points: Array
    lines: tuple[Line, ...]
    closing: str
    area: float


def find_loops(lines: Sequence[Line]) -> tuple[list[Loop], list[Line]]:
    """Return the closed outlines, largest first, and the lines that belong to none."""
    loops: list[Loop] = []
    opened: list[Line] = []
    for line in lines:
        repeated = _gap(line.points[0], line.points[-1]) <= REAL_EDGE_MM
        if line.closed or (repeated and len(line.points) > 3):
            closing = ("both" if repeated else "flag") if line.closed else "repeated point"
            _add(loops, line.points, (line,), closing)
        else:
            opened.append(line)
    opened = _chain(loops, opened)
    loops.sort(key=lambda loop: -loop.area)
    return loops, opened


def _gap(a: Array, b: Array) -> float:
    return float(np.hypot(*(a - b)))


def _add(loops: list[Loop], points: Array, lines: tuple[Line, ...], closing: str) -> bool:
    if len(points) > 1 and _gap(points[0], points[-1]) <= REAL_EDGE_MM:
        points = points[:-1]
    steps = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    points = points[steps > SAME_POINT_MM]
    if len(points) < 3:
        return False
    area = float(signed_area(points))
    if area < 0:  # the first point stays first
        points = np.roll(points[::-1], 1, axis=0)
    loops.append(Loop(points, lines, closing, abs(area)))
    return True


def _chain(loops: list[Loop], lines: list[Line]) -> list[Line]:
    """Join open lines end to end; what closes is an outline, the rest is handed back.

    Of several lines that go on from an end, the first one in the file is taken.
    """
    ends = _Ends(lines)
    rest: list[Line] = []
    for first, line in enumerate(lines):
        if not ends.take(first):
            continue
        used, parts = [line], deque([line.points])
        while (found := ends.next(parts[0][0], parts[-1][-1])) is not None:
            index, points, behind = found
            used.append(lines[index])
            if behind:
                parts.append(points[1:])
            else:
                parts.appendleft(points[:-1])
        if len(used) > 1 and _gap(parts[0][0], parts[-1][-1]) <= REAL_EDGE_MM:
            _add(loops, np.vstack(list(parts)), tuple(used), "chained")
        else:
            rest += used
    return rest


class _Ends:
    """The free ends of lines, found by their places."""

    def __init__(self, lines: Sequence[Line]) -> None:
        self._lines = lines
        self._free = [True] * len(lines)
        self._at: dict[tuple[int, int], dict[tuple[int, bool], Xy]] = {}
        for index in range(len(lines)):
            for at_end in (False, True):
                end = self._end(index, at_end)
                self._at.setdefault(_cell(end), {})[index, at_end] = end

    def _end(self, index: int, at_end: bool) -> Xy:
        x, y = self._lines[index].points[-1 if at_end else 0]
        return float(x), float(y)

    def take(self, index: int) -> bool:
        """Take a line; False when it was taken before."""
        if not self._free[index]:
            return False
        self._free[index] = False
        for at_end in (False, True):
            del self._at[_cell(self._end(index, at_end))][index, at_end]
        return True

    def next(self, start: Array, end: Array) -> tuple[int, Array, bool] | None:
        """Take the first line that goes on behind `end`, or before `start`.

        Returns its number, its points in the direction of the chain, and whether it goes
        behind; None when there is none.
        """
        behind = [(i, False, at_end) for i, at_end in self._near(end)]
        before = [(i, True, not at_end) for i, at_end in self._near(start) if at_end]
        if not behind and not before:
            return None
        index, is_before, turned = min(behind + before)
        self.take(index)
        points = self._lines[index].points
        return index, points[::-1] if turned else points, not is_before

    def _near(self, place: Array) -> list[tuple[int, bool]]:
        x, y = float(place[0]), float(place[1])
        column, row = _cell((x, y))
        found = []
        for cell in itertools.product((column - 1, column, column + 1), (row - 1, row, row + 1)):
            own = itertools.islice(self._at.get(cell, {}).items(), _AT_ONE_PLACE)
            found += [key for key, end in own if math.dist(end, (x, y)) <= REAL_EDGE_MM]
        return found


def _cell(place: Xy) -> tuple[int, int]:
    return math.floor(place[0] / REAL_EDGE_MM), math.floor(place[1] / REAL_EDGE_MM)


def closed_lines(shapes: Shapes, notes: Notes, where: str) -> Shapes:
    """Return the shapes with every repeated last point left out and its line flagged closed."""
    changed: list[Line] = []
    for line in shapes.lines:
        if len(line.points) > 3 and _gap(line.points[0], line.points[-1]) <= REAL_EDGE_MM:
            notes.info(
                f"the last point of a line on layer {line.layer} repeats its first"
                + (" and the line is flagged closed" if line.closed else "")
                + "; it is one point",
                where=where,
            )
            line = replace(line, points=line.points[:-1], closed=True)
        changed.append(line)
    return replace(shapes, lines=changed)
