"""What the first page shows: the block with the test squares, and a map of the sheet."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from string import ascii_lowercase

import numpy as np
import numpy.typing as npt
import shapely
import shapely.affinity

from propagate.lengths import MM_PER_INCH
from propagate.report.lettering import count_in_letters
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.printing.grid import Grid, Tile
from propagate.report.printing.printed_piece import THIN
from propagate.report.scene.items import Dot, Role, Scene, make_line, make_text
from propagate.report.scene.labels import Labels
from propagate.report.scene.looks import LOOKS, Entry, legend_of, legend_rows, paint_scene
from propagate.report.scene.spots import Taken, spots_at
from propagate.report.style import FRAME, INK, PALE, PAPER, Stroke
from propagate.values import dataclass

__all__ = ["BLOCK_WIDTH_MM", "BlockText", "MapPiece", "draw_block", "draw_map", "piece_key"]

BLOCK_WIDTH_MM = 250.0
_SQUARE_MM = 100.0
_SQUARE_IN = 4.0
_INCHES = _SQUARE_IN * MM_PER_INCH
_APART = 12.0
_SQUARES_MM = _APART + _INCHES
"""What both squares together take, across and down."""

_DASHED = Stroke(INK, 0.3, (3.0, 1.5))
_THIN = Stroke(PALE, 0.2)
_LETTER = 4.0
_SMALL = 2.7
_PITCH = 1.5
_SHORT = 13.0
_LONG = 22.0
"""Sample of a size's line: long enough for its dashes to come twice, or nearly."""
Array = npt.NDArray[np.float64]
_PIECE = Stroke(PALE, 0.15)
_PAGE = Stroke(INK, 0.3)
_BLANK = Stroke(PALE, 0.1, (0.8, 0.8))
_LEADER = Stroke(INK, 0.15)
_MAP_LETTER = 2.4
_FAR = (3.0, 4.5, 6.5, 9.0, 13.0, 19.0)


@dataclass(frozen=True)
class BlockText:
    """What the block says.

    `roles` are the kinds of line that the print holds; `series` names the dashes of each size
    when several are printed.
    """

    title: str
    lines: tuple[str, ...]
    roles: tuple[Role, ...]
    series: tuple[tuple[str, int], ...] = ()


def draw_block(
    canvas: PdfCanvas, text: BlockText, corner: tuple[float, float], width: float
) -> float:
    """Draw the block from its upper left corner; returns its height, mm."""
    x, y = corner
    _draw_squares(canvas, corner)
    at, room = x + _SQUARES_MM + 7.0, width - _SQUARES_MM - 7.0
    down = y
    for words in canvas.in_lines(text.title, 6.0, room, 3, bold=True):
        canvas.text("sheet", (at, down - 3.0), words, 6.0, anchor="start", bold=True)
        down -= 7.5
    down -= 1.0
    for said in text.lines:
        for words in canvas.wrapped(said, _SMALL, room):
            canvas.text("sheet", (at, down - _SMALL / 2), words, _SMALL, anchor="start")
            down -= _SMALL * _PITCH
        down -= 1.0
    # Lines and marks with their names, in as many columns as there is room for.
    entries = _legend_entries(text)
    wide = room - max(entry.width for entry in entries) - 2.0
    entries = [replace(e, words=canvas.fitted(e.words, _SMALL, wide)) for e in entries]
    legend, low = legend_rows(entries, room, _SMALL, canvas.width, aligned=True)
    down -= 1.0
    move = np.array([at, down - 2.5]).__add__
    paint_scene(legend.placed(1.0, move), canvas, thin=THIN, layer="sheet")
    return max(_SQUARES_MM, y - (down + low - 5.0))


