"""Corner angles and the sense of a closed outline."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from propagate.geometry.directions import end_direction
from propagate.tolerances import TANGENT_WINDOW_MM

__all__ = ["interior_angle", "is_counter_clockwise", "signed_area"]

Array = npt.NDArray[np.float64]


def interior_angle(
    before: Array,
    after: Array,
    *,
    turns_before: Sequence[int] = (),
    turns_after: Sequence[int] = (),
    window: float = TANGENT_WINDOW_MM,
) -> float:
    """Angle inside the outline at the joint of two edges, degrees.

    Parameters
    ----------
    before, after : (n, 2) arrays, mm
        Consecutive edges of a counter-clockwise outline: the first ends where the
        second starts.
    turns_before, turns_after : indices of vertices that are corners inside the edges
    window : float, mm
        Stretch from which the end tangents are estimated.

    Returns
    -------
    float
        0 to 360; 180 where the outline runs on smoothly, more at an inward corner.
    """
    arriving = end_direction(before, "end", turns=turns_before, window=window)
    leaving = end_direction(after, "start", turns=turns_after, window=window)
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
