"""Measure and cut polylines by the distance along them.

A polyline is an (n, 2) array of at least two points, in millimetres.  Nothing here
knows garments.  No function writes to its arguments.
"""

from __future__ import annotations

from collections.abc import Sequence
from weakref import ref

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.arrays import Array, Indices, cross_product
from propagate.tolerances import CHORD_ERROR_MM, SAME_PLACE_MM, SAME_POINT_MM

__all__ = [
    "arc_lengths",
    "arc_of",
    "are_alike",
    "as_pair",
    "between",
    "chord_angles",
    "chord_distances",
    "close_points",
    "continuous_angles",
    "is_straight",
    "join",
    "length",
    "locate",
    "locate_all",
    "measure_apart",
    "near_vertices",
    "nearest_point",
    "point_at",
    "points_at",
    "sample_line",
    "split",
    "unit",
]

MOST_PAIRS = 500_000  # of chords and points, for which a table of all is made
_MOST_STEPS = 5_000  # that a line is divided in, where it is looked at closely
_ARCS: dict[int, tuple[Array, ref[Array]]] = {}


def arc_lengths(points: Array) -> Array:
    """Return (n,) distance of every vertex from the start, mm.

    Those of a read-only array with data of its own, as every edge has, are worked out once and
    kept as long as the array is.
    """
    if points.flags.writeable or points.base is not None:
        return arc_of(_chord_lengths(points))
    key = id(points)
    known = _ARCS.get(key)
    if known is None:
        arc = arc_of(_chord_lengths(points))
        arc.setflags(write=False)
        known = _ARCS[key] = (arc, ref(points, lambda _: _ARCS.pop(key, None)))
    return known[0]


def _chord_lengths(points: Array) -> Array:
    delta = points[1:] - points[:-1]
    return np.hypot(delta[:, 0], delta[:, 1])


def arc_of(lengths: Array) -> Array:
    """Return distances of the vertices between chords of some lengths."""
    arc = np.empty(len(lengths) + 1)
    arc[0] = 0.0
    lengths.cumsum(out=arc[1:])
    return arc


def length(points: Array) -> float:
    """Return the length of a polyline, mm."""
    return float(_chord_lengths(points).sum())


def unit(angle: float) -> Array:
    """Return the unit vector (2,) of a direction in radians."""
    return np.array([np.cos(angle), np.sin(angle)])


def point_at(points: Array, distance: float) -> Array:
    """Return the point (2,) at a distance from the start; distances outside are clipped.

    A distance within 1e-6 mm of a vertex gives that vertex, digit for digit.
    """
    return _interpolate_at(points, arc_lengths(points), float(distance))


def _interpolate_at(points: Array, arc: Array, distance: float) -> Array:
    """Do what `point_at` does, the distances of the vertices known."""
    index = int(arc.searchsorted(distance))
    if index <= 0:
        return np.array(points[0])
    before = float(arc[index - 1])
    if abs(before - distance) <= SAME_POINT_MM:
        return np.array(points[index - 1])
    if index >= len(arc):
        return np.array(points[-1])
    after = float(arc[index])
    if abs(after - distance) <= SAME_POINT_MM:
        return np.array(points[index])
    share = (distance - before) / (after - before)
    point: Array = points[index - 1] + share * (points[index] - points[index - 1])
    return point


def points_at(points: Array, distances: Array) -> Array:
    """Return (m, 2) points of a polyline at distances (m,) from its start, mm."""
    arc = arc_lengths(points)
    return np.column_stack([np.interp(distances, arc, points[:, k]) for k in (0, 1)])


def sample_line(points: Array, count: int) -> Array:
    """Return (count, 2) points of a polyline at equal distances, its ends included."""
    return points_at(points, np.linspace(0.0, length(points), count))


def close_points(points: Array, step: float) -> Array:
    """Return (m, 2) vertices of a polyline and places between them, at most `step` mm apart.

    Further apart on a line so long that it would be thousands of places.
    """
    step = max(step, length(points) / _MOST_STEPS)
    return np.asarray(shapely.get_coordinates(shapely.segmentize(shapely.LineString(points), step)))


