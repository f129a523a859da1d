"""What is set on a piece: a patch pocket, a flap, a label. Its place is marked on the piece.

The place keeps its shape and its distances from edges of the piece.
"""

from __future__ import annotations

from dataclasses import field

import numpy as np

from propagate.geometry.polyline import locate_all
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.told import told
from propagate.values import dataclass

__all__ = ["Patch", "nearest_edges", "place_points"]


@dataclass(frozen=True)
class Patch:
    """A piece that is set on another one, such as a patch pocket, a flap or a label."""

    name: str = field(metadata=told("name", "what the place is called"))
    on: str = field(metadata=told("text", "the main piece, on which the place is marked"))
    lines: tuple[str, ...] = field(
        metadata=told("texts", "internal lines of the main piece that mark it")
    )
    drills: tuple[str, ...] = field(
        default=(), metadata=told("texts", "drill marks of the main piece that belong to it")
    )
    edges: tuple[str, ...] = field(
        default=(),
        metadata=told(
            "texts",
            "one or two edges of the main piece from which it is measured: it keeps its distance "
            "and its slope to the first, and its distance from the second, else from the nearer "
            "end of the first; the two nearest edges when nothing is said",
            key="from",
        ),
    )
    piece: str | None = field(
        default=None,
        metadata=told("text", "the piece that is set on; the place is taken in the size it has"),
    )


def place_points(piece: SizedPiece, patch: Patch) -> Array:
    """(n, 2) points of the place, lines first and drill marks after them, as `patch` lists them."""
    lines = {line.name: line.points for line in piece.lines}
    drills = {mark.name: mark.point for mark in piece.drills}
    return np.vstack(
        [*(lines[name] for name in patch.lines), *([drills[name]] for name in patch.drills)]
    )


def nearest_edges(piece: SizedPiece, points: Array) -> tuple[str, ...]:
    """The two edges of a piece that are nearest to something inside it."""
    near = {edge.name: float(locate_all(edge.points, points)[1].min()) for edge in piece.edges}
    return tuple(sorted(near, key=lambda name: (near[name], name))[:2])
