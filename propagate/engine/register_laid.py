"""A piece of a revised drawing, laid on the piece of the set that it is."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.geometry.motion import Motion
from propagate.geometry.polyline import locate
from propagate.pattern.model import Landmark, SizedPiece
from propagate.values import dataclass

__all__ = ["LaidDrawing"]

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
