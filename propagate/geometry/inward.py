"""A cut line taken back: lines parallel to its edges inside, and where neighbours meet.

This undoes `propagate.geometry.offset`: there the chords of a seam line are moved outwards and
meet in mitres, here the chords of a cut line are moved inwards and meet again.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely

from propagate.geometry.arrays import Array, Indices, cross_product
from propagate.geometry.corner import is_counter_clockwise
from propagate.geometry.crossing import nearest_crossing
from propagate.geometry.parallel import distinct_rows
from propagate.geometry.polyline import (
    arc_lengths,
    length,
    locate,
    locate_all,
    nearest_point,
    points_at,
)
from propagate.geometry.run_on import measure_curvature, place_on_arc
from propagate.values import dataclass

__all__ = [
    "Inward",
    "Meeting",
    "gaps_between",
    "inward_line",
    "is_sound",
    "meet_inside",
    "run_on_bent",
    "trim_line",
]

_FLAT: Final = 1e-3
"""Sine of the angle below which two chords are taken for one line."""
_SAME_MM: Final = 2e-3
"""Ends this near to each other are one place: drawings have a thousandth of a millimetre."""
_REST_MM: Final = 0.02
"""A last chord shorter than this is what rounding left of one, and its direction means nothing."""
_BEND_MM: Final = 6.0
"""Stretch at the end of a line from which its bend is read when the line is run on."""
_SHARP_DEG: Final = 12.0
"""A vertex that turns by more is none of a curve that could be run on."""
_STEP_MM: Final = 1.0
_SAG_MM: Final = 1e-3
"""A curve that would bend by less over what is missing of it is run on straight."""
_STRAIGHT: Final = 1 / 200_000
"""A curvature below this is a straight line's, 1/mm."""
_ACROSS: Final = 0.05
"""Sine of the angle below which two lines do not cross at a place that can be relied on."""


@dataclass(frozen=True, eq=False)
class Inward:
    """The line inside an edge of a cut line.

    Attributes
    ----------
    points : (n, 2) array, mm
        In the direction of the edge; its ends stand square to the edge's.
    places : tuple of int
        For each vertex of the edge the vertex of the line that it became.
    """

    points: Array
    places: tuple[int, ...]


def inward_line(edge: Array, width: float) -> Inward:
    """Draw the line at `width` to the left of a polyline, the inner side of an outline.

    Every chord moves inwards, and neighbours meet where their lines cross.  A chord that would
    run backwards is swallowed by its neighbours; the one that would vanish first goes first.

    Parameters
    ----------
    edge : (n, 2) array, mm
    width : float, mm
    """
    rows = distinct_rows(edge)
    points = edge[rows]
    count = len(points) - 1
    ahead = np.diff(points, axis=0)
    long = np.hypot(*ahead.T)
    ahead = ahead / long[:, None]
    inward = np.column_stack([-ahead[:, 1], ahead[:, 0]])
    alive = np.arange(count)
    while True:
        found = _meet_chords(points, inward, width, alive)
        now = (np.diff(found, axis=0) * ahead[alive]).sum(axis=1)
        backwards = np.flatnonzero(now <= 0.0)
        if not len(backwards) or len(alive) == 1:
            break
        lost = long[alive[backwards]] / (long[alive[backwards]] - now[backwards])
        alive = np.delete(alive, backwards[int(np.argmin(lost))])
    own = np.minimum(np.searchsorted(alive, np.arange(count)), len(alive) - 1)
    vertex = np.concatenate([own, [len(alive)]])
    places = vertex[np.clip(np.searchsorted(rows, np.arange(len(edge))), 0, count)]
    return Inward(found, tuple(int(place) for place in places))


