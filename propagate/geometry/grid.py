"""Find the grid that coordinates were rounded to, as many programs write them."""

from __future__ import annotations

import numpy as np

from propagate.geometry.arrays import Array

__all__ = ["OFF_GRID", "find_grid"]

_UNITS_MM = (1.0, 25.4, 25.4 / 72, 25.4 / 96)
"""Millimetre, inch, point and pixel (CSS Values and Units, level 3, 6.2)."""
_WIDEST_MM = 0.5
_FINEST_MM = 1e-3
_GRIDS_MM: tuple[float, ...] = tuple(
    sorted(
        (
            step
            for unit in _UNITS_MM
            for digits in range(5)
            if _FINEST_MM <= (step := unit / 10**digits) <= _WIDEST_MM
        ),
        reverse=True,
    )
)
_ON_GRID_MM = 1e-6
_FEWEST = 3
OFF_GRID = 0.75
"""A rounded point lies half the diagonal of a square of its grid away at most: 0.71 of it."""


def find_grid(points: Array) -> float:
    """Find the widest grid of decimals on which all points lie, seen from the first.

    Parameters
    ----------
    points : (n, 2) array, mm

    Returns
    -------
    float
        Its step, half a millimetre at most: a unit that drawings are written in, or a tenth,
        hundredth or less of it, mm; 0 when there is none, or too few points to tell.
    """
    if len(points) < _FEWEST or not np.isfinite(points).all():
        return 0.0
    off = points[1:] - points[0]
    on_grid = (
        step for step in _GRIDS_MM if np.abs(off - step * np.round(off / step)).max() <= _ON_GRID_MM
    )
    return next(on_grid, 0.0)
