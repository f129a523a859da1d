"""A small map of the assembled sheet: which page goes where."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.report.canvas import Stroke
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.grid import Grid, Tile
from propagate.report.style import PALE, PAPER

__all__ = ["draw_map"]

Array = npt.NDArray[np.float64]

_PIECE = Stroke(PALE, 0.15)
_PAGE = Stroke("#1a1a1a", 0.3)
_BLANK = Stroke(PALE, 0.1, (0.8, 0.8))


def draw_map(
    canvas: PdfCanvas,
    grid: Grid,
    printed: Collection[Tile],
    shapes: Sequence[tuple[str, shapely.Geometry]],
    corner: tuple[float, float],
    room: tuple[float, float],
) -> None:
    """Draw pages and pieces in small, from the upper left corner of a place.

    Parameters
    ----------
    canvas : PdfCanvas
    grid : Grid
    printed : collection of Tile
        Pages that are not left out.
    shapes : sequence of (name, area)
        Pieces in their place on the sheet, mm.
    corner : (x, y)
    room : (width, height)
        mm.
    """
    wide, tall = grid.size
    scale = min(room[0] / wide, room[1] / tall, 0.25)
    origin = np.array([corner[0] + (room[0] - wide * scale) / 2, corner[1]])
    for _, shape in shapes:
        for part in shapely.get_parts(shape.simplify(1.0)):
            ring = np.asarray(part.exterior.coords)[:-1] * scale + origin
            canvas.shape("paper", [ring], PAPER)
            canvas.line("paper", ring, _PIECE, closed=True)
    taken: list[shapely.Geometry] = []
    for row in range(grid.rows):
        for column in range(grid.columns):
            _page(canvas, grid, Tile(row, column), printed, scale, origin, taken)
    _names(canvas, shapes, scale, origin, taken)


def _page(
    canvas: PdfCanvas,
    grid: Grid,
    tile: Tile,
    printed: Collection[Tile],
    scale: float,
    origin: Array,
    taken: list[shapely.Geometry],
) -> None:
    left, bottom, right, top = grid.box(tile)
    half = grid.overlap / 2
    left, top = left + (half if tile.column else 0), top - (half if tile.row else 0)
    right -= half if tile.column < grid.columns - 1 else 0
    bottom += half if tile.row < grid.rows - 1 else 0
    ring = np.array([(left, bottom), (right, bottom), (right, top), (left, top)]) * scale + origin
    shown = tile in printed
    canvas.line("sheet", ring, _PAGE if shown else _BLANK, closed=True)
    if shown:
        size = min(4.0, (right - left) * scale * 0.28)
        place = ring[3] + np.array([0.5 * size, -0.9 * size])
        canvas.text("labels", place, tile.label, size, anchor="start", bold=True, halo=True)
        taken.append(shapely.box(*(ring[3] - [0.5, 2 * size]), *(ring[3] + [3.5 * size, 0.5])))


def _names(
    canvas: PdfCanvas,
    shapes: Sequence[tuple[str, shapely.Geometry]],
    scale: float,
    origin: Array,
    taken: list[shapely.Geometry],
) -> None:
    """The names of the pieces that are large enough for one."""
    assert canvas.fonts is not None
    for name, shape in shapes:
        left, bottom, right, top = shape.bounds
        upright = top - bottom > 1.3 * (right - left)
        room = max(right - left, top - bottom) * scale * 0.9
        size = 2.2
        if min(right - left, top - bottom) * scale < 1.2 * size or room < 8.0:
            continue
        words = canvas.fonts.fitted(name, size, min(room, 40.0))
        wide = canvas.fonts.width(words, size) / 2
        half = np.array([size * 0.6, wide] if upright else [wide, size * 0.6])
        middle = _free(shape, half / scale, scale, origin, taken)
        if middle is not None:
            angle = 90.0 if upright else 0.0
            canvas.text("labels", middle, words, size, angle=angle, colour=PALE, halo=True)


def _free(
    shape: shapely.Geometry,
    half: Array,
    scale: float,
    origin: Array,
    taken: Sequence[shapely.Geometry],
) -> Array | None:
    """A place on the map for a box with these half sides that lies on a piece and on no name."""
    left, bottom, right, top = shape.bounds
    grid = [(x, y) for y in np.linspace(top, bottom, 23) for x in np.linspace(left, right, 15)]
    centre = np.array([(left + right) / 2, (bottom + top) / 2])
    for point in sorted(grid, key=lambda p: float(np.hypot(*(np.array(p) - centre)))):
        if not shape.covers(shapely.box(*(np.array(point) - half), *(np.array(point) + half))):
            continue
        middle = np.array(point) * scale + origin
        box = shapely.box(*(middle - half * scale), *(middle + half * scale))
        if not any(box.intersects(name) for name in taken):
            return middle
    return None
