"""Measure a new outline against the old one: where it leaves it, how far, how to draw it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.compare import LOOK_MM
from propagate.engine.record import EdgeChange, PieceChange
from propagate.geometry.polyline import (
    arc_lengths,
    between,
    close_points,
    length,
    locate,
    locate_all,
    point_at,
    points_at,
)
from propagate.pattern.model import SizedPiece
from propagate.report.units import PENCIL_MM, Unit
from propagate.report.worksheet.old_line import OldLine
from propagate.report.worksheet.rows import Place, RowMaker, Table, table_rows
from propagate.report.worksheet.value import At, Offset
from propagate.values import dataclass

__all__ = ["KEPT_LEAST_MM", "OldAndNew"]

Array = npt.NDArray[np.float64]

_KEPT_MM = 0.1
"""The old line stays where the new one lies this close to it: half a pencil line."""
KEPT_LEAST_MM = 5.0
"""A part at an end that stays is told from here on."""
_MIDDLE_MM = 20.0
"""A part in the middle that stays is told from here on; a shorter one is a crossing."""
_MORE_ROWS = 3
"""So many rows more than from a straight line are worth staying with the old line."""
_RESTS_MM = 1e-6
_LOOK_MM = 0.5
_HALVINGS = 12
_INNER_MM = 1.0
"""A corner inside an edge stays where the old line stays for so much around it."""
_LEG_DEG, _LEG_MM = 5.0, 3.0
"""An old line that turns by more at one place breaks there, as at a dart leg; its direction is
taken over that stretch on either side."""
_CORNER_DEG, _CORNER_MM = 20.0, 1.0
"""The same for a corner inside an edge; a rounding of 3 mm and more is none."""
_ALIKE_DEG = 45.0
"""An old and a new corner turn alike within this."""


@dataclass(frozen=True, eq=False)
class OldAndNew:
    """A re-cut piece with its old outline, both in one frame.

    Attributes
    ----------
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

    @property
    def _changed(self) -> list[str]:
        return [row.edge for row in self.change.edges if row.status != "same"]

    def widest_trimmed(self, edge: str) -> float:
        """Distance along the old edge of the point that lies farthest outside the new piece."""
        old = close_points(self.old(edge), LOOK_MM)
        gaps = shapely.distance(shapely.points(old), self.new_area)
        return float(arc_lengths(old)[int(gaps.argmax())])

    def widest_added(self, edge: str) -> float:
        """Distance along the old edge of the place where most paper is added."""
        new = close_points(self.now.edge(edge).points, LOOK_MM)
        gaps = shapely.distance(shapely.points(new), self.old_area)
        return locate(self.old(edge), new[int(gaps.argmax())])[0]

    @cached_property
    def kept(self) -> Mapping[str, tuple[float, float]]:
        """How far each changed edge stays, from its start and from its end, mm."""
        found = {}
        for edge in self._changed:
            old, new = self.old(edge), self.now.edge(edge).points
            start, end = self._kept_from(old, new), self._kept_from(old[::-1], new[::-1])
            total = length(old)
            found[edge] = (start, end) if start + end < total else (total, 0.0)
        return found

    @staticmethod
    def _kept_from(old: Array, new: Array) -> float:
        if np.hypot(*(old[0] - new[0])) > _KEPT_MM:
            return 0.0
        total = length(old)
        places = np.linspace(0.0, total, max(int(total / _LOOK_MM), 1) + 1)
        _, gaps = locate_all(new, points_at(old, places))
        off = np.flatnonzero(gaps > _KEPT_MM)
        if not len(off):
            return total
        return OldAndNew._leaves(old, new, float(places[off[0] - 1]), float(places[off[0]]))

    @staticmethod
    def _leaves(old: Array, new: Array, near: float, far: float) -> float:
        """Where the new line leaves the old one, between a place that is near it and one off it."""
        for _ in range(_HALVINGS):
            middle = (near + far) / 2
            stays = locate(new, point_at(old, middle))[1] <= _KEPT_MM
            near, far = (middle, far) if stays else (near, middle)
        return near

    @cached_property
    def between(self) -> Mapping[str, tuple[tuple[float, float], ...]]:
        """Parts of each changed edge that stay beside those at its ends, from its start, mm."""
        return {edge: self._measure_between(edge) for edge in self._changed}

    def _measure_between(self, edge: str) -> tuple[tuple[float, float], ...]:
        old, new = self.old(edge), self.now.edge(edge).points
        total, kept = length(old), self.kept[edge]
        if kept[0] + kept[1] >= total - _KEPT_MM:
            return ()
        places = np.linspace(0.0, total, max(int(total / _LOOK_MM), 1) + 1)
        near = locate_all(new, points_at(old, places))[1] <= _KEPT_MM
        edges = np.flatnonzero(np.diff(np.concatenate([[False], near, [False]]).astype(int)))
        found = []
        for first, after in edges.reshape(-1, 2):
            begin, end = float(places[first]), float(places[after - 1])
            if begin < kept[0] or end > total - kept[1]:
                continue
            if first:
                begin = self._leaves(old, new, begin, float(places[first - 1]))
            if after < len(places):
                end = self._leaves(old, new, end, float(places[after]))
            if end - begin >= _MIDDLE_MM:
                found.append((begin, end))
        return tuple(found)

    def rows(self, edge: str, unit: Unit, *, from_end: bool) -> tuple[Offset, ...]:
        """Points of the new line, measured from the old one; see `table_rows`."""
        return self._table(edge, unit, from_end=from_end).rows

    def _table(self, edge: str, unit: Unit, *, from_end: bool) -> Table:
        makers = self._makers(edge, unit, from_end=from_end)
        stays = self._stays(edge, from_end=from_end)
        breaks = [*self._new_breaks(edge), *self._old_breaks(edge)]
        return table_rows([(maker, self._fixed(maker, stays, breaks)) for maker in makers])

    @staticmethod
    def _fixed(
        maker: RowMaker, stays: list[tuple[float, float]], breaks: list[tuple[At, Array]]
    ) -> list[Place]:
        """The rows of one stretch that it has in any case."""
        line, drawn = maker.old, maker.new
        parts = [(max(a, line.begin), min(b, line.end)) for a, b in stays]
        parts = [(a, b) for a, b in parts if b - a >= KEPT_LEAST_MM]
        fixed = []
        for last, part in ((0, parts[:1]), (1, parts[-1:])):
            unmoved = np.hypot(*(line.points[-last] - drawn[-last])) <= PENCIL_MM
            reaches = part and abs(part[0][last] - (line.begin, line.end)[last]) < _RESTS_MM
            if not (reaches and unmoved):
                fixed.append(maker.corner(last))
        for begin, end in parts:
            fixed += [replace(maker.stays(begin), kept=True), maker.stays(end)]
        own = [
            (at, xy)
            for at, xy in breaks
            if min(locate(points, xy)[1] for points in (line.points, drawn)) < _RESTS_MM
        ]
        return [*fixed, *maker.at_breaks(own, parts)]

    def chord_rows(self, edge: str, unit: Unit) -> tuple[Offset, ...] | None:
        """Points of the new line, measured from the straight line between its ends.

        None where rows from the old line tell it as well: a line that was moved far is not
        told square to where it was.
        """
        if self._stays(edge, from_end=False):
            return None
        makers = self._makers(edge, unit, from_end=False)
        if len(makers) > 1:
            return None
        table, maker = self._table(edge, unit, from_end=False), makers[0]
        breaks = self._new_breaks(edge)
        if table.tells and (breaks or self._old_breaks(edge)):
            return None
        ends = [maker.corner(end) for end in (0, 1)]
        drawn = OldLine(maker.printed(ends), 1.0)
        maker = replace(maker, old=self.chord(edge), drawn=drawn)
        fixed = [maker.corner(0), maker.corner(1), *maker.at_breaks(breaks)]
        straight = table_rows([(maker, fixed)])
        told = table.tells and len(table.rows) <= len(straight.rows) + _MORE_ROWS
        return None if told or not straight.tells else straight.rows[1:-1]

    def chord(self, edge: str) -> OldLine:
        """The straight line between the new ends of an edge, to measure from."""
        return OldLine(self.now.edge(edge).points[[0, -1]], 1.0)

    def old_lines(self, edge: str, *, from_end: bool) -> list[OldLine]:
        """An old edge to measure from, from its start or from its end: from corner to corner."""
        return [line for line, _ in self._stretches(edge, from_end=from_end)]

    def _stretches(self, edge: str, *, from_end: bool) -> list[tuple[OldLine, Array]]:
        """Old and new line between the corners that both have and that moved."""
        old, new = self.old(edge), self.now.edge(edge).points
        ends = [(a.along, b.along) for a, b in self._moved_corners(edge)]
        if from_end:
            old, new = old[::-1], new[::-1]
            ends = [(length(old) - a, length(new) - b) for a, b in reversed(ends)]
        side = -1.0 if from_end else 1.0
        if not ends:
            return [(OldLine(old, side), new)]
        cuts = [(0.0, 0.0), *ends, (length(old), length(new))]
        return [
            (OldLine(between(old, a, c), side, a), between(new, b, d))
            for (a, b), (c, d) in pairwise(cuts)
        ]

    def _moved_corners(self, edge: str) -> list[tuple[Turn, Turn]]:
        """Corners inside an edge, old and new, from which its rows are measured anew."""
        old, new = self._corners(edge)
        if not _same_corners(old, new):
            return []
        stays = self._stays(edge, from_end=False)
        return [
            (a, b)
            for a, b in zip(old, new, strict=True)
            if not any(
                begin < a.along - _INNER_MM and a.along + _INNER_MM < end for begin, end in stays
            )
        ]

    def _corners(self, edge: str) -> tuple[list[Turn], list[Turn]]:
        """Corners inside the old and the new edge; none where darts have legs in it."""
        if any(dart.edge == edge for dart in self.now.darts):
            return [], []
        return _corners_inside(self.old(edge)), _corners_inside(self.now.edge(edge).points)

    def _makers(self, edge: str, unit: Unit, *, from_end: bool) -> list[RowMaker]:
        """One for the rows of each stretch from corner to corner."""
        change = self.row(edge)
        reach = 3.0 * max(change.added_mm, change.trimmed_mm) + 5.0
        stretches = self._stretches(edge, from_end=from_end)
        return [RowMaker(line, new, unit, reach) for line, new in stretches]

    def _stays(self, edge: str, *, from_end: bool) -> list[tuple[float, float]]:
        """The stretches of the old line that stay, from where its rows are counted."""
        total = length(self.old(edge))
        kept = [(0.0, self.kept[edge][0]), *self.between[edge]]
        kept.append((total - self.kept[edge][1], total))
        stays = [(a, b) for a, b in kept if b - a >= KEPT_LEAST_MM]
        return [(total - b, total - a) for a, b in reversed(stays)] if from_end else stays

    def _new_breaks(self, edge: str) -> list[tuple[At, Array]]:
        """Where the new line breaks: at dart legs, turns and corners of its own."""
        now = self.now.edge(edge)
        legs = [leg for dart in self.now.darts if dart.edge == edge for leg in dart.legs]
        found: list[tuple[At, Array]] = [
            ("new leg", np.array(self.now.landmark(leg).point)) for leg in legs
        ]
        arc, moved = arc_lengths(now.points), [b.along for _, b in self._moved_corners(edge)]
        turns = [float(arc[i]) for i in now.turns]
        old, new = self._corners(edge)
        if not _same_corners(old, new):
            turns += [turn.along for turn in new]
        told: list[float] = list(moved)
        for along in turns:
            if all(abs(along - other) > _INNER_MM for other in told):
                told.append(along)
                found.append(("turn", point_at(now.points, along)))
        return found

    def _old_breaks(self, edge: str) -> list[tuple[At, Array]]:
        """Where the old line broke, at dart legs and at corners that the new one has not."""
        points, (old, new) = self.old(edge), self._corners(edge)
        if any(dart.edge == edge for dart in self.now.darts):
            return [("old leg", point_at(points, turn.along)) for turn in _legs_inside(points)]
        turns = [] if _same_corners(old, new) else old
        return [("turn", point_at(points, turn.along)) for turn in turns]


