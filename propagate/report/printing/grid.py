"""The grid of pages that a large sheet is cut into."""

from __future__ import annotations

import math
import string
from collections.abc import Sequence

import shapely

from propagate.report.lettering import count_in_letters
from propagate.report.pdf.paper import Paper
from propagate.values import dataclass

__all__ = ["Box", "Grid", "Tile", "grid_over", "needed_tiles", "scanty_tiles"]

Box = tuple[float, float, float, float]

_STRIP_MM = 20.0
"""A page that holds less of the pieces than this, across or down, is a mere strip."""


@dataclass(frozen=True, order=True)
class Tile:
    """A page of the grid: its row and its column, from the upper left."""

    row: int
    column: int

    @property
    def label(self) -> str:
        """Letter of the column and number of the row, as in ``B3``."""
        return f"{count_in_letters(self.column, string.ascii_uppercase)}{self.row + 1}"


@dataclass(frozen=True)
class Grid:
    """Pages over a sheet whose origin is its upper left corner, y up.

    Attributes
    ----------
    width, height : float
        mm that a page shows of the sheet.
    overlap : float
        mm that a page shares with the next one.
    """

    width: float
    height: float
    overlap: float
    columns: int
    rows: int

    def box(self, tile: Tile) -> Box:
        """What a page shows: (left, bottom, right, top), mm."""
        left = tile.column * (self.width - self.overlap)
        top = -tile.row * (self.height - self.overlap)
        return left, top - self.height, left + self.width, top

    def own(self, tile: Tile) -> Box:
        """What a page shows and no page to its left or above shows."""
        left, bottom, right, top = self.box(tile)
        if tile.column:
            left += self.overlap
        if tile.row:
            top -= self.overlap
        return left, bottom, right, top

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of all pages put together, mm."""
        wide = self.columns * (self.width - self.overlap) + self.overlap
        return wide, self.rows * (self.height - self.overlap) + self.overlap


def grid_over(paper: Paper, overlap: float, width: float, height: float) -> Grid:
    """Return the smallest grid of a paper's pages that covers a width and a height, mm."""
    wide, tall = paper.usable
    if paper.roll:
        tall = min(tall, max(height, 2 * overlap + 1.0))

    def count(need: float, page: float) -> int:
        return max(math.ceil((need - overlap) / (page - overlap) - 1e-9), 1)

    return Grid(wide, tall, overlap, count(width, wide), count(height, tall))


def needed_tiles(grid: Grid, shapes: Sequence[shapely.Geometry]) -> list[Tile]:
    """Return the pages that show something that no page before them shows, row by row."""
    for shape in shapes:
        shapely.prepare(shape)
    return [
        tile
        for tile in (Tile(r, c) for r in range(grid.rows) for c in range(grid.columns))
        if any(shape.intersects(shapely.box(*grid.own(tile))) for shape in shapes)
    ]


def scanty_tiles(
    grid: Grid, tiles: Sequence[Tile], shapes: Sequence[shapely.Geometry]
) -> list[Tile]:
    """Return the pages on which what no page before them shows is a mere strip at their border."""
    found = []
    for tile in tiles:
        own = grid.own(tile)
        parts = [shapely.clip_by_rect(shape, *own) for shape in shapes if _is_near(shape, own)]
        left, bottom, right, top = shapely.total_bounds([p for p in parts if not p.is_empty])
        at_border = left <= own[0] + 1e-6 or top >= own[3] - 1e-6
        if at_border and min(right - left, top - bottom) < _STRIP_MM:
            found.append(tile)
    return found


def _is_near(shape: shapely.Geometry, box: Box) -> bool:
    left, bottom, right, top = shape.bounds
    return bool(left < box[2] and right > box[0] and bottom < box[3] and top > box[1])
