"""Measure a new outline against the old one: where it leaves it, how far, how to draw it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.record import EdgeChange, PieceChange
from propagate.geometry.polyline import arc_lengths, length, locate, locate_all, point_at, points_at
from propagate.pattern.model import SizedPiece
from propagate.report.units import Unit
from propagate.report.worksheet.value import Offset

__all__ = ["KEPT_MM", "OldAndNew"]

Array = npt.NDArray[np.float64]

KEPT_MM = 0.05
"""The old line stays where the new one lies this close to it: finer than a pencil line."""
_ROWS = 8
_STEPS_MM = (
    1.0,
    2.0,
    2.5,
    5.0,
    10.0,
    15.0,
    20.0,
    25.0,
    30.0,
    40.0,
    50.0,
    75.0,
    100.0,
    150.0,
    200.0,
)
_STEPS_IN = (0.125, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0)
_LOOK_MM = 0.5
_HALVINGS = 12
_ASIDE_MM = 1.0
"""Stretch over which the direction of the old line is taken."""


@dataclass(frozen=True, eq=False)
class OldAndNew:
    """A re-cut piece with its old outline, both in one frame.

    Attributes
    ----------
    now : SizedPiece
    change : PieceChange
        With the old outline, edge by edge.
    """

    now: SizedPiece
    change: PieceChange

    @cached_property
    def old_area(self) -> shapely.Geometry:
        """The piece as it was."""
        ring = np.concatenate([self.old(name)[:-1] for name in self.now.edge_names])
        return shapely.Polygon(ring)

    @cached_property
    def new_area(self) -> shapely.Geometry:
        """The piece as it is."""
        return shapely.Polygon(self.now.outline)

    def old(self, edge: str) -> Array:
        """(n, 2) points of an edge as it was, mm."""
        return np.asarray(self.change.before[edge], dtype=np.float64)

    def row(self, edge: str) -> EdgeChange:
        """What the record says of an edge."""
        return next(row for row in self.change.edges if row.edge == edge)

    def widest_trimmed(self, edge: str) -> float:
        """Distance along the old edge of the point that lies farthest outside the new piece."""
        old = self.old(edge)
        gaps = shapely.distance(shapely.points(old), self.new_area)
        return float(arc_lengths(old)[int(gaps.argmax())])

    def widest_added(self, edge: str) -> float:
        """Distance along the old edge of the place where most paper is added."""
        new = self.now.edge(edge).points
        gaps = shapely.distance(shapely.points(new), self.old_area)
        return locate(self.old(edge), new[int(gaps.argmax())])[0]

    def kept(self, edge: str) -> tuple[float, float]:
        """How far the old edge stays, from its start and from its end, mm."""
        if edge not in self._kept:
            self._kept[edge] = self._measure_kept(edge)
        return self._kept[edge]

    @cached_property
    def _kept(self) -> dict[str, tuple[float, float]]:
        return {}

    def _measure_kept(self, edge: str) -> tuple[float, float]:
        old, new = self.old(edge), self.now.edge(edge).points
        total = length(old)
        start, end = self._kept_from(old, new), self._kept_from(old[::-1], new[::-1])
        return (start, end) if start + end < total else (total, 0.0)

    @staticmethod
    def _kept_from(old: Array, new: Array) -> float:
        if np.hypot(*(old[0] - new[0])) > KEPT_MM:
            return 0.0
        total = length(old)
        places = np.linspace(0.0, total, max(int(total / _LOOK_MM), 1) + 1)
        _, gaps = locate_all(new, points_at(old, places))
        off = np.flatnonzero(gaps > KEPT_MM)
        if not len(off):
            return total
        low, high = float(places[off[0] - 1]), float(places[off[0]])
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            near = locate(new, point_at(old, middle))[1] <= KEPT_MM
            low, high = (middle, high) if near else (low, middle)
        return low

    def offsets(self, edge: str, unit: Unit, *, from_end: bool) -> tuple[Offset, ...]:
        """At most eight points of the new line, at round distances along the old one.

        Each lies square to the old line.  Places where the square line misses the new edge
        (beyond a corner that moved) are left out; the corner has measures of its own.
        """
        old = self.old(edge)
        new = shapely.LineString(self.now.edge(edge).points)
        total = length(old)
        kept = self.kept(edge)
        first, last = (kept[1], total - kept[0]) if from_end else (kept[0], total - kept[1])
        row = self.row(edge)
        reach = 3.0 * max(row.added_mm, row.trimmed_mm) + 5.0
        found = []
        for along in _round_places(first, last, unit):
            at = total - along if from_end else along
            out = _square(old, at, new, reach)
            if out is not None:
                found.append(Offset(along, out))
        return tuple(found)

    def corner(self, index: int) -> tuple[Array, Array]:
        """Old and new place of the corner where edge `index` ends."""
        edge = self.now.edges[index]
        return self.old(edge.name)[-1], edge.points[-1]


def _round_places(first: float, last: float, unit: Unit) -> list[float]:
    steps = [s * unit.mm for s in (_STEPS_IN if unit.name == "in" else _STEPS_MM)]
    span = last - first
    step = next((s for s in steps if span / s <= _ROWS - 1), span / (_ROWS - 1))
    if step <= 0.0:
        return []
    count = np.arange(np.ceil(first / step - 1e-9), np.floor(last / step + 1e-9) + 1)
    return [abs(float(i * step)) for i in count[:_ROWS]]


def _square(old: Array, at: float, new: shapely.LineString, reach: float) -> float | None:
    """Signed distance from the old line to the new one, square to the old; out is positive."""
    point = point_at(old, at)
    ahead = point_at(old, min(at + _ASIDE_MM, length(old)))
    along = ahead - point_at(old, max(at - _ASIDE_MM, 0.0))
    size = float(np.hypot(*along))
    if size == 0.0:
        return None
    out = np.array([along[1], -along[0]]) / size
    probe = shapely.LineString([point - out * reach, point + out * reach])
    hit = probe.intersection(new)
    places = [float((xy - point) @ out) for xy in shapely.get_coordinates(hit)]
    if not places:
        gap = new.distance(shapely.Point(point))
        return 0.0 if gap <= KEPT_MM else None
    return min(places, key=abs)
