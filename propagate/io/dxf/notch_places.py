"""Where a notch is written: on the cut line, square across from its place on the seam line."""

from __future__ import annotations

import numpy as np

from propagate.geometry.beside import met_square, squares
from propagate.geometry.directions import direction_at
from propagate.geometry.polyline import locate, point_at
from propagate.io.dxf.conventions import NOTCH, NOTCH_NAMES
from propagate.io.dxf.cut_lines import DrawnCut
from propagate.pattern.model import Array, Landmark, SizedPiece

__all__ = ["notch_layer", "notch_place"]

_BACK_MM = 0.001
"""A reader that goes square back from the cut line finds a notch this near its place."""
_BESIDE_MM = (0.0015, -0.0015, 0.0025, -0.0025)
"""Tried where the place itself is square to a vertex near it, and would be read as that."""


def notch_layer(mark: Landmark) -> str:
    """Return the layer whose word the notch's name begins with."""
    words = sorted(((word, layer) for layer, word in NOTCH_NAMES.items()), key=lambda w: -len(w[0]))
    return next((layer for word, layer in words if mark.name.startswith(f"{word}_")), NOTCH)


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
    across = squares([some.points for some in piece.edges], index, edge.turns)

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
