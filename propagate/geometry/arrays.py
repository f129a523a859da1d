"""Arrays of points and directions, and how far one direction turns from another."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["Array", "Indices", "cross_product"]

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]


def cross_product(a: Array, b: Array) -> Array:
    """Multiply vectors (..., 2), ``a × b``: above 0 where `b` points to the left of `a`."""
    product: Array = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return product
