"""Corners of a cut line: how the offset lines of two neighbouring edges meet.

Both edges are looked at as *arms* that run into the corner, so that every treatment
has one form for either order.
"""

from __future__ import annotations

from enum import Enum
from functools import cached_property
from typing import Final

import numpy as np

from propagate.geometry.arrays import Array, cross_product
from propagate.geometry.crossing import crossings, line_crossings, nearest_crossing
from propagate.geometry.directions import end_direction
from propagate.geometry.polyline import length, locate, point_at, split, unit
from propagate.tolerances import SAME_POINT_MM
from propagate.values import dataclass

__all__ = [
    "MITRE_LIMIT",
    "Arm",
    "Corner",
    "Joint",
    "blunt_tip",
    "join_arms",
    "measure_run_on",
    "runs_ahead",
]

MITRE_LIMIT: Final = 4.0
"""A mitre reaches at most this many widths from its corner; sharper than
``2 asin(1/4)`` = 28.96 degrees its tip is cut off there."""
_NONE: Final = np.empty((0, 2))


class Corner(Enum):
    """Treatment of the joint between two consecutive edges.

    MITRE
        Both offset lines run on until they meet.
    SQUARE_TO_FIRST, SQUARE_TO_SECOND
        The allowance of that edge ends square to its seam line, where its seam line
        run on reaches the other edge's cut line.
    MIRROR_IN_FIRST, MIRROR_IN_SECOND
        That edge is turned (folded up): beyond it the cut line is the mirror image of
        the other edge's cut line, so that the turned allowance is as wide as the
        piece it lies on (common practice, no source).
    """

    MITRE = "mitre"
    SQUARE_TO_FIRST = "square to first"
    SQUARE_TO_SECOND = "square to second"
    MIRROR_IN_FIRST = "mirror in first"
    MIRROR_IN_SECOND = "mirror in second"


@dataclass(frozen=True, eq=False)
class Arm:
    """An edge and its offset line, both running into a corner.

    Attributes
    ----------
    seam, line : (n, 2) arrays, mm
        At an outward corner the line is run on straight, by `measure_run_on`.
    width : float, mm
    turns : vertices of the seam that are corners, counted from the corner
    left : bool
        The allowance lies to the left.
    """

    seam: Array
    line: Array
    width: float
    turns: tuple[int, ...] = ()
    left: bool = False

    @property
    def corner(self) -> Array:
        """The corner (2,)."""
        corner: Array = self.seam[-1]
        return corner

    @cached_property
    def heading(self) -> Array:
        """Unit vector (2,) of the last chord."""
        chord: Array = self.seam[-1] - self.seam[-2]
        return chord / float(np.hypot(*chord))

    @cached_property
    def normal(self) -> Array:
        """Unit vector (2,) towards the allowance."""
        dx, dy = self.heading
        return np.array([-dy, dx]) if self.left else np.array([dy, -dx])

    @cached_property
    def foot(self) -> Array:
        """Point (2,) of the offset line square to the corner."""
        return self.corner + self.width * self.normal

    def cut(self, at: Array, distance: float | None = None) -> Array:
        """Cut the line at a point on it (or at the nearest place, when no distance is given)."""
        along = locate(self.line, at)[0] if distance is None else distance
        if along >= length(self.line) - SAME_POINT_MM:
            return self.line
        if along <= SAME_POINT_MM:
            return np.vstack([self.line[0], at])
        return split(self.line, along, at)[0]

    def led_to(self, tip: Array) -> Array:
        """Lead the line up to a point straight ahead of its foot.

        Where loops that were cut out took the foot with them, the line jumps to it;
        such a line does not keep its distance from the edge.
        """
        along, gap = locate(self.line, tip)
        if gap <= SAME_POINT_MM:
            return self.cut(tip, along)
        return np.vstack([self.cut(self.foot), self.foot, tip])


@dataclass(frozen=True, eq=False)
class Joint:
    """The two lines after the corner, each running into it, and a wall between them."""

    before_line: Array
    before_tail: Array
    after_line: Array
    after_tail: Array
    wall: Array

    @property
    def swapped(self) -> Joint:
        """The same joint seen from the other edge."""
        return Joint(
            self.after_line, self.after_tail, self.before_line, self.before_tail, self.wall[::-1]
        )


def measure_run_on(before: Array, after: Array, widths: tuple[float, float]) -> float:
    """Measure how far two offset lines have to be run on beyond their corner, mm.

    Nothing at an inward corner: there the lines cross, or the bands overlap.

    Parameters
    ----------
    before, after : (n, 2) arrays, mm
        The edge that ends at the corner and the one that starts there.
    widths : (float, float), mm
    """
    inward = cross_product(before[-1] - before[-2], after[1] - after[0]) < 0.0
    return 0.0 if inward else 2.0 * MITRE_LIMIT * max(widths)


def join_arms(before: Arm, after: Arm, corner: Corner) -> Joint:
    """Lead two offset lines together; an inward corner needs nothing.

    A treatment that has no room (a square or mirrored corner that is nearly straight)
    falls back to the mitre, and a mitre to a step where the width changes along a
    nearly straight line.
    """
    if _turns_inward(before, after) or max(before.width, after.width) == 0.0:
        return Joint(before.line, _NONE, after.line, _NONE, _NONE)
    found: Joint | None = None
    swapped = corner in (Corner.SQUARE_TO_SECOND, Corner.MIRROR_IN_FIRST)
    arms = (after, before) if swapped else (before, after)
    if corner in (Corner.SQUARE_TO_FIRST, Corner.SQUARE_TO_SECOND):
        found = _make_square(*arms)
    elif corner in (Corner.MIRROR_IN_FIRST, Corner.MIRROR_IN_SECOND):
        found = _mirror_line(*arms)
    if found is None:
        return _make_mitre(before, after)
    return found.swapped if swapped else found


