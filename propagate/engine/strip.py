"""Strips (stand, collar, cuff, band): one displacement serves both of their long sides.

A strip is lengthened or shortened between marks along one long side.  The chords of that side
are stretched in each zone, their directions kept, so a shaped strip keeps its curvature as far
as the length allows.  Everything across from a place moves as the place does: the width stays
everywhere, and the short ends, with whatever lies beyond the last mark, move without turning.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from propagate.engine.marks_on_lines import put_mark, put_mark_at
from propagate.engine.reshape import rounded, share_corners
from propagate.geometry.polyline import arc_lengths, as_pair, locate_all, nearest_point
from propagate.pattern.model import Edge, Mark, SizedPiece
from propagate.tolerances import RESTS_MM
from propagate.values import dataclass

__all__ = ["Strip", "StripField", "stretched_piece", "strip_field"]

Array = npt.NDArray[np.float64]

_LEAST_MM = 1.0
"""A zone of which less lies clear of the ends is stretched within an end all the same."""


@dataclass(frozen=True, eq=False)
class Strip:
    """A piece with two long sides.

    Attributes
    ----------
    piece : SizedPiece
    near, far : tuple of str
        Edges of each side, in the order of the outline.  Places along the strip are distances
        along the near side from its start, mm.
    """

    piece: SizedPiece
    near: tuple[str, ...]
    far: tuple[str, ...]

    @cached_property
    def line(self) -> Array:
        """(n, 2) vertices of the near side."""
        first, *others = (self.piece.edge(name).points for name in self.near)
        return np.vstack([first, *(points[1:] for points in others)])

    @cached_property
    def starts(self) -> dict[str, float]:
        """Place at which each edge of the near side begins, mm."""
        sizes = [self.piece.edge(name).length for name in self.near]
        return dict(zip(self.near, np.cumsum([0.0, *sizes]).tolist(), strict=False))

    @cached_property
    def body(self) -> tuple[float, float]:
        """The places clear of the short ends: from an end that slants in nothing is stretched."""
        whole = float(arc_lengths(self.line)[-1])
        names = self.piece.edge_names
        after, before = names.index(self.near[-1]) + 1, names.index(self.far[-1]) + 1
        ends = [self._end(after, self.far[0]), self._end(before, self.near[0])]
        high = min((float(self.places(points).min()) for points in ends[0]), default=whole)
        low = max((float(self.places(points).max()) for points in ends[1]), default=0.0)
        return (low, high) if high - low > whole / 2 else (0.0, whole)

    def _end(self, first: int, stop: str) -> list[Array]:
        """Edges from one index up to the next long side."""
        edges = self.piece.edges
        found: list[Array] = []
        while edges[first % len(edges)].name != stop:
            found.append(edges[first % len(edges)].points)
            first += 1
        return found

    def places(self, points: Array) -> Array:
        """Place along the strip across from each of some points, (n,) mm."""
        return locate_all(self.line, points)[0]

    def places_on(self, edge: str, points: Array) -> Array:
        """Places of points that lie on an edge, in its own direction, (n,) mm."""
        if edge not in self.starts:
            return self.places(points)
        return np.asarray(self.starts[edge] + arc_lengths(points))


@dataclass(frozen=True, eq=False)
class StripField:
    """The displacement along a strip.

    Attributes
    ----------
    path : (n,) array
        Places, mm.
    shift : (n, 2) array
        Displacement at each.
    new_path : (n,) array
        Where each comes to lie along the near side.
    """

    path: Array
    shift: Array
    new_path: Array

    def at(self, places: Array) -> Array:
        """Displacement at places, (m, 2) mm."""
        return np.column_stack([np.interp(places, self.path, self.shift[:, k]) for k in (0, 1)])


def strip_field(strip: Strip, marks: Array, gains: Array, stays: float = 0.0) -> StripField:
    """The displacement that makes the zones between marks longer.

    Parameters
    ----------
    strip : Strip
    marks : (k + 1,) array
        Places, ascending, mm.
    gains : (k,) array
        By how much each zone becomes longer, mm.
    stays : float
        The place that does not move.
    """
    arc = arc_lengths(strip.line)
    zones = [_clear_zone(strip, a, b) for a, b in pairwise(marks.tolist())]
    path = np.union1d(arc, np.clip(np.array(zones).ravel(), 0.0, arc[-1]))
    path = path[np.concatenate([[True], np.diff(path) > 1e-9])]
    points = np.column_stack([np.interp(path, arc, strip.line[:, k]) for k in (0, 1)])
    chords = np.diff(points, axis=0)
    middle = (path[1:] + path[:-1]) / 2
    share = np.zeros(len(middle))
    for (low, high), gain in zip(zones, gains.tolist(), strict=True):
        share[(middle > low) & (middle < high)] += gain / (high - low)
    shift = np.vstack([[0.0, 0.0], np.cumsum(chords * share[:, None], axis=0)])
    new_path = np.concatenate([[0.0], np.cumsum(np.diff(path) * (1.0 + share))])
    field = StripField(path, shift, new_path)
    return replace(field, shift=shift - field.at(np.array([stays])))


def _clear_zone(strip: Strip, low: float, high: float) -> tuple[float, float]:
    """The part of a zone that is stretched, mm."""
    first, last = np.clip((low, high), *strip.body).tolist()
    return (first, last) if last - first >= min(_LEAST_MM, high - low) else (low, high)


def stretched_piece(strip: Strip, field: StripField) -> SizedPiece:
    """The piece with the displacement put on: outline, landmarks, darts, lines and drill marks."""
    piece = strip.piece

    def moved(points: Array, shift: Array) -> Array:
        return np.where(shift == 0.0, points, rounded(points + shift))

    def carried(point: tuple[float, float]) -> tuple[float, float]:
        at = np.array([point])
        return as_pair(moved(at, field.at(strip.places(at)))[0])

    edges = []
    for edge in piece.edges:
        shift = field.at(strip.places_on(edge.name, edge.points))
        new = moved(edge.points, shift)
        edges.append(edge if not shift.any() else Edge(edge.name, new, edge.turns))
    new_piece = replace(
        piece,
        edges=share_corners(tuple(edges)),
        darts=tuple(replace(dart, tip=carried(dart.tip)) for dart in piece.darts),
        lines=tuple(
            replace(line, points=moved(line.points, field.at(strip.places(line.points))))
            for line in piece.lines
        ),
        drills=tuple(Mark(mark.name, carried(mark.point)) for mark in piece.drills),
    )
    marks = []
    for mark in piece.landmarks:
        edge, begin = new_piece.edge(mark.edge), strip.starts.get(mark.edge)
        if begin is None:  # where zones turn, the chord of another side leaves the displacement
            point = carried(mark.point)
            on_line = nearest_point(edge.points, point)
            off = float(np.hypot(*(on_line - point)))
            marks.append(put_mark_at(mark, point if off <= RESTS_MM else rounded(on_line)))
            continue
        # By distance on the near side, so that zone marks are exact.
        places = begin, begin + piece.distance(mark.edge, mark.name)
        if field.at(np.array(places[1:])).any():
            start, along = np.interp(places, field.path, field.new_path).tolist()
            mark = put_mark(mark, edge, along - start)
        marks.append(mark)
    return replace(new_piece, landmarks=tuple(marks))