def _meet_chords(points: Array, inward: Array, width: float, alive: Indices) -> Array:
    """Find the ends of the moved chords that are left: square at both ends, met in between."""
    normal = inward[alive]
    first = points[alive[0]] + width * normal[0]
    last = points[alive[-1] + 1] + width * normal[-1]
    if len(alive) == 1:
        return np.vstack([first, last])
    reach = (normal * points[alive]).sum(axis=1) + width
    n0, n1, c0, c1 = normal[:-1], normal[1:], reach[:-1], reach[1:]
    cross = cross_product(n0, n1)
    flat = np.abs(cross) < _FLAT
    safe = np.where(flat, 1.0, cross)
    met = np.column_stack(
        [(c0 * n1[:, 1] - c1 * n0[:, 1]) / safe, (n0[:, 0] * c1 - n1[:, 0] * c0) / safe]
    )
    at = points[alive[1:]]
    off0, off1 = c0 - (n0 * at).sum(axis=1), c1 - (n1 * at).sum(axis=1)
    share = (1.0 + (n0 * n1).sum(axis=1)).clip(1e-9)
    straight = at + (n0 * off0[:, None] + n1 * off1[:, None]) / share[:, None]
    return np.vstack([first, np.where(flat[:, None], straight, met), last])


@dataclass(frozen=True, eq=False)
class Meeting:
    """Where two lines meet.

    Attributes
    ----------
    corner : (2,) array, mm
    beyond, ahead : (k, 2) arrays, mm
        What the line that runs into the corner gets behind its end, and the other before its
        start, when they are curves that were run on; else nothing.
    """

    corner: Array
    beyond: Array
    ahead: Array


def meet_inside(before: Array, after: Array, near: Array, reach: float) -> Meeting:
    """Find the corner at which two lines, run on, meet.

    A line that ends short of it, since the cut line was trimmed there, is run on bending as it
    does at its end.

    Parameters
    ----------
    before, after : (n, 2) arrays, mm
        The line that runs into the corner and the one that leaves it.
    near : (2,) array, mm
        The corner of the cut line; of several crossings the one nearest to it counts.
    reach : float, mm
        How far the lines are run on.

    Raises
    ------
    ValueError
        They do not meet.
    """
    none = np.empty((0, 2))
    if np.hypot(*(before[-1] - after[0])) <= _SAME_MM:
        return Meeting((before[-1] + after[0]) / 2.0, none, none)
    first, second = run_on_bent(before, reach), run_on_bent(after[::-1], reach)[::-1]
    a, b = before[-1] - before[-2], after[1] - after[0]
    sine = abs(float(cross_product(a, b))) / float(np.hypot(*a) * np.hypot(*b))
    if sine < _ACROSS and a @ b > 0.0 and locate(second, before[-1])[1] <= 10.0 * _ACROSS:
        # They run on as one line: the corner is where the cut line steps, square to both.
        middle = (before[-1] + after[0]) / 2.0
        places = [nearest_point(line, middle) for line in (first, second)]
        return Meeting((places[0] + places[1]) / 2.0, none, none)
    s, t, corner = _cross_near(first, second, near)
    short = (s - length(before), length(second) - length(after) - t)
    bends = [_bend_at_end(line) for line in (before, after[::-1])]
    bent = [
        gap > 0.0 and abs(bend) * gap**2 > _SAG_MM for bend, gap in zip(bends, short, strict=True)
    ]
    if any(bent):
        first = run_on_bent(before, reach, bends[0]) if bent[0] else first
        second = run_on_bent(after[::-1], reach, bends[1])[::-1] if bent[1] else second
        corner = _cross_near(first, second, near)[2]
    return Meeting(
        corner,
        first[len(before) :][: -1 if bent[0] else 0],
        second[: len(second) - len(after)][1 if bent[1] else len(second) :],
    )


def _cross_near(first: Array, second: Array, near: Array) -> tuple[float, float, Array]:
    hit = nearest_crossing(first, second, near)
    if hit is None:
        raise ValueError("the lines beside it do not meet")
    return hit


