"""Where the place of a patch lies: measured from edges, and laid by those measures.

A place is rigid.  Two of its points keep their distances from the first edge, and with them its
slope; a third measure is the distance of a point from the second edge, or, where one edge is
said, its distance from the nearer end of that edge.  Three measures and three unknowns: a turn
and a shift, found by Newton's method.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.rows import Check
from propagate.engine.walk_checks import Walked, verdict_of
from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import arc_lengths, as_pair, locate
from propagate.pattern.model import InternalLine, Mark, SizedPiece
from propagate.pattern.set_on import Patch
from propagate.values import dataclass

__all__ = [
    "Measures",
    "measure_clearances",
    "lay_by_measures",
    "measure_beside",
    "measures_of",
    "met_by_motion",
    "walk_patch",
    "with_inner_points",
]

Array = npt.NDArray[np.float64]

_ROUNDS = 30
_MET_MM = 1e-9
_STEP = 1e-6


def with_inner_points(
    piece: SizedPiece, parts: Sequence[tuple[str, int | None]], points: Array
) -> SizedPiece:
    """A piece with some of its inner lines and drill marks at other points.

    Parameters
    ----------
    piece : SizedPiece
    parts : sequence of (str, int or None)
        Each line with how many points it has, each drill mark with None.
    points : (n, 2) array
        Of one part after the other.
    """
    lines = {line.name: line for line in piece.lines}
    drills = {mark.name: mark for mark in piece.drills}
    at = 0
    for name, count in parts:
        if count is None:
            drills[name] = Mark(name, as_pair(points[at]))
        else:
            lines[name] = InternalLine(name, points[at : at + count])
        at += count or 1
    return replace(piece, lines=tuple(lines.values()), drills=tuple(drills.values()))


@dataclass(frozen=True)
class Measures:
    """What a place is measured by.

    Attributes
    ----------
    edges : tuple of str
        One or two.
    slope : (int, int)
        Points, by their number, whose distances from the first edge are kept.
    third : int
        The point of the third measure.
    from_end : bool
        Of one edge: whether its nearer end is its last point.
    values : (3,) array
        mm.
    """

    edges: tuple[str, ...]
    slope: tuple[int, int]
    third: int
    from_end: bool
    values: Array


def measure_beside(line: Array, point: Array) -> tuple[float, float]:
    """Where a point lies beside a line: distance along it and to its left, mm.

    The line runs on straight beyond its ends.
    """
    along, _ = locate(line, point)
    arc = arc_lengths(line)
    k = int(np.clip(np.searchsorted(arc, along, side="right") - 1, 0, len(line) - 2))
    chord = line[k + 1] - line[k]
    axis = chord / np.hypot(*chord)
    gap = point - line[k]
    at = float(gap @ axis)
    inside = 0.0 <= at <= arc[k + 1] - arc[k]
    left = float(axis[0] * gap[1] - axis[1] * gap[0])
    beyond = (k == 0 and at < 0.0) or (k == len(line) - 2 and at > 0.0 and not inside)
    if inside or beyond:
        return float(arc[k]) + at, left
    # Nearest to a corner of the line.
    foot = np.array([np.interp(along, arc, line[:, i]) for i in (0, 1)])
    return along, float(np.copysign(np.hypot(*(point - foot)), left))


def measures_of(piece: SizedPiece, points: Array, edges: tuple[str, ...]) -> Measures:
    """Measure a place on the piece as it is drawn."""
    line = piece.edge(edges[0]).points
    found = np.array([measure_beside(line, point) for point in points])
    first = int(np.abs(found[:, 1]).argmin())
    other = int(np.abs(found[:, 0] - found[first, 0]).argmax())
    from_end = bool(found[first, 0] > piece.edge(edges[0]).length / 2)
    third = first
    if len(edges) > 1:
        second = [measure_beside(piece.edge(edges[1]).points, point)[1] for point in points]
        third = int(np.abs(second).argmin())
    blank = Measures(edges, (first, other), third, from_end, np.zeros(3))
    values = _measure_values(piece, points, blank)
    return Measures(edges, (first, other), third, from_end, values)


def _measure_values(piece: SizedPiece, points: Array, by: Measures) -> Array:
    line = piece.edge(by.edges[0]).points
    along, one = measure_beside(line, points[by.slope[0]])
    _, two = measure_beside(line, points[by.slope[1]])
    if len(by.edges) > 1:
        third = measure_beside(piece.edge(by.edges[1]).points, points[by.third])[1]
    else:
        third = piece.edge(by.edges[0]).length - along if by.from_end else along
    return np.array([one, two, third])


def lay_by_measures(
    source: SizedPiece, points: Array, now: SizedPiece, by: Measures
) -> Array | None:
    """A place of one drawing of a piece, laid on another by its measures, (n, 2).

    Returns None where its measures cannot be met.
    """
    ends = [piece.edge(by.edges[0]).points[[0, -1]] for piece in (source, now)]
    motion, _ = fit(ends[0], ends[1])
    start = np.asarray(motion.apply(points))
    return met_by_motion(start, lambda placed: _measure_values(now, placed, by) - by.values)


def met_by_motion(
    points: Array, missed: Callable[[Array], Array], *, least: bool = False
) -> Array | None:
    """Points turned and shifted so that measures are met, (n, 2): Newton's method.

    Returns None where no turn and shift that lies near meets them.

    Parameters
    ----------
    points : (n, 2) array
    missed : callable
        By how much the measures of moved points are off, mm; three of them.
    least : bool
        There may be fewer or more, and where they leave a motion free the least is taken.
    """
    unknown = np.zeros(3)
    for _ in range(_ROUNDS):
        off = missed(_move_points(points, unknown))
        if np.abs(off).max() <= _MET_MM:
            return _move_points(points, unknown)
        slopes = np.column_stack(
            [
                (
                    missed(_move_points(points, unknown + step))
                    - missed(_move_points(points, unknown - step))
                )
                / (2.0 * _STEP)
                for step in _STEP * np.eye(3)
            ]
        )
        if least:
            unknown = unknown - np.linalg.lstsq(slopes, off, rcond=1e-6)[0]
        elif abs(float(np.linalg.det(slopes))) < 1e-6:
            return None
        else:
            unknown = unknown - np.linalg.solve(slopes, off)
    return None


def _move_points(points: Array, by: Array) -> Array:
    """Shifted by two millimetre values and turned about their middle, whose arm is 100 mm."""
    middle = points.mean(axis=0)
    turn = Motion(complex(np.exp(1j * by[2] / 100.0)))
    placed: Array = turn.apply(points - middle) + middle + by[:2]
    return placed


def measure_clearances(
    piece: SizedPiece, patch: Patch, allowance: Callable[[str], float]
) -> dict[str, float]:
    """How much more room a place has to each edge of the piece than its allowance, mm.

    What lies outside of the piece counts below zero from the edge.
    """
    area = shapely.Polygon(piece.outline)
    lines = {line.name: line.points for line in piece.lines}
    place = shapely.MultiLineString([lines[name] for name in patch.lines])
    corners = shapely.points(np.vstack([lines[name] for name in patch.lines]))
    outside = corners[~shapely.covers(area, corners)]
    edges = [shapely.LineString(edge.points) for edge in piece.edges]
    off = shapely.distance(np.array(edges)[:, None], outside)
    found = {}
    for i, edge in enumerate(piece.edges):
        out = off[i, off.argmin(axis=0) == i] if len(outside) else ()
        apart = -float(max(out)) if len(out) else float(edges[i].distance(place))
        found[edge.name] = apart - allowance(edge.name)
    return found


def walk_patch(on: Walked, patch: Patch) -> list[Check]:
    """Walk the place of a patch: it lies in the piece, clear of every allowance."""
    info = on.pattern.info[patch.on]
    room = measure_clearances(on.piece(patch.on), patch, info.allowance.of)
    edge = min(room, key=lambda name: (room[name], name))
    allowance = info.allowance.of(edge)
    off = min(room[edge], 0.0)
    sides = f"{patch.on}.{patch.lines[0]}", f"{patch.on}.{edge}"
    said = verdict_of(off, allowance)
    return [
        Check(
            "patch",
            patch.name,
            " | ".join(sides),
            allowance,
            allowance + room[edge],
            0.0,
            off,
            allowance,
            said,
            sides=sides,
        )
    ]
