"""Corner angles, where a closed outline turns, and its sense."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["angle_corners", "angle_inside", "is_counter_clockwise", "signed_area", "turning"]

Array = npt.NDArray[np.float64]


def angle_inside(arriving: float, leaving: float) -> float:
    """Angle inside a counter-clockwise outline where it turns, degrees, 0 to 360.

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
    """Area of a closed outline, mm^2; positive when it runs counter-clockwise.

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
