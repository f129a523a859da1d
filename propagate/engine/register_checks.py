"""Refuse a drawing that no work can be done with, before anything is computed from it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from propagate.errors import EditError
from propagate.pattern.model import SizedPiece
from propagate.tolerances import ON_LINE_MM

__all__ = ["check_usable", "named_points"]

Array = npt.NDArray[np.float64]


def check_usable(piece: SizedPiece, where: str, cure: str = "correct the drawing there") -> None:
    """Check that every number is one, and that the outline is closed and does not cross itself.

    Parameters
    ----------
    piece : SizedPiece
    where, cure : str
        Set, piece and size, and what to do about an outline that crosses itself.

    Raises
    ------
    EditError
        Names the edge or the place.
    """
    for what, points in named_points(piece):
        if not np.isfinite(points).all():
            raise EditError(
                f"{where}: {what} has a coordinate that is no number, expected millimetres; send "
                "the drawing again"
            )
    for before, edge in zip((piece.edges[-1], *piece.edges[:-1]), piece.edges, strict=True):
        gap = float(np.hypot(*(edge.points[0] - before.points[-1])))
        if gap > ON_LINE_MM:
            raise EditError(
                f"{where}: edge '{edge.name}' starts {gap:.2f} mm from where edge '{before.name}' "
                "ends, expected a closed outline; correct the drawing there"
            )
    polygon = shapely.Polygon(piece.outline)
    if not polygon.is_valid:
        raise EditError(
            f"{where}: the outline crosses itself ({shapely.is_valid_reason(polygon)}, mm); {cure}"
        )


def named_points(piece: SizedPiece) -> list[tuple[str, Array]]:
    """Everything drawn of a piece: what it is, and its (n, 2) points, mm."""
    found: list[tuple[str, npt.ArrayLike]] = []
    found += [(f"edge '{edge.name}'", edge.points) for edge in piece.edges]
    found += [("the grain line", [piece.grain.start, piece.grain.end])]
    found += [(f"landmark '{mark.name}'", [mark.point]) for mark in piece.landmarks]
    found += [(f"the tip of dart '{dart.name}'", [dart.tip]) for dart in piece.darts]
    found += [(f"drill mark '{mark.name}'", [mark.point]) for mark in piece.drills]
    found += [(f"line '{line.name}'", line.points) for line in piece.lines]
    return [(what, np.asarray(points, dtype=np.float64).reshape(-1, 2)) for what, points in found]
