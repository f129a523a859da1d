"""Points of a drawing, one by one as they are read, or as a table once they are moved.

A block with grade rules is drawn in every size, and each size has the same points on the
same layers at other places: only the places are made anew.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import overload

import numpy as np
import numpy.typing as npt

from propagate.io.dxf.tags import Entity
from propagate.pattern.model import Array

__all__ = ["Point", "PointTable", "tabled"]


@dataclass(slots=True)
class Point:
    """A POINT."""

    layer: str
    at: tuple[float, float]
    source: Entity


class PointTable(Sequence[Point]):
    """Points with their places as one array.

    Parameters
    ----------
    layers : sequence of str
    places : (n, 2) array
    sources : sequence of Entity
    """

    def __init__(self, layers: Sequence[str], places: Array, sources: Sequence[Entity]) -> None:
        self.layers, self.places, self.sources = layers, places, sources
        self._on: Mapping[str, npt.NDArray[np.intp]] | None = None

    def at(self, places: Array) -> PointTable:
        """Return the same points at other places."""
        moved = PointTable(self.layers, places, self.sources)
        moved._on = self._index()
        return moved

    def by_layer(self) -> dict[str, Array]:
        """Return the places on each layer, in the order of the file."""
        return {layer: self.places[own] for layer, own in self._index().items()}

    def _index(self) -> Mapping[str, npt.NDArray[np.intp]]:
        if self._on is None:
            found: dict[str, list[int]] = {}
            for index, layer in enumerate(self.layers):
                found.setdefault(layer, []).append(index)
            self._on = {layer: np.array(own) for layer, own in found.items()}
        return self._on

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.layers)

    @overload
    def __getitem__(self, index: int) -> Point: ...
    @overload
    def __getitem__(self, index: slice) -> list[Point]: ...
    def __getitem__(self, index: int | slice) -> Point | list[Point]:
        """Return one point, or several."""
        if isinstance(index, slice):
            return list(self)[index]
        x, y = self.places[index].tolist()
        return Point(self.layers[index], (x, y), self.sources[index])

    def __iter__(self) -> Iterator[Point]:
        """Return the points one by one."""
        for layer, (x, y), source in zip(
            self.layers, self.places.tolist(), self.sources, strict=True
        ):
            yield Point(layer, (x, y), source)


def tabled(points: Sequence[Point]) -> PointTable:
    """Return points as a table."""
    if isinstance(points, PointTable):
        return points
    places = np.array([point.at for point in points], dtype=np.float64).reshape(-1, 2)
    return PointTable([point.layer for point in points], places, [point.source for point in points])
