"""A picture of a bare piece: its edges numbered and named, to write relations from."""

from __future__ import annotations

import numpy as np

from propagate.pattern.patternset import PatternSet
from propagate.report import sheet
from propagate.report.canvas import Canvas
from propagate.report.piece_picture import MARGIN_MM, text_size
from propagate.report.scene.frames import moved_piece
from propagate.report.scene.items import Dot, Role, Scene, text
from propagate.report.scene.labels import Labels
from propagate.report.scene.looks import LAYERS
from propagate.report.scene.paint import paint
from propagate.report.scene.piece import compose_piece, grain_up
from propagate.report.scene.texts import label_marks
from propagate.report.style import definitions
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
    sized, info = pattern.sized(name, shown), pattern.info[name]
    piece = moved_piece(sized, grain_up(sized))
    title = info.title
    letter = text_size(float(np.ptp(piece.outline, axis=0).max()))
    start = Scene((Dot(Role.SEAM, piece.edges[0].points[0], 2.0),))
    scene = compose_piece(piece, info).without(Role.LEVEL) + start
    labels = Labels(scene)
    numbered = list(enumerate(piece.edges, start=1))
    for number, edge in sorted(numbered, key=lambda item: -item[1].length):
        labels.along(edge.points, text((0.0, 0.0), f"{number} {edge.name}", letter, bold=True))
    label_marks(labels, piece, letter, str)
    canvas = Canvas()
    paint(scene + labels.scene, canvas)
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
