"""The cut line of a piece: where its stretches begin and turn, and where notches stand on it."""

from __future__ import annotations

import itertools

import numpy as np
import numpy.typing as npt

from propagate.engine.finish import allowances, cut_line
from propagate.errors import PropagateError
from propagate.geometry.beside import find_squares, met_square
from propagate.geometry.corner import measure_turns
from propagate.geometry.directions import direction_at
from propagate.geometry.parallel import distinct, mitred_line
from propagate.geometry.polyline import locate, near_vertices, point_at
from propagate.io.dxf.conventions import NOTCH_NAMES, Layer
from propagate.pattern.model import Array, Landmark, SizedPiece
from propagate.pattern.relations import PieceInfo
from propagate.values import dataclass

__all__ = ["DrawnCut", "drawn_cut", "notch_layer", "notch_place"]

_TURN_DEG = 10.0
_ANSWERS_MM = 1e-5
"""The cut line is put together of mitres; where it runs through one, it hits it this well."""


@dataclass(frozen=True, eq=False)
class DrawnCut:
    """A closed cut line.

    Attributes
    ----------
    points : (n, 2) array, mm
        The first point is not repeated.
    turns : tuple of int
        Its corners: where edges' stretches meet, and where it turns, but for vertices of curves.
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
    at = np.abs(measure_turns(found.points)) > _TURN_DEG
    for joint in joints:
        at |= (found.points == joint).all(axis=1)
    whole = [name for name, _ in parts] == list(piece.edge_names) and all(
        (before[1][-1] == after[1][0]).all()
        for before, after in zip(parts, [*parts[1:], parts[0]], strict=True)
    )
    points = found.points
    if whole:  # begin where the first edge's stretch begins
        points = np.concatenate([part[:-1] for _, part in parts])
        at = np.abs(measure_turns(points)) > _TURN_DEG
        at[np.cumsum([0, *(len(part) - 1 for _, part in parts[:-1])])] = True
    curves, turns = _find_answering(piece, info)
    at |= near_vertices(turns, points, _ANSWERS_MM) >= 0
    at &= near_vertices(curves, points, _ANSWERS_MM) < 0
    at &= ~_on_a_curve(piece, points)
    return DrawnCut(points, tuple(np.flatnonzero(at).tolist()), tuple(parts) if whole else ())


def _find_answering(piece: SizedPiece, info: PieceInfo) -> tuple[Array, Array]:
    """Where the cut line answers to vertices inside edges: to those of curves, and to corners.

    A curve that is drawn with few chords turns at every one of them and has no corners, beside
    it as on it; and a corner inside an edge is one in every size, however little it turns.
    """
    curves, corners = [np.empty((0, 2))], [np.empty((0, 2))]
    widths = allowances(piece, info)
    for edge in piece.edges:
        width = widths[edge.name]
        parts = [
            distinct(edge.points[low : high + 1])
            for low, high in itertools.pairwise([0, *edge.turns, len(edge.points) - 1])
        ]
        curves += [mitred_line(part, width)[1:-1] for part in parts]
        corners += [
            mitred_line(np.vstack([before[-2:], after[1:2]]), width)[1:-1]
            for before, after in itertools.pairwise(parts)
        ]
    return np.concatenate(curves), np.concatenate(corners)


def _on_a_curve(piece: SizedPiece, points: Array) -> npt.NDArray[np.bool_]:
    """(n,) whether a point lies at a vertex of the seam line that is no corner.

    A reader takes every turn point on the seam line for a corner of its own.
    """
    corners, count = set(), 0
    for edge in piece.edges:
        corners |= {count, *(count + turn for turn in edge.turns)}
        count += len(edge.points) - 1
    vertex = near_vertices(piece.outline, points)
    found: npt.NDArray[np.bool_] = (vertex >= 0) & ~np.isin(vertex, list(corners))
    return found


# ---------------------------------------------------------------------------------------- notches

_BACK_MM = 0.001
"""A reader that goes square back from the cut line finds a notch this near its place."""
_BESIDE_MM = (0.0015, -0.0015, 0.0025, -0.0025)
"""Tried where the place itself is square to a vertex near it, and would be read as that."""


def notch_layer(mark: Landmark) -> str:
    """Return the layer whose word the notch's name begins with."""
    words = sorted(((word, layer) for layer, word in NOTCH_NAMES.items()), key=lambda w: -len(w[0]))
    return next((layer for word, layer in words if mark.name.startswith(f"{word}_")), Layer.NOTCH)


def notch_place(
    mark: Landmark, piece: SizedPiece, cut: DrawnCut | None, *, on_seam: bool
) -> tuple[float, float]:
    """Return the place on the cut line square across from the seam line's.

    A reader that goes back along the same square (`beside.Squares.foot`) comes to
    the place again, wherever the cut line reaches it.
    """
    own = dict(cut.stretches).get(mark.edge) if cut is not None else None
    if own is None or on_seam:
        return mark.point
    index = piece.edge_names.index(mark.edge)
    edge = piece.edges[index]
    along, _ = locate(edge.points, mark.point)
    _, width = locate(own, mark.point)
    across = find_squares([some.points for some in piece.edges], index, edge.turns)

    def off(place: Array) -> float:
        near, gap = locate(edge.points, place)
        foot = across.foot(place, gap)
        return abs((near if foot is None else foot) - along)

    places: list[Array] = []
    for beside in (0.0, *_BESIDE_MM):
        at, direction = across.out(along + beside)
        met = met_square(own, at, direction, width)
        if met is not None:
            places.append(met)
        if not beside and met is not None and off(met) <= _BACK_MM:
            return float(met[0]), float(met[1])
    # Where the cut line does not reach that far: what a reader takes for the nearest place.
    last = min(max(1, int(np.searchsorted(edge.arc, along))), len(edge.points) - 1)
    chord = edge.points[last] - edge.points[last - 1]
    for angle in (direction_at(edge.points, along), float(np.arctan2(chord[1], chord[0]))):
        out = np.array(mark.point) + width * np.array([np.sin(angle), -np.cos(angle)])
        places.append(point_at(own, locate(own, out)[0]))
    x, y = min(places, key=off)
    return float(x), float(y)
