"""Whether a third size can give the leg of trousers: where the knee is marked.

The knee is the level of that name where both mains have it drawn, else a pair of notches that meet
on the side seam about half way down the leg (common practice, no source: half way from the crotch
to the hem, and up to 5 cm above).  What changes for it begins below the crotch.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from propagate.engine.tape import tape
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import LegPlan
from propagate.suggesting.levels import Point, round_point
from propagate.suggesting.side_seams import SideWay
from propagate.values import dataclass

__all__ = ["KNEE", "THIGH", "Leg", "find_leg"]

KNEE, THIGH = "knee", "thigh"
THIGH_BELOW_MM = 50.0
"""Above there nothing changes for the leg: so far below the crotch (common practice, no source)."""
KNEE_NEAR = 0.15
"""How far from half of the leg a notch at the knee may lie, as a part of the leg."""
CLEAR_MM = 5.0


@dataclass(frozen=True)
class Leg:
    """A leg that a third size can give.

    Attributes
    ----------
    plan : LegPlan
    levels : mapping of level name to a mapping of piece to a point for each size, mm
    marks : mapping of piece to the notch at the knee, or None where the level is drawn
    """

    plan: LegPlan
    levels: Mapping[str, Mapping[str, Mapping[str, Point]]]
    marks: Mapping[str, str | None]


def find_leg(
    pattern: PatternSet,
    way: SideWay,
    inseam: Mapping[str, str],
    crotch: Mapping[str, Mapping[str, Point]],
) -> Leg | None:
    """Find where a third size can give the leg; None where the knee is not marked.

    Parameters
    ----------
    inseam : mapping of silhouette to its edge at the inseam
    crotch : mapping of piece to its level at the crotch in each size
    """
    edges = {(side.edge, inseam[side.silhouette.name]) for side in way.sides}
    if len(edges) != 1:  # a plan names the edges of both mains by one word
        return None
    thigh = {
        side.lead: {
            size: round_point(
                np.asarray(crotch[side.lead][size])
                - THIGH_BELOW_MM * way.up(side, pattern.sized(side.lead, size))
            )
            for size in pattern.sizes
        }
        for side in way.sides
    }
    for marks, knee in _list_knees(pattern, way, crotch):
        levels = {KNEE: knee, THIGH: thigh}
        if all(_cross_line(pattern, way, inseam, level) for level in levels.values()):
            return Leg(LegPlan(KNEE, THIGH, next(iter(edges))), levels, marks)
    return None


def _list_knees(
    pattern: PatternSet, way: SideWay, crotch: Mapping[str, Mapping[str, Point]]
) -> list[tuple[Mapping[str, str | None], Mapping[str, Mapping[str, Point]]]]:
    """Where the knee may be: on levels, else at pairs of notches, the nearest to half way first."""
    leads = [side.lead for side in way.sides]
    drawn = [name for name in leads if KNEE in pattern.sized(name, pattern.base).levels]
    if drawn:
        levels = {
            name: {size: pattern.sized(name, size).levels[KNEE] for size in pattern.sizes}
            for name in drawn
        }
        return [(dict.fromkeys(leads), levels)] if len(drawn) == len(leads) else []
    found = []
    for marks, at in way.notch_pairs(pattern):
        shares = []
        for side in way.sides:
            base = side.silhouette.base
            up, line = way.up(side, base), way.down(side, pattern, pattern.base)
            top, knee = (np.asarray(one[side.lead][pattern.base]) @ up for one in (crotch, at))
            hem = line[-1] @ up
            shares.append(float((top - knee) / (top - hem)))
        off = max(abs(share - 0.5) for share in shares)
        if off <= KNEE_NEAR:
            found.append((off, marks, at))
    return [(marks, at) for _, marks, at in sorted(found, key=lambda one: one[0])]


def _cross_line(
    pattern: PatternSet,
    way: SideWay,
    inseam: Mapping[str, str],
    level: Mapping[str, Mapping[str, Point]],
) -> bool:
    """Whether a level crosses side and inseam of both mains in every size, clear of their ends."""
    for side in way.sides:
        for size in pattern.sizes:
            up = way.up(side, pattern.sized(side.lead, size))
            height = np.asarray(level[side.lead][size]) @ up
            taped = tape(pattern, side.silhouette.name, size)
            for edge in (side.edge, inseam[side.silhouette.name]):
                ends = taped.edge(edge).points[[0, -1]] @ up - height
                if min(abs(ends)) < CLEAR_MM or ends[0] * ends[1] > 0.0:
                    return False
    return True
