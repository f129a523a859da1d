"""Put a redrawn edge into a piece: its neighbours' ends and its landmarks follow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.reshape import rounded
from propagate.engine.tape import edge_from_parts
from propagate.geometry.fade import fade_end
from propagate.geometry.polyline import length, locate, point_at
from propagate.pattern.model import Edge, Landmark, SizedPiece
from propagate.tolerances import FADE_MM, STEP_MM

__all__ = ["landmark_on", "with_corners"]

Array = npt.NDArray[np.float64]


def with_corners(piece: SizedPiece, old: Edge, fresh: Edge) -> SizedPiece:
    """The piece with one edge redrawn; where a corner moved, the crossing edge follows it.

    The landmarks are those of the old piece still: see `landmark_on`.
    """
    edges = list(piece.edges)
    i = edges.index(old)
    edges[i] = fresh
    count = len(edges)
    for j, corner, at_end in (
        ((i - 1) % count, fresh.points[0], True),
        ((i + 1) % count, fresh.points[-1], False),
    ):
        points = edges[j].points if at_end else edges[j].points[::-1]
        if (points[-1] == corner).all():
            continue
        moved = rounded(fade_end(points, corner, min(FADE_MM, length(points) / 2), STEP_MM))
        moved[-1] = corner
        turns = edges[j].points[list(edges[j].turns)]
        edges[j] = edge_from_parts(edges[j].name, [moved if at_end else moved[::-1]], turns)
    return replace(piece, edges=tuple(edges))


def landmark_on(new: SizedPiece, old: SizedPiece, mark: Landmark) -> Landmark:
    """Keep a landmark where it is when it still lies on its edge, else by its share."""
    edge = new.edge(mark.edge)
    if locate(edge.points, mark.point)[1] <= 1e-6:
        return mark
    share = old.distance(mark.edge, mark.name) / old.edge(mark.edge).length
    x, y = rounded(point_at(edge.points, share * edge.length))
    return replace(mark, point=(float(x), float(y)))
