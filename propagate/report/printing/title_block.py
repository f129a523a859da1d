"""The block with the test squares: what the print is, how to check it, what its lines mean."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.lengths import MM_PER_INCH
from propagate.report.canvas import Stroke
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.printed_piece import THIN
from propagate.report.scene.items import Dot, Role, Scene, make_line, make_text
from propagate.report.scene.legend import Entry, legend_of, legend_rows
from propagate.report.scene.looks import LOOKS, paint_scene
from propagate.report.style import FRAME, INK, PALE
from propagate.values import dataclass

__all__ = ["BLOCK_WIDTH_MM", "BlockText", "draw_block"]

BLOCK_WIDTH_MM = 250.0
_SQUARE_MM = 100.0
_SQUARE_IN = 4.0
_INCHES = _SQUARE_IN * MM_PER_INCH
_APART = 12.0
_SQUARES_MM = _APART + _INCHES
"""What both squares together take, across and down."""

_DASHED = Stroke(INK, 0.3, (3.0, 1.5))
_THIN = Stroke(PALE, 0.2)
_LETTER = 4.0
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
    _draw_squares(canvas, corner)
    at, room = x + _SQUARES_MM + 7.0, width - _SQUARES_MM - 7.0
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
    # Lines and marks with their names, in as many columns as there is room for.
    entries = _legend_entries(text)
    wide = room - max(entry.width for entry in entries) - 2.0
    entries = [replace(e, words=canvas.fitted(e.words, _SMALL, wide)) for e in entries]
    legend, low = legend_rows(entries, room, _SMALL, canvas.width, aligned=True)
    down -= 1.0
    move = np.array([at, down - 2.5]).__add__
    paint_scene(legend.placed(1.0, move), canvas, thin=THIN, layer="sheet")
    return max(_SQUARES_MM, y - (down + low - 5.0))


def _legend_entries(text: BlockText) -> list[Entry]:
    """Tell what the lines mean; sizes have their own seam and cut lines."""
    rows = []
    for name, series in text.series:
        pair = ((Role.SEAM, -0.8), (Role.CUT, 0.8))
        sample = [make_line(role, [(0.0, up), (_LONG, up)], series=series) for role, up in pair]
        rows.append(Entry(Role.SEAM, Scene(tuple(sample)), name, _LONG))
    sized = (Role.SEAM, Role.CUT, Role.DART, Role.INNER) if text.series else ()
    roles = [role for role in text.roles if role not in sized]
    said = {Role.SEAM: f"{LOOKS[Role.SEAM].legend}; lengths are measured on it"}
    rows += legend_of(roles, _SHORT, 3.0, said)
    middle = np.array([_SHORT / 2, 0.0])
    number = Scene((Dot(Role.LANDMARK, middle, 2.1), make_text(middle, "7", 2.4, bold=True)))
    return [*rows, Entry(Role.LANDMARK, number, "matching number of a seam", _SHORT)]


def _draw_squares(canvas: PdfCanvas, corner: tuple[float, float]) -> None:
    """Draw both squares from the upper left corner of their place, apart from each other.

    A square of 100 mm and one of 4 in differ by 1.6 mm; drawn from one corner they share two
    sides, and whoever measures takes the wrong one.  So one is moved down and to the right, no
    side lies near another, and every measure runs to the sides that it is of.
    """
    x, y = corner
    _draw_square(canvas, (x, y), _SQUARE_MM, FRAME)
    beside = (x + _APART, y - _APART)
    _draw_square(canvas, beside, _INCHES, _DASHED)
    near = _APART / 2
    _draw_measure(canvas, (x, y - near), (x + _SQUARE_MM, y - near), "100 mm")
    _draw_measure(canvas, (x + near, y - _SQUARE_MM), (x + near, y), "100 mm")
    far = (_SQUARE_MM + _SQUARES_MM) / 2
    _draw_measure(canvas, (beside[0], y - far), (x + _SQUARES_MM, y - far), "4 in")
    _draw_measure(canvas, (x + far, y - _SQUARES_MM), (x + far, beside[1]), "4 in")
    middle = x + _SQUARES_MM / 2
    for down, words, size, bold, colour in (
        (44.0, "test squares", 6.0, True, INK),
        (53.0, "solid: 100 mm × 100 mm", 4.0, False, INK),
        (59.5, "dashed: 4 in × 4 in", 4.0, False, INK),
        (67.5, "measure one of them, across and down", 3.2, False, PALE),
    ):
        canvas.text("sheet", (middle, y - down), words, size, bold=bold, colour=colour)


def _draw_square(
    canvas: PdfCanvas, corner: tuple[float, float], side: float, stroke: Stroke
) -> None:
    x, y = corner
    ring = [(x, y - side), (x + side, y - side), (x + side, y), (x, y)]
    canvas.line("sheet", ring, stroke, closed=True)


def _draw_measure(
    canvas: PdfCanvas, first: tuple[float, float], last: tuple[float, float], words: str
) -> None:
    """Draw a line with an arrow at either side of the square, and the measure on it."""
    ends = np.array([first, last])
    canvas.line("sheet", ends, _THIN)
    along = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    aside = np.array([-along[1], along[0]]) * 0.8
    for tip, back in ((ends[0], along), (ends[1], -along)):
        canvas.shape("sheet", [[tip, tip + back * 3.0 + aside, tip + back * 3.0 - aside]], PALE)
    angle = 90.0 if abs(along[1]) > 0.5 else 0.0
    canvas.text("sheet", ends.mean(axis=0), words, _LETTER, angle=angle, bold=True, halo=True)
