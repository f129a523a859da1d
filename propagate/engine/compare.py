"""Compare a piece with what it was: same, moved or reshaped, edge by edge."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.record import EdgeChange, PieceChange, Status
from propagate.geometry.motion import fit
from propagate.pattern.model import Edge, SizedPiece

__all__ = ["compare_pieces", "edge_status"]

Array = npt.NDArray[np.float64]

_SHAPE_MM = 1e-3
"""An edge that a rigid motion lays on its old self this well was only moved."""


def edge_status(old: Edge, new: Edge) -> Status:
    """Tell whether an edge is the same, was moved rigidly, or reshaped."""
    if old == new:
        return "same"
    if old.points.shape == new.points.shape and abs(old.length - new.length) < _SHAPE_MM:
        _, residual = fit(old.points, new.points)
        if residual <= _SHAPE_MM:
            return "moved"
    return "reshaped"


def compare_pieces(name: str, size: str, old: SizedPiece, new: SizedPiece, why: str) -> PieceChange:
    """Compare a piece with the one it was made from, both in the same frame."""
    before, after = shapely.Polygon(old.outline), shapely.Polygon(new.outline)
    edges = []
    statuses: set[Status] = set()
    for was, now in zip(old.edges, new.edges, strict=True):
        status = edge_status(was, now)
        statuses.add(status)
        added = trimmed = 0.0
        if status != "same":
            added = float(shapely.distance(shapely.points(now.points), before).max())
            trimmed = float(shapely.distance(shapely.points(was.points), after).max())
        edges.append(EdgeChange(was.name, status, was.length, now.length, added, trimmed))
    overall: Status = "same"
    if statuses - {"same"}:
        overall = "reshaped" if "reshaped" in statuses else "moved"
    return PieceChange(
        piece=name,
        size=size,
        status=overall,
        why=why,
        edges=tuple(edges),
        added_mm2=float(after.difference(before).area),
        trimmed_mm2=float(before.difference(after).area),
        before={edge.name: edge.points.tolist() for edge in old.edges},
    )
