"""A free edge goes parallel: a hem let down at the side sinks as a whole.

Where one corner of a nearly straight edge across the grain moves that nothing is sewn to, its
other corner goes as far across the edge, along the line that it ends on; drawn out towards a
corner that stays it would hang down at one end.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from propagate.engine.following.outline import Move
from propagate.engine.graph import joined_edges
from propagate.engine.reshape import rounded
from propagate.geometry.arrays import Array
from propagate.geometry.directions import end_direction, wrap_angle
from propagate.geometry.polyline import arc_lengths, unit
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import RESTS_MM

__all__ = ["sunk_edges", "with_parallels"]

_STRAIGHT_DEG = 45.0
"""An edge that turns by less from end to end has one direction in which it sinks."""


def with_parallels(
    pattern: PatternSet, name: str, piece: SizedPiece, corners: Sequence[Move], free: set[int]
) -> list[Move]:
    """Let corners beyond a free edge of a piece go with the corner that moves.

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
            slide = _slide_corner(edge.points, beside.points, at_end=there == ends[1])
            if slide is not None:
                found[there] = corners[here].scaled(slide, beside.name)
    return found


def sunk_edges(
    pattern: PatternSet, name: str, old: SizedPiece, new: SizedPiece, drawn: Collection[str]
) -> list[Edge]:
    """Sink free edges as a whole where one corner of theirs was moved and the other was not.

    Only where the far corner slides on a fold, or on an edge that nothing is sewn to.

    Parameters
    ----------
    name : str
        Of the piece.
    old, new : SizedPiece
        The piece before, and with the edges that were drawn.
    drawn : collection of str
        Edges that are as they are meant to be already, though one corner rests.

    Returns
    -------
    list of Edge
        Each with both of its new corners.
    """
    found = []
    joined, info = joined_edges(pattern), pattern.info.get(name)
    fold = info.fold if info is not None else None
    for i, (edge, now) in enumerate(zip(old.edges, new.edges, strict=True)):
        beside = old.edges[(i + 1) % len(old.edges)], old.edges[i - 1]
        moves = now.points[[0, -1]] - edge.points[[0, -1]]
        rests = np.hypot(*moves.T) <= RESTS_MM
        if f"{name}.{edge.name}" in joined or rests[0] == rests[1] or edge.name in drawn:
            continue
        at_end = bool(rests[1])
        other = beside[0] if at_end else beside[1]
        if other.name != fold and f"{name}.{other.name}" in joined:
            continue
        slide = _slide_corner(edge.points, other.points, at_end=at_end)
        if slide is None or not _across_grain(old, edge.points):
            continue
        near = moves[0] if at_end else moves[1]
        ends = (near, slide @ near) if at_end else (slide @ near, near)
        share = (arc_lengths(edge.points) / edge.length)[:, None]
        points = rounded(edge.points + (1.0 - share) * ends[0] + share * ends[1])
        points[0 if at_end else -1] = now.points[0 if at_end else -1]
        found.append(Edge(edge.name, points, edge.turns))
    return found


def _across_grain(piece: SizedPiece, points: Array) -> bool:
    chord = points[-1] - points[0]
    along = abs(float(chord @ piece.grain.direction))
    return bool(along < np.cos(np.radians(_STRAIGHT_DEG)) * float(np.hypot(*chord)))


def _slide_corner(edge: Array, beside: Array, *, at_end: bool) -> Array | None:
    """Move the far corner by the near one: (2, 2), or None where it does not follow."""
    turn = end_direction(edge, "end") - end_direction(edge, "start")
    if abs(wrap_angle(turn)) > np.radians(_STRAIGHT_DEG):
        return None
    chord = edge[-1] - edge[0]
    normal = np.array([-chord[1], chord[0]]) / max(float(np.hypot(*chord)), 1e-12)
    along = unit(end_direction(beside, "start" if at_end else "end"))
    across = float(normal @ along)
    if abs(across) < np.sin(np.radians(_STRAIGHT_DEG)):
        return None
    return np.asarray(np.outer(along, normal) / across)
