"""A small map of the assembled sheet: which page goes where, and which piece lies there."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from string import ascii_lowercase

import numpy as np
import numpy.typing as npt
import shapely
import shapely.affinity

from propagate.report.canvas import Stroke
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.grid import Grid, Tile
from propagate.report.style import INK, PALE, PAPER
from propagate.values import dataclass

__all__ = ["MapPiece", "draw_map", "piece_key"]

Array = npt.NDArray[np.float64]

_PIECE = Stroke(PALE, 0.15)
_PAGE = Stroke(INK, 0.3)
_BLANK = Stroke(PALE, 0.1, (0.8, 0.8))
_LEADER = Stroke(INK, 0.15)
_LETTER = 2.4
_FAR = (3.0, 4.5, 6.5, 9.0, 13.0, 19.0)


def piece_key(index: int) -> str:
    """Letters that stand for a piece on the map: a to z, then aa, ab and so on."""
    letters = ""
    while index >= 0:
        letters = ascii_lowercase[index % 26] + letters
        index = index // 26 - 1
    return letters


@dataclass(frozen=True)
class MapPiece:
    """A piece on the map: its letter, its name, its area in its place on the sheet, mm."""

    key: str
    name: str
    shape: shapely.Geometry


@dataclass(frozen=True)
class _View:
    """From the sheet to the map."""

    scale: float
    origin: Array
    room: shapely.Geometry

    def __call__(self, shape: shapely.Geometry) -> shapely.Geometry:
        x, y = self.origin
        k = self.scale
        return shapely.affinity.affine_transform(shape, [k, 0.0, 0.0, k, x, y])


def draw_map(
    canvas: PdfCanvas,
    grid: Grid,
    printed: Collection[Tile],
    pieces: Sequence[MapPiece],
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
    pieces : sequence of MapPiece
    corner : (x, y)
    room : (width, height)
        mm.
    """
    wide, tall = grid.size
    scale = min(room[0] / wide, room[1] / tall, 0.25)
    origin = np.array([corner[0] + (room[0] - wide * scale) / 2, corner[1]])
    x, y = corner
    view = _View(scale, origin, shapely.box(x, y - room[1], x + room[0], y))
    shapes = [view(piece.shape.simplify(1.0)) for piece in pieces]
    for shape in shapes:
        for part in shapely.get_parts(shape):
            ring = np.asarray(part.exterior.coords)[:-1]
            canvas.shape("paper", [ring], PAPER)
            canvas.line("paper", ring, _PIECE, closed=True)
    taken: list[shapely.Geometry] = []
    for row in range(grid.rows):
        for column in range(grid.columns):
            _page(canvas, grid, Tile(row, column), printed, view, taken)
    # The smallest first: the large ones find room wherever it is.
    order = sorted(range(len(pieces)), key=lambda i: float(shapes[i].area))
    for i in order:
        _name(
            canvas, pieces[i], shapes[i], [s for j, s in enumerate(shapes) if j != i], view, taken
        )


def _page(
    canvas: PdfCanvas,
    grid: Grid,
    tile: Tile,
    printed: Collection[Tile],
    view: _View,
    taken: list[shapely.Geometry],
) -> None:
    left, bottom, right, top = grid.box(tile)
    half = grid.overlap / 2
    left, top = left + (half if tile.column else 0), top - (half if tile.row else 0)
    right -= half if tile.column < grid.columns - 1 else 0
    bottom += half if tile.row < grid.rows - 1 else 0
    ring = np.array([(left, bottom), (right, bottom), (right, top), (left, top)])
    ring = ring * view.scale + view.origin
    shown = tile in printed
    canvas.line("sheet", ring, _PAGE if shown else _BLANK, closed=True)
    if shown:
        size = min(4.0, (right - left) * view.scale * 0.28)
        place = ring[3] + np.array([0.5 * size, -0.9 * size])
        canvas.text("labels", place, tile.label, size, anchor="start", bold=True, halo=True)
        taken.append(shapely.box(*(ring[3] - [0.5, 1.6 * size]), *(ring[3] + [2.4 * size, 0.5])))


def _name(
    canvas: PdfCanvas,
    piece: MapPiece,
    shape: shapely.Geometry,
    others: Sequence[shapely.Geometry],
    view: _View,
    taken: list[shapely.Geometry],
) -> None:
    """Write letter and name where the piece has room, else the letter, on it or beside it."""
    assert canvas.fonts is not None
    left, bottom, right, top = shape.bounds
    upright = top - bottom > 1.3 * (right - left)
    room = min(max(right - left, top - bottom) * 0.9, 40.0)
    name = canvas.fonts.fitted(f"{piece.key}  {piece.name}", _LETTER, max(room, 1.0))
    tries = [name] if len(name) > len(piece.key) + 4 else []
    for words in [*tries, piece.key]:
        along = upright and words != piece.key
        half = _half(canvas, words, upright=along)
        place = _free(shape, half, taken)
        if place is not None:
            angle = 90.0 if along else 0.0
            bold = words == piece.key
            canvas.text("labels", place, words, _LETTER, angle=angle, bold=bold, halo=True)
            taken.append(shapely.box(*(place - half), *(place + half)))
            return
    half = _half(canvas, piece.key, upright=False)
    start = np.asarray(shape.representative_point().coords[0])
    place = _beside(shape, start, half, others, view, taken)
    canvas.line("labels", [start, place], _LEADER)
    canvas.circle("labels", start, 0.4, _LEADER, INK)
    canvas.text("labels", place, piece.key, _LETTER, bold=True, halo=True)
    taken.append(shapely.box(*(place - half), *(place + half)))


def _half(canvas: PdfCanvas, words: str, *, upright: bool) -> Array:
    """Half sides of the box of a text."""
    assert canvas.fonts is not None
    wide = canvas.fonts.width(words, _LETTER, bold=True) / 2 + 0.3
    return np.array([_LETTER * 0.6, wide] if upright else [wide, _LETTER * 0.6])


def _hit(box: shapely.Geometry, taken: Sequence[shapely.Geometry]) -> bool:
    return any(box.intersects(shape) for shape in taken)


def _free(shape: shapely.Geometry, half: Array, taken: Sequence[shapely.Geometry]) -> Array | None:
    """A place for a box with these half sides that lies on a piece and on no other text."""
    left, bottom, right, top = shape.bounds
    centre = np.array([(left + right) / 2, (bottom + top) / 2])
    grid = [(x, y) for y in np.linspace(top, bottom, 23) for x in np.linspace(left, right, 15)]
    for point in sorted(grid, key=lambda p: float(np.hypot(*(np.array(p) - centre)))):
        middle = np.array(point)
        box = shapely.box(*(middle - half), *(middle + half))
        if shape.covers(box) and not _hit(box, taken):
            return middle
    return None


def _beside(
    shape: shapely.Geometry,
    start: Array,
    half: Array,
    others: Sequence[shapely.Geometry],
    view: _View,
    taken: Sequence[shapely.Geometry],
) -> Array:
    """A free place near a piece, on no other piece where that can be."""
    places = [
        start + far * np.array([np.cos(turn), np.sin(turn)])
        for far in _FAR
        for turn in np.linspace(0.0, 2 * np.pi, 16, endpoint=False)
    ]
    for blocked in ([*taken, *others, shape], [*taken, shape], taken):
        for place in places:
            box = shapely.box(*(place - half), *(place + half))
            if view.room.contains(box) and not _hit(box, blocked):
                return place
    return places[0]
