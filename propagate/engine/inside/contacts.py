"""What the ends of an inner line rest on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

import numpy as np

from propagate.engine.inside.outline_move import named_points
from propagate.geometry.arrays import Array
from propagate.geometry.polyline import locate
from propagate.pattern.model import SizedPiece
from propagate.values import dataclass

__all__ = ["ON_MM", "Contact", "contacts_of"]

Kind = Literal["point", "edge", "line", "free"]

ON_MM = 0.1
"""What was drawn this close to a line was drawn on it."""


@dataclass(frozen=True)
class Contact:
    """What one end of an inner line rests on.

    Attributes
    ----------
    kind : "point", "edge", "line" or "free"
        A corner, a landmark or the tip of a dart; an edge elsewhere; another inner line; nothing.
    name : str
        Of that.
    at : float
        Distance along the edge, mm.
    gap : float
        How far off it was drawn, mm.
    """

    kind: Kind
    name: str = ""
    at: float = 0.0
    gap: float = 0.0


def contacts_of(
    piece: SizedPiece, points: Array, others: Mapping[str, Array]
) -> tuple[Contact, Contact]:
    """Tell what both ends of a line of a piece rest on; `others` are its other inner lines."""
    named = named_points(piece)
    names, places = list(named), np.array(list(named.values()))

    def contact(end: Array) -> Contact:
        away = np.hypot(*(places - end).T)
        nearest = int(away.argmin())
        if away[nearest] <= ON_MM:
            return Contact("point", names[nearest], gap=float(away[nearest]))
        edges = {edge.name: edge.points for edge in piece.edges}
        return (
            _find_contact(edges, end, "edge")
            or _find_contact(others, end, "line")
            or Contact("free")
        )

    return contact(points[0]), contact(points[-1])


def _find_contact(lines: Mapping[str, Array], end: Array, kind: Kind) -> Contact | None:
    """Find the nearest of some lines, when the end was drawn on it."""
    found = [(*locate(line, end)[::-1], name) for name, line in lines.items()]
    gap, at, name = min(found, default=(np.inf, 0.0, ""))
    return Contact(kind, name, at, gap) if gap <= ON_MM else None
