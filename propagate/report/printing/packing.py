"""Lay pieces on paper: each where it ends highest up, upside down where that saves paper.

Areas are compared on a grid of cells.  A cell counts as taken when the piece, with half of
the gap around it, touches it; so pieces never overlap, and outlines that are not
rectangles still slide into each other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely
import shapely.affinity

from propagate.values import dataclass

__all__ = ["Item", "Spot", "pack_items", "settle_spots"]

Mask = npt.NDArray[np.bool_]

_FINE_MM, _COARSE_MM = 4.0, 8.0
_STEP_MM = 1.0
_MOST_MM = 24.0
"""Cells keep pieces further apart than asked by at most about this."""
_MANY = 60
"""Above this many items the cells are coarse, for speed."""


@dataclass(frozen=True)
class Item:
    """Something to lay.

    Attributes
    ----------
    shape : shapely geometry
        Its area, mm, in any place; y up.
    may_turn : bool
        It may be laid upside down.
    """

    name: str
    shape: shapely.Geometry
    may_turn: bool = True


@dataclass(frozen=True)
class Spot:
    """Where an item lies: its sheet, and what its frame is moved by after a half turn.

    The origin of a sheet is its upper left corner, y up, so places on it have y <= 0.
    """

    item: Item
    sheet: int
    turned: bool
    shift: tuple[float, float]

    @cached_property
    def shape(self) -> shapely.Geometry:
        """The item's area in its place."""
        sign = -1.0 if self.turned else 1.0
        matrix = [sign, 0.0, 0.0, sign, *self.shift]
        return shapely.affinity.affine_transform(self.item.shape, matrix)

    def moved(self, x: float, y: float) -> Spot:
        """The item further to the right and further up."""
        return replace(self, shift=(self.shift[0] + x, self.shift[1] + y))


@dataclass(frozen=True)
class Packing:
    """Where everything lies, in the order of the items, and the length used of each sheet."""

    spots: tuple[Spot, ...]
    lengths: tuple[float, ...]


@dataclass(frozen=True)
class _Cells:
    """The cells of an item one way up, their `size`, and the corner of their grid, mm."""

    mask: Mask
    left: float
    top: float
    size: float
    turned: bool


def pack_items(
    items: Sequence[Item],
    width: float,
    height: float = math.inf,
    *,
    gap: float = 6.0,
    keep_first: bool = False,
    by_area: bool = False,
    tick: Callable[[], None] = lambda: None,
) -> Packing:
    """Lay items on as few sheets as this rule finds, and on as little of them.

    Parameters
    ----------
    width, height : float
        mm of a sheet; without a height there is one sheet, as long as needed.
    gap : float
        mm between items.
    keep_first : bool
        The first item goes to the upper left corner of the first sheet.
    by_area : bool
        Large items first instead of tall ones; which of the two saves more depends on the
        items.
    tick : callable
        Called after every item.

    Raises
    ------
    ValueError
        When an item does not fit on a sheet; its argument is the item's index.
    """
    size = _FINE_MM if len(items) <= _MANY else _COARSE_MM
    columns = math.floor((width + gap) / size + 1e-9)
    rows = None if math.isinf(height) else math.floor((height + gap) / size + 1e-9)
    for index, item in enumerate(items):
        left, bottom, right, top = item.shape.bounds
        if right - left > width or top - bottom > height:
            raise ValueError(index)
    cells = [list(_lay_out_cells(item, gap, size, columns, rows)) for item in items]
    sheets: list[Mask] = []
    spots: dict[int, Spot] = {}
    for index in _order_items(cells, keep_first, by_area):
        spot = _lay_item(items[index], cells[index], sheets, columns, rows, gap)
        left, bottom, right, top = spot.shape.bounds
        # What lies over the border of its sheet does so by a part of a cell.
        x = max(-left, 0.0) - max(right - width, 0.0)
        y = -max(top, 0.0) + max(-height - bottom, 0.0)
        spots[index] = spot.moved(x, y) if x or y else spot
        tick()
    used = [0.0] * len(sheets)
    for spot in spots.values():
        used[spot.sheet] = max(used[spot.sheet], -spot.shape.bounds[1])
    return Packing(tuple(spots[i] for i in range(len(items))), tuple(used))


def _order_items(cells: Sequence[list[_Cells]], keep_first: bool, by_area: bool) -> list[int]:
    """Order tall items first, or large ones."""
    first = 1 if keep_first else 0
    rest = range(first, len(cells))
    masks = [ways[0].mask for ways in cells]

    def rank(i: int) -> tuple[float, float, int]:
        tall, large = -float(masks[i].shape[0]), -float(masks[i].sum())
        return (large, tall, i) if by_area else (tall, large, i)

    ordered = sorted(rest, key=rank)
    return [*range(first), *ordered]


