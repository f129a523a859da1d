"""Draw the parts of one piece: its lines, marks and texts."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import between
from propagate.pattern.model import SizedPiece
from propagate.report.canvas import Canvas, Stroke
from propagate.report.labels import Placer
from propagate.report.scene.items import Line, Role, Scene
from propagate.report.scene.piece import outward_at
from propagate.report.style import (
    BLUE,
    DART,
    GRAIN,
    INTERNAL,
    LEADER,
    NOTCH,
    ORANGE,
    PALE,
    SEAM,
)
from propagate.report.units import Unit

__all__ = [
    "draw_edges",
    "draw_grain",
    "draw_inner",
    "label_levels",
    "draw_marks",
    "inner_lines",
    "label_edges",
    "label_marks",
]

Array = npt.NDArray[np.float64]

_NOTCH_MM = 6.0


def draw_edges(canvas: Canvas, piece: SizedPiece, stroke: Stroke = SEAM) -> None:
    """Draw the seam line, one path for every edge, with its name and length."""
    for edge in piece.edges:
        attributes = {
            "class": "edge",
            "data-edge": edge.name,
            "data-length-mm": f"{edge.length:.4f}",
        }
        canvas.line("seam", edge.points, stroke, attributes=attributes)


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


def label_levels(canvas: Canvas, scene: Scene, placer: Placer, size: float) -> None:
    """Name the levels that have room."""
    for level in scene.of(Role.LEVEL):
        assert isinstance(level, Line)
        place = placer.along(level.points, level.name, size * 0.8, within=True)
        if place is not None:
            at, angle = place.centre, place.angle
            canvas.text("labels", at, level.name, size * 0.8, angle=angle, colour=PALE, halo=True)


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
