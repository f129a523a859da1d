"""The block with the test squares: what the print is, how to check it, what its lines mean."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.printed_piece import THIN
from propagate.report.printing.squares import SQUARES_MM, draw_squares
from propagate.report.scene.items import Dot, Role, Scene, line
from propagate.report.scene.items import text as label
from propagate.report.scene.legend import Entry, legend_of, legend_rows
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
    for words in canvas.in_lines(text.title, 6.0, room, 3, bold=True):
        canvas.text("sheet", (at, down - 3.0), words, 6.0, anchor="start", bold=True)
        down -= 7.5
    down -= 1.0
    for said in text.lines:
        for words in canvas.wrapped(said, _SMALL, room):
            canvas.text("sheet", (at, down - _SMALL / 2), words, _SMALL, anchor="start")
            down -= _SMALL * _PITCH
        down -= 1.0
    down = _legend(canvas, text, at, down - 1.0, room)
    return max(SQUARES_MM, y - down)


def _legend(canvas: PdfCanvas, text: BlockText, x: float, y: float, room: float) -> float:
    """Lines and marks with their names, in as many columns as there is room for."""
    entries = _entries(text)
    wide = room - max(entry.width for entry in entries) - 2.0
    entries = [replace(e, words=canvas.fitted(e.words, _SMALL, wide)) for e in entries]
    legend, low = legend_rows(entries, room, _SMALL, canvas.width, aligned=True)
    at = np.array([x, y - 2.5])
    paint(legend.placed(1.0, at.__add__), canvas, thin=THIN, layer="sheet")
    return y + low - 5.0


def _entries(text: BlockText) -> list[Entry]:
    """What the lines mean; sizes have their own seam and cut lines."""
    rows = []
    for name, series in text.series:
        pair = ((Role.SEAM, -0.8), (Role.CUT, 0.8))
        sample = [line(role, [(0.0, up), (_LONG, up)], series=series) for role, up in pair]
        rows.append(Entry(Role.SEAM, Scene(tuple(sample)), name, _LONG))
    sized = (Role.SEAM, Role.CUT, Role.DART, Role.INNER) if text.series else ()
    roles = [role for role in text.roles if role not in sized]
    said = {Role.SEAM: f"{LOOKS[Role.SEAM].legend}; lengths are measured on it"}
    rows += legend_of(roles, _SHORT, 3.0, said)
    middle = np.array([_SHORT / 2, 0.0])
    number = Scene((Dot(Role.LANDMARK, middle, 2.1), label(middle, "7", 2.4, bold=True)))
    return [*rows, Entry(Role.LANDMARK, number, "matching number of a seam", _SHORT)]
