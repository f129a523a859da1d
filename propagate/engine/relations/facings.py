"""Tell a facing from a mate: it is a smaller piece that lies within the piece it is sewn to."""

from __future__ import annotations

import shapely

from propagate.geometry.motion import Motion
from propagate.pattern.model import SizedPiece

__all__ = ["lies_within"]

_BESIDE_MM = 0.2
"""Two drawings of one line may lie this far apart."""
_MOST = 0.7
"""A facing covers less of its piece than this; what covers more may be a mate as well."""


def lies_within(lead: SizedPiece, follower: SizedPiece, motion: Motion) -> bool:
    """Whether a follower is cut like a part of its lead.

    A front and a back may be cut alike along their side and are no copies of each other; a
    facing lies on its piece with its whole outline (common practice, no source).

    Parameters
    ----------
    lead, follower : SizedPiece
        In frames of their own.
    motion : Motion
        Lays the lead on the follower, along their seam.
    """
    whole = shapely.Polygon(motion.apply(lead.outline))
    part = shapely.Polygon(follower.outline)
    if not (whole.is_valid and part.is_valid) or part.area > _MOST * whole.area:
        return False
    return bool(shapely.covers(whole.buffer(_BESIDE_MM), part))
