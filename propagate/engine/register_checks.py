"""Refuse a drawing that no work can be done with, before anything is computed from it."""

from __future__ import annotations

import numpy as np
import shapely

from propagate.errors import EditError
from propagate.pattern.model import SizedPiece
from propagate.tolerances import ON_LINE_MM

__all__ = ["check_extent", "check_usable"]

_ANOTHER_UNIT = 5.0
"""Of this many times the length around it no piece is redrawn; centimetres are 10 times."""


def check_usable(piece: SizedPiece, where: str) -> None:
    """Check that every number is one, and that the outline is closed and does not cross itself.

    Raises
    ------
    EditError
        Names the edge or the place.
    """
    for edge in piece.edges:
        if not np.isfinite(edge.points).all():
            raise EditError(
                f"{where}: edge '{edge.name}' has a coordinate that is no number, expected "
                "millimetres; send the drawing again"
            )
    inside = [("the grain line", [piece.grain.start, piece.grain.end])]
    inside += [(f"landmark '{mark.name}'", [mark.point]) for mark in piece.landmarks]
    inside += [(f"the tip of dart '{dart.name}'", [dart.tip]) for dart in piece.darts]
    inside += [(f"drill mark '{mark.name}'", [mark.point]) for mark in piece.drills]
    for what, points in inside:
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
            f"{where}: the outline crosses itself ({shapely.is_valid_reason(polygon)}, mm); "
            "correct the drawing there"
        )


def check_extent(old: SizedPiece, new: SizedPiece, where: str) -> None:
    """Check that a revised piece is about as large as the old one.

    Raises
    ------
    EditError
        It was drawn or read in another unit, or is another piece; it could be looked for at
        length, or pass for the old one where a wide tolerance swallows it whole.
    """
    around, was = (sum(edge.length for edge in piece.edges) for piece in (new, old))
    if not was / _ANOTHER_UNIT <= around <= was * _ANOTHER_UNIT:
        raise EditError(
            f"{where}: the revised piece measures {around:.1f} mm around, the old one "
            f"{was:.1f} mm; look in which unit it was drawn and read (--unit), and whether it is "
            "this piece"
        )