def run_on_bent(line: Array, reach: float, bend: float = 0.0) -> Array:
    """Run a line on beyond its end, straight or with a curvature, 1/mm."""
    chord = line[-1] - line[-2]
    angle = float(np.arctan2(chord[1], chord[0]))
    if bend == 0.0:
        return np.vstack([line, line[-1] + reach * np.array([np.cos(angle), np.sin(angle)])])
    turn = min(reach, 1.0 / abs(bend))  # at most a radian of its circle
    steps = np.asarray(np.arange(1, int(turn / _STEP_MM) + 2) * _STEP_MM, dtype=np.float64)
    # The last chord has the direction of its middle.
    start = angle + bend * float(np.hypot(*chord)) / 2.0
    arc = place_on_arc(start, bend, steps)
    end = start + bend * steps[-1]
    far = line[-1] + arc[-1] + max(reach - turn, _STEP_MM) * np.array([np.cos(end), np.sin(end)])
    return np.vstack([line, line[-1] + arc, far])


def _bend_at_end(line: Array) -> float:
    """Measure the curvature at the end of a line, 1/mm; 0 where it is straight or has a corner."""
    arc = arc_lengths(line)
    long = float(arc[-1])
    if long < 2.0 * _BEND_MM:
        return 0.0
    inner = np.flatnonzero(arc >= long - 2.0 * _BEND_MM)
    part = line[max(int(inner[0]) - 1, 0) :]
    chords = np.diff(part, axis=0)
    if len(chords) < 3:
        return 0.0
    angles = np.degrees(np.unwrap(np.arctan2(chords[:, 1], chords[:, 0])))
    turns = np.diff(angles)
    if np.abs(turns).max() > _SHARP_DEG or turns.min() * turns.max() < 0.0:
        return 0.0
    bend = measure_curvature(*points_at(line, long - _BEND_MM * np.array([2.0, 1.0, 0.0])))
    return bend if abs(bend) > _STRAIGHT else 0.0


def trim_line(line: Array, start: Array, end: Array) -> tuple[Array, float, float]:
    """Cut a line between two corners, or run it on to them.

    Returns
    -------
    points : (n, 2) array, mm
        It begins and ends with the corners, digit for digit.
    begin, stop : float
        Where on the line the corners stand, mm; the line is none where `stop` is not beyond.
    """
    arc = arc_lengths(line)
    begin, stop = _locate_on(line, arc, start, last=False), _locate_on(line, arc, end, last=True)
    inner = line[(arc > begin + _REST_MM) & (arc < stop - _REST_MM)]
    return np.vstack([start, inner, end]), begin, stop


def _locate_on(line: Array, arc: Array, place: Array, *, last: bool) -> float:
    """Return the distance along a line of a place on it; beyond its ends on the line run on."""
    along, gap = locate(line, place)
    long = float(arc[-1])
    if gap <= _SAME_MM:
        return along
    end = line[-1] if last else line[0]
    chord = line[-1] - line[-2] if last else line[1] - line[0]
    on = float((place - end) @ chord) / float(np.hypot(*chord))
    return long + on if last and on > 0.0 else on if not last and on < 0.0 else along


def is_sound(edges: list[Array]) -> bool:
    """Tell whether edges close an outline that runs counter-clockwise and crosses nothing."""
    ring = np.concatenate([edge[:-1] for edge in edges])
    if len(ring) < 3:
        return False
    return is_counter_clockwise(ring) and bool(shapely.Polygon(ring).is_valid)


def gaps_between(line: Array, other: Array, step: float = 2.0) -> Array:
    """Return (m,) distances of close places of an open line from a closed one, mm.

    Parameters
    ----------
    line : (n, 2) array, mm
    other : (k, 2) array, mm
        Closed, the first point not repeated.
    step : float
        The places are at most this far apart, mm.
    """
    places = shapely.get_coordinates(shapely.segmentize(shapely.LineString(line), step))
    return locate_all(np.vstack([other, other[:1]]), places)[1]
