"""What can be wrong with the drawn outlines of a set, found for all of them at once.

The points of every edge of every piece in every size are laid into one array, so that a
sound set is checked in a few vector operations; only a fault is looked at one by one.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import chain
from typing import Any

import numpy as np

from propagate.pattern.model import Array, Edge, SizedPiece
from propagate.tolerances import FARTHEST_MM, ON_LINE_MM, SAME_POINT_MM

__all__ = [
    "CLOSING_MM",
    "Drawn",
    "check_outlines",
]

CLOSING_MM = 0.001  # an edge must end this near to the next one's start
NO_AREA_MM2 = 1e-6

_PLACE = re.compile(r"\[(\S+) (\S+)\]")


@dataclass
class Drawn:
    """One piece in one size, with what was found wrong with it.

    Attributes
    ----------
    piece, size : str
    sized : SizedPiece
    problems : list of str
    sound : bool
        Its edges have points and every number is finite.
    low, high : (2,) arrays, mm
        The bounding box of its outline; only when sound.
    """

    piece: str
    size: str
    sized: SizedPiece
    problems: list[str] = field(default_factory=list)
    sound: bool = True
    low: Array = field(default_factory=lambda: np.zeros(2))
    high: Array = field(default_factory=lambda: np.zeros(2))

    def add(self, text: str, edge: str | None = None) -> None:
        """Note a problem, of one edge when it is given."""
        place = f"piece '{self.piece}', size '{self.size}'"
        if edge is not None:
            place += f", edge '{edge}'"
        self.problems.append(f"{place}: {text}")


def check_outlines(drawn: Sequence[Drawn]) -> None:
    """Note in each piece what is wrong with its outline and with points on its edges."""
    for item in drawn:
        if not item.sized.edges:
            item.add("found no edge, expected a closed chain of edges")
            item.sound = False
        for edge in item.sized.edges:
            if len(edge.points) < 2:
                item.add(f"found {len(edge.points)} point(s), expected at least 2", edge.name)
                item.sound = False
    _check_finite([item for item in drawn if item.sound])
    sound = [item for item in drawn if item.sound]
    if not sound:
        return
    flat = _Flat(sound)
    _check_lengths(flat)
    empty = np.flatnonzero(np.abs(flat.areas) <= NO_AREA_MM2).tolist()
    for index in empty:
        distinct = len(np.unique(sound[index].sized.outline, axis=0))
        what = f"{distinct} distinct points" if distinct < 3 else "an outline without area"
        sound[index].add(f"found {what}, expected at least 3 that enclose an area")
    ends, starts = flat.points[flat.last], flat.points[flat.first[flat.next_edge]]
    gaps = np.hypot(*(ends - starts).T)
    wrong = np.flatnonzero(gaps > CLOSING_MM)
    for index in wrong.tolist():
        following = flat.edges[flat.next_edge[index]].name
        flat.note(
            index,
            f"found its end at {_say_point(ends[index])}, {gaps[index]:.4g} mm from the start of "
            f"edge '{following}', expected the same place; close the outline",
        )
    crossed = _check_simple(flat, skip={*empty, *flat.owner[wrong].tolist()})
    for index in np.flatnonzero(flat.areas < -NO_AREA_MM2).tolist():
        if index not in crossed:  # one that crosses itself has no direction
            sound[index].add(
                "found the outline clockwise, expected counter-clockwise; "
                "reverse the edges and the points of each"
            )
    _check_landmarks(flat)


# ------------------------------------------------------------------------ before all else


def _check_finite(drawn: Sequence[Drawn]) -> None:
    """Find numbers that are none, or out of reach; a set without any is seen at once."""
    lines = [edge.points for item in drawn for edge in item.sized.edges]
    lines += [line.points for item in drawn for line in item.sized.lines]
    alone = [point for item in drawn for _, point in _single_points(item.sized)]
    every = np.concatenate([*lines, np.reshape(alone, (-1, 2))])
    for item in () if (np.abs(every) <= FARTHEST_MM).all() else drawn:
        for edge in item.sized.edges:
            near = np.abs(edge.points) <= FARTHEST_MM  # false for what is no number
            if not near.all():
                at = int(np.argmin(near.all(axis=1)))
                point = edge.points[at]
                item.add(
                    f"found {_say_point(point)} at points[{at}], {_say_expected(point)}", edge.name
                )
                item.sound = False
        for what, point in _single_points(item.sized):
            if not all(abs(value) <= FARTHEST_MM for value in point):
                item.add(f"{what}: found {_say_point(point)}, {_say_expected(point)}")
                item.sound = False


def _say_expected(point: Any) -> str:
    if not all(map(math.isfinite, point)):
        return "expected finite numbers"
    return f"expected millimetres within {FARTHEST_MM / 1e6:g} km of (0, 0); move the piece there"


def _single_points(sized: SizedPiece) -> list[tuple[str, tuple[float, float]]]:
    found = [(f"landmark '{mark.name}'", mark.point) for mark in sized.landmarks]
    found += [(f"dart '{dart.name}', tip", dart.tip) for dart in sized.darts]
    found += [(f"drill '{mark.name}'", mark.point) for mark in sized.drills]
    found += [(f"level '{name}'", point) for name, point in sized.levels.items()]
    found += [("grain", sized.grain.start), ("grain", sized.grain.end)]
    if sized.label is not None:
        found.append(("label", (sized.label.point[0], sized.label.point[1])))
        found.append(("label, angle", (sized.label.angle, 0.0)))
    for line in sized.lines:
        near = np.abs(line.points) <= FARTHEST_MM
        if len(line.points) and not near.all():
            at = int(np.argmin(near.all(axis=1)))
            found.append((f"line '{line.name}', points[{at}]", tuple(line.points[at].tolist())))
    return found


def _say_point(point: Any) -> str:
    return f"({float(point[0]):.6g}, {float(point[1]):.6g})"


# ------------------------------------------------------------------- all points at once


class _Flat:
    """All edges of all sound outlines in one array."""

    def __init__(self, drawn: Sequence[Drawn]) -> None:
        self.drawn = drawn
        self.edges: list[Edge] = list(chain.from_iterable(item.sized.edges for item in drawn))
        self.points = np.concatenate([edge.points for edge in self.edges])
        counts = np.array([len(edge.points) for edge in self.edges])
        self.last = np.cumsum(counts) - 1
        self.first = self.last - counts + 1
        per_outline = np.array([len(item.sized.edges) for item in drawn])
        self.first_edge = np.cumsum(per_outline) - per_outline
        self.owner = np.repeat(np.arange(len(drawn)), per_outline)
        # the edge after each edge, round its own outline
        self.next_edge = np.arange(1, len(self.edges) + 1)
        self.next_edge[np.cumsum(per_outline) - 1] = self.first_edge
        low = np.minimum.reduceat(self.points, self.first[self.first_edge])
        high = np.maximum.reduceat(self.points, self.first[self.first_edge])
        for item, item_low, item_high in zip(drawn, low, high, strict=True):
            item.low, item.high = item_low, item_high
        starts = self.first[self.first_edge]
        counts = np.diff(np.append(starts, len(self.points)))
        # relative to the outline's first point: digits are lost far from the origin
        x, y = (self.points - np.repeat(self.points[starts], counts, axis=0)).T
        cross = x[:-1] * y[1:] - x[1:] * y[:-1]
        cross[starts[1:] - 1] = 0.0  # from one outline to the next
        # signed, mm^2, positive when counter-clockwise
        self.areas = np.add.reduceat(np.append(cross, 0.0), starts) / 2

    def note(self, edge: int, text: str) -> None:
        """Note a problem of one edge."""
        self.drawn[self.owner[edge]].add(text, self.edges[edge].name)


def _check_lengths(flat: _Flat) -> None:
    """Find edges without length and repeated points within an edge."""
    steps = np.hypot(*np.diff(flat.points, axis=0).T)
    steps[flat.last[:-1]] = 0.0  # from one edge to the next
    lengths = np.add.reduceat(np.append(steps, 0.0), flat.first)
    inside = np.ones(len(steps), dtype=bool)
    inside[flat.last[:-1]] = False
    repeated = np.flatnonzero((steps < SAME_POINT_MM) & inside)
    edge_of = np.searchsorted(flat.last, repeated)
    short = set(np.flatnonzero(lengths < SAME_POINT_MM).tolist())
    for edge in short:
        flat.note(
            edge,
            f"found a length of {lengths[edge]:.3g} mm, expected more than 0; "
            "take the edge out or draw it",
        )
    for edge in sorted(set(edge_of.tolist()) - short):
        here = repeated[edge_of == edge]
        at = int(here[0] - flat.first[edge])
        more = f" (and {len(here) - 1} more)" if len(here) > 1 else ""
        flat.note(
            edge,
            f"found points[{at}] and points[{at + 1}] at the same place "
            f"{_say_point(flat.points[here[0]])}{more}, expected distinct neighbours; take one out",
        )


def _check_simple(flat: _Flat, *, skip: set[int]) -> set[int]:
    """Find outlines that cross or touch themselves."""
    import shapely

    wanted = [index for index in range(len(flat.drawn)) if index not in skip]
    if not wanted:
        return set()
    keep = np.ones(len(flat.points), dtype=bool)
    keep[flat.last] = False  # an edge's last point is the next one's first
    keep &= np.isin(flat.owner, wanted)[np.searchsorted(flat.last, np.arange(len(keep)))]
    owner = np.repeat(flat.owner, flat.last - flat.first + 1)[keep]
    rings = shapely.linearrings(flat.points[keep], indices=np.searchsorted(wanted, owner))
    polygons = shapely.polygons(rings)
    crossed = np.flatnonzero(~shapely.is_valid(polygons)).tolist()
    for place in crossed:
        item, reason = flat.drawn[wanted[place]], shapely.is_valid_reason(polygons[place])
        match = _PLACE.search(reason)
        if match is None:
            item.add(f"found an outline that is not simple ({reason}), expected one that is")
            continue
        point = shapely.Point(float(match[1]), float(match[2]))
        near = [
            edge.name
            for edge in item.sized.edges
            if shapely.LineString(edge.points).distance(point) <= ON_LINE_MM
        ]
        names = " and ".join(f"'{name}'" for name in near) or "of the outline"
        what = f"edges {names} cross or touch" if len(near) > 1 else f"edge {names} crosses itself"
        item.add(
            f"found that {what} at ({point.x:.6g}, {point.y:.6g}), expected an outline that meets "
            "itself nowhere; redraw one of them"
        )
    return {wanted[place] for place in crossed}


def _check_landmarks(flat: _Flat) -> None:
    """Find landmarks away from their edge."""
    import shapely

    marks = [
        (item, mark, int(first) + names.index(mark.edge))
        for item, first in zip(flat.drawn, flat.first_edge, strict=True)
        for names in [item.sized.edge_names]
        for mark in item.sized.landmarks
        if mark.edge in names
    ]
    if not marks:
        return
    used, line_of = np.unique([edge for _, _, edge in marks], return_inverse=True)
    counts = flat.last[used] - flat.first[used] + 1
    points = np.concatenate([flat.edges[edge].points for edge in used])
    lines = shapely.linestrings(points, indices=np.repeat(np.arange(len(used)), counts))
    places = shapely.points([mark.point for _, mark, _ in marks])
    distances = shapely.distance(lines[line_of], places)
    for (item, mark, _), distance in zip(marks, distances, strict=True):
        if distance > ON_LINE_MM:
            item.add(
                f"found landmark '{mark.name}' at {_say_point(mark.point)}, {distance:.4g} mm from "
                f"the edge, expected within {ON_LINE_MM} mm; put it on the edge",
                mark.edge,
            )
