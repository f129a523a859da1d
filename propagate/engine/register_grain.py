"""The grain line of a revised drawing, on the piece of the set."""

from __future__ import annotations

import numpy as np

from propagate.engine.reshape import rounded
from propagate.geometry.motion import Motion
from propagate.pattern.model import Grain

__all__ = ["PARALLEL_DEG", "off_grain", "placed_grain"]

PARALLEL_DEG = 0.25
"""Grain lines within this angle run the same way."""


def off_grain(old: Grain, new: Grain, motion: Motion) -> float:
    """Return the angle between a drawing's grain and the old one, degrees, 0 to 90.

    A grain line may be drawn either way up.
    """
    turned = motion.rotate(new.direction)
    across = abs(float(old.direction[0] * turned[1] - old.direction[1] * turned[0]))
    return float(np.degrees(np.arctan2(across, abs(float(turned @ old.direction)))))


def placed_grain(
    old: Grain, new: Grain, motion: Motion, tolerance: float
) -> tuple[Grain, tuple[str, str] | None]:
    """Return the grain of the revised piece; what was found of it, and what to do, else None.

    The drawing's grain line is taken when it is parallel to the old one and runs the same
    way up; where it lies is no change.  Another direction is not taken: the drawing may
    not hold a grain line at all.
    """
    off = off_grain(old, new, motion)
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
