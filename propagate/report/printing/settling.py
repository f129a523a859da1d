"""Close up what was laid on a grid of cells: pieces go up and to the left as far as they may."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from propagate.report.printing.packing import Spot

__all__ = ["moved", "settled"]

_STEP_MM = 1.0
_MOST_MM = 24.0
"""Cells keep pieces further apart than asked by at most about this."""


def moved(spots: Sequence[Spot], shift: tuple[float, float]) -> tuple[Spot, ...]:
    """All spots moved alike."""
    return tuple(_moved(spot, *shift) for spot in spots)


def settled(spots: Sequence[Spot], gap: float) -> tuple[Spot, ...]:
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
            found[i] = _slid(found[i], others, gap, up=up)
        order.sort(key=lambda i: (found[i].shape.bounds[0], i))
    return tuple(found)


def _slid(spot: Spot, others: Sequence[shapely.Geometry], gap: float, *, up: bool) -> Spot:
    """The spot as far up, or to the left, as it comes in steps, no piece being jumped over."""
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
        tried = _moved(spot, 0.0, step) if up else _moved(spot, -step, 0.0)
        if any(shapely.dwithin(shape, tried.shape, gap) for shape in near):
            break
        best, step = tried, step + _STEP_MM
    return best


def _moved(spot: Spot, x: float, y: float) -> Spot:
    shift = (spot.shift[0] + x, spot.shift[1] + y)
    return Spot(spot.item, spot.sheet, spot.turned, shift)
