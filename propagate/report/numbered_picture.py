"""A picture of a bare piece: its edges numbered and named, to write relations from."""

from __future__ import annotations

import numpy as np
import shapely

from propagate.geometry.polyline import length
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.report import piece_parts as parts
from propagate.report import sheet
from propagate.report.canvas import Canvas
from propagate.report.labels import Placer
from propagate.report.piece_picture import MARGIN_MM, text_size
from propagate.report.scene.items import Role
from propagate.report.scene.paint import paint
from propagate.report.scene.piece import compose_piece
from propagate.report.style import LAYERS, LEADER, SEAM, definitions
from propagate.report.units import MILLIMETRES, Unit

__all__ = ["numbered_picture"]


def numbered_picture(
    pattern: PatternSet, name: str, size: str | None = None, unit: Unit = MILLIMETRES
) -> str:
    """Draw one piece with the number and name of every edge, as SVG at true scale.

    Numbers count counter-clockwise from the first edge, which starts at a dot.

    Raises
    ------
    UnknownName
        For a piece or size that the set does not have.
    """
    shown = size or pattern.base
    piece = pattern.sized(name, shown)
    title = pattern.info[name].title
    letter = text_size(float(np.ptp(piece.outline, axis=0).max()))
    canvas = Canvas()
    scene = compose_piece(piece, pattern.info[name]).without(Role.LEVEL)
    paint(scene, canvas)
    canvas.circle("marks", piece.edges[0].points[0], 2.0, SEAM)
    _label(canvas, piece, letter)
    rows = [
        [f"{number}  {edge.name}", unit.length(edge.length)]
        for number, edge in enumerate(piece.edges, start=1)
    ]
    blocks = [
        sheet.legend_block(scene, letter),
        sheet.table(["edge", unit.name], rows, letter),
        sheet.test_square(letter),
    ]
    heading = sheet.heading_lines(title, [f"{pattern.name}, size {shown}: piece '{name}'"], letter)
    sheet.lay_sheet(canvas, heading, blocks, letter)
    return canvas.svg(
        title=f"{pattern.name}: {title}, size {shown}",
        text=f"Piece {name} with its edges numbered; 1 unit is 1 mm.",
        definitions=definitions(0.75 * letter),
        order=LAYERS,
        margin=MARGIN_MM,
    )


def _label(canvas: Canvas, piece: SizedPiece, letter: float) -> None:
    outline = shapely.Polygon(piece.outline)
    inside, around = outline.buffer(-0.25 * letter), outline.buffer(0.25 * letter + 6.0)
    placer = Placer(inside, around, parts.inner_lines(piece))
    for mark in piece.landmarks:
        placer.take(shapely.Point(mark.point).buffer(2.0))
    numbered = list(enumerate(piece.edges, start=1))
    for number, edge in sorted(numbered, key=lambda item: -length(item[1].points)):
        text = f"{number} {edge.name}"
        place = placer.along(edge.points, text, letter)
        if place is None:
            continue
        if place.leader is not None:
            canvas.line("labels", [place.leader, place.centre], LEADER)
        canvas.text("labels", place.centre, text, letter, angle=place.angle, bold=True, halo=True)
    parts.label_marks(canvas, piece, placer, letter * 0.8)
