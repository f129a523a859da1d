"""A pocket layer in its place, before and after the opening moved."""

from __future__ import annotations

from propagate.engine.reshape import Edited
from propagate.engine.state import LaidOpening, Split
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import locate
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.relations import Opening, StackLayer
from propagate.values import dataclass

__all__ = ["Seat"]


@dataclass(frozen=True)
class Seat:
    """A layer in its new place.

    Attributes
    ----------
    old : Motion
        Layer frame to the main piece in the pocket's size.
    new : Motion
        Layer frame to the edited silhouette.
    """

    layer: StackLayer
    piece: SizedPiece
    opening: Opening
    laid: LaidOpening
    edited: Edited
    old: Motion
    new: Motion

    def split(self, silhouette_edge: str) -> Split | None:
        """The opening's end on a silhouette edge, when it has one there."""
        if silhouette_edge == self.opening.across:
            return self.laid.across
        return self.laid.side if silhouette_edge == self.opening.side else None

    def old_offset(self, silhouette_edge: str, point: Array) -> float:
        """Distance along the old silhouette from the opening's end to a layer's point."""
        old = self.laid.source.edge(silhouette_edge).points
        line = self.laid.source.sized[self.opening.piece].edge(self.opening.edge).points
        at_across = silhouette_edge == self.opening.across
        end = self.opening.across_end if at_across else self.opening.side_end
        here, _ = locate(old, self.old.apply(point))
        zero, _ = locate(old, line[0 if end == "start" else -1])
        return here - zero
