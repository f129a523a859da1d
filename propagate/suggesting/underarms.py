"""Seams of a joined set that go from the underarm down: the side seam of a top or a dress.

At the upper end of both sides an edge goes up that is hollow, and no seam joins it to its twin or
to the other: an armhole, not the crotch of trousers.  At the lower end an edge goes across.
"""

from __future__ import annotations

from collections.abc import Set

import numpy as np

from propagate.geometry.corner import signed_area
from propagate.geometry.polyline import length
from propagate.pattern.patternset import PatternSet
from propagate.suggesting.side_seams import Side, SideWay, find_sides

__all__ = ["find_underarms"]

_LEAST_RISE = 0.45
"""Of its chord: a raglan rises by half, a waist and a shoulder by less than a third."""
_MOST_BULGE = 0.05
"""Of the square of its chord; the half of a cap that is as high as wide has a third to a half."""


def find_underarms(pattern: PatternSet, no_top: Set[str] = frozenset()) -> list[SideWay]:
    """The seams that go from the underarm down, the longest first: a lining's is no longer.

    Of `no_top`, pieces that are known for those of trousers or a skirt, none has one.
    """
    found = []
    for seam in pattern.relations.seams.values():
        sides = find_sides(pattern, seam)
        if sides is None or any(side.lead in no_top for side in sides):
            continue
        for at_begin in (True, False):
            way = SideWay(seam, sides, at_begin)
            if all(_is_below_an_armhole(way, side) for side in sides) and not _closes(pattern, way):
                found.append((-min(_measure(side) for side in sides), seam.name, way))
    return [way for _, _, way in sorted(found, key=lambda one: one[:2])]


def _measure(side: Side) -> float:
    return length(side.silhouette.edge(side.edge).points)


def _is_below_an_armhole(way: SideWay, side: Side) -> bool:
    """Whether a side goes down from a hollow edge that goes up, to one that goes across."""
    armhole, hem = way.across(side), side.beside(1, at_begin=not way.at_begin)
    if armhole == hem or side.goes_across(side.edge) or not side.goes_across(hem):
        return False
    points = side.silhouette.edge(armhole).points
    ends = side.silhouette.edge(side.edge).points[[0, -1]]
    if np.abs(points[-1] - ends).sum(axis=1).min() < np.abs(points[0] - ends).sum(axis=1).min():
        points = points[::-1]
    chord = points[-1] - points[0]
    up = way.up(side, side.silhouette.base)
    square = np.array([-up[1], up[0]])
    # What steps out of the side, as for a pocket, goes away from the middle of the piece.
    inward = float((side.silhouette.outline.mean(axis=0) - points[0]) @ square)
    return (
        float(chord @ up) > _LEAST_RISE * float(np.hypot(*chord))
        and float(chord @ square) * inward > 0.0
        and _is_hollow(side, armhole)
    )


def _is_hollow(side: Side, edge: str) -> bool:
    """Whether an edge is hollow or nearly straight, as a raglan is, and no cap of a sleeve."""
    edges = side.silhouette.edges
    drawn = np.concatenate([one.points for one in edges])
    flat = [one.points[[0, -1]] if one.name == edge else one.points for one in edges]
    bulges = abs(signed_area(drawn)) - abs(signed_area(np.concatenate(flat)))
    chord = side.silhouette.edge(edge).points[[0, -1]]
    return bulges <= _MOST_BULGE * float(np.hypot(*np.diff(chord, axis=0)[0])) ** 2


def _closes(pattern: PatternSet, way: SideWay) -> bool:
    """Whether what lies at the upper ends is sewn to its own twin, or to each other."""
    first, second = (way.tops(side) for side in way.sides)
    for seam in pattern.relations.seams.values():
        lead, follow = ({span.key for span in run} for run in (seam.lead, seam.follow))
        if seam.mirror and lead & (first | second):
            return True
        if (lead & first and follow & second) or (lead & second and follow & first):
            return True
    return False
