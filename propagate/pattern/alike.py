"""Pieces that are cut alike: two panels of a bag, two pocket bags, a left and a right front.

They may lie anywhere, turned or face down; edges and landmarks are called alike on all.
"""

from __future__ import annotations

from dataclasses import field

from propagate.pattern.told import told
from propagate.tolerances import DERIVED_MM
from propagate.values import dataclass

__all__ = ["Alike"]


@dataclass(frozen=True)
class Alike:
    """Pieces that are copies of each other, mirrored or not, and stay so whichever is edited."""

    name: str = field(metadata=told("name", "what the copies are called"))
    pieces: tuple[str, ...] = field(
        metadata=told(
            "texts",
            "two or more pieces, whose edges and landmarks are called alike; the one that is "
            "edited leads, the first where a change reaches several",
        )
    )
    tolerance: float = field(
        default=DERIVED_MM,
        metadata=told("length", "how far the check lets one lie off the first"),
    )
