"""The scooped pocket: opening, facing and bags, drawn on the full front."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demo_sets.scoop_skirt.curves import Line, at_distance, cut, length, newton, turned
from demo_sets.scoop_skirt.mains import Silhouette
from propagate.pattern.model import Array

__all__ = ["Pocket", "draw_pocket"]

FROM_CORNER = 70.0  # mm along the top, from the flank corner to the opening's upper end
FACING_BEHIND = 30.0  # mm that the facing goes on behind the opening at the top
FACING_BELOW = 25.0  # mm that it goes on below the opening's lower end
BAG_BEHIND = 56.0
BAG_BELOW = 58.0  # mm below the opening's lower end where the bag leaves the flank
NOTCH = 150.0  # mm from the top along the bag curve

# The scoop of every size, from its upper end: a grade of 0.
SCOOP = np.array([[0.0, 0.0], [5.0, -58.0], [40.0, -99.0], [97.0, -93.0]])


@dataclass(frozen=True)
class Pocket:
    """Every line of the pocket in the drafting frame of the front.

    Lines along the top run from the centre to the flank, those on the flank down,
    `scoop` down, `inner` and `bag` from the flank round and up to the top.
    """

    front_top: Line
    front_flank: Line
    scoop: Line
    facing_top: Line
    facing_flank: Line
    inner: Line
    bag_top: Line
    under_top: Line
    bag_flank: Line
    under_flank: Line
    bag: Line
    notch: Array
    upper: Array
    lower: Array
    lower_distance: float
    swing: float


def draw_pocket(front: Silhouette) -> Pocket:
    """Lay the scoop on the front and draw the layers behind it."""
    top, flank = front.top.points, front.flank.points
    all_top, all_flank = length(top), length(flank)
    at_top = all_top - FROM_CORNER
    upper = at_distance(top, at_top)
    low, swing = _swing(upper, flank)
    lower = at_distance(flank, low)
    scoop = upper + turned(Line((SCOOP,)).points, swing)
    scoop[0], scoop[-1] = upper, lower

    def along_top(begin: float, end: float = all_top) -> Line:
        return Line.through(cut(top, begin, end))

    def along_flank(begin: float, end: float) -> Line:
        return Line.through(cut(flank, begin, end))

    bag = _bag_curve(
        at_distance(flank, low + BAG_BELOW), lower, at_distance(top, at_top - BAG_BEHIND), swing
    )
    notch = length(bag) - NOTCH
    return Pocket(
        front_top=along_top(0.0, at_top),
        front_flank=along_flank(low, all_flank),
        scoop=Line.through(scoop),
        facing_top=along_top(at_top - FACING_BEHIND),
        facing_flank=along_flank(0.0, low + FACING_BELOW),
        inner=_inner(
            at_distance(flank, low + FACING_BELOW),
            at_distance(top, at_top - FACING_BEHIND),
            swing,
        ),
        bag_top=along_top(at_top - BAG_BEHIND, at_top),
        under_top=along_top(at_top - BAG_BEHIND),
        bag_flank=along_flank(low, low + BAG_BELOW),
        under_flank=along_flank(0.0, low + BAG_BELOW),
        bag=Line.through(np.vstack([cut(bag, 0.0, notch), cut(bag, notch, length(bag))[1:]])),
        notch=at_distance(bag, notch),
        upper=upper,
        lower=lower,
        lower_distance=low,
        swing=swing,
    )


def _swing(upper: Array, flank: Array) -> tuple[float, float]:
    """Return where the scoop's lower end meets the flank, mm, and its swing in degrees."""
    reach = SCOOP[-1]
    chord = float(np.hypot(*reach))

    def misses(low: Array) -> Array:
        gap = at_distance(flank, float(low[0])) - upper
        return np.array([float(np.hypot(*gap)) - chord])

    (low,) = newton(misses, [110.0])
    gap = at_distance(flank, float(low)) - upper
    return float(low), math.degrees(
        math.atan2(gap[1], gap[0]) - math.atan2(float(reach[1]), float(reach[0]))
    )


def _inner(on_flank: Array, on_top: Array, swing: float) -> Line:
    """Return the facing's free edge, about parallel to the scoop."""
    pulls = turned(np.array([[-62.0, -16.0], [6.0, -68.0]]), swing)
    return Line(
        (np.array([on_flank, on_flank + pulls[0], on_top + pulls[1], on_top]),), as_path=True
    )


def _bag_curve(on_flank: Array, lower: Array, on_top: Array, swing: float) -> Array:
    """Return the bag's free edge: it leaves the flank at a flat angle and turns up."""
    pulls = turned(np.array([[-5.0, -34.0], [30.0, 0.0], [-48.0, 0.0], [-4.0, -80.0]]), swing)
    bottom = lower + turned(np.array([-62.0, -110.0]), swing)
    return Line(
        (
            np.array([on_flank, on_flank + pulls[0], bottom + pulls[1], bottom]),
            np.array([bottom, bottom + pulls[2], on_top + pulls[3], on_top]),
        )
    ).points
