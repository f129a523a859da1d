"""Places in a drawing that are taken, found by where they are."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
import shapely

__all__ = ["Taken"]

_LATE = 24
"""So many places are looked through one by one before the tree is made anew."""


class Taken:
    """Keeps shapes: in a tree, and those that came since then in a list."""

    def __init__(self, shapes: Iterable[shapely.Geometry] = ()) -> None:
        self._shapes = list(shapes)
        self._tree = shapely.STRtree([])

    def add(self, shape: shapely.Geometry) -> None:
        """Keep a place."""
        self._shapes.append(shape)

    def hit(self, shape: shapely.Geometry) -> bool:
        """Whether a shape lies on any of them."""
        return bool(self.hits(np.array([shape]))[0])

    def hits(self, shapes: npt.NDArray[np.object_]) -> npt.NDArray[np.bool_]:
        """Which shapes lie on any of them: an array as long as that of the shapes."""
        known = len(self._tree)
        if len(self._shapes) - known > _LATE + known // 16:
            self._tree = shapely.STRtree(self._shapes)
            known = len(self._shapes)
        found = np.zeros(len(shapes), dtype=bool)
        found[self._tree.query(shapes, predicate="intersects")[0]] = True
        for shape in self._shapes[known:]:
            found |= shapely.intersects(shapes, shape)
        return found
