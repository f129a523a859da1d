"""Where a line crosses a level of a piece, and how wide an outline is along one."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from propagate.geometry.crossing import line_crossings
from propagate.geometry.polyline import point_at
from propagate.pattern.model import SizedPiece

__all__ = ["level_crossings", "width_at_level"]

Array = npt.NDArray[np.float64]


def level_crossings(piece: SizedPiece, level: str, points: Array) -> Array:
    """Distances along a line at which it crosses a level of a piece, mm, ascending."""
    grain = piece.grain.direction
    square = np.array([-grain[1], grain[0]])
    return np.asarray(line_crossings(points, np.asarray(piece.levels[level]), square))


def width_at_level(piece: SizedPiece, level: str, outline: Array) -> float:
    """Sum of the stretches of a piece's level that lie inside an outline, mm.

    Parameters
    ----------
    piece : SizedPiece
        Whose level and grain it is.
    level : str
    outline : (n, 2) array
        Closed, without the repeated last point, in the piece's frame.
    """
    grain = piece.grain.direction
    across = np.array([-grain[1], grain[0]])
    closed = np.vstack([outline, outline[:1]])
    hits = [point_at(closed, at) for at in level_crossings(piece, level, closed)]
    places = np.sort(np.array([hit @ across for hit in hits]))
    return float(sum(b - a for a, b in zip(places[::2], places[1::2], strict=False)))
