"""Run a line on beyond its end as it goes there, and end it on another line."""

from __future__ import annotations

import numpy as np

from propagate.geometry.arrays import Array, cross_product
from propagate.geometry.corner import line_corners
from propagate.geometry.crossing import crossings
from propagate.geometry.polyline import arc_lengths, between, is_straight, sample_line
from propagate.tolerances import CHORD_ERROR_MM, SAME_POINT_MM, STEP_MM

__all__ = ["continue_line", "end_on_line", "measure_curvature", "place_on_arc"]

_WINDOW_MM = 40.0
"""Stretch at the end of a line that tells how it bends there."""
_MOST_TURN = np.radians(60.0)
_CORNER_DEG = 10.0


def measure_curvature(a: Array, b: Array, c: Array) -> float:
    """Measure the curvature of the circle through three points, 1/mm, above 0 to the left.

    Four times the area of their triangle by its three sides (Menger curvature).
    """
    ab, bc, ac = b - a, c - b, c - a
    sides = float(np.hypot(*ab)) * float(np.hypot(*bc)) * float(np.hypot(*ac))
    return 2.0 * float(cross_product(ab, bc)) / sides


def place_on_arc(direction: float, bend: float, at: Array) -> Array:
    """Place (n, 2) points at distances along an arc from the origin."""
    turned = direction + bend * at
    x = (np.sin(turned) - np.sin(direction)) / bend
    y = (np.cos(direction) - np.cos(turned)) / bend
    return np.column_stack([x, y])


def continue_line(points: Array, by: float) -> Array:
    """Continue a polyline beyond its last point: straight, or with the bend that it has there.

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
    arc, corners = arc_lengths(points), line_corners(points, _CORNER_DEG)
    # The smooth stretch at the end.
    begin = max(float(arc[-1]) - _WINDOW_MM, float(arc[corners[-1]]) if corners else 0.0)
    start, curve = points[-1], between(points, begin, float(arc[-1]))
    along = curve[-1] - curve[-2]
    along = along / np.hypot(*along)
    if len(curve) == 2 or is_straight(curve):
        far = curve[-1] - curve[0]
        along = along if len(curve) == 2 else far / np.hypot(*far)
        return np.array([start, start + by * along])
    a, b, c = sample_line(curve, 3)
    bend = measure_curvature(a, b, c)
    # The chord from b to c turns by half of its arc up to the tangent at c.
    half = float(np.arcsin(np.clip(bend * float(np.hypot(*(c - b))) / 2.0, -1.0, 1.0)))
    turned = float(np.arctan2(*(c - b)[::-1])) + half
    if abs(bend) * _WINDOW_MM < CHORD_ERROR_MM / _WINDOW_MM:
        return np.array([start, start + by * np.array([np.cos(turned), np.sin(turned)])])
    reach = min(by, _MOST_TURN / abs(bend))
    at = np.linspace(0.0, reach, int(np.ceil(reach / STEP_MM)) + 1)
    return np.asarray(start + place_on_arc(turned, bend, at))


def end_on_line(points: Array, line: Array, reach: float) -> Array | None:
    """Cut off a polyline, or run it on, so that its last point lies on another one.

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
    beyond = continue_line(points, reach)
    cuts = [whole - at for at in crossings(points, line)[:, 0]]
    runs = [float(at) for at in crossings(beyond, line)[:, 0]]
    cut, run = (min((x for x in found if x <= reach), default=np.inf) for found in (cuts, runs))
    if min(cut, run) == np.inf or (cut <= run and cut >= whole / 2.0):
        return None
    if cut <= run:
        return between(points, 0.0, whole - cut)
    added = between(beyond, 0.0, run)
    chord = points[-1] - points[-2]
    off = cross_product(chord, added[-1] - points[-2])
    if len(added) == 2 and abs(off) <= SAME_POINT_MM * np.hypot(*chord):
        return np.vstack([points[:-1], added[-1:]])
    return np.vstack([points, added[1:]])
