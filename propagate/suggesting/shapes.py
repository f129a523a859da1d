"""Shapes of two runs laid along each other: congruent, alike or strangers."""

from __future__ import annotations

import numpy as np

from propagate.suggesting.proposal import Fact
from propagate.suggesting.rows import Row
from propagate.values import dataclass

__all__ = ["Shape", "facts"]

STRAIGHT_DEG = 5.0
"""An edge whose direction varies by less is straight; its shape says nothing."""
CONGRUENT_DEG = 0.5
ALIKE_DEG = 4.0
STRANGE_DEG = 15.0


@dataclass(frozen=True)
class Shape:
    """What two shapes say.

    Attributes
    ----------
    stacked : bool
        They are congruent the way two layers are that lie on each other, so that their
        corner angles are equal; else they would be cut apart from one piece of cloth, and
        the angles add up.
    facts : tuple of Fact
    """

    stacked: bool
    facts: tuple[Fact, ...]


def facts(lead: Row, follow: Row, turned: bool) -> Shape:
    """Compare the directions along two runs, as drawn and mirrored."""
    a = lead.profile
    b = follow.profile[::-1] if turned else follow.profile
    bend = max(float(np.ptp(a)), float(np.ptp(b)))
    if bend < STRAIGHT_DEG:
        return Shape(False, ())
    off = [float(np.sqrt(np.mean((a - sign * b) ** 2))) for sign in (1, -1)]
    best = min(off)
    mirrored = off[1] < off[0]
    # Turned and mirrored, or neither: that is how layers lie on each other.
    stacked = turned == mirrored and best <= CONGRUENT_DEG
    if best <= CONGRUENT_DEG:
        text = f"the shapes are the same within {best:.2f}° on a bend of {bend:.0f}°"
        return Shape(stacked, (Fact(2.5 if bend > 20 else 1.5, text),))
    if best <= ALIKE_DEG:
        text = f"the bends are alike (directions differ by {best:.1f}°)"
        return Shape(False, (Fact(0.5, text),))
    if best >= STRANGE_DEG:
        return Shape(False, (Fact(-1.0, f"the bends differ ({best:.0f}° along the way)"),))
    return Shape(False, ())
