"""Put a redrawn edge into a piece: its neighbours' ends and its landmarks follow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.reshape import rounded
from propagate.engine.tape import edge_from_parts
from propagate.geometry.fade import fade_end
from propagate.geometry.polyline import is_straight, locate, point_at
from propagate.pattern.model import Edge, Landmark, SizedPiece
from propagate.tolerances import FADE_MM, SAME_POINT_MM, STEP_MM

__all__ = ["between_corners", "landmark_on", "with_corners"]

Array = npt.NDArray[np.float64]

_NEAR_MM = 50.0
"""Where an edge went farther than this, the nearest place says nothing of a landmark."""


def with_corners(
    piece: SizedPiece, old: Edge, fresh: Edge, source: SizedPiece | None = None
) -> SizedPiece:
    """The piece with one edge redrawn; where a corner moved, the crossing edge follows it.

    A straight edge stays straight.  A curved one follows near its end; but when both its
    ends followed corners, what they share moves the whole of it: a hem whose two ends sank
    sinks.  The landmarks are those of the old piece still: see `landmark_on`.

    Parameters
    ----------
    piece : SizedPiece
    old, fresh : Edge
        The edge as the piece has it, and redrawn.
    source : SizedPiece or None
        The piece before anything changed; without it each end is taken by itself.
    """
    edges = list(piece.edges)
    i = edges.index(old)
    edges[i] = fresh
    count = len(edges)
    for j, corner, end in (
        ((i - 1) % count, fresh.points[0], -1),
        ((i + 1) % count, fresh.points[-1], 0),
    ):
        edge = edges[j]
        if (edge.points[end] == corner).all():
            continue
        own = edge if source is None else source.edge(edge.name)
        if own is not edge and not _follows(own, edge):
            own = edge  # it was redrawn itself
        ends = edge.points[[0, -1]]
        ends[end] = corner
        edges[j] = between_corners(own, ends)
    return replace(piece, edges=tuple(edges))


def _follows(source: Edge, edge: Edge) -> bool:
    """Whether an edge is the source's with its ends moved, and nothing else."""
    again = between_corners(source, edge.points[[0, -1]]).points
    return again.shape == edge.points.shape and bool(
        np.abs(again - edge.points).max() <= SAME_POINT_MM
    )


def between_corners(edge: Edge, ends: Array) -> Edge:
    """An edge with its ends at two corners: a straight one straight, a curved one faded.

    What the moves of both ends have in common moves the whole edge.
    """
    moves = ends - edge.points[[0, -1]]
    if (moves == 0.0).all():
        return edge
    if is_straight(edge.points):
        share = (edge.arc / edge.length)[:, None]
        points = rounded(edge.points + (1.0 - share) * moves[0] + share * moves[1])
        points[[0, -1]] = ends
        return Edge(edge.name, points, edge.turns)
    common = _common(moves)
    points = rounded(edge.points + common) if common.any() else edge.points
    turns = points[list(edge.turns)]
    over = min(FADE_MM, edge.length / 2)
    for end, corner in ((0, ends[0]), (-1, ends[1])):
        if np.abs(corner - points[end]).max() > SAME_POINT_MM:
            line = points if end else points[::-1]
            line = rounded(fade_end(line, corner, over, STEP_MM))
            points = line if end else line[::-1]
    points = points.copy()
    points[[0, -1]] = ends
    return edge_from_parts(edge.name, [points], turns)


def _common(moves: Array) -> Array:
    """The part of two moves that is the same, along their mean; nothing when they oppose."""
    mean = moves.mean(axis=0)
    size = float(np.hypot(*mean))
    if size <= SAME_POINT_MM:
        return np.zeros(2)
    return np.asarray(max(float((moves @ mean).min()), 0.0) / size**2 * mean)


def landmark_on(new: SizedPiece, old: SizedPiece, mark: Landmark) -> Landmark:
    """Keep a landmark where it is, on the nearest place of its edge; else by its share.

    An edge is lengthened at its end, so what is marked on it stays: a hip notch at its
    height, and the legs of a dart as far apart as they were.
    """
    edge = new.edge(mark.edge)
    along, gap = locate(edge.points, mark.point)
    if gap <= 1e-6:
        return mark
    before, length_before = old.distance(mark.edge, mark.name), old.edge(mark.edge).length
    inside = SAME_POINT_MM < before < length_before - SAME_POINT_MM
    if gap > _NEAR_MM or (inside and not SAME_POINT_MM < along < edge.length - SAME_POINT_MM):
        along = before / length_before * edge.length
    x, y = rounded(point_at(edge.points, along))
    return replace(mark, point=(float(x), float(y)))
