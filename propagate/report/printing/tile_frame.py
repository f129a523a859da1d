"""The frame of a page: its name, where it joins the next, marks that meet; what that takes."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
import numpy.typing as npt
import shapely
import shapely.affinity

from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.grid import Box, Grid, Tile
from propagate.report.printing.packing import Spot
from propagate.report.printing.plan import TilePlan
from propagate.report.style import PALE, Stroke
from propagate.values import dataclass

__all__ = ["FRAMES_LAYER", "Pages", "draw_frame", "pages_under"]

Array = npt.NDArray[np.float64]

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
    printed : collection of Tile
        All pages that are printed: marks are only drawn where a neighbour meets them.
    words : str
        Small text at the foot of the page.
    shift : (x, y)
        From the sheet to the page, mm.
    """
    offset, lap, r = np.array(shift), grid.overlap, _REACH_MM
    left, bottom, right, top = grid.box(tile)
    low, high = np.array([left, bottom]) + offset, np.array([right, top]) + offset
    with canvas.in_group(FRAMES_LAYER):
        ring = [low, (high[0], low[1]), high, (low[0], high[1])]
        canvas.line("sheet", ring, _FRAME, closed=True)
        for axis, step in ((0, 1), (0, -1), (1, 1), (1, -1)):
            beside = (tile.row, tile.column + step) if axis == 0 else (tile.row + step, tile.column)
            other = Tile(*beside)
            if other not in printed:
                continue
            way = -step if axis else step
            edge = high[axis] - lap if way > 0 else low[axis] + lap
            # Diamonds on the middle of what two pages share; both pages draw the same ones.
            first, last = _line_across(low, high, axis, edge + way * lap / 2)
            for part in _PLACES:
                x, y = (1 - part) * first + part * last
                tips = [(x - r, y), (x, y - r), (x + r, y), (x, y + r)]
                canvas.line("sheet", tips, _MARK, closed=True)
                canvas.line("sheet", tips[::2], _MARK)
                canvas.line("sheet", tips[1::2], _MARK)
            if lap and step > 0:
                canvas.line("sheet", _line_across(low, high, axis, edge), _LAP)
            place = low + _BETWEEN * (high - low)
            place[axis] = edge - way * _SMALL
            angle = 0.0 if axis else 90.0
            canvas.text("sheet", place, other.label, _SMALL, angle=angle, colour=PALE, halo=True)
        x, y = low + lap
        at = (x + 3.0, y + 9.0)
        canvas.text("sheet", at, tile.label, _NAME, anchor="start", bold=True, colour="#9a9a9a")
        canvas.text("sheet", (x + 3.0, y + 2.6), words, 2.2, anchor="start", colour=PALE, halo=True)


def _line_across(low: Array, high: Array, axis: int, at: float) -> tuple[Array, Array]:
    """Return A line from side to side of a page, where one coordinate is given."""
    first, last = low.copy(), high.copy()
    first[axis] = last[axis] = at
    return first, last


def _text_boxes(grid: Grid, tile: Tile) -> tuple[Box, ...]:
    """Tell what words and glue marks take of the sheet: (left, bottom, right, top) of each, mm."""
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


@dataclass(frozen=True)
class Pages:
    """Where the pages lie that a piece goes over, in the piece's own frame.

    Attributes
    ----------
    alone : tuple of shapely geometries
        What each page shows and no other page does: a title keeps inside one of them.
    whole : tuple of shapely geometries
        All that each page shows: else inside one of these.
    words : tuple of shapely geometries
        What the pages' own words take, which no text of the piece lies on.
    """

    alone: tuple[shapely.Geometry, ...] = ()
    whole: tuple[shapely.Geometry, ...] = ()
    words: tuple[shapely.Geometry, ...] = ()


def pages_under(plan: TilePlan, spot: Spot) -> Pages:
    """Return the pages that a piece in its place goes over."""
    back = (-spot.shift[0], -spot.shift[1])

    def own(box: tuple[float, float, float, float], inset: float = 0.0) -> shapely.Geometry:
        left, bottom, right, top = box
        inner = shapely.box(left + inset, bottom + inset, right - inset, top - inset)
        return shapely.affinity.translate(inner, *back)

    grid = plan.grid
    boxes = {tile: grid.box(tile) for tile in plan.tiles}
    near = [tile for tile in plan.tiles if shapely.box(*boxes[tile]).intersects(spot.shape)]
    return Pages(
        tuple(own(boxes[tile], grid.overlap) for tile in near),
        tuple(own(boxes[tile]) for tile in near),
        tuple(own(box) for tile in near for box in _text_boxes(grid, tile)),
    )
