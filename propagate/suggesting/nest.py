"""Measure every edge of a set once, in all sizes: lengths, places, corners, shapes."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from propagate.geometry.corner import signed_area
from propagate.geometry.polyline import between, point_at
from propagate.geometry.profile import tangent_profile
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span
from propagate.pattern.spans import dart_mouths, span_length
from propagate.values import dataclass

__all__ = ["EdgeMeasure", "Nest", "Place", "measure_lean", "measure_nest"]

Array = npt.NDArray[np.float64]
Place = tuple[str, str | int]
"""A piece with the number of a corner, or with a landmark."""

MOST_ENDS = 64
"""Marks of one edge that may end a run; a long zip tape or a pleated waist has fewer."""


@dataclass(frozen=True)
class EdgeMeasure:
    """An edge in all sizes.

    Attributes
    ----------
    piece, edge : str
    lengths : (sizes,) array
        With darts closed, mm.
    marks : mapping of landmark name to (sizes,) array
        Distance from the edge's start with darts closed, mm; dart legs left out.
    notches : frozenset of str
        Those of `marks` that are notches.
    profile : (SAMPLES,) array
        Direction along the edge in the base size, darts closed, about its mean, degrees.
    """

    piece: str
    edge: str
    lengths: Array
    marks: Mapping[str, Array]
    notches: frozenset[str]
    profile: Array

    @property
    def key(self) -> str:
        """``PIECE.EDGE``."""
        return f"{self.piece}.{self.edge}"

    @property
    def crowded(self) -> bool:
        """So many marks that no part between them is compared, for its square would be."""
        return len(self.marks) > MOST_ENDS

    def place(self, mark: str) -> Array:
        """(sizes,) distances of one of its ends, or of a landmark, from its start, mm."""
        if mark == "start":
            return np.zeros_like(self.lengths)
        return self.lengths if mark == "end" else self.marks[mark]


@dataclass(frozen=True)
class Nest:
    """All edges of a set, measured.

    Attributes
    ----------
    pattern : PatternSet
    look : tuple of str
        The sizes in which angles and motions are judged: first, base and last.
    base : int
        Index of the base size among the sizes.
    edges : mapping of ``PIECE.EDGE`` to EdgeMeasure
    corners : mapping of (piece, i) to (looks,) array
        Interior angle where edge i ends and the next one starts, degrees.
    area : mapping of piece name to mm^2, in the base size
    """

    pattern: PatternSet
    look: tuple[str, ...]
    base: int
    edges: Mapping[str, EdgeMeasure]
    corners: Mapping[tuple[str, int], Array]
    area: Mapping[str, float]

    def in_base(self, piece: str) -> SizedPiece:
        """Return a piece in the base size."""
        return self.pattern.sized(piece, self.pattern.base)

    def outline_names(self, piece: str) -> tuple[str, ...]:
        """Names of a piece's edges in outline order."""
        return self.in_base(piece).edge_names

    def is_fold(self, key: str) -> bool:
        """Tell whether ``PIECE.EDGE`` lies on the fold of the cloth."""
        edge = self.edges[key]
        info = self.pattern.info.get(edge.piece)
        return info is not None and info.fold == edge.edge

    def beside(self, edge: EdgeMeasure) -> tuple[EdgeMeasure, EdgeMeasure]:
        """The edges before and after another in the outline."""
        names = self.outline_names(edge.piece)
        i = names.index(edge.edge)
        before, after = names[i - 1], names[(i + 1) % len(names)]
        return self.edges[f"{edge.piece}.{before}"], self.edges[f"{edge.piece}.{after}"]

    def corner(self, piece: str, edge: str, *, at_start: bool) -> Array:
        """(looks,) interior angles at an end of an edge, degrees."""
        names = self.outline_names(piece)
        index = names.index(edge)
        return self.corners[piece, (index - 1) % len(names) if at_start else index]

    def off_square(self, piece: str, edge: str, *, at_start: bool) -> float:
        """How far the corner at an end of an edge is from square, at worst, degrees."""
        return float(np.abs(self.corner(piece, edge, at_start=at_start) - 90.0).max())

    def end_of(self, span: Span, *, at_begin: bool) -> Place:
        """The corner or landmark at an end of a span."""
        mark = span.begin if at_begin else span.end
        if mark not in ("start", "end"):
            return span.piece, mark
        names = self.outline_names(span.piece)
        index = names.index(span.edge)
        return span.piece, (index - 1) % len(names) if mark == "start" else index


def measure_lean(points: Array, grain: Array) -> float:
    """How far a line goes along the grain: the cosine of the angle of its chord."""
    chord = points[-1] - points[0]
    return abs(float(chord @ grain)) / max(float(np.hypot(*chord)), 1e-9)


def _close_darts(sized: SizedPiece, edge: str) -> Array:
    """The line of an edge as it is sewn: what lies behind a dart is turned about its tip."""
    points, stop = sized.edge(edge).points, sized.edge(edge).length
    closed = np.empty((0, 2))
    own = [dart for dart in sized.darts if dart.edge == edge]
    tips = {sized.distance(edge, dart.legs[0]): dart.tip for dart in own}
    for low, high in reversed(dart_mouths(sized, edge)):
        tip = np.array(tips[low] if low in tips else tips[high])
        behind = np.concatenate([between(points, high, stop), closed[1:]])
        (x, y), (u, v) = (point_at(points, at) - tip for at in (high, low))
        angle = float(np.arctan2(x * v - y * u, x * u + y * v))
        turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        closed, stop = (behind - tip) @ turn + tip, low
    return np.concatenate([between(points, 0.0, stop), closed[1:]]) if len(closed) else points


def measure_nest(pattern: PatternSet) -> Nest:
    """Measure every edge of a set in all sizes."""
    look = tuple(dict.fromkeys((pattern.sizes[0], pattern.base, pattern.sizes[-1])))
    edges: dict[str, EdgeMeasure] = {}
    corners: dict[tuple[str, int], Array] = {}
    area: dict[str, float] = {}
    for name in pattern.pieces:
        base = pattern.sized(name, pattern.base)
        nest = [pattern.sized(name, size) for size in pattern.sizes]
        for edge_name in base.edge_names:
            listed = [mark for mark in base.landmarks_on(edge_name) if mark.kind != "dart leg"]
            marks = {
                mark.name: np.array(
                    [
                        span_length(sized, Span(name, edge_name, "start", mark.name))
                        for sized in nest
                    ]
                )
                for mark in listed
            }
            edges[f"{name}.{edge_name}"] = EdgeMeasure(
                name,
                edge_name,
                np.array([span_length(sized, Span(name, edge_name)) for sized in nest]),
                marks,
                frozenset(mark.name for mark in listed if mark.kind == "notch"),
                tangent_profile(_close_darts(base, edge_name)),
            )
        outlines = [pattern.sized(name, size).edges for size in look]
        for index in range(len(base.edges)):
            corners[name, index] = np.array(
                [own[index].angle_to(own[(index + 1) % len(own)]) for own in outlines]
            )
        area[name] = abs(signed_area(base.outline))
    return Nest(pattern, look, pattern.sizes.index(pattern.base), edges, corners, area)
