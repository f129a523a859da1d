"""Find places for texts that a caller writes itself, inside one piece.

Drawings that are composed as a whole place theirs by `propagate.report.scene.labels`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.scene.labels import box_at
from propagate.report.scene.taken import Taken

__all__ = ["Placer", "box_at"]


class Placer:
    """Keeps what is taken and finds free places.

    Parameters
    ----------
    inside : polygon
        The piece; texts stay off its outline.
    """

    def __init__(self, inside: shapely.Polygon) -> None:
        self.inside = inside
        self.taken: list[shapely.Geometry] = []
        self._known = 0
        self._grid = Taken()
        shapely.prepare(self.inside)

    def take(self, shape: shapely.Geometry) -> None:
        """Keep a place free of texts."""
        self.taken.append(shape)

    def fits(self, centre: npt.ArrayLike, angle: float, width: float, height: float) -> bool:
        """Take a box inside the piece if it is free."""
        box = box_at(np.asarray(centre, dtype=np.float64), angle, width, height)
        if not self.inside.contains_properly(box) or self._hit(box):
            return False
        self.take(box)
        return True

    def _hit(self, box: shapely.Polygon) -> bool:
        """Whether a box lies on what is taken; others may have added to that."""
        for shape in self.taken[self._known :]:
            self._grid.add(shape)
        self._known = len(self.taken)
        return self._grid.hit(box)
