"""Raise or lower an edge that runs across a piece: a waist, a neckline, a hem."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from propagate.engine.darts.cap import lie_of
from propagate.engine.edits.edge_of_set import EdgeOfSet
from propagate.engine.edits.take_in import TakeIn
from propagate.errors import EditError
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["Lower", "Raise"]

_ACROSS = 0.5
"""An edge whose square leans more than 60 degrees off the upright does not run across."""


@dataclass(frozen=True, kw_only=True)
class Raise(TakeIn):
    """The edit: an edge goes up, parallel or with a slope; the fields are those of `TakeIn`."""

    word: ClassVar[str] = "raise"
    verb: ClassVar[str] = "raised"
    up: ClassVar[float] = 1.0

    def _way(self, pattern: PatternSet, of: EdgeOfSet) -> float:
        # Up is where the piece has its top when worn, however it lies on the paper.
        dx, dy = of.edge.points[-1] - of.edge.points[0]
        up = lie_of(pattern, of.lead, of.piece).up
        # Upward part of the direction out of the piece, square to the edge's chord.
        upright = (dy * up[0] - dx * up[1]) / float(np.hypot(dx, dy))
        if abs(upright) < _ACROSS:
            raise EditError(
                f"{of.where}: edge '{of.edge.name}' runs up the piece, expected one that runs "
                "across it; take it in or let it out"
            )
        return -self.up if upright > 0.0 else self.up


@dataclass(frozen=True, kw_only=True)
class Lower(Raise):
    """The edit: an edge goes down, parallel or with a slope; the fields are those of `TakeIn`."""

    word: ClassVar[str] = "lower"
    verb: ClassVar[str] = "lowered"
    up: ClassVar[float] = -1.0