@dataclass(frozen=True)
class Turn:
    """A vertex at which a line turns: how far along it, mm; by how much, degrees to the left."""

    along: float
    degrees: float


def _legs_inside(points: Array) -> list[Turn]:
    """Return vertices at which the old line of an edge with darts breaks, one of each bend."""
    return _find_turns(points, _LEG_DEG, _LEG_MM)


def _corners_inside(points: Array) -> list[Turn]:
    """Return corners of a line (n, 2) apart from its ends."""
    return _find_turns(points, _CORNER_DEG, _CORNER_MM)


def _same_corners(old: list[Turn], new: list[Turn]) -> bool:
    """Tell whether two lines have the same corners, one after the other."""
    return len(old) == len(new) and all(
        abs(a.degrees - b.degrees) <= _ALIKE_DEG for a, b in zip(old, new, strict=True)
    )


def _find_turns(points: Array, degrees: float, stretch: float) -> list[Turn]:
    arc = arc_lengths(points)
    inner = arc[(arc > stretch) & (arc < arc[-1] - stretch)]
    if not len(inner):
        return []
    here = points_at(points, inner)
    behind = here - points_at(points, inner - stretch)
    ahead = points_at(points, inner + stretch) - here
    signed = np.degrees(
        np.arctan2(behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0], (behind * ahead).sum(1))
    )
    turned = np.abs(signed)
    found: list[Turn] = []
    for i in np.flatnonzero(turned > degrees):
        close = np.abs(inner - inner[i]) < 2 * stretch
        if turned[i] >= turned[close].max():
            found.append(Turn(float(inner[i]), float(signed[i])))
    return found
