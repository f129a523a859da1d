"""What changed on a piece, as areas and lines: paper to tape on, paper to trim, the line before."""

from __future__ import annotations

from collections.abc import Collection

import shapely

from propagate.engine.record import PieceChange, Record
from propagate.pattern.model import Edge, SizedPiece
from propagate.report.scene.items import Item, Role, areas_of, line

__all__ = ["changed_areas", "changed_items", "piece_before", "shown_changes"]

_SLIVER_MM = 0.04
"""Thinner areas come from rounding."""
_SMALLEST_MM2 = 0.5


def shown_changes(record: Record) -> dict[str, PieceChange]:
    """What became of each piece of which there is something to show."""
    return {c.piece: c for c in record.pieces if c.status != "same" and c.before}


def piece_before(piece: SizedPiece, change: PieceChange) -> SizedPiece:
    """The old outline as a piece, in the frame of the new one.

    The record keeps the points alone; an edge that has as many points as before turns at the
    same ones.
    """
    now = {edge.name: edge for edge in piece.edges}
    edges = []
    for name, points in change.before.items():
        twin = now.get(name)
        alike = twin is not None and len(twin.points) == len(points)
        edges.append(Edge(name, points, twin.turns if twin is not None and alike else ()))
    return SizedPiece(tuple(edges), piece.grain)


def changed_areas(before: SizedPiece, now: SizedPiece) -> tuple[shapely.Geometry, shapely.Geometry]:
    """Paper to tape on and paper to trim, without the slivers that rounding leaves."""
    old, new = (shapely.make_valid(shapely.Polygon(p.outline)) for p in (before, now))
    return _worth_showing(new.difference(old)), _worth_showing(old.difference(new))


def _worth_showing(area: shapely.Geometry) -> shapely.Geometry:
    opened = area.buffer(-_SLIVER_MM).buffer(_SLIVER_MM, join_style="mitre").intersection(area)
    parts = [p for p in shapely.get_parts(opened) if p.geom_type == "Polygon"]
    return shapely.MultiPolygon([p for p in parts if p.area >= _SMALLEST_MM2])


def changed_items(before: SizedPiece, now: SizedPiece, same: Collection[str]) -> list[Item]:
    """Areas to tape on and to trim, and the seam line before where it lies off the new one.

    `same` names the edges that stayed as they were.
    """
    added, trimmed = changed_areas(before, now)
    found: list[Item] = [*areas_of(Role.TAPE_ON, added), *areas_of(Role.TRIM, trimmed)]
    kept = shapely.LinearRing(now.outline).buffer(_SLIVER_MM)
    for edge in before.edges:
        if edge.name in same:
            continue
        parts = shapely.get_parts(shapely.LineString(edge.points).difference(kept))
        found += [line(Role.BEFORE, part.coords, edge.name) for part in parts if not part.is_empty]
    return found
