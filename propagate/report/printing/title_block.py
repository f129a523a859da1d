"""The block with the test square: what the print is, how to check it, what its lines mean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from propagate.lengths import MM_PER_INCH
from propagate.report.canvas import Stroke
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.printed_piece import CUT_LINE, SEAM_LINE
from propagate.report.style import DART, FRAME, GRAIN, INK, INTERNAL, NOTCH, PALE

__all__ = ["BLOCK_WIDTH_MM", "BlockText", "draw_block", "flow_lines"]

SQUARE_MM = 100.0
SQUARE_IN = 4.0
BLOCK_WIDTH_MM = 250.0
_SIDE = SQUARE_IN * MM_PER_INCH
_SMALL = 2.7
_PITCH = 1.5


@dataclass(frozen=True)
class BlockText:
    """What the block says.

    `strokes` names the lines of the sizes when several are printed.
    """

    title: str
    lines: tuple[str, ...]
    strokes: tuple[tuple[str, Stroke], ...] = ()


def draw_block(
    canvas: PdfCanvas, text: BlockText, corner: tuple[float, float], width: float
) -> float:
    """Draw the block from its upper left corner; returns its height, mm."""
    x, y = corner
    _squares(canvas, x, y)
    assert canvas.fonts is not None
    at, room = x + _SIDE + 7.0, width - _SIDE - 7.0
    down = y
    for line in canvas.fonts.wrapped(text.title, 6.0, room, bold=True)[:3]:
        canvas.text("sheet", (at, down - 3.0), line, 6.0, anchor="start", bold=True)
        down -= 7.5
    down -= 1.0
    for said in text.lines:
        for line in canvas.fonts.wrapped(said, _SMALL, room):
            canvas.text("sheet", (at, down - _SMALL / 2), line, _SMALL, anchor="start")
            down -= _SMALL * _PITCH
        down -= 1.0
    down = _legend(canvas, text, at, down - 1.0, room)
    return max(_SIDE, y - down)


def _squares(canvas: PdfCanvas, x: float, y: float) -> None:
    """Both test squares from one lower left corner."""
    foot = y - _SIDE
    for side, stroke in ((_SIDE, Stroke(INK, 0.25, (3.0, 1.5))), (SQUARE_MM, FRAME)):
        ring = [(x, foot), (x + side, foot), (x + side, foot + side), (x, foot + side)]
        canvas.line("sheet", ring, stroke, closed=True)
    middle = x + SQUARE_MM / 2
    canvas.text("sheet", (middle, foot + 58.0), "test square", 6.0, bold=True)
    canvas.text("sheet", (middle, foot + 49.0), "solid: 100 mm × 100 mm", 4.0)
    canvas.text("sheet", (middle, foot + 42.5), "dashed: 4 in × 4 in", 4.0)
    canvas.text(
        "sheet", (middle, foot + 34.0), "measure both ways before cutting", 3.2, colour=PALE
    )


def _legend(canvas: PdfCanvas, text: BlockText, x: float, y: float, room: float) -> float:
    """Lines and marks with their names, in as many columns as there is room for."""
    rows: list[tuple[str, Stroke | str]] = [
        ("seam line; lengths are measured on it", SEAM_LINE),
        ("cut line", CUT_LINE),
        ("dart", DART),
        ("internal line", INTERNAL),
        ("grain", GRAIN),
        ("notch", "notch"),
        ("drill mark", "drill"),
        ("matching number of a seam", "number"),
    ]
    if text.strokes:
        rows = [*text.strokes, *rows[2:]]
    columns = max(int(room // 62.0), 1)
    each = -(-len(rows) // columns)
    for i, (name, mark) in enumerate(rows):
        left = x + (i // each) * room / columns
        top = y - (i % each) * 5.0 - 2.5
        _swatch(canvas, mark, left, top)
        assert canvas.fonts is not None
        words = canvas.fonts.fitted(name, _SMALL, room / columns - 18.0)
        canvas.text("sheet", (left + 16.0, top), words, _SMALL, anchor="start")
    return y - each * 5.0


def _swatch(canvas: PdfCanvas, mark: Stroke | str, x: float, y: float) -> None:
    if isinstance(mark, Stroke):
        canvas.line("sheet", [(x, y), (x + 13.0, y)], mark)
        if mark is GRAIN:
            for tip, back in ((x, 3.0), (x + 13.0, -3.0)):
                ring = [(tip, y), (tip + back, y + 0.8), (tip + back, y - 0.8)]
                canvas.shape("sheet", [ring], GRAIN.colour)
    elif mark == "notch":
        canvas.line("sheet", [(x, y - 1.0), (x + 13.0, y - 1.0)], SEAM_LINE)
        canvas.line("sheet", [(x + 6.5, y - 1.0), (x + 6.5, y + 1.8)], NOTCH)
    elif mark == "drill":
        canvas.circle("sheet", (x + 6.5, y), 1.2, GRAIN)
        canvas.line("sheet", [(x + 4.5, y), (x + 8.5, y)], GRAIN)
        canvas.line("sheet", [(x + 6.5, y - 2.0), (x + 6.5, y + 2.0)], GRAIN)
    else:
        canvas.circle("sheet", (x + 6.5, y), 2.1, Stroke(INK, 0.25))
        canvas.text("sheet", (x + 6.5, y), "7", 2.4, bold=True)


def flow_lines(
    canvas: PdfCanvas,
    heading: str,
    lines: Sequence[str],
    corner: tuple[float, float],
    width: float,
    room: float,
) -> float:
    """Write a list in columns under a heading; returns the height it took, mm.

    What does not find room is counted and said.
    """
    if not lines or room < 14.0:
        return 0.0
    x, y = corner
    canvas.text("sheet", (x, y - 1.8), heading, 3.2, anchor="start", bold=True)
    top, pitch = y - 5.5, _SMALL * _PITCH
    columns = max(int(width // 62.0), 1)
    fit = max(int((room - 5.5) // pitch), 1)
    each = min(-(-len(lines) // columns), fit)
    shown = list(lines[: each * columns])
    if len(shown) < len(lines):
        shown[-1] = f"and {len(lines) - len(shown) + 1} more"
    assert canvas.fonts is not None
    for i, line in enumerate(shown):
        column, row = divmod(i, each)
        words = canvas.fonts.fitted(line, _SMALL, width / columns - 4.0)
        place = np.array([x + column * width / columns, top - row * pitch - _SMALL / 2])
        canvas.text("sheet", place, words, _SMALL, anchor="start")
    return 5.5 + each * pitch + 3.0
