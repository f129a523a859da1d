"""Where a line crosses a level of a piece, how wide a silhouette is there, and finished girths."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.tape import tape
from propagate.errors import UnknownName
from propagate.geometry.crossing import line_crossings
from propagate.geometry.polyline import point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Girth
from propagate.pattern.spans import run_length
from propagate.tolerances import SAME_POINT_MM

__all__ = ["girth_length", "level_crossings", "level_width", "width_at_level"]

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
    if len(hits) <= 2:
        return float(places[-1] - places[0]) if hits else 0.0
    # Where it goes through a corner or along an edge as well, what lies between two hits tells.
    places = places[np.diff(places, prepend=-np.inf) > SAME_POINT_MM]
    height = float(np.asarray(piece.levels[level]) @ grain)
    middles = [(a + b) / 2.0 * across + height * grain for a, b in pairwise(places.tolist())]
    inside = shapely.distance(shapely.Polygon(outline), shapely.points(middles)) <= SAME_POINT_MM
    return float(np.diff(places)[inside].sum())


def girth_length(pattern: PatternSet, girth: Girth, size: str) -> float:
    """Finished length of a girth in one size, mm."""
    if girth.level is None:
        return girth.times * sum(run_length(pattern.in_size(size), run) for run in girth.runs)
    return girth.times * sum(
        level_width(pattern, name, girth.level, size) for name in girth.silhouettes
    )


def level_width(pattern: PatternSet, silhouette: str, level: str, size: str) -> float:
    """Width of a silhouette along a level, darts closed, mm.

    The sum of the stretches of the level line that lie inside the outline, without those
    between the legs of a dart.
    """
    taped = tape(pattern, silhouette, size)
    base = taped.base
    if level not in base.levels:
        raise UnknownName("level", level, list(base.levels), f"piece '{taped.lead}', size '{size}'")
    width = width_at_level(base, level, taped.outline)
    for name, piece in taped.sized.items():
        for dart in piece.darts:
            corners = [*(piece.landmark(leg).point for leg in dart.legs), dart.tip]
            width -= width_at_level(base, level, taped.motions[name].apply(np.array(corners)))
    return width
