"""The lead picture: every piece that changed, small, beside each other, before and now.

It stands first in a folder of pictures, on the page and on the work sheet.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.counts import say_count
from propagate.engine.record import PieceChange
from propagate.engine.run import Result
from propagate.geometry.motion import Motion
from propagate.pattern.titles import piece_title
from propagate.report.lead_sentence import largest_changes
from propagate.report.scene.items import Item, Role, Scene, make_text
from propagate.report.scene.looks import SAMPLE_MM, legend_of, legend_rows
from propagate.report.scene.piece import (
    NOTCH_MM,
    changed_areas,
    compose_changed,
    grain_up,
    piece_before,
    shown_changes,
)
from propagate.report.scene.shorten import Stretch, changed_stretches, height_of, shortened_scene
from propagate.report.units import MILLIMETRES, Unit, say_ratio
from propagate.values import dataclass
from propagate.visible import visible

__all__ = ["SCALES", "Lead", "compose_lead"]

Array = npt.NDArray[np.float64]

SCALES = (0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100)
_SMALLEST = 12.0
_TOGETHER = 1.6
"""Pieces are left out rather than all drawn smaller than 1:12, or smaller by more than this than
the one that changed most is alone."""
_LEFT_OUT = (Role.LEVEL, Role.CUT, Role.DRILL, Role.LANDMARK, Role.GRAIN, Role.INNER)
_GAP_MM = 7.0
_NARROWEST_MM = 36.0
"""Room for the words below a piece."""
_COLUMN = 0.53
"""Of the size of letters, the width of one."""
_MARKS = 0.4
"""Notches and arrow heads, of their size on a picture at true scale."""
_FOOT = 6.8
"""Height of the foot with two lines of legend, in letters."""


@dataclass(frozen=True, eq=False)
class Lead:
    """The pieces that changed, drawn small.

    Attributes
    ----------
    scene : Scene
        In mm of the page, its lower left corner at (0, 0).
    width, height : float
        Of all of it, mm.
    scale : float
        8.0 stands for 1:8.
    pieces : tuple of str
        Names of the pieces that are drawn, in the order in which they are.
    left_out : int
        How many more changed.
    """

    scene: Scene
    width: float
    height: float
    scale: float
    pieces: tuple[str, ...]
    left_out: int


@dataclass(frozen=True, eq=False)
class _Cell:
    """One piece that changed: what of it is shown, and the words below it."""

    change: PieceChange
    turn: Motion
    low: Array
    high: Array
    shown: tuple[Stretch, ...]
    title: str
    figures: tuple[str, ...]

    def words(self, letter: float, width: float) -> list[tuple[str, bool]]:
        """Lines of the title and of the figures, wrapped."""
        columns = max(int(width / (_COLUMN * letter)), 8)
        title = textwrap.wrap(self.title, columns, max_lines=2, placeholder="…")
        said = [part for told in self.figures for part in textwrap.wrap(told, columns)]
        return [*((part, True) for part in title), *((part, False) for part in said)]

    def size(self, scale: float, letter: float) -> Array:
        """Width and height on the page, with the words."""
        drawn = float(self.high[0] - self.low[0]) / scale + 2.0 * _MARKS * NOTCH_MM
        wide = max(drawn, _NARROWEST_MM)
        tall = height_of(self.shown, scale)
        return np.array([wide, tall + letter * (1.0 + 1.35 * len(self.words(letter, wide)))])


_Row = list[tuple[_Cell, Array]]


def compose_lead(
    result: Result,
    unit: Unit = MILLIMETRES,
    *,
    width: float = 180.0,
    height: float = 130.0,
    letter: float = 2.7,
    sizes: int = 1,
) -> Lead | None:
    """Draw all pieces that changed beside each other, at one scale, their grain upwards.

    Of a long piece only the part that changed is drawn; where there are too many pieces to
    be seen, those with the largest areas of paper to tape on and to trim.

    Parameters
    ----------
    width, height : float
        mm that all of it may take on the page; a single piece that needs more height than
        that is drawn at the smallest scale.
    letter : float
        Size of the text, mm.
    sizes : int
        How many sizes of the set changed; the one of the result is drawn.

    Returns
    -------
    Lead or None
        None where no piece changed.
    """
    told = largest_changes(result, unit)
    cells = [
        _cell_of(result, change, told.get(piece, ()))
        for piece, change in shown_changes(result.record).items()
    ]
    if not cells:
        return None
    cells.sort(key=lambda cell: -(cell.change.added_mm2 + cell.change.trimmed_mm2))
    page = _Page(width, height, letter)
    most = max(_SMALLEST, _TOGETHER * page.scale_for(cells[:1]))
    count = len(cells)
    while count > 1 and page.scale_for(cells[:count]) > most:
        count -= 1
    scale = page.scale_for(cells[:count])
    rows = page.rows(cells[:count], scale)
    size = visible(result.record.size)
    drawn = (
        f"Size {size} of {say_count(sizes, 'size')} that changed" if sizes > 1 else f"Size {size}"
    )
    more = f", and {len(cells) - count} more changed" if count < len(cells) else ""
    words = f"{drawn}, at {say_ratio(scale)}, grain upwards{more}."
    scene, tall = page.laid_out(result, rows, scale, words)
    names = tuple(cell.change.piece for row in rows for cell, _ in row)
    return Lead(scene, width, tall, scale, names, len(cells) - count)


def _cell_of(result: Result, change: PieceChange, figures: Sequence[str]) -> _Cell:
    piece = result.pattern.sized(change.piece, result.record.size)
    before, turn = piece_before(piece, change), grain_up(piece)
    points = turn.apply(np.vstack([piece.outline, before.outline]))
    low, high = points.min(axis=0), points.max(axis=0)
    both = shapely.transform(shapely.union_all(changed_areas(before, piece)), turn.apply)
    shown = changed_stretches(both, low, high)
    title = visible(piece_title(result.pattern, change.piece))
    return _Cell(change, turn, low, high, shown, title, tuple(map(visible, figures)))


# ------------------------------------------------------------------------------ layout


@dataclass(frozen=True)
class _Page:
    """The room on the page, mm, and the size of the text."""

    width: float
    height: float
    letter: float

    def rows(self, cells: Sequence[_Cell], scale: float) -> list[_Row]:
        """Pieces from left to right, the tall ones first, so that those of a row are alike."""
        sized = [(cell, cell.size(scale, self.letter)) for cell in cells]
        rows: list[_Row] = []
        x = 0.0
        for cell, size in sorted(sized, key=lambda pair: -height_of(pair[0].shown, scale)):
            if rows and x + size[0] <= self.width:
                rows[-1].append((cell, size))
            else:
                rows.append([(cell, size)])
                x = 0.0
            x += size[0] + _GAP_MM
        return rows

    def scale_for(self, cells: Sequence[_Cell]) -> float:
        """The largest drawing of pieces that fits above the foot; 4.0 stands for 1:4."""
        for scale in map(float, SCALES):
            rows = self.rows(cells, scale)
            tall = sum(self._height(row, scale) + _GAP_MM for row in rows)
            wide = max(size[0] for row in rows for _, size in row)
            if wide <= self.width and tall + _FOOT * self.letter <= self.height:
                return scale
        return float(SCALES[-1])

    def _height(self, row: _Row, scale: float) -> float:
        """Height of a row: its tallest piece and its most words."""
        tallest = max(height_of(cell.shown, scale) for cell, _ in row)
        return tallest + max(float(size[1]) - height_of(cell.shown, scale) for cell, size in row)

    def laid_out(
        self, result: Result, rows: Sequence[_Row], scale: float, words: str
    ) -> tuple[Scene, float]:
        """Rows below each other, then the foot, moved so that it begins at (0, 0); the height."""
        drawn, top = Scene(), 0.0
        for row in rows:
            y = top - max(height_of(cell.shown, scale) for cell, _ in row)
            x = 0.0
            for cell, size in row:
                foot = np.array([x + size[0] / 2, y])
                drawn += _drawn_cell(result, cell, foot, scale)
                for i, (said, bold) in enumerate(cell.words(self.letter, size[0])):
                    at = foot - np.array([0.0, self.letter * (1.5 + 1.35 * i)])
                    drawn += Scene((make_text(at, said, self.letter, bold=bold),))
                x += size[0] + _GAP_MM
            top -= self._height(row, scale) + _GAP_MM
        foot_scene, bottom = _write_foot(drawn, words, top, self.width, self.letter)
        shift = np.array([0.0, -bottom])
        return (drawn + foot_scene).placed(1.0, shift.__add__), -bottom


def _drawn_cell(result: Result, cell: _Cell, foot: Array, scale: float) -> Scene:
    """Return one piece, the middle of its lowest line at `foot`."""
    record, change = result.record, cell.change
    piece, info = result.pattern.sized(change.piece, record.size), result.pattern.info[change.piece]
    whole = compose_changed(piece, info, change, page_mm=_MARKS * scale).without(*_LEFT_OUT)
    turned = whole.placed(1.0, cell.turn.apply)
    part = shortened_scene(turned, cell.shown, scale)
    corner = np.array([(cell.low[0] + cell.high[0]) / 2, max(cell.shown[0][0], cell.low[1])])
    return part.placed(scale, lambda points: (points - corner) / scale + foot)


# -------------------------------------------------------------------------------- foot


def _write_foot(
    drawn: Scene, words: str, y: float, width: float, letter: float
) -> tuple[Scene, float]:
    """Write the words and the legend, in lines from a height on; tell how far down they go."""
    items: list[Item] = []
    for said in textwrap.wrap(words, max(int(width / (_COLUMN * letter)), 20)):
        y -= letter
        items.append(make_text((0.0, y), said, letter, anchor="start"))
        y -= 0.4 * letter
    legend, low = legend_rows(legend_of(drawn.roles, SAMPLE_MM, letter), width, letter)
    y -= letter
    return Scene(tuple(items)) + legend.placed(1.0, np.array([0.0, y]).__add__), y + low - letter
