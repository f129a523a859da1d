"""A free edge goes parallel: a hem let down at the side sinks as a whole.

Where one corner of a nearly straight edge across the grain moves that nothing is sewn to, its
other corner goes as far across the edge, along the line that it ends on; drawn out towards a
corner that stays it would hang down at one end.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from propagate.engine.following.outline import Move
from propagate.engine.graph import joined_edges
from propagate.geometry.directions import end_direction
from propagate.geometry.polyline import unit
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["with_parallels"]

Array = npt.NDArray[np.float64]

_STRAIGHT_DEG = 45.0
"""An edge that turns by less from end to end has one direction in which it sinks."""


def with_parallels(
    pattern: PatternSet, name: str, piece: SizedPiece, corners: Sequence[Move], free: set[int]
) -> list[Move]:
    """Corners of a piece, those beyond a free edge going with the corner that moves.

    Parameters
    ----------
    corners : sequence of Move
        Of the start of each edge.
    free : set of int
        Corners that no relation and no hold keeps.
    """
    found = list(corners)
    count = len(piece.edges)
    joined = joined_edges(pattern)
    for i, edge in enumerate(piece.edges):
        ends = i, (i + 1) % count
        if f"{name}.{edge.name}" in joined:
            continue
        for here, there, beside in (
            (ends[0], ends[1], piece.edges[ends[1]]),
            (ends[1], ends[0], piece.edges[i - 1]),
        ):
            if corners[here].fixed or not found[there].fixed or there not in free:
                continue
            if not _across_grain(piece, edge.points):
                continue
            slide = _slide(edge.points, beside.points, at_end=there == ends[1])
            if slide is not None:
                found[there] = corners[here].scaled(slide, beside.name)
    return found


def _across_grain(piece: SizedPiece, points: Array) -> bool:
    chord = points[-1] - points[0]
    along = abs(float(chord @ piece.grain.direction))
    return bool(along < np.cos(np.radians(_STRAIGHT_DEG)) * float(np.hypot(*chord)))


def _slide(edge: Array, beside: Array, *, at_end: bool) -> Array | None:
    """(2, 2) movement of the far corner by that of the near one; None where it does not follow."""
    turn = end_direction(edge, "end") - end_direction(edge, "start")
    if abs(np.arctan2(np.sin(turn), np.cos(turn))) > np.radians(_STRAIGHT_DEG):
        return None
    chord = edge[-1] - edge[0]
    normal = np.array([-chord[1], chord[0]]) / max(float(np.hypot(*chord)), 1e-12)
    along = unit(end_direction(beside, "start" if at_end else "end"))
    across = float(normal @ along)
    if abs(across) < np.sin(np.radians(_STRAIGHT_DEG)):
        return None
    return np.asarray(np.outer(along, normal) / across)
