"""Put a redrawn edge into a piece: its neighbours' ends follow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.engine.reshape import rounded
from propagate.engine.tape import edge_from_parts
from propagate.geometry.fade import fade_end
from propagate.geometry.polyline import are_alike, is_straight
from propagate.pattern.model import Array, Edge, SizedPiece
from propagate.tolerances import FADE_MM, SAME_POINT_MM, STEP_MM

__all__ = ["with_corners"]


def with_corners(
    piece: SizedPiece, old: Edge, fresh: Edge, source: SizedPiece | None = None
) -> SizedPiece:
    """The piece with one edge redrawn; where a corner moved, the crossing edge follows it.

    A straight edge stays straight.  A curved one follows near its end; but when both its
    ends followed corners, what they share moves the whole of it: a hem whose two ends sank
    sinks.  The landmarks are those of the old piece still: see `marks_on_lines`.

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
        ends = edge.points[[0, -1]]
        moved = _draw_between(own, ends).points
        if own is not edge and not are_alike(moved, edge.points, SAME_POINT_MM):
            own = edge  # it was redrawn itself
        ends[end] = corner
        edges[j] = _draw_between(own, ends)
    return replace(piece, edges=tuple(edges))


def _draw_between(edge: Edge, ends: Array) -> Edge:
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
    # the part of both moves that is the same, along their mean; nothing when they oppose
    mean, common = moves.mean(axis=0), np.zeros(2)
    if np.hypot(*mean) > SAME_POINT_MM:
        common = max(float((moves @ mean).min()), 0.0) / float(np.hypot(*mean)) ** 2 * mean
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
