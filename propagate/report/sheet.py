"""The sheet around a drawing: heading, legend, table of lengths, test square, notes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from propagate.report.canvas import Canvas, text_width
from propagate.report.flow import CELL_GAP_MM, SAMPLE_MM, Head, TextFlow
from propagate.report.scene.items import Role, Scene
from propagate.report.scene.looks import LOOKS, legend_of, legend_rows, paint_scene
from propagate.report.style import FRAME, Stroke
from propagate.values import dataclass

__all__ = ["Block", "lay_sheet", "legend_block", "notes_block", "table_block", "test_square"]

Array = npt.NDArray[np.float64]

TEST_SQUARE_MM = 50.0


@dataclass(frozen=True)
class Block:
    """A part of the sheet: its size in mm and how to draw it from its upper left corner."""

    width: float
    height: float
    draw: Callable[[Canvas, Array], None]


def lay_sheet(
    canvas: Canvas, title: str, lines: Sequence[str], blocks: Sequence[Block], size: float
) -> None:
    """Put a title and further lines above a drawing and the blocks beside it or below it.

    Parameters
    ----------
    canvas : Canvas
        With the drawing on it.
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
        width = max(wide, 160.0)
        x, y, deepest = low[0], low[1] - 2 * gap, 0.0
        for block in blocks:
            if x > low[0] and x + block.width > low[0] + width:
                x, y, deepest = low[0], y - deepest - gap, 0.0
            block.draw(canvas, np.array([x, y]))
            x += block.width + 2 * gap
            deepest = max(deepest, block.height)
    y = high[1] + gap
    for i, text in reversed(list(enumerate((title, *lines)))):
        height = size * (1.1 if i else 2.0)
        canvas.text("sheet", (low[0], y + height / 2), text, height, anchor="start", bold=not i)
        y += height * 1.5


def legend_block(scene: Scene, size: float, before: str = "") -> Block:
    """Make the legend of a drawing; `before` is the size that the outline before is of."""
    words = {Role.SEAM: f"{LOOKS[Role.SEAM].legend}; lengths are measured on it"}
    if before:
        words[Role.BEFORE] = f"{LOOKS[Role.BEFORE].legend}, size {before}"
    entries = legend_of(scene.roles, SAMPLE_MM, 1.2 * size, words)
    legend, low = legend_rows(entries, 0.0, size)

    def draw(canvas: Canvas, corner: Array) -> None:
        at = corner - np.array([0.0, size / 2])
        paint_scene(legend.placed(1.0, at.__add__), canvas, layer="sheet")

    width = SAMPLE_MM + size + max(text_width(entry.words, size) for entry in entries)
    return Block(width, 1.9 * size - low, draw)


def table_block(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    size: float,
    strokes: Sequence[Stroke] = (),
) -> Block:
    """Make a small table; the first column to the left, the others to the right.

    `strokes` puts the line of each row before it.
    """
    widths = [max(text_width(row[i], size) for row in (heads, *rows)) for i in range(len(heads))]
    columns = [
        Head(head, width + CELL_GAP_MM + 0.6 * size, right=i > 0)
        for i, (head, width) in enumerate(zip(heads, widths, strict=True))
    ]
    wide = sum(column.share for column in columns) + (SAMPLE_MM + size if strokes else 0.0)
    return _flow_block(wide, lambda flow: flow.table(columns, rows, size=size, samples=strokes))


def notes_block(texts: Sequence[str], size: float, width: float) -> Block:
    """Wrap sentences."""

    def write(flow: TextFlow) -> None:
        for text in texts:
            flow.paragraph(text, size=size, indent=size, mark="–")

    return _flow_block(width, write)


def _flow_block(width: float, write: Callable[[TextFlow], None]) -> Block:
    """Make a block of what a flow writes, which is written once to see how tall that is."""
    tried = TextFlow(Canvas(), 0.0, width, 0.0)
    write(tried)
    return Block(
        width, -tried.y, lambda canvas, corner: write(TextFlow(canvas, corner[0], width, corner[1]))
    )


def test_square(size: float) -> Block:
    """Make a square to measure on the print."""
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
