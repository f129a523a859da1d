"""An old edge to measure from: along it, and square to it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from propagate.geometry.polyline import between, length, locate, point_at, points_at
from propagate.report.worksheet.value import Offset
from propagate.values import dataclass

__all__ = ["OldLine", "lines_of_rows"]

Array = npt.NDArray[np.float64]

_ASIDE_MM = 1.0
"""Stretch over which the direction of the old line is taken."""
_CLOSER = 16


@dataclass(frozen=True, eq=False)
class OldLine:
    """An old edge to measure from, run straight on beyond both ends.

    Attributes
    ----------
    points : (n, 2) array
        From the corner that the table counts from, mm.
    side : 1.0 or -1.0
        1.0 where the piece lies to the left of the points.
    begin : float
        Where it begins, in mm from the corner that the table counts from; distances along it
        are counted from that corner too.
    """

    points: Array
    side: float
    begin: float = 0.0

    @cached_property
    def total(self) -> float:
        """Length of the line, mm."""
        return length(self.points)

    @property
    def end(self) -> float:
        """Where it ends, counted as `begin` is, mm."""
        return self.begin + self.total

    def frame(self, along: float) -> tuple[Array, Array, Array]:
        """Point, direction and outward normal at a distance along the line."""
        along = along - self.begin
        inside = min(max(along, 0.0), self.total)
        ahead = point_at(self.points, min(inside + _ASIDE_MM, self.total))
        way = ahead - point_at(self.points, max(inside - _ASIDE_MM, 0.0))
        way = way / max(float(np.hypot(*way)), 1e-12)
        out = self.side * np.array([way[1], -way[0]])
        return point_at(self.points, inside) + (along - inside) * way, way, out

    def point(self, along: float, out: float) -> Array:
        """The point that a row tells of."""
        foot, _, normal = self.frame(along)
        return np.asarray(foot + out * normal)

    def spots(self, alongs: Array, outs: Array) -> Array:
        """The points (n, 2) that rows (n,) tell of."""
        alongs = alongs - self.begin
        inside = np.clip(alongs, 0.0, self.total)
        ahead = points_at(self.points, np.minimum(inside + _ASIDE_MM, self.total))
        way = ahead - points_at(self.points, np.maximum(inside - _ASIDE_MM, 0.0))
        way = way / np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-12)[:, None]
        out = self.side * np.column_stack([way[:, 1], -way[:, 0]])
        feet = points_at(self.points, inside) + (alongs - inside)[:, None] * way
        return np.asarray(feet + outs[:, None] * out)

    def measure(self, point: Array, *, half: int | None = None) -> tuple[float, float]:
        """Distance along the line and square to it; `half` looks at that half first, 0 or 1."""
        along = self.begin + self._nearest(point, half)
        best, least = along, np.inf
        for _ in range(_CLOSER):  # the direction of the line is that of a stretch, not of a point
            foot, way, _ = self.frame(along)
            step = float((point - foot) @ way)
            if abs(step) < least:
                best, least = along, abs(step)
            along += 0.7 * step
        foot, _, normal = self.frame(best)
        return best, float((point - foot) @ normal)

    def _nearest(self, point: Array, half: int | None) -> float:
        if half is not None:
            middle = self.total / 2
            first = middle * half
            along = first + locate(between(self.points, first, first + middle), point)[0]
            if abs(along - middle) > 1e-6:
                return along
        return locate(self.points, point)[0]

    def square(self, along: float, new: shapely.LineString, reach: float) -> list[float]:
        """Where the line square to this one meets the new one, nearest first; out is positive."""
        foot, _, out = self.frame(along)
        probe = shapely.LineString([foot - out * reach, foot + out * reach])
        hit = shapely.get_coordinates(probe.intersection(new))
        return sorted((float((xy - foot) @ out) for xy in hit), key=abs)


def lines_of_rows(lines: Sequence[OldLine], rows: Sequence[Offset]) -> Iterator[OldLine]:
    """Yield of each row the line that it is measured from: the next one after a turn."""
    number = 0
    for row in rows:
        number += row.at == "from turn"
        yield lines[number]
