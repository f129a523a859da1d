"""The nearest that can be done, told where what was asked for cannot."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

__all__ = ["largest_share", "nearest_possible"]


def largest_share(possible: Callable[[float], bool], halvings: int = 12) -> float:
    """The largest share up to which something is possible, by halving."""
    low, high = 0.0, 1.0
    for _ in range(halvings):
        middle = (low + high) / 2
        low, high = (middle, high) if possible(middle) else (low, middle)
    return low


def nearest_possible(
    possible: Callable[[float], bool], low: float, high: float, asked: float
) -> float:
    """The possible place nearest to the one asked for; NaN when there is none.

    Every millimetre between `low` and `high` is tried.
    """
    if not high > low:
        return float("nan")
    places = np.linspace(low, high, int(np.ceil(high - low)) + 1).tolist()
    found = [place for place in places if possible(place)]
    return min(found, key=lambda place: abs(place - asked), default=float("nan"))
