"""Places in a drawing that are taken, found by where they are."""

from __future__ import annotations

import math
from collections.abc import Iterable

import shapely

__all__ = ["Taken"]

_CELL_MM = 25.0
_MOST_CELLS = 64


class Taken:
    """Keeps shapes: small ones in the cells of a grid, large ones in a tree."""

    def __init__(self, shapes: Iterable[shapely.Geometry] = ()) -> None:
        self._cells: dict[tuple[int, int], list[shapely.Geometry]] = {}
        self._wide: list[shapely.Geometry] = []
        self._tree: shapely.STRtree | None = None
        for shape in shapes:
            self.add(shape)

    def add(self, shape: shapely.Geometry) -> None:
        """Keep a place."""
        cells = _cells(shape)
        if cells is None:
            self._wide.append(shape)
            self._tree = None
            return
        for cell in cells:
            self._cells.setdefault(cell, []).append(shape)

    def hit(self, shape: shapely.Geometry) -> bool:
        """Whether a shape lies on any of them."""
        if self._wide:
            self._tree = self._tree or shapely.STRtree(self._wide)
            if len(self._tree.query(shape, predicate="intersects")):
                return True
        cells = _cells(shape)
        lists = self._cells.values() if cells is None else map(self._cells.get, cells)
        return any(shape.intersects(other) for near in lists for other in near or ())


def _cells(shape: shapely.Geometry) -> list[tuple[int, int]] | None:
    """Cells of the grid that the box around a shape touches; None when they are many."""
    if shape.is_empty:
        return []
    left, low, right, top = (math.floor(value / _CELL_MM) for value in shape.bounds)
    if (right - left + 1) * (top - low + 1) > _MOST_CELLS:
        return None
    return [(x, y) for x in range(left, right + 1) for y in range(low, top + 1)]
