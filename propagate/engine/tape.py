"""Tape pieces together as sewn: the silhouette of an assembly.

The frame of a silhouette is its lead piece's.  A plain piece is a silhouette of its
own.  Split lines (the opening, a yoke seam) are kept as the joints between the
segments of an edge.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from propagate.errors import PartsApart
from propagate.geometry.motion import IDENTITY, Motion, fit
from propagate.geometry.polyline import arc_lengths, join
from propagate.pattern.model import Edge, SizedPiece, frozen_points
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Assembly, Run, Span
from propagate.pattern.spans import span_ends, span_points
from propagate.tolerances import SAME_POINT_MM, WALK_MM
from propagate.values import dataclass

__all__ = ["Segment", "Silhouette", "edge_from_parts", "tape", "tape_pieces"]

Array = npt.NDArray[np.float64]

_TAPED: WeakKeyDictionary[PatternSet, dict[tuple[str, str], Silhouette]] = WeakKeyDictionary()
"""Sets are immutable, so each silhouette is taped once; it goes when its set goes."""


@dataclass(frozen=True)
class Segment:
    """A span as it lies on a silhouette edge.

    Attributes
    ----------
    span : Span
    on_piece : (begin, end)
        Distances along the piece's edge, mm.
    on_edge : (begin, end)
        Distances along the silhouette edge, mm; begin < end.
    """

    span: Span
    on_piece: tuple[float, float]
    on_edge: tuple[float, float]


@dataclass(frozen=True)
class Silhouette:
    """The outline of pieces taped together.

    Attributes
    ----------
    name : str
        Assembly or piece.
    lead : str
        Piece whose frame this is.
    edges : tuple of Edge
        Closed, counter-clockwise.
    segments : mapping of edge name to its segments, in edge order
    motions : mapping of piece name to the motion from its frame into this one
    sized : mapping of piece name to the sized piece that was taped
    residual : float
        Largest distance left between taped landmarks, mm.
    """

    name: str
    lead: str
    edges: tuple[Edge, ...]
    segments: Mapping[str, tuple[Segment, ...]]
    motions: Mapping[str, Motion]
    sized: Mapping[str, SizedPiece]
    residual: float = 0.0

    @cached_property
    def _index(self) -> dict[str, Edge]:
        return {edge.name: edge for edge in self.edges}

    def edge(self, name: str) -> Edge:
        """Return a silhouette edge by name (KeyError when unknown: sets are validated)."""
        return self._index[name]

    @property
    def base(self) -> SizedPiece:
        """The lead piece, whose grain and levels hold for the silhouette."""
        return self.sized[self.lead]

    @cached_property
    def outline(self) -> Array:
        """(n, 2) closed outline without the repeated last point, mm."""
        return frozen_points(np.concatenate([edge.points[:-1] for edge in self.edges]))

    @cached_property
    def _places(self) -> dict[tuple[str, str], tuple[str, float] | None]:
        return {}

    def place(self, piece: str, landmark: str) -> tuple[str, float] | None:
        """Silhouette edge and distance of a piece's landmark; None when inside."""
        key = (piece, landmark)
        if key not in self._places:
            self._places[key] = self._find_place(piece, landmark)
        return self._places[key]

    def _find_place(self, piece: str, landmark: str) -> tuple[str, float] | None:
        mark = self.sized[piece].landmark(landmark)
        for name, segments in self.segments.items():
            for segment in segments:
                if (segment.span.piece, segment.span.edge) != (piece, mark.edge):
                    continue
                along = self.sized[piece].distance(mark.edge, landmark)
                first, last = segment.on_piece
                if min(first, last) - 1e-3 <= along <= max(first, last) + 1e-3:
                    return name, segment.on_edge[0] + abs(along - first)
        return None


def tape(pattern: PatternSet, name: str, size: str) -> Silhouette:
    """Tape an assembly, or take a plain piece, in one size.

    Raises
    ------
    PartsApart
        When the parts do not meet the lead within the trade's walking tolerance.
    """
    known = _TAPED.setdefault(pattern, {})
    if (name, size) not in known:
        known[name, size] = tape_pieces(pattern, name, pattern.in_size(size), size)
    return known[name, size]


