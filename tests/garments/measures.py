"""Measures of a result that share nothing with the engine: arc lengths, congruence, symmetry."""

from __future__ import annotations

import math

import numpy as np
import shapely

import propagate
from propagate import Amount, NamedEdit, PatternSet
from propagate.engine.truing import Corners
from propagate.pattern.model import SizedPiece
from tests.garments.drafts import Array, chord_length


def mm(amount: float) -> Amount:
    return Amount(mm=amount)


def edited(
    pattern: PatternSet,
    *edits: propagate.SizedEdit,
    sizes: tuple[str, ...] = ("M",),
    corners: Corners = "left",
) -> propagate.Revised:
    """A set after some edits; its corners are left, so that lengths are those that were asked."""
    named = [NamedEdit(f"edit {i}", edit) for i, edit in enumerate(edits)]
    return propagate.apply_edits(pattern, named, sizes=sizes, corners=corners)


def long(pattern: PatternSet, key: str, size: str = "M") -> float:
    """Length of ``PIECE.EDGE``."""
    piece, _, edge = key.partition(".")
    return chord_length(pattern.sized(piece, size).edge(edge).points)


def up_to(pattern: PatternSet, key: str, mark: str, size: str = "M") -> float:
    """Length of an edge from its start to a mark on it."""
    piece, _, edge = key.partition(".")
    sized = pattern.sized(piece, size)
    line = shapely.LineString(sized.edge(edge).points)
    return float(line.project(shapely.Point(sized.landmark(mark).point)))


def gains(old: PatternSet, new: PatternSet, size: str = "M") -> dict[str, float]:
    """By how much every edge of a set became longer, to a thousandth; what stayed is left out."""
    found = {}
    for piece in old.pieces:
        for edge in old.sized(piece, size).edge_names:
            key = f"{piece}.{edge}"
            gain = long(new, key, size) - long(old, key, size)
            if abs(gain) > 5e-4:
                found[key] = round(gain, 3)
    return found


def misses(pattern: PatternSet, size: str = "M") -> dict[str, float]:
    """How far the two sides of every seam are from equally long, by the spans of the seam."""
    found = {}
    for name, seam in pattern.relations.seams.items():
        if seam.mirror:
            continue
        sides = [
            sum(
                abs(_at(pattern, s.key, s.end, size) - _at(pattern, s.key, s.begin, size))
                for s in run
            )
            for run in (seam.lead, seam.follow)
        ]
        found[name] = abs(sides[0] - sides[1])
    return found


def _at(pattern: PatternSet, key: str, mark: str, size: str) -> float:
    if mark in ("start", "end"):
        return 0.0 if mark == "start" else long(pattern, key, size)
    return up_to(pattern, key, mark, size)


def _aligned(piece: SizedPiece, by: tuple[Array, Array], face_down: bool) -> shapely.Polygon:
    """A piece in a frame of its own: one point at the origin, another on the x axis."""
    points = piece.outline - by[0]
    way = by[1] - by[0]
    turn = -math.atan2(way[1], way[0])
    lean = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    laid = points @ lean.T
    return shapely.Polygon(laid * (1.0, -1.0) if face_down else laid)


def area_apart(one: SizedPiece, other: SizedPiece, edge: str, *, face_down: bool = False) -> float:
    """mm² that two pieces do not share when an edge of each is laid end on end."""
    first, second = one.edge(edge).points, other.edge(edge).points
    second = second[::-1] if face_down else second
    a = _aligned(one, (first[0], first[-1]), False)
    b = _aligned(other, (second[0], second[-1]), face_down)
    return float(a.symmetric_difference(b).area)


def area_unmirrored(piece: SizedPiece, x: float = 0.0) -> float:
    """mm² by which a piece differs from its mirror image about an upright line."""
    shape = shapely.Polygon(piece.outline - (x, 0.0))
    other = shapely.Polygon((piece.outline - (x, 0.0)) * (-1.0, 1.0))
    return float(shape.symmetric_difference(other).area)
