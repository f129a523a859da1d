"""Seams of a joined set that may be its side seam: which edges lie at their upper ends.

The sides go down; at the upper end an edge goes across the grain to the centre on both.  Which
end is the upper one, the other ends tell: a side goes down to a hem, not to an armhole, and a
centre to the hem or to what is sewn there, as an inseam is; a neck goes down to the true centre.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from propagate.engine.review.taken import free_spans
from propagate.engine.tape import Silhouette, tape
from propagate.geometry.arrays import Array
from propagate.geometry.polyline import length
from propagate.pattern.answers import reverse_run
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam
from propagate.suggesting.nest import measure_lean
from propagate.values import dataclass

__all__ = [
    "HIP",
    "SIDE_ENDS_MM",
    "WAIST",
    "Side",
    "SideSeam",
    "SideWay",
    "find_end",
    "find_side_seam",
    "find_sides",
    "find_tops",
    "sort_ways",
]

HIP, WAIST = "hip", "waist"
"""Levels and girths, as they are called."""
SIDE_ENDS_MM = 30.0
"""The hip lies as far from both ends of the side at least: one part is blended, the other stays."""
Point = tuple[float, float]
_ACROSS = math.cos(math.radians(45.0))
_RUNS_ON_DEG = 30.0
"""An edge that another one goes on from turns by no more there."""


@dataclass(frozen=True)
class SideSeam:
    """The likeliest side seam of a set, on which a hip without notches can be measured.

    Attributes
    ----------
    seam : Seam
    shortest : float
        The least length of its two sides in all sizes, mm.
    size : str
        The size that has it.
    """

    seam: Seam
    shortest: float
    size: str

    @property
    def ends(self) -> str:
        """Between which distances the hip can lie, in words."""
        return f"a distance of {SIDE_ENDS_MM:g} to {self.shortest - SIDE_ENDS_MM:.1f} mm"

    def holds(self, along: float) -> bool:
        """Whether the hip can lie so far below the waist in every size."""
        return SIDE_ENDS_MM <= along <= self.shortest - SIDE_ENDS_MM


@dataclass(frozen=True)
class Side:
    """A side of a seam that is a whole edge of a silhouette; `turned` where it runs against it."""

    silhouette: Silhouette
    edge: str
    turned: bool

    @property
    def lead(self) -> str:
        """The lead piece of the silhouette."""
        return self.silhouette.lead

    def beside(self, steps: int, *, at_begin: bool) -> str:
        """The name of the edge so many steps on behind an end of the seam."""
        names = [edge.name for edge in self.silhouette.edges]
        on = -steps if at_begin != self.turned else steps
        return names[(names.index(self.edge) + on) % len(names)]

    def angle_beside(self, steps: int, *, at_begin: bool) -> float:
        """The angle inside the outline behind the edge so many steps on, degrees."""
        pair = [self.beside(step, at_begin=at_begin) for step in (steps, steps + 1)]
        first, second = pair[::-1] if at_begin != self.turned else pair
        return self.silhouette.edge(first).angle_to(self.silhouette.edge(second))

    def goes_across(self, edge: str) -> bool:
        """Whether an edge of the silhouette goes across the grain."""
        grain = self.silhouette.base.grain.direction
        return measure_lean(self.silhouette.edge(edge).points, grain) <= _ACROSS


@dataclass(frozen=True)
class SideWay:
    """A seam that may be the side seam, and which end of it is the upper one."""

    seam: Seam
    sides: tuple[Side, Side]
    at_begin: bool

    def across(self, side: Side) -> str:
        """The edge at the upper end of a side."""
        return side.beside(1, at_begin=self.at_begin)

    def tops(self, side: Side) -> frozenset[str]:
        """The edges of pieces at the upper end of a side, as ``PIECE.EDGE``."""
        return frozenset(part.span.key for part in side.silhouette.segments[self.across(side)])

    def centre(self, side: Side) -> str:
        """The edge beyond that."""
        return side.beside(2, at_begin=self.at_begin)

    def up(self, side: Side, sized: SizedPiece) -> Array:
        """The direction along the grain of its piece, in any size, in which the upper end lies."""
        points = side.silhouette.edge(side.edge).points
        chord = points[0] - points[-1] if self.at_begin != side.turned else points[-1] - points[0]
        ahead = float(chord @ side.silhouette.base.grain.direction) > 0.0
        return np.asarray(sized.grain.direction) * (1.0 if ahead else -1.0)

    def down(self, side: Side, pattern: PatternSet, size: str) -> Array:
        """The line of a side in a size, from its upper end on, in the frame of its lead piece."""
        points = tape(pattern, side.silhouette.name, size).edge(side.edge).points
        return points if self.at_begin != side.turned else points[::-1]

    def notch_pairs(
        self, pattern: PatternSet
    ) -> Iterator[tuple[dict[str, str], dict[str, dict[str, Point]]]]:
        """Pairs of notches that meet on both mains: their names and places, by piece and size.

        The notches of a pocket in the seam say where it lies, and nothing else.
        """
        leads = {side.lead for side in self.sides}
        mouths = pattern.relations.seam_opening_marks
        for pair in self.seam.notches:
            marks = dict(mark.split(".", 1) for mark in pair)
            if set(marks) == leads and mouths.isdisjoint(pair):
                yield (
                    marks,
                    {
                        piece: {
                            size: pattern.sized(piece, size).landmark(mark).point
                            for size in pattern.sizes
                        }
                        for piece, mark in marks.items()
                    },
                )

    def shortest(self, pattern: PatternSet) -> tuple[float, str]:
        """The least length of a side in all sizes, mm, and the size that has it."""
        return min(
            (length(self.down(side, pattern, size)), size)
            for side in self.sides
            for size in pattern.sizes
        )


def find_side_seam(pattern: PatternSet, no_waist: frozenset[str] = frozenset()) -> SideSeam | None:
    """The likeliest side seam; None without one, where a level tells the hip, or it has no room.

    Of `no_waist`, edges that are known, none lies at its upper end.
    """
    if pattern.relations.blend is not None:
        return None
    for way in sort_ways(pattern, no_waist):
        drawn = any(HIP in side.silhouette.base.levels for side in way.sides)
        if not drawn and find_tops(way) is not None:
            found = SideSeam(way.seam, *way.shortest(pattern))
            # Above a pocket, where the side steps out, it is too short to have a hip.
            return found if found.shortest > 2.0 * SIDE_ENDS_MM else None
    return None


def sort_ways(pattern: PatternSet, no_waist: frozenset[str] = frozenset()) -> list[SideWay]:
    """The seams that may be the side seam, the likeliest first; none of one size, never blended."""
    if len(pattern.sizes) < 2:
        return []
    ways = [
        way
        for way in _list_ways(pattern)
        if not any(way.tops(side) <= no_waist for side in way.sides)
    ]
    free = {span.key for spans in free_spans(pattern).values() for span in spans}

    def rank(way: SideWay) -> tuple[bool, bool]:
        """Last comes an upper edge that is sewn to nothing, and one that is drawn below."""
        base = way.sides[0].silhouette.base
        below = float(way.up(way.sides[0], base) @ base.grain.direction) < 0.0
        return any(free & way.tops(side) for side in way.sides), below

    return sorted(ways, key=rank)


def _list_ways(pattern: PatternSet) -> Iterator[SideWay]:
    """Seams of two silhouettes whose sides go down, across at the upper end, and down beyond."""
    for seam in pattern.relations.seams.values():
        sides = find_sides(pattern, seam)
        if sides is None or any(len(side.silhouette.edges) < 4 for side in sides):
            continue
        for at_begin in (True, False):
            way = SideWay(seam, sides, at_begin)
            across = [
                side.goes_across(edge)
                for side in sides
                for edge in (side.edge, way.across(side), way.centre(side))
            ]
            if across == [False, True, False] * 2 and all(
                _ends_in_hem(way, side) and _ends_as_centre(pattern, way, side) for side in sides
            ):
                yield way


def _ends_in_hem(way: SideWay, side: Side) -> bool:
    """Whether a side goes down to a hem, or runs on there as along a slit."""
    below = {"at_begin": not way.at_begin}
    if side.goes_across(side.beside(1, **below)):
        return True
    return abs(side.angle_beside(0, **below) - 180.0) <= _RUNS_ON_DEG


def _ends_as_centre(pattern: PatternSet, way: SideWay, side: Side) -> bool:
    """Whether what lies beyond the upper edge goes down as a centre does, not as a neck."""
    after = side.beside(3, at_begin=way.at_begin)
    if after == side.beside(1, at_begin=not way.at_begin):
        return True
    if side.angle_beside(2, at_begin=way.at_begin) >= 180.0 - _RUNS_ON_DEG:
        return True
    seams = (seam for seam in pattern.relations.seams.values() if not seam.mirror)
    sewn = {span.key for seam in seams for span in (*seam.lead, *seam.follow)}
    return any(part.span.key in sewn for part in side.silhouette.segments[after])


def find_sides(pattern: PatternSet, seam: Seam) -> tuple[Side, Side] | None:
    """The two sides of a seam where each is a whole edge of a silhouette of its own."""
    if seam.mirror or seam.check:
        return None
    lead, follow = _find_side(pattern, seam.lead), _find_side(pattern, seam.follow)
    if lead is None or follow is None or lead.silhouette.name == follow.silhouette.name:
        return None
    return lead, follow


def _find_side(pattern: PatternSet, run: Run) -> Side | None:
    """The silhouette and the edge of it that a run is."""
    assemblies = pattern.relations.assemblies
    for name, one in assemblies.items():
        for edge, own in one.edges.items():
            if own in (run, reverse_run(run)):
                return Side(tape(pattern, name, pattern.base), edge, own != run)
    if len(run) != 1 or {run[0].begin, run[0].end} != {"start", "end"}:
        return None
    if any(one.lead == run[0].piece for one in assemblies.values()):
        return None
    return Side(tape(pattern, run[0].piece, pattern.base), run[0].edge, run[0].begin == "end")


def find_tops(way: SideWay) -> dict[str, str] | None:
    """The landmarks of the lead pieces at the tops of their centres; None unless both have one."""
    tops: dict[str, str] = {}
    for side in way.sides:
        top = find_end(side.silhouette, way.centre(side), way.across(side))
        if top is None:
            return None
        tops[side.lead] = top
    return tops


def find_end(silhouette: Silhouette, edge: str, beside: str) -> str | None:
    """The end of an edge at which another lies, as a landmark of the lead piece."""
    names = [one.name for one in silhouette.edges]
    first = names[(names.index(edge) - 1) % len(names)] == beside
    part = silhouette.segments[edge][0 if first else -1]
    if part.span.piece != silhouette.lead:
        return None
    mark = part.span.begin if first else part.span.end
    return f"{part.span.edge}.{mark}" if mark in ("start", "end") else mark
