"""Compare a piece with what it was: same, moved or reshaped, edge by edge."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.record import EDIT, Change, ChangeKind, EdgeChange, PieceChange, Status
from propagate.errors import EditError
from propagate.geometry.motion import fit
from propagate.geometry.polyline import close_points, measure_apart
from propagate.pattern.model import Edge, Landmark, SizedPiece

__all__ = [
    "LOOK_MM",
    "changed_edges",
    "drawn_changes",
    "compare_pieces",
    "edge_moved_mm",
    "edge_status",
    "redrawn_edges",
    "refuse_crossing",
    "find_remarked",
]

Array = npt.NDArray[np.float64]

_MOST_PAIRS = 100_000  # of points and chords, that are measured one against all
_COARSE = 8
LOOK_MM = 1.0
"""How far a line goes is looked at no less densely: a straight one has two points alone."""
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


def edge_moved_mm(old: Edge, new: Edge) -> float:
    """How far an edge went at most, mm."""
    ends = np.hypot(*(new.points[[0, -1]] - old.points[[0, -1]]).T)
    return max(measure_apart(old.points, new.points), float(ends.max()))


def changed_edges(old: SizedPiece, new: SizedPiece) -> list[str]:
    """Names of the edges of a piece that are not what they were, in their order."""
    pairs = zip(old.edges, new.edges, strict=True)
    return [after.name for before, after in pairs if before != after]


def drawn_changes(name: str, old: SizedPiece, new: SizedPiece, text: str) -> list[Change]:
    """What an edit itself drew of a piece, as nodes of the relation graph."""
    return [
        Change(f"{name}.{edge}", ChangeKind.DRAWN, text, EDIT) for edge in changed_edges(old, new)
    ]


def redrawn_edges(old: Mapping[str, SizedPiece], new: Mapping[str, SizedPiece]) -> frozenset[str]:
    """``PIECE.EDGE`` of the edges of given pieces that differ from those of the set."""
    return frozenset(
        f"{name}.{edge}" for name, piece in new.items() for edge in changed_edges(old[name], piece)
    )


def find_remarked(
    old: Mapping[str, SizedPiece], new: Mapping[str, SizedPiece]
) -> Mapping[str, Landmark]:
    """``PIECE.LANDMARK`` of the landmarks of given pieces that are new or lie elsewhere."""
    return {
        f"{name}.{mark.name}": mark
        for name, piece in new.items()
        for mark in piece.landmarks
        if mark not in old[name].landmarks
    }


def refuse_crossing(name: str, size: str, piece: SizedPiece) -> None:
    """Refuse a piece whose outline crosses itself: nobody could cut it out.

    Raises
    ------
    EditError
    """
    outline = shapely.polygons(piece.outline)
    if not outline.is_valid:
        raise EditError(
            f"piece '{name}', size '{size}': the new outline would cross itself "
            f"({shapely.is_valid_reason(outline)}, mm), so the edit asks for more than the piece "
            "has room for; ask for less"
        )


def compare_pieces(name: str, size: str, old: SizedPiece, new: SizedPiece, why: str) -> PieceChange:
    """Compare a piece with the one it was made from, both in the same frame."""
    edges = []
    before, after = shapely.Polygon(old.outline), shapely.Polygon(new.outline)
    added_area = trimmed_area = 0.0
    statuses = [edge_status(was, now) for was, now in zip(old.edges, new.edges, strict=True)]
    if any(status != "same" for status in statuses):
        shapely.prepare(before)
        shapely.prepare(after)
        shared = before.intersection(after).area
        added_area, trimmed_area = after.area - shared, before.area - shared
    for was, now, status in zip(old.edges, new.edges, statuses, strict=True):
        added = trimmed = 0.0
        if status != "same":
            added, trimmed = _find_farthest(now.points, before), _find_farthest(was.points, after)
        edges.append(EdgeChange(was.name, status, was.length, now.length, added, trimmed))
    overall: Status = "same"
    if any(status != "same" for status in statuses):
        overall = "reshaped" if "reshaped" in statuses else "moved"
    return PieceChange(
        piece=name,
        size=size,
        status=overall,
        why=why,
        edges=tuple(edges),
        added_mm2=max(float(added_area), 0.0),
        trimmed_mm2=max(float(trimmed_area), 0.0),
        before={edge.name: edge.points for edge in old.edges},
    )


def _find_farthest(line: Array, area: shapely.Polygon) -> float:
    """Largest distance of a place on a line outside a prepared area from it, mm."""
    points = close_points(line, LOOK_MM)
    outside = points[~shapely.contains_xy(area, points[:, 0], points[:, 1])]
    if not len(outside):
        return 0.0
    # Only what is farther than the farthest of a few has to be measured: whether a place is that
    # far, an index of the area tells much sooner than how far it is.
    coarse = shapely.distance(shapely.points(outside[:: -(-len(outside) // _COARSE)]), area)
    most = float(coarse.max())
    farther = outside[~shapely.dwithin(area, shapely.points(outside), most)]
    return max(most, float(_measure_distances(farther, area).max(initial=0.0)))


def _measure_distances(points: Array, area: shapely.Polygon) -> Array:
    """(n,) distances of points outside an area from it, mm; through an index where it pays."""
    ring = shapely.get_coordinates(area)
    if len(points) * len(ring) <= _MOST_PAIRS:
        near: Array = shapely.distance(shapely.points(points), area)
        return near
    tree = shapely.STRtree(shapely.linestrings(np.stack([ring[:-1], ring[1:]], axis=1)))
    found: Array = tree.query_nearest(
        shapely.points(points), return_distance=True, all_matches=False
    )[1]
    return found
