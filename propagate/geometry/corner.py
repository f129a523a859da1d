"""Corner angles, where a closed outline turns, and its sense."""

from __future__ import annotations

import numpy as np

from propagate.geometry.arrays import Array, cross_product

__all__ = [
    "line_corners",
    "angle_corners",
    "angle_inside",
    "is_counter_clockwise",
    "measure_turns",
    "signed_area",
    "turn_between",
    "turns_along",
]

_CORNER_RAD = np.deg2rad(15.0)
"""A turn at one vertex beyond this is a corner, not a curve drawn in chords."""
_STRAIGHT = 4.0
"""A chord so many times as long as its neighbour is no chord of the same bend."""
_SHARPEST_RAD = np.deg2rad(120.0)
"""A mitre is not run out further than that of this corner."""


def angle_inside(arriving: float, leaving: float) -> float:
    """Return the angle inside a counter-clockwise outline where it turns, degrees, 0 to 360.

    Parameters
    ----------
    arriving, leaving : float
        Directions of travel before and after the corner, radians.

    Returns
    -------
    float
        180 where the outline runs on smoothly, more at an inward corner.
    """
    return float(np.degrees(np.pi - (leaving - arriving)) % 360.0)


def signed_area(points: Array) -> float:
    """Return the area of a closed outline, mm^2; positive when it runs counter-clockwise.

    The shoelace sum, taken from the first point so that an outline far from the
    origin loses no digits.

    Parameters
    ----------
    points : (n, 2) array, mm
        With or without the repeated last point.
    """
    x, y = (points - points[0]).T
    next_x, next_y = (np.concatenate([along[1:], along[:1]]) for along in (x, y))
    return float((x * next_y - next_x * y).sum() / 2.0)


def is_counter_clockwise(points: Array) -> bool:
    """Tell whether a closed outline runs counter-clockwise."""
    return signed_area(points) > 0.0


def turn_between(before: Array, after: Array) -> Array:
    """Return angles from directions (..., 2) to others, radians, above 0 to the left."""
    turned: Array = np.arctan2(cross_product(before, after), (before * after).sum(axis=-1))
    return turned


def measure_turns(points: Array) -> Array:
    """Measure the angles (n,) by which a closed outline turns at its vertices, degrees."""
    ahead = np.roll(points, -1, axis=0) - points
    turned: Array = np.degrees(turn_between(np.roll(ahead, 1, axis=0), ahead))
    return turned


def line_corners(points: Array, limit: float) -> list[int]:
    """Return inner vertices of an open line that turn by more than `limit` degrees."""
    angles = np.angle(np.diff(points, axis=0) @ np.array([1.0, 1j]))
    turned = np.abs((np.diff(angles) + np.pi) % (2.0 * np.pi) - np.pi)
    found: list[int] = (np.flatnonzero(turned > np.radians(limit)) + 1).tolist()
    return found


def angle_corners(points: Array, limit: float) -> list[int]:
    """Return vertices of a closed outline that turn by more than `limit` degrees."""
    found: list[int] = np.flatnonzero(np.abs(measure_turns(points)) > limit).tolist()
    return found


def turns_along(points: Array) -> Array:
    """(n,) angles by which a line has turned up to each vertex, radians, left positive.

    Of the turn at a vertex each chord has its part; at its ends the line goes on bending as
    beside them.  A corner counts as a mitre is longer: twice the tangent of its half.
    """
    delta = np.diff(points, axis=0)
    if len(delta) < 2:
        return np.zeros(len(points))
    turns = turn_between(delta[:-1], delta[1:])
    corner = np.abs(turns) > _CORNER_RAD
    counted = np.where(
        corner, 2.0 * np.tan(np.clip(turns, -_SHARPEST_RAD, _SHARPEST_RAD) / 2.0), turns
    )
    steps = np.hypot(*delta.T)
    before, after = steps[:-1], steps[1:]
    shares = before / (before + after)
    # Where a straight stretch runs into a bend, it is the bend that turns.
    shares = np.where(before > _STRAIGHT * after, 0.0, shares)
    shares = np.where(after > _STRAIGHT * before, 1.0, shares)
    of_chord = np.zeros(len(steps))
    of_chord[:-1] += counted * shares
    of_chord[1:] += counted * (1.0 - shares)
    for end, next_to in ((0, 0), (-1, -1)):
        share = shares[0] if end == 0 else 1.0 - shares[-1]
        if not corner[next_to]:
            of_chord[end] += turns[next_to] * share
    return np.concatenate([[0.0], np.cumsum(of_chord)])
