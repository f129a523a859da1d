"""The frame of a page: its name in the grid, where it joins the next, marks that meet."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from propagate.report.canvas import Stroke
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.grid import Box, Grid, Tile
from propagate.report.style import PALE

__all__ = ["FRAMES_LAYER", "draw_frame", "text_boxes"]

FRAMES_LAYER = "page frames and glue marks"
_FRAME = Stroke(PALE, 0.2)
_LAP = Stroke(PALE, 0.2, (2.0, 1.5))
_MARK = Stroke("#1a1a1a", 0.25)
_REACH_MM = 3.0
_PLACES = (0.4, 0.8)
_BETWEEN = 0.65
"""Where the name of the neighbour stands: clear of marks and of the words at the foot."""
_SMALL = 2.4
_NAME = 9.0
_FOOT_MM = 120.0
"""The words at the foot are at most about this long: names in them are shortened."""


def draw_frame(
    canvas: PdfCanvas,
    grid: Grid,
    tile: Tile,
    printed: Collection[Tile],
    words: str,
    shift: tuple[float, float],
) -> None:
    """Draw frame, names and glue marks of a page.

    Parameters
    ----------
    canvas : PdfCanvas
        In the page's own frame.
    grid : Grid
    tile : Tile
    printed : collection of Tile
        All pages that are printed: marks are only drawn where a neighbour meets them.
    words : str
        Small text at the foot of the page.
    shift : (x, y)
        From the sheet to the page, mm.
    """
    offset = np.array(shift)
    left, bottom, right, top = grid.box(tile)
    corners = np.array([(left, bottom), (right, bottom), (right, top), (left, top)]) + offset
    with canvas.in_group(FRAMES_LAYER):
        canvas.line("sheet", corners, _FRAME, closed=True)
        lap = grid.overlap
        for step, beside in (((0, 1), 1.0), ((0, -1), -1.0)):
            other = Tile(tile.row + step[0], tile.column + step[1])
            if other in printed:
                x = (right - lap if beside > 0 else left + lap) + offset[0]
                middle = x + beside * lap / 2
                _join(canvas, (middle, bottom + offset[1]), (middle, top + offset[1]))
                if lap and beside > 0:
                    canvas.line("sheet", [(x, bottom + offset[1]), (x, top + offset[1])], _LAP)
                place = (x - beside * _SMALL, bottom + _BETWEEN * (top - bottom) + offset[1])
                canvas.text("sheet", place, other.label, _SMALL, angle=90.0, colour=PALE, halo=True)
        for step, below in (((1, 0), 1.0), ((-1, 0), -1.0)):
            other = Tile(tile.row + step[0], tile.column + step[1])
            if other in printed:
                y = (bottom + lap if below > 0 else top - lap) + offset[1]
                middle = y - below * lap / 2
                _join(canvas, (left + offset[0], middle), (right + offset[0], middle))
                if lap and below > 0:
                    canvas.line("sheet", [(left + offset[0], y), (right + offset[0], y)], _LAP)
                place = (left + _BETWEEN * (right - left) + offset[0], y + below * _SMALL)
                canvas.text("sheet", place, other.label, _SMALL, colour=PALE, halo=True)
        _name(canvas, tile.label, words, (left + offset[0] + lap, bottom + offset[1] + lap))


def _join(canvas: PdfCanvas, first: tuple[float, float], last: tuple[float, float]) -> None:
    """Diamonds on the middle of what two pages share; both pages draw the same ones."""
    for part in _PLACES:
        x, y = (1 - part) * np.array(first) + part * np.array(last)
        r = _REACH_MM
        canvas.line("sheet", [(x - r, y), (x, y - r), (x + r, y), (x, y + r)], _MARK, closed=True)
        canvas.line("sheet", [(x - r, y), (x + r, y)], _MARK)
        canvas.line("sheet", [(x, y - r), (x, y + r)], _MARK)


def text_boxes(grid: Grid, tile: Tile) -> tuple[Box, ...]:
    """What words and glue marks take of the sheet: (left, bottom, right, top) of each, mm."""
    left, bottom, right, top = grid.box(tile)
    lap, half = grid.overlap, 0.6 * _SMALL
    x, y = left + lap + 3.0, bottom + lap
    wide = min(_FOOT_MM, right - left - lap)
    name = (x - 1.0, y + 4.0, x + 0.8 * _NAME * len(tile.label) + 1.0, y + 9.0 + 0.6 * _NAME)
    high, along = bottom + _BETWEEN * (top - bottom), left + _BETWEEN * (right - left)
    beside = [(left + lap + _SMALL, high), (right - lap - _SMALL, high)]
    beside += [(along, bottom + lap + _SMALL), (along, top - lap - _SMALL)]
    joins = [(a - 2 * half, b - 2 * half, a + 2 * half, b + 2 * half) for a, b in beside]
    r = _REACH_MM + 0.5
    for part in _PLACES:
        x_at, y_at = left + part * (right - left), bottom + part * (top - bottom)
        marks = [(side, y_at) for side in (left + lap / 2, right - lap / 2)]
        marks += [(x_at, side) for side in (bottom + lap / 2, top - lap / 2)]
        joins += [(a - r, b - r, a + r, b + r) for a, b in marks]
    return (name, (x - 1.0, y + 2.6 - half, x + wide, y + 2.6 + half), *joins)


def _name(canvas: PdfCanvas, label: str, words: str, corner: tuple[float, float]) -> None:
    x, y = corner
    canvas.text(
        "sheet", (x + 3.0, y + 9.0), label, _NAME, anchor="start", bold=True, colour="#9a9a9a"
    )
    canvas.text("sheet", (x + 3.0, y + 2.6), words, 2.2, anchor="start", colour=PALE, halo=True)