def _lay_out_cells(
    item: Item, gap: float, size: float, columns: int, rows: int | None
) -> Iterator[_Cells]:
    """Yield the item's cells upright and, when it may be turned, upside down.

    Of an item that fits, but whose cells reach beyond the sheet, outer cells are left out.
    """
    # A cell touches the grown piece when its middle is within half of its diagonal of it.
    grown = shapely.buffer(item.shape, gap / 2 + size * math.sqrt(0.5))
    left, bottom, right, top = grown.bounds
    shapely.prepare(grown)
    across = np.arange(left + size / 2, right, size)
    down = np.arange(top - size / 2, bottom, -size)
    mask = shapely.intersects_xy(grown, *np.meshgrid(across, down))
    tall, wide = mask.shape
    full_right, full_bottom = left + wide * size, top - tall * size
    over_x = max(wide - columns, 0)
    over_y = max(tall - rows, 0) if rows is not None else 0
    x, y = over_x // 2, over_y // 2
    inner = slice(y, tall - (over_y - y)), slice(x, wide - (over_x - x))
    yield _Cells(mask[inner], left + x * size, top - y * size, size, False)
    if item.may_turn:
        turned = mask[::-1, ::-1][inner]
        yield _Cells(turned, x * size - full_right, -full_bottom - y * size, size, True)


def _lay_item(
    item: Item,
    ways: list[_Cells],
    sheets: list[Mask],
    columns: int,
    rows: int | None,
    gap: float,
) -> Spot:
    tall, wide = ways[0].mask.shape
    for number in range(len(sheets) + 1):
        if number == len(sheets):
            sheets.append(np.zeros((rows or 0, columns), dtype=bool))
        if rows is None:  # as many rows are free below what is taken
            taken = np.flatnonzero(sheets[number].any(axis=1))
            more = (int(taken[-1]) + 1 if len(taken) else 0) + tall - sheets[number].shape[0]
            if more > 0:
                sheets[number] = np.pad(sheets[number], ((0, more), (0, 0)))
        places = _find_highest(sheets[number], [way.mask for way in ways])
        found = [(place, way) for place, way in zip(places, ways, strict=True) if place]
        best = min(found, key=lambda pair: pair[0], default=None)
        if best is not None:
            (row, column), way = best
            sheets[number][row : row + tall, column : column + wide] |= way.mask
            # The grid starts half a gap outside the sheet: the gap is only wanted between items.
            x = column * way.size - gap / 2 - way.left
            y = gap / 2 - row * way.size - way.top
            return Spot(item, number, way.turned, (x, y))
    raise AssertionError("an empty sheet takes every item that is small enough")


def _find_highest(sheet: Mask, masks: Sequence[Mask]) -> list[tuple[int, int] | None]:
    """Return the highest free place of each mask (all of one shape), and the leftmost of those."""
    rows, columns = (s - m + 1 for s, m in zip(sheet.shape, masks[0].shape, strict=True))
    if rows < 1 or columns < 1:
        return [None] * len(masks)
    if not sheet[: masks[0].shape[0]].any():
        return [(0, 0)] * len(masks)
    # How many cells would collide, for every place at once: a correlation.
    shape = tuple(_next_fast_size(n) for n in sheet.shape)
    taken = np.fft.rfft2(sheet, shape)
    found: list[tuple[int, int] | None] = []
    for mask in masks:
        product = taken * np.conj(np.fft.rfft2(mask, shape))
        free = np.argwhere(np.fft.irfft2(product, shape)[:rows, :columns] < 0.5)
        found.append((int(free[0][0]), int(free[0][1])) if len(free) else None)
    return found


def _next_fast_size(size: int) -> int:
    """Find the next size with only the factors 2, 3 and 5, for which transforms are quick."""
    while True:
        rest = size
        for factor in (2, 3, 5):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return size
        size += 1


def settle_spots(spots: Sequence[Spot], gap: float) -> tuple[Spot, ...]:
    """Move spots of one sheet up, then to the left, the upper ones first.

    Parameters
    ----------
    spots : sequence of Spot
        At least `gap` apart, all with places x >= 0 and y <= 0.
    gap : float
        mm that stay between them.
    """
    found = list(spots)
    order = sorted(range(len(found)), key=lambda i: (-found[i].shape.bounds[3], i))
    for up in (True, False):
        for i in order:
            others = [spot.shape for k, spot in enumerate(found) if k != i]
            found[i] = _slide_spot(found[i], others, gap, up=up)
        order.sort(key=lambda i: (found[i].shape.bounds[0], i))
    return tuple(found)


def _slide_spot(spot: Spot, others: Sequence[shapely.Geometry], gap: float, *, up: bool) -> Spot:
    """Slide a spot as far up, or to the left, as it comes in steps, no piece being jumped over."""
    left, bottom, right, top = spot.shape.bounds
    room = min(-top if up else left, _MOST_MM)
    way = shapely.box(
        left - (0.0 if up else room), bottom, right, top + (room if up else 0.0)
    ).buffer(gap)
    near = [shape for shape in others if shape.intersects(way)]
    for shape in near:
        shapely.prepare(shape)
    best, step = spot, _STEP_MM
    while step <= room + 1e-9:
        tried = spot.moved(0.0, step) if up else spot.moved(-step, 0.0)
        if any(shapely.dwithin(shape, tried.shape, gap) for shape in near):
            break
        best, step = tried, step + _STEP_MM
    return best
