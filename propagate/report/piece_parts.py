"""Draw the parts of one piece: its lines, marks and texts."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.record import PieceChange
from propagate.geometry.polyline import between
from propagate.pattern.model import Landmark, SizedPiece
from propagate.report.canvas import Canvas, Stroke
from propagate.report.labels import Placer
from propagate.report.style import (
    ADDED,
    BEFORE,
    BLUE,
    DART,
    GRAIN,
    INTERNAL,
    LEADER,
    LEVEL,
    NOTCH,
    ORANGE,
    PALE,
    SEAM,
    TRIMMED,
)
from propagate.report.units import Unit

__all__ = [
    "draw_areas",
    "draw_edges",
    "draw_grain",
    "draw_inner",
    "draw_levels",
    "draw_marks",
    "inner_lines",
    "label_edges",
    "label_marks",
]

Array = npt.NDArray[np.float64]

_NOTCH_MM = 6.0
_SLIVER_MM = 0.04
_SMALLEST_MM2 = 0.5


def draw_edges(canvas: Canvas, piece: SizedPiece, stroke: Stroke = SEAM) -> None:
    """Draw the seam line, one path for every edge, with its name and length."""
    for edge in piece.edges:
        attributes = {
            "class": "edge",
            "data-edge": edge.name,
            "data-length-mm": f"{edge.length:.4f}",
        }
        canvas.line("seam", edge.points, stroke, attributes=attributes)


def draw_areas(canvas: Canvas, now: Array, change: PieceChange) -> set[str]:
    """Draw the outline before, what is taped on and what is trimmed; say what there was."""
    before = change.before
    same = {edge.edge for edge in change.edges if edge.status == "same"}
    old = np.concatenate([np.asarray(points)[:-1] for points in before.values()])
    was, new = (shapely.make_valid(shapely.Polygon(ring)) for ring in (old, now))
    found = set()
    for kind, area, fill in (
        ("added", new.difference(was), ADDED),
        ("trimmed", was.difference(new), TRIMMED),
    ):
        for polygon in _polygons(area):
            rings = [polygon.exterior.coords, *(hole.coords for hole in polygon.interiors)]
            points = [np.asarray(ring)[:-1] for ring in rings]
            canvas.shape("areas", points, fill, attributes={"class": kind})
            found.add(kind)
    kept = shapely.LinearRing(now).buffer(_SLIVER_MM)
    for name, line in before.items():
        rest = [] if name in same else shapely.get_parts(shapely.LineString(line).difference(kept))
        for part in rest:
            if part.is_empty:
                continue
            attributes = {"class": "before", "data-edge": name}
            canvas.line("before", np.asarray(part.coords), BEFORE, attributes=attributes)
    return found


def _polygons(area: shapely.Geometry) -> list[shapely.Polygon]:
    """The parts of an area that are worth showing, without slivers of rounding."""
    opened = area.buffer(-_SLIVER_MM).buffer(_SLIVER_MM, join_style="mitre")
    parts = shapely.get_parts(opened.intersection(area))
    return [p for p in parts if p.geom_type == "Polygon" and p.area >= _SMALLEST_MM2]


def inner_lines(piece: SizedPiece) -> list[Array]:
    """Lines inside the piece that no text may lie across."""
    lines = [np.array(line.points) for line in piece.lines]
    lines.append(np.array([piece.grain.start, piece.grain.end]))
    for dart in piece.darts:
        legs = [piece.landmark(leg).point for leg in dart.legs]
        lines.append(np.array([legs[0], dart.tip, legs[1]]))
    return lines


def draw_inner(
    canvas: Canvas, piece: SizedPiece, stroke: Stroke | None = None, *, grain: bool = True
) -> set[str]:
    """Draw internal lines, darts, drill marks and the grain; say what there was.

    `stroke` is that of lines and darts where they are told apart by their size.
    """
    found = {"grain"} if grain else set()
    for line in piece.lines:
        attributes = {"class": "line", "data-name": line.name}
        canvas.line("inner", line.points, stroke or INTERNAL, attributes=attributes)
        found.add("line")
    for dart in piece.darts:
        first, second = (piece.landmark(leg).point for leg in dart.legs)
        legs = [first, dart.tip, second]
        canvas.line("inner", legs, stroke or DART, attributes={"data-dart": dart.name})
        found.add("dart")
    for drill in piece.drills:
        x, y = drill.point
        canvas.circle("marks", drill.point, 1.5, GRAIN)
        canvas.line("marks", [(x - 2.5, y), (x + 2.5, y)], GRAIN)
        canvas.line("marks", [(x, y - 2.5), (x, y + 2.5)], GRAIN)
        found.add("drill")
    if grain:
        draw_grain(canvas, piece)
    return found


def draw_grain(canvas: Canvas, piece: SizedPiece) -> None:
    """Draw the grain line with an arrow at both ends."""
    start, end = np.array(piece.grain.start), np.array(piece.grain.end)
    canvas.line("inner", [start, end], GRAIN, attributes={"class": "grain"})
    size = float(np.hypot(*(end - start)))
    head = min(5.0, size / 4)
    for tip, other in ((start, end), (end, start)):
        along = (other - tip) / size
        aside = np.array([-along[1], along[0]]) * head * 0.28
        canvas.shape(
            "inner", [[tip, tip + along * head + aside, tip + along * head - aside]], GRAIN.colour
        )


def draw_levels(canvas: Canvas, piece: SizedPiece, placer: Placer, size: float) -> bool:
    """Draw the levels where they lie inside the piece, and name those that have room."""
    grain = piece.grain.direction
    across = np.array([grain[1], -grain[0]])
    outline = shapely.Polygon(piece.outline)
    drawn = False
    for name, point in piece.levels.items():
        ends = np.asarray(point) + across * 1e4, np.asarray(point) - across * 1e4
        for part in shapely.get_parts(outline.intersection(shapely.LineString(ends))):
            if part.geom_type != "LineString" or part.length < 5.0:
                continue
            points = np.asarray(part.coords)
            if points[0][0] > points[-1][0]:
                points = points[::-1]
            canvas.line("levels", points, LEVEL, attributes={"class": "level", "data-level": name})
            drawn = True
            place = placer.along(points, name, size * 0.8, within=True)
            if place is not None:
                canvas.text(
                    "labels",
                    place.centre,
                    name,
                    size * 0.8,
                    angle=place.angle,
                    colour=PALE,
                    halo=True,
                )
    return drawn


def draw_marks(canvas: Canvas, piece: SizedPiece, allowance: Mapping[str, float]) -> set[str]:
    """Draw notches as ticks from the seam line into the allowance, other landmarks as dots."""
    found = set()
    for mark in piece.landmarks:
        if mark.kind == "dart leg":
            continue
        outward = outward_at(piece, mark)
        size = min(max(allowance[mark.edge], _NOTCH_MM / 2), _NOTCH_MM)
        point = np.asarray(mark.point)
        if mark.kind == "notch":
            ends = [point, point + outward * size]
            canvas.line("marks", ends, NOTCH, attributes={"class": "notch", "data-name": mark.name})
            found.add("notch")
        else:
            canvas.circle("marks", point, 1.2, GRAIN)
            found.add("landmark")
    return found


def outward_at(piece: SizedPiece, mark: Landmark) -> Array:
    """Unit vector (2,) square to the edge at a landmark, away from the piece."""
    edge = piece.edge(mark.edge)
    at = piece.distance(mark.edge, mark.name)
    part = between(edge.points, max(at - 1.0, 0.0), min(at + 1.0, edge.length))
    along = part[-1] - part[0]
    return np.asarray(np.array([along[1], -along[0]]) / math.hypot(*along))


def label_edges(
    canvas: Canvas,
    piece: SizedPiece,
    placer: Placer,
    size: float,
    unit: Unit,
    before: Mapping[str, float],
) -> None:
    """Write name and length at every edge; and the change where there was one."""
    for edge in sorted(piece.edges, key=lambda e: -e.length):
        text = f"{edge.name} {unit.length(edge.length)}"
        colour = "#1a1a1a"
        if edge.name in before:
            change = edge.length - before[edge.name]
            text += f" ({unit.change(change)})"
            colour = BLUE if change > 0 else ORANGE
        place = placer.along(edge.points, text, size)
        if place is None:
            continue
        if place.leader is not None:
            canvas.line("labels", [place.leader, place.centre], LEADER)
        canvas.text("labels", place.centre, text, size, angle=place.angle, colour=colour, halo=True)


def label_marks(canvas: Canvas, piece: SizedPiece, placer: Placer, size: float) -> None:
    """Write the names of notches and landmarks beside them."""
    for mark in piece.landmarks:
        if mark.kind == "dart leg":
            continue
        edge = piece.edge(mark.edge)
        at = piece.distance(mark.edge, mark.name)
        reach = 0.5 * size * (len(mark.name) + 2)
        stretch = between(edge.points, max(at - reach, 0.0), min(at + reach, edge.length))
        place = placer.along(stretch, mark.name, size)
        if place is None:
            continue
        if place.leader is not None:
            canvas.line("labels", [np.asarray(mark.point), place.centre], LEADER)
        canvas.text(
            "labels", place.centre, mark.name, size, angle=place.angle, colour=PALE, halo=True
        )
