"""The sheet around a drawing: heading, legend, table of lengths, test square, notes."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from propagate.report.canvas import Canvas, Stroke, text_width
from propagate.report.scene.items import Role, Scene
from propagate.report.scene.legend import legend_of
from propagate.report.scene.looks import LOOKS
from propagate.report.scene.paint import paint
from propagate.report.style import FRAME, PALE
from propagate.values import dataclass

__all__ = ["Block", "heading_lines", "lay_sheet", "legend_block", "notes", "table", "test_square"]

Array = npt.NDArray[np.float64]

TEST_SQUARE_MM = 50.0
_SAMPLE_MM = 16.0


@dataclass(frozen=True)
class Block:
    """A part of the sheet: its size in mm and how to draw it from its upper left corner."""

    width: float
    height: float
    draw: Callable[[Canvas, Array], None]


def lay_sheet(
    canvas: Canvas, heading: Sequence[tuple[str, float, bool]], blocks: Sequence[Block], size: float
) -> None:
    """Put the heading above a drawing and the blocks beside it or below it.

    Parameters
    ----------
    canvas : Canvas
        With the drawing on it.
    heading : sequence of (text, size, bold)
    blocks : sequence of Block
    size : float
        Size of ordinary text, mm.
    """
    low, high = canvas.low.copy(), canvas.high.copy()
    wide, tall = high - low
    gap = 2.5 * size
    if tall > 0.8 * wide:
        x, y = high[0] + 2 * gap, high[1]
        for block in blocks:
            block.draw(canvas, np.array([x, y]))
            y -= block.height + gap
    else:
        _flow(canvas, blocks, low, max(wide, 160.0), gap)
    y = high[1] + gap
    for text, height, bold in reversed(heading):
        canvas.text("sheet", (low[0], y + height / 2), text, height, anchor="start", bold=bold)
        y += height * 1.5


def _flow(canvas: Canvas, blocks: Sequence[Block], low: Array, width: float, gap: float) -> None:
    """Blocks from left to right below the drawing, in rows."""
    x, y, deepest = low[0], low[1] - 2 * gap, 0.0
    for block in blocks:
        if x > low[0] and x + block.width > low[0] + width:
            x, y, deepest = low[0], y - deepest - gap, 0.0
        block.draw(canvas, np.array([x, y]))
        x += block.width + 2 * gap
        deepest = max(deepest, block.height)


def heading_lines(title: str, lines: Sequence[str], size: float) -> list[tuple[str, float, bool]]:
    """The title, large, and further lines."""
    return [(title, 2.0 * size, True), *((line, size * 1.1, False) for line in lines)]


def legend_block(scene: Scene, size: float, before: str = "") -> Block:
    """The legend of a drawing; `before` is the size that the outline before is of."""
    words = {Role.SEAM: f"{LOOKS[Role.SEAM].legend}; lengths are measured on it"}
    if before:
        words[Role.BEFORE] = f"{LOOKS[Role.BEFORE].legend}, size {before}"
    entries = legend_of(scene.roles, _SAMPLE_MM, 1.2 * size, words)
    width = _SAMPLE_MM + size + max(text_width(entry.words, size) for entry in entries)
    pitch = 1.9 * size

    def draw(canvas: Canvas, corner: Array) -> None:
        y = corner[1] - size / 2
        for entry in entries:
            origin = np.array([corner[0], y])
            paint(entry.sample.placed(1.0, origin.__add__), canvas, layer="sheet")
            at = (corner[0] + _SAMPLE_MM + size, y)
            canvas.text("sheet", at, entry.words, size, anchor="start")
            y -= pitch

    return Block(width, pitch * len(entries), draw)


def table(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    size: float,
    strokes: Sequence[Stroke] = (),
) -> Block:
    """A small table; the first column to the left, the others to the right.

    `strokes` puts the line of each row before it.
    """
    swatch = 16.0 + size if strokes else 0.0
    widths = [
        max(text_width(str(row[i]), size) for row in (heads, *rows)) + 1.2 * size
        for i in range(len(heads))
    ]
    pitch = 1.6 * size

    def write(canvas: Canvas, corner: Array, y: float, row: Sequence[str], colour: str) -> None:
        x = corner[0] + swatch
        canvas.text("sheet", (x, y), row[0], size, anchor="start", colour=colour)
        for width, cell in zip(widths, row, strict=True):
            x += width
            if cell is not row[0]:
                canvas.text("sheet", (x, y), cell, size, anchor="end", colour=colour)

    def draw(canvas: Canvas, corner: Array) -> None:
        y = corner[1] - size / 2
        write(canvas, corner, y, heads, PALE)
        rule = y - 0.8 * size
        canvas.line("sheet", [(corner[0], rule), (corner[0] + swatch + sum(widths), rule)], FRAME)
        for i, row in enumerate(rows):
            y -= pitch
            if strokes:
                canvas.line("sheet", [(corner[0], y), (corner[0] + 16.0, y)], strokes[i])
            write(canvas, corner, y, row, "#1a1a1a")

    return Block(swatch + sum(widths), pitch * (len(rows) + 1), draw)


def test_square(size: float) -> Block:
    """A square to measure on the print."""
    side = TEST_SQUARE_MM

    def draw(canvas: Canvas, corner: Array) -> None:
        x, y = corner[0], corner[1]
        ring = [(x, y), (x, y - side), (x + side, y - side), (x + side, y)]
        canvas.line("sheet", ring, FRAME, closed=True, attributes={"id": "test-square"})
        small = min(size, 4.5)
        for i, text in enumerate(("test square", "50 mm × 50 mm", "measure it", "after printing")):
            place = (x + side / 2, y - side / 2 + (1.5 - i) * 1.6 * small)
            canvas.text("sheet", place, text, small)

    return Block(side, side, draw)


def notes(texts: Sequence[str], size: float, width: float, bullet: str = "– ") -> Block:
    """Sentences, wrapped."""
    columns = max(int(width / (0.58 * size)), 20)
    lines = [
        (bullet if i == 0 else " " * len(bullet)) + line
        for text in texts
        for i, line in enumerate(textwrap.wrap(text, columns - len(bullet)) or [""])
    ]
    pitch = 1.45 * size

    def draw(canvas: Canvas, corner: Array) -> None:
        y = corner[1] - size / 2
        for line in lines:
            indent = size * 0.9 if line.startswith(" ") and bullet else 0.0
            canvas.text("sheet", (corner[0] + indent, y), line.strip(), size, anchor="start")
            y -= pitch

    return Block(max(text_width(line, size) for line in lines), pitch * len(lines), draw)