def locate_all(points: Array, targets: Array) -> tuple[Array, Array]:
    """Return the nearest places on a polyline for many points.

    Long lines and many points go through a spatial index, so that memory stays bounded.

    Parameters
    ----------
    points : (n, 2) array
    targets : (m, 2) array

    Returns
    -------
    distances, gaps : (m,) arrays
        Distance along the polyline of the nearest place, and how far off it is, mm.
    """
    start, delta = points[:-1], points[1:] - points[:-1]
    square = np.maximum(delta[:, 0] ** 2 + delta[:, 1] ** 2, 1e-300)
    arc = arc_lengths(points)
    if len(points) * len(targets) > MOST_PAIRS:
        # The chord nearest to each point; of some alike the first, as in the table below.
        tree = shapely.STRtree(shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)))
        at, near = tree.query_nearest(shapely.points(targets), all_matches=True)
        best = np.full(len(targets), len(points))
        np.minimum.at(best, at, near)
        to = targets - start[best]
        along = np.clip((to * delta[best]).sum(axis=1) / square[best], 0.0, 1.0)
        away = to - along[:, None] * delta[best]
        reach = arc[best] + along * (arc[best + 1] - arc[best])
        return reach, np.hypot(away[:, 0], away[:, 1])
    # By planes of x and y: sums over an axis of two are slow.
    dx, dy = delta[:, 0], delta[:, 1]
    to_x, to_y = targets[:, 0, None] - start[:, 0], targets[:, 1, None] - start[:, 1]
    share = (to_x * dx + to_y * dy) / square
    np.minimum(np.maximum(share, 0.0, out=share), 1.0, out=share)
    to_x -= share * dx
    to_y -= share * dy
    gaps = np.hypot(to_x, to_y, out=to_x)
    best = gaps.argmin(axis=1)
    rows = np.arange(len(targets))
    return arc[best] + share[rows, best] * (arc[best + 1] - arc[best]), gaps[rows, best]


def locate(points: Array, target: npt.ArrayLike) -> tuple[float, float]:
    """Return the nearest place on a polyline: (distance along it, gap), mm.

    As `locate_all` of one point has it, without its table.
    """
    x, y = np.asarray(target, dtype=np.float64).ravel()
    dx, dy = points[1:, 0] - points[:-1, 0], points[1:, 1] - points[:-1, 1]
    square = np.maximum(dx * dx + dy * dy, 1e-300)
    to_x, to_y = x - points[:-1, 0], y - points[:-1, 1]
    share = np.minimum(np.maximum((to_x * dx + to_y * dy) / square, 0.0), 1.0)
    gaps = np.hypot(to_x - share * dx, to_y - share * dy)
    best = int(gaps.argmin())
    arc = arc_lengths(points)
    return float(arc[best] + share[best] * (arc[best + 1] - arc[best])), float(gaps[best])


def nearest_point(points: Array, target: npt.ArrayLike) -> Array:
    """Return (2,) place on a polyline that lies nearest to a point, mm."""
    return point_at(points, locate(points, target)[0])


def near_vertices(vertices: Array, places: Array, within: float = SAME_PLACE_MM) -> Indices:
    """Return (m,) index of the vertex at each place, -1 where there is none.

    Of several the nearest counts.
    """
    if not len(places) or not len(vertices):
        return np.full(len(places), -1)
    if len(vertices) * len(places) <= 200_000:
        found = np.full(len(places), -1)
        # Few places have a vertex so near in x alone that it may be the one.
        across = np.sort(vertices[:, 0])
        low = np.searchsorted(across, places[:, 0] - 2.0 * within)
        near = np.flatnonzero(low < np.searchsorted(across, places[:, 0] + 2.0 * within))
        x = vertices[:, 0] - places[near, None, 0]
        y = vertices[:, 1] - places[near, None, 1]
        gaps = np.maximum(np.abs(x, out=x), np.abs(y, out=y), out=x)
        best = gaps.argmin(axis=1)
        found[near] = np.where(gaps[np.arange(len(near)), best] <= within, best, -1)
        return found
    tree = shapely.STRtree(shapely.points(vertices))
    found = np.full(len(places), -1)
    pairs, gaps = tree.query_nearest(
        shapely.points(places), max_distance=within, return_distance=True, all_matches=False
    )
    found[pairs[0]] = pairs[1]
    return found


