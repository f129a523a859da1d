"""The pattern as immutable values: sets, pieces, sizes, edges and what is on them.

Glossary
--------
set
    All the pieces of one style in all sizes, with how they are joined.
piece
    One flat part; `Piece.nest` maps a size to the piece drawn in that size.
sized piece
    A piece in one size: a closed chain of named edges, counter-clockwise, in a
    frame of its own (any origin, any grain direction), in millimetres, y up.
edge
    A named stretch of the seam line between two corners.  It does not know what
    it is sewn to: relations do.
landmark
    A named place on an edge.  ``EDGE.start`` and ``EDGE.end`` always exist;
    notches, dart legs and plain marks are listed.
level
    A line square to the grain through a given point.

Nothing here reads files or knows relations.  Arrays are read-only.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field
from functools import cached_property
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.errors import UnknownName
from propagate.geometry.arrays import Array
from propagate.geometry.corner import angle_inside
from propagate.geometry.directions import alike_at, end_direction
from propagate.geometry.polyline import arc_lengths, locate, locate_all
from propagate.pattern.grain import Grain
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = [
    "Array",
    "Dart",
    "Edge",
    "InternalLine",
    "Label",
    "Landmark",
    "LandmarkKind",
    "Mark",
    "Piece",
    "Pleat",
    "SizedPiece",
    "frozen_points",
]

LandmarkKind = Literal["notch", "dart leg", "mark"]


def frozen_points(values: npt.ArrayLike) -> Array:
    """Return an (n, 2) float64 read-only copy of `values`."""
    points = np.array(values, dtype=np.float64, copy=True)
    if points.ndim != 2 or points.shape[1] != 2:
        points = points.reshape(-1, 2).copy()
    points.setflags(write=False)
    return points


@dataclass(frozen=True, eq=False)
class Edge:
    """A named stretch of the seam line.

    Attributes
    ----------
    name : str
    points : (n, 2) float64 array, read-only, mm
        At least two points, in the direction of the counter-clockwise outline.
    turns : tuple of int
        Indices of inner vertices that are turn points (corners inside the edge);
        every other inner vertex is a curve point.
    path : str or None
        Path data (``M L H V C S Q T A``) that the edge was authored with; kept so
        that an untouched edge is written back as authored.
    """

    name: str
    points: Array
    turns: tuple[int, ...] = ()
    path: str | None = None

    def __post_init__(self) -> None:
        if self.points.flags.writeable:
            object.__setattr__(self, "points", frozen_points(self.points))

    def __eq__(self, other: object) -> bool:
        """Two edges are equal when name, turn points, path and every digit are."""
        if not isinstance(other, Edge):
            return NotImplemented
        return self is other or (
            self.name == other.name
            and self.turns == other.turns
            and self.path == other.path
            and self.points.shape == other.points.shape
            and self.points.tobytes() == other.points.tobytes()
        )

    def __hash__(self) -> int:
        return hash((self.name, self.turns, self.points.tobytes()))

    @cached_property
    def arc(self) -> Array:
        """(n,) distance of each vertex from the start, mm."""
        return arc_lengths(self.points)

    @cached_property
    def ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """The places at which it starts and ends."""
        (a, b), (c, d) = self.points[[0, -1]].tolist()
        return (a, b), (c, d)

    @cached_property
    def length(self) -> float:
        """Length of the polyline, mm."""
        return float(self.arc[-1])

    @property
    def turn_points(self) -> Array:
        """(k, 2) its turn points, mm."""
        return self.points[list(self.turns)].reshape(-1, 2)

    @cached_property
    def backward(self) -> Array:
        """(n, 2) read-only points from its end to its start, mm."""
        return frozen_points(self.points[::-1])

    def reverse(self) -> Edge:
        """Return the same line from its end to its start, with its turn points."""
        last = len(self.points) - 1
        return Edge(self.name, self.points[::-1], tuple(last - turn for turn in self.turns[::-1]))

    @cached_property
    def leaving(self) -> float:
        """Direction of travel at its start, radians."""
        return end_direction(self.points, "start", turns=self.turns)

    @cached_property
    def arriving(self) -> float:
        """Direction of travel at its end, radians."""
        return end_direction(self.points, "end", turns=self.turns)

    def leaves_as(self, other: Edge) -> bool:
        """Whether its start is told by the same points as that of another, digit for digit."""
        return self is other or alike_at(
            self.points, other.points, "start", turns=(self.turns, other.turns)
        )

    def arrives_as(self, other: Edge) -> bool:
        """Whether its end is told by the same points as that of another, digit for digit."""
        return self is other or alike_at(
            self.points, other.points, "end", turns=(self.turns, other.turns)
        )

    def angle_to(self, following: Edge) -> float:
        """Angle inside the outline at the corner with the edge that follows it, degrees."""
        return angle_inside(self.arriving, following.leaving)


@dataclass(frozen=True)
class Landmark:
    """A named place on an edge; `point` lies on the edge within 0.01 mm."""

    name: str
    edge: str
    point: tuple[float, float]
    kind: LandmarkKind = "mark"


@dataclass(frozen=True)
class Dart:
    """A dart: two dart-leg landmarks on one edge and the tip inside the piece."""

    name: str
    edge: str
    legs: tuple[str, str]
    tip: tuple[float, float]


@dataclass(frozen=True)
class Pleat:
    """A pleat or tuck, a fold with parallel legs: landmarks on one edge that come to lie together.

    Attributes
    ----------
    edge : str
    marks : tuple of str
        Two: one is folded on to the other.  Three: the outer ones are folded on to the middle.
        Four: the outer two at each end are folded on to each other, a box.
    by_ratio : bool
        Whether its depth goes with the length of its edge, instead of staying.
    """

    edge: str
    marks: tuple[str, ...]
    by_ratio: bool = False

    @property
    def folds(self) -> tuple[tuple[int, int], ...]:
        """Of its marks in their order along the edge, those between which cloth is taken up."""
        return ((0, 1), (2, 3)) if len(self.marks) == 4 else ((0, len(self.marks) - 1),)


@dataclass(frozen=True, eq=False)
class InternalLine:
    """A line drawn inside the piece (welt line, fold line, stitching line)."""

    name: str
    points: Array

    def __post_init__(self) -> None:
        if self.points.flags.writeable:
            object.__setattr__(self, "points", frozen_points(self.points))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, InternalLine):
            return NotImplemented
        return (
            self.name == other.name
            and self.points.shape == other.points.shape
            and self.points.tobytes() == other.points.tobytes()
        )

    def __hash__(self) -> int:
        return hash((self.name, self.points.tobytes()))


@dataclass(frozen=True)
class Mark:
    """A drill mark inside the piece."""

    name: str
    point: tuple[float, float]


@dataclass(frozen=True)
class Label:
    """Where the piece's text sits: its middle and its angle in degrees."""

    point: tuple[float, float]
    angle: float = 0.0


