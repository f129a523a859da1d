"""Draw the parts of one piece: its lines, marks and texts."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from propagate.pattern.model import SizedPiece
from propagate.report.canvas import Canvas, Stroke
from propagate.report.scene.piece import outward_at
from propagate.report.style import (
    DART,
    GRAIN,
    INTERNAL,
    NOTCH,
    SEAM,
)

__all__ = ["draw_edges", "draw_grain", "draw_inner", "draw_marks", "inner_lines"]

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
