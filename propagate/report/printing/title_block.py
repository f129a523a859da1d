"""The block with the test squares: what the print is, how to check it, what its lines mean."""

from __future__ import annotations

from propagate.report.canvas import Stroke
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.printed_piece import CUT_LINE, SEAM_LINE
from propagate.report.printing.squares import SQUARES_MM, draw_squares
from propagate.report.style import DART, GRAIN, INK, INTERNAL, NOTCH
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

    `strokes` names the seam line and the cut line of each size when several are printed.
    """

    title: str
    lines: tuple[str, ...]
    strokes: tuple[tuple[str, tuple[Stroke, Stroke]], ...] = ()


def draw_block(
    canvas: PdfCanvas, text: BlockText, corner: tuple[float, float], width: float
) -> float:
    """Draw the block from its upper left corner; returns its height, mm."""
    x, y = corner
    draw_squares(canvas, corner)
    assert canvas.fonts is not None
    at, room = x + SQUARES_MM + 7.0, width - SQUARES_MM - 7.0
    down = y
    for line in canvas.fonts.in_lines(text.title, 6.0, room, 3, bold=True):
        canvas.text("sheet", (at, down - 3.0), line, 6.0, anchor="start", bold=True)
        down -= 7.5
    down -= 1.0
    for said in text.lines:
        for line in canvas.fonts.wrapped(said, _SMALL, room):
            canvas.text("sheet", (at, down - _SMALL / 2), line, _SMALL, anchor="start")
            down -= _SMALL * _PITCH
        down -= 1.0
    down = _legend(canvas, text, at, down - 1.0, room)
    return max(SQUARES_MM, y - down)


def _legend(canvas: PdfCanvas, text: BlockText, x: float, y: float, room: float) -> float:
    """Lines and marks with their names, in as many columns as there is room for."""
    rows: list[tuple[str, Stroke | str | tuple[Stroke, Stroke]]] = [
        ("seam line; lengths are measured on it", SEAM_LINE),
        ("cut line", CUT_LINE),
        ("dart", DART),
        ("internal line", INTERNAL),
        ("grain", GRAIN),
        ("notch", "notch"),
        ("drill mark", "drill"),
        ("matching number of a seam", "number"),
    ]
    if text.strokes:  # darts and lines inside are drawn in the line of their size
        rows = [*text.strokes, *rows[4:]]
    assert canvas.fonts is not None
    beside = (_LONG if text.strokes else _SHORT) + 3.0
    widest = max(canvas.fonts.width(words, _SMALL) for words, _ in rows[-8:])
    columns = max(int(room // (beside + widest + 4.0)), 1)
    each = -(-len(rows) // columns)
    for i, (name, mark) in enumerate(rows):
        left = x + (i // each) * room / columns
        top = y - (i % each) * 5.0 - 2.5
        _swatch(canvas, mark, left, top)
        words = canvas.fonts.fitted(name, _SMALL, room / columns - beside - 2.0)
        canvas.text("sheet", (left + beside, top), words, _SMALL, anchor="start")
    return y - each * 5.0


def _swatch(
    canvas: PdfCanvas, mark: Stroke | str | tuple[Stroke, Stroke], x: float, y: float
) -> None:
    if isinstance(mark, tuple):
        for stroke, up in zip(mark, (-0.8, 0.8), strict=True):
            canvas.line("sheet", [(x, y + up), (x + _LONG, y + up)], stroke)
    elif isinstance(mark, Stroke):
        canvas.line("sheet", [(x, y), (x + _SHORT, y)], mark)
        if mark is GRAIN:
            for tip, back in ((x, 3.0), (x + _SHORT, -3.0)):
                ring = [(tip, y), (tip + back, y + 0.8), (tip + back, y - 0.8)]
                canvas.shape("sheet", [ring], GRAIN.colour)
    elif mark == "notch":
        canvas.line("sheet", [(x, y - 1.0), (x + _SHORT, y - 1.0)], SEAM_LINE)
        canvas.line("sheet", [(x + 6.5, y - 1.0), (x + 6.5, y + 1.8)], NOTCH)
    elif mark == "drill":
        canvas.circle("sheet", (x + 6.5, y), 1.2, GRAIN)
        canvas.line("sheet", [(x + 4.5, y), (x + 8.5, y)], GRAIN)
        canvas.line("sheet", [(x + 6.5, y - 2.0), (x + 6.5, y + 2.0)], GRAIN)
    else:
        canvas.circle("sheet", (x + 6.5, y), 2.1, Stroke(INK, 0.25))
        canvas.text("sheet", (x + 6.5, y), "7", 2.4, bold=True)