def as_pair(point: Array) -> tuple[float, float]:
    """Return a (2,) point as plain numbers."""
    x, y = point.tolist()
    return x, y


def are_alike(first: Array, second: Array, within: float) -> bool:
    """Tell whether two lines have as many points, each within some mm of its like in x and in y."""
    return first.shape == second.shape and bool(np.abs(first - second).max() <= within)


def measure_apart(one: Array, other: Array) -> float:
    """Measure how far two lines are apart at most, from the vertices of each to the other, mm."""
    return float(max(locate_all(one, other)[1].max(), locate_all(other, one)[1].max()))


def split(points: Array, distance: float, at: Array | None = None) -> tuple[Array, Array]:
    """Cut a polyline in two at a distance from its start.

    The cut point belongs to both parts.  An existing vertex within 1e-6 mm is used
    as it is, so that no doubled point arises.  `at` replaces the computed cut point
    (the exact point that the neighbours share).

    Raises
    ------
    ValueError
        When the distance lies outside the polyline or at one of its ends.
    """
    arc = arc_lengths(points)
    if not SAME_POINT_MM < distance < arc[-1] - SAME_POINT_MM:
        raise ValueError(f"cannot split a polyline of {arc[-1]:.6f} mm at {distance:.6f} mm")
    cut = point_at(points, distance) if at is None else at
    before = int(np.searchsorted(arc, distance - SAME_POINT_MM))
    after = int(np.searchsorted(arc, distance + SAME_POINT_MM, side="right"))
    return np.vstack([points[:before], cut]), np.vstack([cut, points[after:]])


def between(points: Array, begin: float, end: float) -> Array:
    """Return the part of a polyline between two distances; reversed when `end` < `begin`."""
    low, high = float(min(begin, end)), float(max(begin, end))
    arc = arc_lengths(points)
    first = int(arc.searchsorted(low + SAME_POINT_MM, side="right"))
    last = max(int(arc.searchsorted(high - SAME_POINT_MM)), first)
    part = np.empty((last - first + 2, 2))
    part[0], part[1:-1], part[-1] = (
        _interpolate_at(points, arc, low),
        points[first:last],
        _interpolate_at(points, arc, high),
    )
    return part if begin <= end else part[::-1]


def join(parts: Sequence[Array]) -> Array:
    """Join polylines end to start; the shared point is taken from the earlier part."""
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])


def chord_angles(points: Array) -> tuple[Array, Array]:
    """Return lengths (n-1,) in mm and continuous directions (n-1,) in radians of the chords."""
    delta = points[1:] - points[:-1]
    return np.hypot(delta[:, 0], delta[:, 1]), continuous_angles(delta)


def continuous_angles(chords: Array) -> Array:
    """Return directions (n,) of chords, radians; none jumps from the one before by a whole turn."""
    angles = np.arctan2(chords[:, 1], chords[:, 0])
    steps = angles[1:] - angles[:-1]
    if steps.size and np.abs(steps).max() > np.pi:
        angles = np.unwrap(angles)
    return angles


def chord_distances(points: Array) -> Array:
    """Return (n,) how far each vertex lies from the line through both ends, mm."""
    chord, away = points[-1] - points[0], points - points[0]
    far = np.hypot(*chord)
    return np.asarray(np.abs(cross_product(away, chord)) / far)


def is_straight(points: Array) -> bool:
    """Tell whether a polyline was drawn as one straight line."""
    if float(np.hypot(*(points[-1] - points[0]))) <= SAME_POINT_MM:
        return False
    return float(chord_distances(points).max()) <= CHORD_ERROR_MM