def tape_pieces(
    pattern: PatternSet, name: str, lookup: Callable[[str], SizedPiece], size: str
) -> Silhouette:
    """Tape an assembly of pieces as they stand, or take a plain piece.

    Parameters
    ----------
    pattern : PatternSet
        Tells of what the assembly is made.
    name : str
    lookup : callable
        Returns a piece by name.
    size : str
        Named in errors.

    Raises
    ------
    InvalidSet
        When the parts do not meet the lead within the trade's walking tolerance.
    """
    assembly = pattern.relations.assemblies.get(name)
    if assembly is None:
        piece = lookup(name)
        whole = {
            edge.name: (Segment(Span(name, edge.name), (0.0, edge.length), (0.0, edge.length)),)
            for edge in piece.edges
        }
        return Silhouette(name, name, piece.edges, whole, {name: IDENTITY}, {name: piece})
    lead = lookup(assembly.lead)
    sized = {assembly.lead: lead}
    motions = {assembly.lead: IDENTITY}
    residual = 0.0
    for part in assembly.parts:
        sized[part.piece] = lookup(part.piece)
        source = [sized[part.piece].landmark(own).point for own, _ in part.put]
        target = [lead.landmark(theirs).point for _, theirs in part.put]
        motions[part.piece], left = fit(source, target, face_down=part.face_down)
        residual = max(residual, left)
    if residual > WALK_MM:
        raise PartsApart(
            pattern.name,
            f"assembly '{name}', size '{size}': the parts miss the lead's landmarks by "
            f"{residual:.2f} mm, expected at most {WALK_MM} mm{_tell_apart(assembly, sized)}",
            "correct the landmarks in 'put', or the drawing of this size where others fit",
        )
    edges: list[Edge] = []
    segments: dict[str, tuple[Segment, ...]] = {}
    for edge_name, run in assembly.edges.items():
        edge, segments[edge_name] = _join_run(edge_name, run, sized, motions, assembly.lead)
        edges.append(edge)
    return Silhouette(
        name, assembly.lead, _close_corners(edges), segments, motions, sized, residual
    )


def _tell_apart(assembly: Assembly, sized: Mapping[str, SizedPiece]) -> str:
    """How far apart the first two landmarks of each part are on the part and on the lead."""
    said = []
    for part in assembly.parts:
        (own, theirs), (own_2, theirs_2) = part.put[:2]
        distances = [
            float(np.hypot(*np.subtract(piece.landmark(a).point, piece.landmark(b).point)))
            for piece, a, b in (
                (sized[part.piece], own, own_2),
                (sized[assembly.lead], theirs, theirs_2),
            )
        ]
        said.append(
            f"; '{own}' and '{own_2}' are {distances[0]:.1f} mm apart on '{part.piece}', "
            f"'{theirs}' and '{theirs_2}' {distances[1]:.1f} mm on '{assembly.lead}'"
        )
    return "".join(said)


def _join_run(
    name: str, run: Run, sized: Mapping[str, SizedPiece], motions: Mapping[str, Motion], lead: str
) -> tuple[Edge, tuple[Segment, ...]]:
    parts: list[Array] = []
    turns, before = [], ""
    for span in run:
        piece = sized[span.piece]
        edge = piece.edge(span.edge)
        points = motions[span.piece].apply(span_points(piece, span))
        if parts and span.piece == lead and before != lead:
            # The lead has the joint digit for digit: it may lie where nothing else changes.
            parts[-1] = _start_at_joint(points[0], parts[-1][::-1])[::-1].copy()
            parts[-1][-1] = points[0]
        elif parts:
            points = _start_at_joint(parts[-1][-1], points)
        parts.append(points)
        before = span.piece
        turns.append(motions[span.piece].apply(edge.points[list(edge.turns)]).reshape(-1, 2))
    segments, done = [], 0.0
    for span, part in zip(run, parts, strict=True):
        # Where a part misses its joint by a little, the edge is as long as it was drawn to it.
        length = float(arc_lengths(part)[-1])
        segments.append(Segment(span, span_ends(sized[span.piece], span), (done, done + length)))
        done += length
    return edge_from_parts(name, parts, np.vstack(turns)), tuple(segments)


def _start_at_joint(joint: Array, points: Array) -> Array:
    """A part without the vertices that would lead back over the joint where it misses it.

    Parts laid by least squares may miss the joint by a little; the lead has it, else the part
    before it.  A vertex not farther along than the part misses by lies beside the joint or
    behind it, and one at twice that is turned by 30 degrees at most.
    """
    missed = float(np.hypot(*(points[0] - joint)))
    if missed <= SAME_POINT_MM:
        return points
    clear = arc_lengths(points) > 2.0 * missed
    clear[[0, -1]] = True
    return np.asarray(points[clear])


def edge_from_parts(name: str, parts: list[Array], turn_points: Array | None = None) -> Edge:
    """Join parts into an edge; vertices equal to `turn_points` become its turn points.

    Examples
    --------
    >>> edge_from_parts("side", [np.array([[0.0, 0.0], [1.0, 0.0]])]).length
    1.0
    """
    points = join(parts) if len(parts) > 1 else parts[0]
    turns: tuple[int, ...] = ()
    if turn_points is not None and len(turn_points):
        inner = points[1:-1]
        near = (np.abs(inner[:, None, k] - turn_points[:, k]) <= SAME_POINT_MM for k in (0, 1))
        turns = tuple((np.flatnonzero(np.logical_and(*near).any(axis=1)) + 1).tolist())
    return Edge(name, frozen_points(points), turns)


def _close_corners(edges: list[Edge]) -> tuple[Edge, ...]:
    """Give neighbours the very same corner points (taping leaves the last digit open)."""
    closed = []
    for before, edge in zip([edges[-1], *edges[:-1]], edges, strict=True):
        corner = before.points[-1]
        if (edge.points[0] != corner).any():
            points = edge.points.copy()
            points[0] = corner
            edge = Edge(edge.name, frozen_points(points), edge.turns)
        closed.append(edge)
    return tuple(closed)
