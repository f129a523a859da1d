"""The block with the test squares: what the print is, how to check it, what its lines mean."""

from __future__ import annotations

import numpy as np

from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.printed_piece import THIN
from propagate.report.printing.squares import SQUARES_MM, draw_squares
from propagate.report.scene.items import Dot, Role, Scene, Text, line
from propagate.report.scene.legend import legend_of
from propagate.report.scene.looks import LOOKS
from propagate.report.scene.paint import paint
from propagate.values import dataclass

__all__ = ["BLOCK_WIDTH_MM", "BlockText", "draw_block"]

BLOCK_WIDTH_MM = 250.0
_SMALL = 2.7
_PITCH = 1.5
_SHORT = 13.0
_LONG = 22.0
"""Sample of a size's line: long enough for its dashes to come twice, or nearly."""


@dataclass(frozen=True)
class BlockText:
    """What the block says.

    `roles` are the kinds of line that the print holds; `series` names the dashes of each size
    when several are printed.
    """

    title: str
    lines: tuple[str, ...]
    roles: tuple[Role, ...]
    series: tuple[tuple[str, int], ...] = ()


def draw_block(
    canvas: PdfCanvas, text: BlockText, corner: tuple[float, float], width: float
) -> float:
    """Draw the block from its upper left corner; returns its height, mm."""
    x, y = corner
    draw_squares(canvas, corner)
    at, room = x + SQUARES_MM + 7.0, width - SQUARES_MM - 7.0
    down = y
    for words in canvas.fonts.in_lines(text.title, 6.0, room, 3, bold=True):
        canvas.text("sheet", (at, down - 3.0), words, 6.0, anchor="start", bold=True)
        down -= 7.5
    down -= 1.0
    for said in text.lines:
        for words in canvas.fonts.wrapped(said, _SMALL, room):
            canvas.text("sheet", (at, down - _SMALL / 2), words, _SMALL, anchor="start")
            down -= _SMALL * _PITCH
        down -= 1.0
    down = _legend(canvas, text, at, down - 1.0, room)
    return max(SQUARES_MM, y - down)


def _legend(canvas: PdfCanvas, text: BlockText, x: float, y: float, room: float) -> float:
    """Lines and marks with their names, in as many columns as there is room for."""
    rows = _rows(text)
    beside = max(width for _, _, width in rows) + 3.0
    widest = max(canvas.fonts.width(words, _SMALL) for words, _, _ in rows)
    columns = max(int(room // (beside + widest + 4.0)), 1)
    each = -(-len(rows) // columns)
    for i, (name, sample, _) in enumerate(rows):
        left = x + (i // each) * room / columns
        top = y - (i % each) * 5.0 - 2.5
        paint(sample.placed(1.0, np.array([left, top]).__add__), canvas, thin=THIN, layer="sheet")
        words = canvas.fonts.fitted(name, _SMALL, room / columns - beside - 2.0)
        canvas.text("sheet", (left + beside, top), words, _SMALL, anchor="start")
    return y - each * 5.0


def _rows(text: BlockText) -> list[tuple[str, Scene, float]]:
    """Words, sample and its width, mm; sizes have their own seam and cut lines."""
    rows = []
    for name, series in text.series:
        pair = ((Role.SEAM, -0.8), (Role.CUT, 0.8))
        sample = [line(role, [(0.0, up), (_LONG, up)], series=series) for role, up in pair]
        rows.append((name, Scene(tuple(sample)), _LONG))
    sized = (Role.SEAM, Role.CUT, Role.DART, Role.INNER) if text.series else ()
    roles = [role for role in text.roles if role not in sized]
    said = {Role.SEAM: f"{LOOKS[Role.SEAM].legend}; lengths are measured on it"}
    entries = legend_of(roles, _SHORT, 3.0, said)
    rows += [(entry.words, entry.sample, _SHORT) for entry in entries]
    number = Scene(
        (
            Dot(Role.LANDMARK, np.array([_SHORT / 2, 0.0]), 2.1),
            Text(Role.LABEL, np.array([_SHORT / 2, 0.0]), "7", 2.4, bold=True),
        )
    )
    return [*rows, ("matching number of a seam", number, _SHORT)]
