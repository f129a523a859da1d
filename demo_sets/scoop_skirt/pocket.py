"""The scooped pocket: opening, facing and bags, drawn on the full front."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demo_sets.drafting import Bezier, along, circle_hit, cut, flatten, join, length
from demo_sets.scoop_skirt.mains import Silhouette, even, turned
from propagate.pattern.model import Array

__all__ = ["Pocket", "draw_pocket"]

FROM_CORNER = 70.0  # mm along the top, from the flank corner to the opening's upper end
FACING_BEHIND = 30.0  # mm that the facing goes on behind the opening at the top
FACING_BELOW = 25.0  # mm that it goes on below the opening's lower end
BAG_BEHIND = 56.0
BAG_BELOW = 58.0  # mm below the opening's lower end where the bag leaves the flank
BAG_DEEP = 110.0  # mm below the opening's lower end where the bag turns
NOTCH = 150.0  # mm from the top along the bag curve

# The scoop of every size, from its upper end: a grade of 0.
SCOOP = Bezier(np.array([[0.0, 0.0], [5.0, -58.0], [40.0, -99.0], [97.0, -93.0]]))


@dataclass(frozen=True, eq=False)
class Pocket:
    """Every line of the pocket in the drafting frame of the front.

    Lines along the top run from the centre to the flank, those on the flank down,
    `scoop` down, `inner` and `bag` from the flank round and up to the top.
    """

    front_top: Array
    front_flank: Array
    scoop: Array
    facing_top: Array
    facing_flank: Array
    inner: Bezier
    bag_top: Array
    under_top: Array
    bag_flank: Array
    under_flank: Array
    bag: Array
    notch: Array


def draw_pocket(front: Silhouette) -> Pocket:
    """Lay the scoop on the front and draw the layers behind it."""
    top, flank = front.top, front.flank
    high = length(top) - FROM_CORNER
    upper = along(top, high)
    reach = SCOOP.control[-1]
    low = circle_hit(flank, upper, float(np.hypot(*reach)))
    lower = along(flank, low)
    swing = _angle(lower - upper) - _angle(reach)
    bag, notch = _bag(along(flank, low + BAG_BELOW), lower, along(top, high - BAG_BEHIND), swing)
    return Pocket(
        front_top=cut(top, 0.0, high),
        front_flank=cut(flank, low),
        scoop=np.vstack([upper, upper + turned(even(SCOOP)[1:-1], swing), lower]),
        facing_top=_with(top, high - FACING_BEHIND, high),
        facing_flank=_with(flank, 0.0, low, low + FACING_BELOW),
        inner=_inner(along(flank, low + FACING_BELOW), along(top, high - FACING_BEHIND), swing),
        bag_top=cut(top, high - BAG_BEHIND, high),
        under_top=_with(top, high - BAG_BEHIND, high),
        bag_flank=cut(flank, low, low + BAG_BELOW),
        under_flank=_with(flank, 0.0, low, low + BAG_BELOW),
        bag=bag,
        notch=notch,
    )


def _angle(vector: Array) -> float:
    return math.degrees(math.atan2(vector[1], vector[0]))


def _with(points: Array, begin: float, middle: float, end: float | None = None) -> Array:
    """Return the part from `begin` to `end` with a vertex at the landmark `middle`."""
    return join(cut(points, begin, middle), cut(points, middle, end))


def _inner(on_flank: Array, on_top: Array, swing: float) -> Bezier:
    """Return the facing's free edge, about parallel to the scoop."""
    first, second = turned(np.array([[-62.0, -16.0], [6.0, -68.0]]), swing)
    return Bezier(np.array([on_flank, on_flank + first, on_top + second, on_top]))


def _bag(on_flank: Array, lower: Array, on_top: Array, swing: float) -> tuple[Array, Array]:
    """Return the bag's free edge and its notch.

    The edge leaves the flank at a flat angle, turns at the bottom and goes up.
    """
    pulls = turned(np.array([[-5.0, -34.0], [30.0, 0.0], [-48.0, 0.0], [-4.0, -80.0]]), swing)
    bottom = lower + turned(np.array([-62.0, -BAG_DEEP]), swing)
    curve = join(
        flatten(Bezier(np.array([on_flank, on_flank + pulls[0], bottom + pulls[1], bottom]))),
        flatten(Bezier(np.array([bottom, bottom + pulls[2], on_top + pulls[3], on_top]))),
    )
    notch = length(curve) - NOTCH
    return _with(curve, 0.0, notch), along(curve, notch)
