"""The grain line of a piece."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.motion import IDENTITY, Motion
from propagate.values import dataclass

__all__ = ["Grain"]


@dataclass(frozen=True)
class Grain:
    """The grain line as two points; its direction is start to end."""

    start: tuple[float, float]
    end: tuple[float, float]

    @cached_property
    def direction(self) -> Array:
        """Unit vector (2,) of the grain."""
        vector = np.subtract(self.end, self.start)
        direction: Array = vector / float(np.hypot(*vector))
        direction.setflags(write=False)
        return direction

    def turn_to(self, other: Grain, within: float = 1e-9) -> Motion:
        """The turn after which it runs as another does; none where that is less, in radians."""
        spin = complex(*other.direction) / complex(*self.direction)
        spin /= abs(spin)
        return IDENTITY if abs(spin - 1.0) < within else Motion(spin)
