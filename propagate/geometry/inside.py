"""Which places lie within an outline."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.arrays import Array

__all__ = ["find_inside"]


def find_inside(outline: Array, places: Array) -> npt.NDArray[np.bool_]:
    """Tell of each place (m, 2) whether it lies within an outline (n, 2)."""
    area = shapely.Polygon(outline)
    shapely.prepare(area)
    return np.asarray(shapely.contains(area, shapely.points(places)))
