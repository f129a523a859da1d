"""A change that was drawn in the base size, on its way to another size."""

from __future__ import annotations

from functools import cached_property
from typing import Literal

import numpy as np

from propagate.engine.darts.changes import DartChange, dart_changes, mouth_of
from propagate.geometry.motion import Motion
from propagate.pattern.model import SizedPiece
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["SAME_TIP_MM", "Carry", "Carrying"]

SAME_TIP_MM = 1.0
"""Two darts whose tips lie this near have the same tip."""
Carry = Literal["millimetres", "proportion"]


@dataclass(frozen=True)
class Carrying:
    """What was drawn in the base size, and the size that it is carried to.

    Attributes
    ----------
    was, now : SizedPiece
        The base size before, and as drawn.
    other : SizedPiece
        The other size before.
    carry : "millimetres" or "proportion"
    """

    was: SizedPiece
    now: SizedPiece
    other: SizedPiece
    carry: Carry

    @cached_property
    def turn(self) -> Motion:
        """Turns the base size's grain to the other's."""
        return self.was.grain.turn_to(self.other.grain)

    def scale(self, edge: str) -> float:
        """Mm of the other size for each mm of the base size, on an edge."""
        if self.carry == "millimetres":
            return 1.0
        return self.other.edge(edge).length / self.was.edge(edge).length

    @cached_property
    def darts(self) -> tuple[DartChange, ...]:
        """Darts that were changed, or that came or went.

        One whose legs are no vertices of the drawn line was not drawn there: it only went along.
        """
        return tuple(
            change
            for change in dart_changes(self.was, self.now)
            if change.what != "changed" or self._is_drawn(change.name)
        )

    def _is_drawn(self, name: str) -> bool:
        dart = self.now.dart(name)
        arc = self.now.edge(dart.edge).arc
        return all(np.abs(arc - at).min() <= ON_LINE_MM for at in mouth_of(self.now, dart))
