"""Run a line on beyond its end as it goes there, and end it on another line."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from propagate.geometry.crossing import crossings
from propagate.geometry.polyline import arc_lengths, between, is_straight, points_at
from propagate.tolerances import CHORD_ERROR_MM, SAME_POINT_MM, STEP_MM

__all__ = ["ended_on", "run_on"]

Array = npt.NDArray[np.float64]

_WINDOW_MM = 40.0
"""Stretch at the end of a line that tells how it bends there."""
_MOST_TURN = np.radians(60.0)
_CORNER = np.radians(10.0)


def run_on(points: Array, by: float) -> Array:
    """What follows a polyline beyond its last point: straight, or with the bend that it has there.

    Parameters
    ----------
    points : (n, 2) array, mm
    by : float
        How far, mm; a bend of more than 60 degrees is not run on.

    Returns
    -------
    (m, 2) array
        From the last point on.  The bend is that of the circle through three points of the last
        40 mm, the smooth part of them.
    """
    # the last point, and the smooth stretch at the end of a polyline
    arc = arc_lengths(points)
    delta = np.diff(points, axis=0)
    angles = np.arctan2(delta[:, 1], delta[:, 0])
    turns = np.abs((np.diff(angles) + np.pi) % (2.0 * np.pi) - np.pi)
    corners = np.flatnonzero(turns > _CORNER) + 1
    begin = max(float(arc[-1]) - _WINDOW_MM, float(arc[corners[-1]]) if len(corners) else 0.0)
    start, curve = points[-1], between(points, begin, float(arc[-1]))
    along = curve[-1] - curve[-2]
    along = along / np.hypot(*along)
    if len(curve) == 2 or is_straight(curve):
        far = curve[-1] - curve[0]
        along = along if len(curve) == 2 else far / np.hypot(*far)
        return np.array([start, start + by * along])
    bend, turned = _fit_circle(curve)
    if abs(bend) * _WINDOW_MM < CHORD_ERROR_MM / _WINDOW_MM:
        return np.array([start, start + by * np.array([np.cos(turned), np.sin(turned)])])
    reach = min(by, _MOST_TURN / abs(bend))
    at = np.linspace(0.0, reach, int(np.ceil(reach / STEP_MM)) + 1)
    x = (np.sin(turned + bend * at) - np.sin(turned)) / bend
    y = (np.cos(turned) - np.cos(turned + bend * at)) / bend
    return np.asarray(start + np.column_stack([x, y]))


def _fit_circle(curve: Array) -> tuple[float, float]:
    """Curvature and direction at the end of the circle through three points of a curve."""
    a, b, c = points_at(curve, np.linspace(0.0, arc_lengths(curve)[-1], 3))
    first, second, whole = b - a, c - b, c - a
    cross = float(first[0] * second[1] - first[1] * second[0])
    sizes = [float(np.hypot(*v)) for v in (first, second, whole)]
    bend = 2.0 * cross / (sizes[0] * sizes[1] * sizes[2])
    # The chord from b to c turns by half of its arc up to the tangent at c.
    half = float(np.arcsin(np.clip(bend * sizes[1] / 2.0, -1.0, 1.0)))
    return bend, float(np.arctan2(second[1], second[0])) + half


def ended_on(points: Array, line: Array, reach: float) -> Array | None:
    """A polyline cut off, or run on, so that its last point lies on another one.

    Of all places where it crosses the line the one nearest to its end is taken.

    Parameters
    ----------
    points, line : (n, 2), (m, 2) arrays, mm
    reach : float
        How far it may be cut off or run on, mm; never by half of it or more.

    Returns
    -------
    (k, 2) array or None
        None where there is no crossing within reach.
    """
    whole = float(arc_lengths(points)[-1])
    beyond = run_on(points, reach)
    cuts = [whole - at for at in crossings(points, line)[:, 0]]
    runs = [float(at) for at in crossings(beyond, line)[:, 0]]
    cut, run = (min((x for x in found if x <= reach), default=np.inf) for found in (cuts, runs))
    if min(cut, run) == np.inf or (cut <= run and cut >= whole / 2.0):
        return None
    if cut <= run:
        return between(points, 0.0, whole - cut)
    added = between(beyond, 0.0, run)
    chord = points[-1] - points[-2]
    off = chord[0] * (added[-1] - points[-2])[1] - chord[1] * (added[-1] - points[-2])[0]
    if len(added) == 2 and abs(off) <= SAME_POINT_MM * np.hypot(*chord):
        return np.vstack([points[:-1], added[-1:]])
    return np.vstack([points, added[1:]])
