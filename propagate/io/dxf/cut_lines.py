"""The cut line of a piece with the places where its stretches begin and turn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from propagate.engine.finish import cut_line
from propagate.errors import PropagateError
from propagate.io.dxf.loops import near_vertices, turning
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.relations import PieceInfo

__all__ = ["DrawnCut", "drawn_cut"]

_TURN_DEG = 10.0


@dataclass(frozen=True, eq=False)
class DrawnCut:
    """A closed cut line.

    Attributes
    ----------
    points : (n, 2) array, mm
        The first point is not repeated.
    turns : tuple of int
        Its corners: where edges' stretches meet, and where it turns.
    stretches : tuple of (edge name, (k, 2) array)
        One for each edge, in outline order, when they make up the whole line.
    """

    points: Array
    turns: tuple[int, ...]
    stretches: tuple[tuple[str, Array], ...]


def drawn_cut(piece: SizedPiece, info: PieceInfo, size: str) -> DrawnCut | str:
    """Build the cut line; text says why there is none."""
    try:
        found = cut_line(piece, info, size=size)
    except PropagateError as error:
        return str(error)
    parts = [(name, part) for name, some in found.stretches.items() for part in some]
    joints = np.array([part[0] for _, part in parts])
    at = np.abs(turning(found.points)) > _TURN_DEG
    for joint in joints:
        at |= (found.points == joint).all(axis=1)
    whole = [name for name, _ in parts] == list(piece.edge_names) and all(
        (before[1][-1] == after[1][0]).all()
        for before, after in zip(parts, [*parts[1:], parts[0]], strict=True)
    )
    points = found.points
    if whole:  # begin where the first edge's stretch begins
        points = np.concatenate([part[:-1] for _, part in parts])
        at = np.abs(turning(points)) > _TURN_DEG
        at[np.cumsum([0, *(len(part) - 1 for _, part in parts[:-1])])] = True
    at &= ~_within_an_edge(piece, points)
    return DrawnCut(points, tuple(np.flatnonzero(at).tolist()), tuple(parts) if whole else ())


def _within_an_edge(piece: SizedPiece, points: Array) -> npt.NDArray[np.bool_]:
    """(n,) whether a point of the cut line is a vertex of the seam line that is no corner.

    Without an allowance the two lines are one, and a reader takes every turn point on the
    seam line for a corner of its own.
    """
    corners, count = set(), 0
    for edge in piece.edges:
        corners |= {count, *(count + turn for turn in edge.turns)}
        count += len(edge.points) - 1
    vertex = near_vertices(piece.outline, points)
    return (vertex >= 0) & ~np.isin(vertex, list(corners))
