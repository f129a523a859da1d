"""Decide what goes where: the sheets, and the place of every piece on them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import field
from itertools import product
from typing import Literal

import shapely

from propagate.errors import EditError
from propagate.report.pdf.paper import LONGEST_PAGE_MM, Paper
from propagate.report.printing.grid import Grid, Tile, grid_over, needed_tiles, scanty_tiles
from propagate.report.printing.packing import Item, Spot, pack_items, settle_spots
from propagate.report.units import Unit
from propagate.values import dataclass

__all__ = ["PrintOptions", "TilePlan", "check_one", "plan_sheets", "plan_tiles"]

Layout = Literal["tiled", "sheets", "one"]
Join = Literal["overlap", "trim"]

_WIDER = 5
_MANY = 60
_CLOSER = 2.0 / 3.0
_PLACES = 6
"""Places of the pages over the pieces that are tried, across and down."""


@dataclass(frozen=True)
class PrintOptions:
    """How to print.

    Attributes
    ----------
    unit : Unit
        Of the allowance widths.
    sizes : tuple of str
        Sizes to print, in order of the nest; empty prints the base size.
    pieces : tuple of str
        Pieces to print; empty prints all.
    layout : "tiled", "sheets", "one" or None
        Over several pages that are put together; sheet by sheet with no piece cut; or one
        page as large as needed.  None: tiled on small papers, sheets on large ones.
    join : "overlap" or "trim"
        Pages that lie on each other by `overlap`, or that are cut along their frame.
    overlap : float
        mm.
    nap : bool
        All pieces the same way up.
    gap : float
        mm between pieces.
    names : bool
        Names of edges and levels, and the letters of the work sheet.
    """

    paper: Paper
    unit: Unit
    sizes: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()
    layout: Layout | None = None
    join: Join = "overlap"
    overlap: float = 10.0
    nap: bool = False
    gap: float = 6.0
    names: bool = False

    @property
    def chosen(self) -> Layout:
        """The layout, that of the paper when none was asked for."""
        return self.layout or ("tiled" if self.paper.tiled else "sheets")

    @property
    def lap(self) -> float:
        """What pages share, mm."""
        return self.overlap if self.join == "overlap" else 0.0


@dataclass(frozen=True)
class TilePlan:
    """A sheet in a grid of pages; without one it is a single page."""

    spots: tuple[Spot, ...]
    width: float
    length: float
    grid: Grid
    tiles: tuple[Tile, ...]


@dataclass(frozen=True)
class SheetPlan:
    """Sheets that each are a page; the first holds the block with the test square."""

    block: Spot
    spots: tuple[Spot, ...]
    lengths: tuple[float, ...] = field(default=())


def plan_tiles(items: Sequence[Item], options: PrintOptions, tick: Callable[[], None]) -> TilePlan:
    """Lay items on a sheet that is some pages wide, with as few pages as possible.

    Of as many pages, those are taken of which none holds a mere strip, and the sheet that is
    least long.  Where a strip is left, the items are tried closer together.

    Raises
    ------
    EditError
        When an overlap leaves nothing of a page.
    """
    wide, tall = options.paper.usable
    lap = options.lap
    if not (math.isfinite(lap) and 0.0 <= lap <= min(wide, tall) / 3):
        raise EditError(
            f"overlap {lap:g} mm: expected 0 to {min(wide, tall) / 3:.0f} mm on paper "
            f"'{options.paper.name}'; choose a smaller --overlap"
        )
    bounds = [item.shape.bounds for item in items]
    need = max(float(right - left) for left, _, right, _ in bounds)
    least = max(math.ceil((need - lap) / (wide - lap) - 1e-9), 1)
    if len(items) > _MANY:
        widths = [(least + more) * (wide - lap) + lap for more in range(2)]
        plans = [
            _tile_plan(pack_items(items, width, gap=options.gap, tick=tick).spots, options)
            for width in widths
        ]
        return min(plans, key=lambda plan: len(plan.tiles))
    widths = [(least + more) * (wide - lap) + lap for more in range(_WIDER)]
    plan = _plan_closely(items, widths, options.gap, options, tick)
    if _count_strips(plan):
        closer = _plan_closely(items, widths, options.gap * _CLOSER, options, tick)
        plan = min(plan, closer, key=_rank_plan)
    return plan


def _plan_closely(
    items: Sequence[Item],
    widths: Sequence[float],
    gap: float,
    options: PrintOptions,
    tick: Callable[[], None],
) -> TilePlan:
    """Return the best plan of several widths and orders, closed up and shifted under its pages."""
    plans = []
    for width, by_area in product(widths, (False, True)):
        packing = pack_items(items, width, gap=gap, by_area=by_area, tick=tick)
        plans.append(_tile_plan(settle_spots(packing.spots, gap), options))
    fewest = min(len(plan.tiles) for plan in plans)
    near = [plan for plan in plans if len(plan.tiles) <= fewest + 1]
    return min((_best_place(plan, options) for plan in near), key=_rank_plan)


def _tile_plan(spots: Sequence[Spot], options: PrintOptions) -> TilePlan:
    shapes = [spot.shape for spot in spots]
    _, bottom, right, _ = shapely.total_bounds(shapes).tolist()
    grid = grid_over(options.paper, options.lap, right, -bottom)
    return TilePlan(tuple(spots), right, -bottom, grid, tuple(needed_tiles(grid, shapes)))


def _rank_plan(plan: TilePlan) -> tuple[int, int, float]:
    """Return pages, of which a mere strip is worth avoiding as much as a page; then the length."""
    scanty = _count_strips(plan)
    return len(plan.tiles) + scanty, scanty, max(plan.grid.size)


def _count_strips(plan: TilePlan) -> int:
    return len(scanty_tiles(plan.grid, plan.tiles, [spot.shape for spot in plan.spots]))


def _best_place(plan: TilePlan, options: PrintOptions) -> TilePlan:
    """Shift all pieces within what the pages leave over: fewer pages, none with a mere strip."""
    wide, tall = plan.grid.size
    left = wide - plan.width, tall - plan.length
    tried = [plan]
    for across, down in product(range(_PLACES), repeat=2):
        shift = (across / (_PLACES - 1) * left[0], -down / (_PLACES - 1) * left[1])
        tried.append(_tile_plan([spot.moved(*shift) for spot in plan.spots], options))
    fewest = min(len(found.tiles) for found in tried)
    best = [found for found in tried if len(found.tiles) == fewest]
    return best[0] if len(best) == 1 else min(best, key=_rank_plan)


def plan_sheets(
    items: Sequence[Item],
    block: shapely.Geometry,
    options: PrintOptions,
    tick: Callable[[], None],
) -> SheetPlan:
    """Lay items on sheets, none of them cut by a border.

    Raises
    ------
    EditError
        When an item is larger than the paper.
    """
    wide, tall = options.paper.usable
    first = Item("", block, may_turn=False)
    _check_fit(items, options.paper)
    tried = [
        pack_items(
            [first, *items], wide, tall, gap=options.gap, keep_first=True, by_area=way, tick=tick
        )
        for way in ((False, True) if len(items) <= _MANY else (False,))
    ]
    packing = min(tried, key=lambda found: (len(found.lengths), found.lengths[-1]))
    return SheetPlan(packing.spots[0], packing.spots[1:], packing.lengths)


def _check_fit(items: Sequence[Item], paper: Paper) -> None:
    wide, tall = paper.usable
    for item in items:
        left, bottom, right, top = item.shape.bounds
        across, along = right - left - wide, top - bottom - tall
        if across > 0 or along > 0:
            what, by, room = ("wide", across, wide) if across > 0 else ("long", along, tall)
            raise EditError(
                f"piece '{item.name}' is {room + by:.1f} mm {what} with its allowances and the "
                f"grain along the paper, {by:.1f} mm more than the {room:.1f} mm of paper "
                f"'{paper.name}' that can be printed on; print it over several pages with "
                "--layout tiled, or choose a larger paper"
            )


def check_one(width: float, height: float) -> None:
    """Raise EditError when one page would be larger than readers of PDF can show."""
    if max(width, height) > LONGEST_PAGE_MM:
        raise EditError(
            f"one sheet would be {width:.0f} mm × {height:.0f} mm, and a page ends at "
            f"{LONGEST_PAGE_MM:.0f} mm; print fewer pieces, or choose --layout tiled"
        )
