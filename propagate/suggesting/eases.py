"""How the ease of a seam is said: one amount, one for each size, or stretch by stretch."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from propagate.pattern.ease import Ease, EaseSaid
from propagate.suggesting.nest import Nest
from propagate.suggesting.ways import Way

__all__ = ["STEADY_MM", "tell_amounts", "tell_stretches"]

STEADY_MM = 1.0
"""An ease that changes by less over the sizes is one amount."""


def tell_amounts(nest: Nest, eases: npt.NDArray[np.float64]) -> EaseSaid:
    """An ease as one amount, or as one in each size where it changes with them."""
    if float(np.ptp(eases)) <= STEADY_MM:
        return round(float(np.median(eases)), 1) + 0.0
    pairs = zip(nest.pattern.sizes, eases, strict=True)
    return Ease(sizes=tuple((size, round(float(value), 1) + 0.0) for size, value in pairs))


def tell_stretches(nest: Nest, way: Way) -> Ease | None:
    """The ease stretch by stretch, where it lies between notches; none where it is spread."""
    if not way.stretches:
        return None
    return Ease(zones=tuple((to, tell_amounts(nest, eases)) for to, eases in way.stretches))