def blunt_tip(
    corner: Array, normals: tuple[Array, Array], widths: tuple[float, float]
) -> tuple[Array, Array]:
    """Cut a long mitre off square to it, at the mitre limit, by two points (2,)."""
    first, second = normals
    # The arms run into the corner: the first along its chord, the second against it.
    ahead = np.array([-first[1], first[0]]), np.array([second[1], -second[0]])
    axis = ahead[0] + ahead[1]
    axis = axis / float(np.hypot(*axis))
    reach = MITRE_LIMIT * max(widths)
    tips = []
    for normal, heading, width in zip(normals, ahead, widths, strict=True):
        foot = corner + width * normal
        tips.append(foot + (reach - width * (normal @ axis)) / (heading @ axis) * heading)
    return tips[0], tips[1]


def _meet_ahead(a: Arm, b: Arm) -> Array | None:
    """Tell where the lines straight on from the two feet meet, when they do."""
    cross = cross_product(a.heading, b.heading)
    if abs(cross) < 1e-9:
        return None
    gap = b.foot - a.foot
    s, t = cross_product(gap, b.heading) / cross, cross_product(gap, a.heading) / cross
    return a.foot + s * a.heading if min(s, t) >= -SAME_POINT_MM else None


def runs_ahead(a: Arm, b: Arm) -> bool:
    """Tell whether two lines run on straight until they cross, or do so at an inward corner."""
    return _turns_inward(a, b) or max(a.width, b.width) == 0.0 or _find_tip(a, b) is not None


def _turns_inward(before: Arm, after: Arm) -> bool:
    return bool(cross_product(before.heading, -after.heading) < 0.0)


def _find_tip(a: Arm, b: Arm) -> Array | None:
    """Find where two lines that are run on meet, no farther off than a mitre may reach."""
    tip = _meet_ahead(a, b)
    reach = MITRE_LIMIT * max(a.width, b.width)
    return tip if tip is not None and np.hypot(*(tip - a.corner)) <= reach else None


def _make_mitre(a: Arm, b: Arm) -> Joint:
    widest = max(a.width, b.width)
    tip = _find_tip(a, b)
    if tip is not None:
        return Joint(a.led_to(tip), _NONE, b.led_to(tip), _NONE, _NONE)
    if _meet_ahead(a, b) is None and (hit := nearest_crossing(a.line, b.line, a.corner)):
        s, t, tip = hit
        # A narrow allowance that runs on trims the wider one; where it would trim
        # more than the wider one is wide, the cut line steps instead.
        trimmed = max(locate(a.line, a.foot)[0] - s, locate(b.line, b.foot)[0] - t)
        if np.hypot(*(tip - a.corner)) <= MITRE_LIMIT * widest and trimmed <= widest:
            return Joint(a.cut(tip, s), _NONE, b.cut(tip, t), _NONE, _NONE)
    if a.heading @ b.heading > 0.0:
        tips = blunt_tip(a.corner, (a.normal, b.normal), (a.width, b.width))
        return Joint(a.led_to(tips[0]), _NONE, b.led_to(tips[1]), _NONE, np.array(tips))
    a_line, b_line = a.led_to(a.foot), b.led_to(b.foot)
    return Joint(a_line, _NONE, b_line, _NONE, np.array([a_line[-1], b_line[-1]]))


def _make_square(a: Arm, b: Arm) -> Joint | None:
    """End the allowance of `a` square to its seam line, on the cut line of `b`."""
    reach = MITRE_LIMIT * max(a.width, b.width)
    # From a trifle before the corner, which is the place itself when `b` has no width.
    ray = a.corner + np.outer([-SAME_POINT_MM, reach], a.heading)
    hit = nearest_crossing(ray, b.line, a.corner)
    if hit is None:
        return None
    _, along, foot = hit
    end = foot + a.width * a.normal
    return Joint(a.led_to(end), foot[None, :], b.cut(foot, along), _NONE, _NONE)


def _mirror_line(a: Arm, fold: Arm) -> Joint | None:
    """Mirror the cut line of `a` in the fold, out to the cut line of `fold`."""
    corner = a.corner
    reach = MITRE_LIMIT * max(a.width, fold.width)
    # `fold` runs into the corner; its tangent is taken from the corner outwards.
    tangent = unit(end_direction(fold.seam[::-1], "start", turns=fold.turns))
    on_fold = [(s, point_at(a.line, s)) for s in line_crossings(a.line, corner, tangent)]
    if not on_fold or fold.width == 0.0:
        return None
    s, hinge = min(on_fold, key=lambda hit: float(np.hypot(*(hit[1] - corner))))
    if np.hypot(*(hinge - corner)) > reach:
        return None
    line = a.cut(hinge, s)
    chord = line[0] - line[1]
    longer = np.vstack([line[::-1], line[0] + reach * chord / float(np.hypot(*chord))])
    off = longer - corner
    image = corner + 2.0 * (off @ tangent)[:, None] * tangent - off
    image[0] = hinge
    hits = crossings(image, fold.line)
    if not len(hits):
        return None
    far, along = hits[0].tolist()
    tip = point_at(image, far)
    back = split(image, far, tip)[0][-2::-1]
    return Joint(line, _NONE, fold.cut(tip, along), back, _NONE)