@dataclass(frozen=True)
class SizedPiece:
    """A piece in one size.

    Attributes
    ----------
    edges : tuple of Edge
        Closed, counter-clockwise: each edge starts where the one before ends.
    landmarks, darts, lines, drills : tuples
    grain : Grain
    levels : mapping of level name to a point on that level, mm
    label : Label or None
    pleats : tuple of Pleat
        As the set's relations tell them; geometry files say nothing of them.
    """

    edges: tuple[Edge, ...]
    grain: Grain
    landmarks: tuple[Landmark, ...] = ()
    darts: tuple[Dart, ...] = ()
    lines: tuple[InternalLine, ...] = ()
    drills: tuple[Mark, ...] = ()
    levels: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    label: Label | None = None
    pleats: tuple[Pleat, ...] = ()

    @cached_property
    def _edge_index(self) -> dict[str, Edge]:
        return {edge.name: edge for edge in self.edges}

    @cached_property
    def _landmark_index(self) -> dict[str, Landmark]:
        return {mark.name: mark for mark in self.landmarks}

    @cached_property
    def edge_names(self) -> tuple[str, ...]:
        """Names of the edges in outline order."""
        return tuple(edge.name for edge in self.edges)

    def edge(self, name: str) -> Edge:
        """Return the edge called `name`; raises UnknownName."""
        try:
            return self._edge_index[name]
        except KeyError:
            raise UnknownName("edge", name, self.edge_names) from None

    @property
    def all_landmarks(self) -> list[str]:
        """Names of the landmarks, and of the ends of edges."""
        ends = (f"{edge}.{end}" for edge in self.edge_names for end in ("start", "end"))
        return [*self._landmark_index, *ends]

    def find_landmark(self, name: str) -> Landmark | None:
        """Return a landmark, also the implicit ``EDGE.start`` and ``EDGE.end``, if it exists."""
        found = self._landmark_index.get(name)
        if found is None:
            edge, _, end = name.rpartition(".")
            if end in ("start", "end") and edge in self._edge_index:
                return Landmark(name, edge, self._edge_index[edge].ends[end == "end"])
        return found

    def landmark(self, name: str) -> Landmark:
        """Return a landmark as `find_landmark` does; raises UnknownName."""
        found = self.find_landmark(name)
        if found is None:
            raise UnknownName("landmark", name, self.all_landmarks)
        return found

    def dart(self, name: str) -> Dart:
        """Return the dart called `name`; raises UnknownName."""
        for dart in self.darts:
            if dart.name == name:
                return dart
        raise UnknownName("dart", name, [dart.name for dart in self.darts])

    @cached_property
    def landmark_distances(self) -> Mapping[str, float]:
        """Distance of every listed landmark from the start of its edge, mm."""
        found: dict[str, float] = {}
        for edge in self.edges:
            marks = self.landmarks_on(edge.name)
            if marks:
                along, _ = locate_all(edge.points, np.array([m.point for m in marks]))
                found.update(zip((m.name for m in marks), along.tolist(), strict=True))
        return found

    def distance(self, edge: str, landmark: str) -> float:
        """Distance of a landmark from the start of `edge`, mm.

        ``start`` and ``end`` are the edge's own ends.  Raises UnknownName.
        """
        if landmark == "start":
            return 0.0
        if landmark == "end":
            return self.edge(edge).length
        listed = self._landmark_index.get(landmark)
        if listed is not None and listed.edge == edge:
            return self.landmark_distances[landmark]
        if landmark in (f"{edge}.start", f"{edge}.end"):
            return self.distance(edge, landmark.rpartition(".")[2])
        mark = self.landmark(landmark)
        along, gap = locate(self.edge(edge).points, mark.point)
        if gap > ON_LINE_MM:
            here = [m.name for m in self.landmarks_on(edge)]
            raise UnknownName("landmark", landmark, ["start", "end", *here], f"edge '{edge}'")
        return along

    def landmarks_on(self, edge: str) -> tuple[Landmark, ...]:
        """Return the listed landmarks of one edge, in the order they are listed."""
        return tuple(mark for mark in self.landmarks if mark.edge == edge)

    @cached_property
    def outline(self) -> Array:
        """(n, 2) closed outline without the repeated last point, mm."""
        return frozen_points(np.concatenate([edge.points[:-1] for edge in self.edges]))


@dataclass(frozen=True)
class Piece:
    """A piece in all its sizes.

    Attributes
    ----------
    name : str
    nest : mapping of size name to SizedPiece
    """

    name: str
    nest: Mapping[str, SizedPiece]

    def at(self, size: str) -> SizedPiece:
        """Return the piece in `size`; raises UnknownName."""
        try:
            return self.nest[size]
        except KeyError:
            raise UnknownName("size", size, list(self.nest), f"piece '{self.name}'") from None

    def __iter__(self) -> Iterator[str]:
        return iter(self.nest)
