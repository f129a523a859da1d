"""Ratios that betray another unit."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from propagate.engine.review.line import median
from propagate.lengths import MM_PER_INCH

__all__ = ["find_other_units", "unit_of_ratio"]

_RATIOS = {
    "in inches, read as millimetres": 1 / MM_PER_INCH,
    "in centimetres, read as millimetres": 1 / 10,
    "in inches, read as centimetres": 1 / 2.54,
    "in centimetres, read as inches": 2.54,
    "in millimetres, read as centimetres": 10.0,
    "in millimetres, read as inches": MM_PER_INCH,
    "in metres, read as millimetres": 1 / 1000,
    "in millimetres, read as metres": 1000.0,
}


def unit_of_ratio(ratio: float, within: float = 0.1) -> str | None:
    """Return what a value was given in when it is `ratio` times what it should be.

    Parameters
    ----------
    ratio : float
    within : float
        Largest share by which the ratio may miss that of the units.

    Examples
    --------
    >>> unit_of_ratio(0.04), unit_of_ratio(1.1)
    ('in inches, read as millimetres', None)
    """
    if ratio <= 0.0 or not math.isfinite(ratio):
        return None
    words, miss = min(
        ((words, abs(math.log(ratio / of))) for words, of in _RATIOS.items()),
        key=lambda pair: pair[1],
    )
    return words if miss <= math.log(1 + within) else None


def find_other_units(row: npt.NDArray[np.float64]) -> Iterator[tuple[int, float, str]]:
    """Yield each place of a row in another unit, what the others have, and which unit."""
    if len(row) < 3 or row.max() < 2 * row.min():
        return
    for at, value in enumerate(row.tolist()):
        others = float(median(np.delete(row, at)))
        words = unit_of_ratio(value / others, 0.25)
        if words is not None:
            yield at, others, words
