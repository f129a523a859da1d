"""Affine maps of the plane: moved, turned, mirrored, scaled."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from propagate.geometry.arrays import Array
from propagate.values import dataclass

__all__ = ["UNMOVED", "Affine"]


@dataclass(frozen=True)
class Affine:
    """``x' = a x + c y + e``, ``y' = b x + d y + f``."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __matmul__(self, inner: Affine) -> Affine:
        """Do first `inner`, then this one."""
        return Affine(
            self.a * inner.a + self.c * inner.b,
            self.b * inner.a + self.d * inner.b,
            self.a * inner.c + self.c * inner.d,
            self.b * inner.c + self.d * inner.d,
            self.a * inner.e + self.c * inner.f + self.e,
            self.b * inner.e + self.d * inner.f + self.f,
        )

    @cached_property
    def matrix(self) -> Array:
        """(2, 2) part without the move."""
        return np.array([[self.a, self.c], [self.b, self.d]])

    @cached_property
    def offset(self) -> Array:
        """(2,) where the origin comes to lie."""
        return np.array([self.e, self.f])

    @cached_property
    def is_identity(self) -> bool:
        """Nothing moves, not by a digit."""
        return self == UNMOVED

    @property
    def is_rigid(self) -> bool:
        """Lengths are kept; what is mapped may be mirrored."""
        return bool(np.allclose(self.matrix @ self.matrix.T, np.eye(2), rtol=0.0, atol=1e-9))

    @property
    def is_mirrored(self) -> bool:
        """What turns left turns right behind the map."""
        return bool(np.linalg.det(self.matrix) < 0)

    @property
    def angle(self) -> float:
        """Direction of the x axis behind the map, degrees."""
        return float(np.degrees(np.arctan2(self.b, self.a)))

    def apply(self, point: tuple[float, float]) -> tuple[float, float]:
        """Map one point."""
        x, y = point
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    def __call__(self, points: Array) -> Array:
        """Return points behind the map; (2,) or (n, 2)."""
        moved: Array = points @ self.matrix.T + self.offset
        return moved

    def back(self, points: Array) -> Array:
        """Return points before the map."""
        if self.is_identity:
            return points
        before: Array = (points - self.offset) @ np.linalg.inv(self.matrix).T
        return before


UNMOVED = Affine()
