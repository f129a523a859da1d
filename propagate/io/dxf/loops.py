"""Closed outlines from lines: closing, chaining, direction, corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from propagate.geometry.corner import signed_area
from propagate.io.dxf.conventions import REAL_EDGE_MM, SAME_PLACE_MM
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.shapes import Line, Shapes
from propagate.pattern.model import Array
from propagate.tolerances import SAME_POINT_MM

__all__ = ["Loop", "angle_corners", "closed_lines", "find_loops", "near_vertices", "turning"]

_CHAINED = 400  # lines of one outline that are tried against each other


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
    """

    points: Array
    lines: tuple[Line, ...]
    closing: str

    @property
    def area(self) -> float:
        """mm^2."""
        return float(signed_area(self.points))


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
    area = signed_area(points)
    if area < 0:  # the first point stays first
        points = np.roll(points[::-1], 1, axis=0)
    loops.append(Loop(points, lines, closing))
    return True


def _chain(loops: list[Loop], lines: list[Line]) -> list[Line]:
    """Join open lines end to end; what closes is an outline, the rest is handed back."""
    left = list(lines)[:_CHAINED]
    rest: list[Line] = list(lines)[_CHAINED:]
    while left:
        first = left.pop(0)
        used, points = [first], first.points
        grew = True
        while grew:
            grew = False
            for index, other in enumerate(left):
                joined = _joined(points, other.points)
                if joined is not None:
                    points, grew = joined, True
                    used.append(left.pop(index))
                    break
        if len(used) > 1 and _gap(points[0], points[-1]) <= REAL_EDGE_MM:
            _add(loops, points, tuple(used), "chained")
        else:
            rest += used
    return rest


def _joined(points: Array, other: Array) -> Array | None:
    if _gap(points[-1], other[0]) <= REAL_EDGE_MM:
        return np.vstack([points, other[1:]])
    if _gap(points[-1], other[-1]) <= REAL_EDGE_MM:
        return np.vstack([points, other[-2::-1]])
    if _gap(points[0], other[-1]) <= REAL_EDGE_MM:
        return np.vstack([other[:-1], points])
    return None


def near_vertices(vertices: Array, places: Array, within: float = SAME_PLACE_MM) -> Array:
    """(m,) index of the vertex at each place, -1 where there is none.

    Of several the nearest counts.
    """
    if not len(places) or not len(vertices):
        return np.full(len(places), -1)
    if len(vertices) * len(places) <= 200_000:
        x = np.abs(vertices[None, :, 0] - places[:, None, 0])
        y = np.abs(vertices[None, :, 1] - places[:, None, 1])
        gaps = np.maximum(x, y)
        best = gaps.argmin(axis=1)
        return np.where(gaps[np.arange(len(places)), best] <= within, best, -1)
    tree = shapely.STRtree(shapely.points(vertices))
    found = np.full(len(places), -1)
    pairs, gaps = tree.query_nearest(
        shapely.points(places), max_distance=within, return_distance=True, all_matches=False
    )
    found[pairs[0]] = pairs[1]
    return found


def turning(points: Array) -> Array:
    """(n,) angle by which a closed outline turns at each vertex, degrees."""
    ahead = np.roll(points, -1, axis=0) - points
    back = np.roll(ahead, 1, axis=0)
    cross = back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0]
    turned: Array = np.degrees(np.arctan2(cross, (back * ahead).sum(axis=1)))
    return turned


def angle_corners(points: Array, limit: float) -> list[int]:
    """Vertices that turn by more than `limit` degrees."""
    found: list[int] = np.flatnonzero(np.abs(turning(points)) > limit).tolist()
    return found


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
