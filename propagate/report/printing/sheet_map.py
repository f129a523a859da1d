"""A small map of the assembled sheet: which page goes where, and which piece lies there."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from string import ascii_lowercase

import numpy as np
import numpy.typing as npt
import shapely
import shapely.affinity

from propagate.report.canvas import Stroke
from propagate.report.lettering import count_in_letters
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.grid import Grid, Tile
from propagate.report.scene.items import Scene
from propagate.report.scene.labels import Labels
from propagate.report.scene.spots import Taken, spots_at
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
    """Return the letters that stand for a piece on the map: a to z, then aa, ab and so on."""
    return count_in_letters(index, ascii_lowercase)


@dataclass(frozen=True)
class MapPiece:
    """A piece on the map: its letter, its name, its area in its place on the sheet, mm."""

    key: str
    name: str
    shape: shapely.Geometry


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
    printed : collection of Tile
        Pages that are not left out.
    corner : (x, y)
    room : (width, height)
        mm.
    """
    (x, y), (wide, tall) = corner, grid.size
    scale = min(room[0] / wide, room[1] / tall, 0.25)
    origin = np.array([x + (room[0] - wide * scale) / 2, y])
    matrix = [scale, 0.0, 0.0, scale, *origin]
    shapes = [
        shapely.affinity.affine_transform(piece.shape.simplify(1.0), matrix) for piece in pieces
    ]
    for shape in shapes:
        for part in shapely.get_parts(shape):
            ring = np.asarray(part.exterior.coords)[:-1]
            canvas.shape("face", [ring], PAPER)
            canvas.line("face", ring, _PIECE, closed=True)
    frame = shapely.box(x, y - room[1], x + room[0], y)
    labels = Labels(Scene(), canvas.width, frame)
    for tile in (Tile(row, column) for row in range(grid.rows) for column in range(grid.columns)):
        _draw_page(canvas, grid, tile, tile in printed, scale, origin, labels)
    # The smallest first: the large ones find room wherever it is.
    for i in sorted(range(len(pieces)), key=lambda i: float(shapes[i].area)):
        _name_piece(canvas, pieces[i], shapes[i], [*shapes[:i], *shapes[i + 1 :]], labels)


def _draw_page(
    canvas: PdfCanvas,
    grid: Grid,
    tile: Tile,
    shown: bool,
    scale: float,
    origin: Array,
    labels: Labels,
) -> None:
    left, bottom, right, top = grid.box(tile)
    half = grid.overlap / 2
    left, top = left + (half if tile.column else 0), top - (half if tile.row else 0)
    right -= half if tile.column < grid.columns - 1 else 0
    bottom += half if tile.row < grid.rows - 1 else 0
    ring = np.array([(left, bottom), (right, bottom), (right, top), (left, top)]) * scale + origin
    canvas.line("sheet", ring, _PAGE if shown else _BLANK, closed=True)
    if shown:
        size = min(4.0, (right - left) * scale * 0.28)
        place = ring[3] + np.array([0.5 * size, -0.9 * size])
        canvas.text("label", place, tile.label, size, anchor="start", bold=True, halo=True)
        labels.keep(shapely.box(*(ring[3] - [0.5, 1.6 * size]), *(ring[3] + [2.4 * size, 0.5])))


def _name_piece(
    canvas: PdfCanvas,
    piece: MapPiece,
    shape: shapely.Geometry,
    others: Sequence[shapely.Geometry],
    labels: Labels,
) -> None:
    """Write letter and name where the piece has room, else the letter, on it or beside it."""
    left, bottom, right, top = shape.bounds
    upright = top - bottom > 1.3 * (right - left)
    room = min(max(right - left, top - bottom) * 0.9, 40.0)
    name = canvas.fitted(f"{piece.key}  {piece.name}", _LETTER, max(room, 1.0))
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    grid = np.array(np.meshgrid(np.linspace(left, right, 15), np.linspace(top, bottom, 23)))
    centres = grid.reshape(2, -1).T
    centres = centres[np.argsort(np.hypot(*(centres - middle).T), kind="stable")]
    for words in [name, piece.key] if len(name) > len(piece.key) + 4 else [piece.key]:
        is_key = words == piece.key
        spots = spots_at(centres, 90.0 if upright and not is_key else 0.0, middle)
        found = labels.take(
            spots, *_measure_text(canvas, words), lambda b: shapely.covers(shape, b)
        )
        if found is not None:
            at, angle = spots.centres[found], float(spots.angles[found])
            canvas.text("label", at, words, _LETTER, angle=angle, bold=is_key, halo=True)
            return
    start = np.asarray(shape.representative_point().coords[0])
    turns = np.linspace(0.0, 2 * np.pi, 16, endpoint=False)
    ways = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    spots = spots_at(start + (np.array(_FAR)[:, None, None] * ways).reshape(-1, 2), 0.0, start)
    found = None
    for blocked in ([*others, shape], [shape], []):
        if found is None:
            off = Taken(blocked)
            found = labels.take(spots, *_measure_text(canvas, piece.key), lambda b: ~off.hits(b))  # noqa: B023
    at = spots.centres[found or 0]
    canvas.line("label", [start, at], _LEADER)
    canvas.circle("label", start, 0.4, _LEADER, INK)
    canvas.text("label", at, piece.key, _LETTER, bold=True, halo=True)


def _measure_text(canvas: PdfCanvas, words: str) -> tuple[float, float]:
    """Return width and height of a text with a little air."""
    return canvas.width(words, _LETTER, bold=True) + 0.6, 1.2 * _LETTER
