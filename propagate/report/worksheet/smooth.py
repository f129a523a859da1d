"""A smooth line through points, as a hand draws it with a French curve: no higher between them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["smooth_values"]

Array = npt.NDArray[np.float64]


def smooth_values(x: Array, y: Array, places: Array) -> Array:
    """Return values of the smooth line through (x, y) at places, all (n,) or (m,); x increases.

    Cubics between the points whose slopes there are weighted harmonic means, nothing where the
    line turns back (Fritsch and Butland 1984); one-sided at the ends (Moler 2004, 3.4).
    """
    step = np.diff(x)
    rise = np.diff(y) / step
    slopes = np.empty(len(x))
    first, second = 2.0 * step[1:] + step[:-1], step[1:] + 2.0 * step[:-1]
    same = rise[:-1] * rise[1:] > 0.0
    safe = np.where(same, rise[:-1], 1.0), np.where(same, rise[1:], 1.0)
    means = (first + second) / (first / safe[0] + second / safe[1])
    slopes[1:-1] = np.where(same, means, 0.0)
    slopes[0] = _end_slope(step[0], step[1], rise[0], rise[1])
    slopes[-1] = _end_slope(step[-1], step[-2], rise[-1], rise[-2])
    part = np.clip(np.searchsorted(x, places, side="right") - 1, 0, len(step) - 1)
    wide, t = step[part], (places - x[part]) / step[part]
    return np.asarray(
        (1.0 + 2.0 * t) * (1.0 - t) ** 2 * y[part]
        + t * (1.0 - t) ** 2 * wide * slopes[part]
        + t**2 * (3.0 - 2.0 * t) * y[part + 1]
        + t**2 * (t - 1.0) * wide * slopes[part + 1]
    )


def _end_slope(step: float, after: float, rise: float, rise_after: float) -> float:
    slope = ((2.0 * step + after) * rise - step * rise_after) / (step + after)
    if slope * rise <= 0.0:
        return 0.0
    if rise * rise_after <= 0.0 and abs(slope) > 3.0 * abs(rise):
        return 3.0 * rise
    return slope