def _legend_entries(text: BlockText) -> list[Entry]:
    """Tell what the lines mean; sizes have their own seam and cut lines."""
    rows = []
    for name, series in text.series:
        pair = ((Role.SEAM, -0.8), (Role.CUT, 0.8))
        sample = [make_line(role, [(0.0, up), (_LONG, up)], series=series) for role, up in pair]
        rows.append(Entry(Role.SEAM, Scene(tuple(sample)), name, _LONG))
    sized = (Role.SEAM, Role.CUT, Role.DART, Role.INNER) if text.series else ()
    roles = [role for role in text.roles if role not in sized]
    said = {Role.SEAM: f"{LOOKS[Role.SEAM].legend}; lengths are measured on it"}
    rows += legend_of(roles, _SHORT, 3.0, said)
    middle = np.array([_SHORT / 2, 0.0])
    number = Scene((Dot(Role.LANDMARK, middle, 2.1), make_text(middle, "7", 2.4, bold=True)))
    return [*rows, Entry(Role.LANDMARK, number, "matching number of a seam", _SHORT)]


def _draw_squares(canvas: PdfCanvas, corner: tuple[float, float]) -> None:
    """Draw both squares from the upper left corner of their place, apart from each other.

    A square of 100 mm and one of 4 in differ by 1.6 mm; drawn from one corner they share two
    sides, and whoever measures takes the wrong one.  So one is moved down and to the right, no
    side lies near another, and every measure runs to the sides that it is of.
    """
    x, y = corner
    _draw_square(canvas, (x, y), _SQUARE_MM, FRAME)
    beside = (x + _APART, y - _APART)
    _draw_square(canvas, beside, _INCHES, _DASHED)
    near = _APART / 2
    _draw_measure(canvas, (x, y - near), (x + _SQUARE_MM, y - near), "100 mm")
    _draw_measure(canvas, (x + near, y - _SQUARE_MM), (x + near, y), "100 mm")
    far = (_SQUARE_MM + _SQUARES_MM) / 2
    _draw_measure(canvas, (beside[0], y - far), (x + _SQUARES_MM, y - far), "4 in")
    _draw_measure(canvas, (x + far, y - _SQUARES_MM), (x + far, beside[1]), "4 in")
    middle = x + _SQUARES_MM / 2
    for down, words, size, bold, colour in (
        (44.0, "test squares", 6.0, True, INK),
        (53.0, "solid: 100 mm × 100 mm", 4.0, False, INK),
        (59.5, "dashed: 4 in × 4 in", 4.0, False, INK),
        (67.5, "measure one of them, across and down", 3.2, False, PALE),
    ):
        canvas.text("sheet", (middle, y - down), words, size, bold=bold, colour=colour)


def _draw_square(
    canvas: PdfCanvas, corner: tuple[float, float], side: float, stroke: Stroke
) -> None:
    x, y = corner
    ring = [(x, y - side), (x + side, y - side), (x + side, y), (x, y)]
    canvas.line("sheet", ring, stroke, closed=True)


def _draw_measure(
    canvas: PdfCanvas, first: tuple[float, float], last: tuple[float, float], words: str
) -> None:
    """Draw a line with an arrow at either side of the square, and the measure on it."""
    ends = np.array([first, last])
    canvas.line("sheet", ends, _THIN)
    along = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    aside = np.array([-along[1], along[0]]) * 0.8
    for tip, back in ((ends[0], along), (ends[1], -along)):
        canvas.shape("sheet", [[tip, tip + back * 3.0 + aside, tip + back * 3.0 - aside]], PALE)
    angle = 90.0 if abs(along[1]) > 0.5 else 0.0
    canvas.text("sheet", ends.mean(axis=0), words, _LETTER, angle=angle, bold=True, halo=True)


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
    name = canvas.fitted(f"{piece.key}  {piece.name}", _MAP_LETTER, max(room, 1.0))
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
            canvas.text("label", at, words, _MAP_LETTER, angle=angle, bold=is_key, halo=True)
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
    canvas.text("label", at, piece.key, _MAP_LETTER, bold=True, halo=True)


def _measure_text(canvas: PdfCanvas, words: str) -> tuple[float, float]:
    """Return width and height of a text with a little air."""
    return canvas.width(words, _MAP_LETTER, bold=True) + 0.6, 1.2 * _MAP_LETTER
