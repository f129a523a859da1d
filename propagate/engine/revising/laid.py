"""A piece of a revised drawing, laid on the piece of the set that it is, and its grain line."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from propagate.engine.reshape import rounded
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import locate
from propagate.pattern.grain import Grain
from propagate.pattern.model import Landmark, SizedPiece
from propagate.values import dataclass

__all__ = ["LaidDrawing", "PARALLEL_DEG", "measure_off_grain", "place_grain"]

_OFF_EDGE_MM = 1.0
"""A landmark of the drawing farther from its edge than this is not on it."""


@dataclass(frozen=True)
class LaidDrawing:
    """What the marks of a drawing are placed by.

    Attributes
    ----------
    old, new : SizedPiece
        As the set has it; as drawn, in the drawing's frame.
    piece : SizedPiece
        The old piece with its new edges.
    partner : mapping of the drawing's edge name to the set's
    motion : Motion
        The drawing's frame to the set's.
    tolerance : float
        mm within which something lies where it was.
    """

    old: SizedPiece
    new: SizedPiece
    piece: SizedPiece
    partner: Mapping[str, str]
    motion: Motion
    tolerance: float

    @property
    def same_place_mm(self) -> float:
        """Marks closer than this along an edge may be one and the same."""
        return max(self.tolerance, 0.05)

    def place_on(self, edge: str, mark: Landmark) -> float | None:
        """Distance of a mark of the drawing along an edge of the set, mm; None when it is off."""
        along, gap = locate(self.piece.edge(edge).points, self.motion.apply(mark.point))
        return along if gap <= _OFF_EDGE_MM else None


PARALLEL_DEG = 0.25
"""Grain lines within this angle run the same way."""


def measure_off_grain(old: Grain, new: Grain, motion: Motion) -> float:
    """Return the angle between a drawing's grain and the old one, degrees, 0 to 90.

    A grain line may be drawn either way up.
    """
    turned = motion.rotate(new.direction)
    across = abs(float(old.direction[0] * turned[1] - old.direction[1] * turned[0]))
    return float(np.degrees(np.arctan2(across, abs(float(turned @ old.direction)))))


def place_grain(
    old: Grain, new: Grain, motion: Motion, tolerance: float
) -> tuple[Grain, tuple[str, str] | None]:
    """Return the grain of the revised piece; what was found of it, and what to do, else None.

    The drawing's grain line is taken when it is parallel to the old one and runs the same
    way up; where it lies is no change.  Another direction is not taken: the drawing may
    not hold a grain line at all.
    """
    off = measure_off_grain(old, new, motion)
    if off > PARALLEL_DEG:
        return old, (
            f"its grain line runs at {off:.1f}° to the set's, which was kept",
            "if the piece is to be cut on another grain, change it in the set",
        )
    if float(motion.rotate(new.direction) @ old.direction) < 0:
        return old, None
    ends = rounded(motion.apply([new.start, new.end]))
    if np.abs(ends - [old.start, old.end]).max() <= tolerance:
        return old, None
    (a, b), (c, d) = ends.tolist()
    return Grain((a, b), (c, d)), None
