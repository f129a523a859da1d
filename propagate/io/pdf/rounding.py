"""Points of many lines rounded at once, digit for digit as `tidy_chain` does one by one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from propagate.geometry.arrays import Array
from propagate.tolerances import DECIMALS

__all__ = ["round_all"]

_SURELY_ROUNDED = 1e6
"""Up to this many mm a float tells its last decimal that is kept from half of it."""


def round_all(lines: Sequence[Array], least: float) -> list[Array | None]:
    """The points of each line, rounded; None where a step from one to the next is too short.

    Parameters
    ----------
    lines : sequence of (n, 2) arrays
        Of two points at least.
    least : float
        Every step is longer, mm.
    """
    if not lines:
        return []
    rounded = _round_points(np.concatenate(lines))
    ends = np.cumsum([0, *map(len, lines)])
    long = np.hypot(*np.diff(rounded, axis=0).T) > least
    long[ends[1:-1] - 1] = True  # from the end of a line to the start of the next
    plain = np.logical_and.reduceat(long, ends[:-1]).tolist()
    return [
        rounded[first:last] if is_plain else None
        for first, last, is_plain in zip(ends[:-1], ends[1:], plain, strict=True)
    ]


def _round_points(points: Array) -> Array:
    """Round as `round` does: what lies near half a digit is left to it."""
    scaled = points * 10.0**DECIMALS
    rounded: Array = np.rint(scaled) / 10.0**DECIMALS
    half = np.abs(scaled - np.floor(scaled) - 0.5) < 1e-3
    for place in np.argwhere(half | (np.abs(points) > _SURELY_ROUNDED)):
        rounded[tuple(place)] = round(float(points[tuple(place)]), DECIMALS)
    return rounded + 0.0
