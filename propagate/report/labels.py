"""Find places for texts that a caller writes itself, inside one piece.

Drawings that are composed as a whole place theirs by `propagate.report.scene.labels`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.scene.labels import box_at
from propagate.report.scene.taken import Taken

__all__ = ["Placer", "box_at"]


class Placer:
    """Finds places that are free.

    Parameters
    ----------
    inside : polygon
        The piece; texts stay off its outline.
    taken : Taken
        What is taken; places that are found are added, and others may add to it.
    also : sequence of Taken
        What texts stay off as well.
    """

    def __init__(self, inside: shapely.Geometry, taken: Taken, also: Sequence[Taken] = ()) -> None:
        self.inside, self._taken, self._also = inside, taken, tuple(also)
        shapely.prepare(self.inside)

    def take(self, shape: shapely.Geometry) -> None:
        """Keep a place free of texts."""
        self._taken.add(shape)

    def fits(self, centre: npt.ArrayLike, angle: float, width: float, height: float) -> bool:
        """Take a box inside the piece if it is free."""
        box = box_at(np.asarray(centre, dtype=np.float64), angle, width, height)
        if not self.inside.contains_properly(box):
            return False
        if any(known.hit(box) for known in (self._taken, *self._also)):
            return False
        self.take(box)
        return True
