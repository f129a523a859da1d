"""The upper and lower parts of the gilet: outlines of one half, drawn counter-clockwise.

The drafting frame has the centre at x = 0, the side at the right and the waist level at
y = 0.  Every curve has the same number of points in every size, so that each point has
one grade rule.  The formulas are our own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demo_sets.drafting import Bezier, along, cut, join, length, solve, unit
from propagate.pattern.model import Array

__all__ = [
    "BACK",
    "FRONT",
    "Lower",
    "Measures",
    "Role",
    "Upper",
    "draw_lower",
    "draw_upper",
    "even",
]

FLARE = 5.0  # degrees of the straight side below the hip
BELOW_HIP = 92.0  # mm from the hip level down to the hem at the side, in every size
RISE = 19.0  # mm from the waist level up to the lower part's side corner
DIP = 8.0  # mm from the waist level down to the upper part's side corner
SLOPE = 22.0  # degrees of the shoulder
NOTCH_UP = 85.0  # mm from the underarm corner along the armhole to its notch


@dataclass(frozen=True)
class Measures:
    """What the draft needs of one size, mm; widths are of one quarter, ease included."""

    chest: float
    waist: float
    hip: float
    hip_deep: float  # waist to hip
    high: float  # waist to underarm
    deep: float  # underarm to the neck end of the shoulder
    neck: float  # half the width of the neck
    shoulder: float
    across: float  # half the width between the armholes, at the narrowest


@dataclass(frozen=True)
class Role:
    """What parts a front from a back, mm."""

    neck_deep: float
    neck_pull: float
    tail: float  # the hem at the centre lies this far below its end at the side
    inward: float  # the armhole goes in by this much more than `across`
    pulls: tuple[float, float]


FRONT = Role(92.0, 52.0, 6.0, 8.0, (0.62, 0.52))
BACK = Role(24.0, 20.0, 30.0, 0.0, (0.30, 0.62))


@dataclass(frozen=True, eq=False)
class Lower:
    """The part below the waist seam; lines in the order of the outline, `hem` first."""

    hem: Array
    side: Array
    waist: Array
    centre: Array
    hip: Array


@dataclass(frozen=True, eq=False)
class Upper:
    """The part above the waist seam; lines in the order of the outline, `waist` first."""

    waist: Array
    side: Array
    armhole: Array
    shoulder: Array
    neck: Array
    centre: Array
    notch: Array


def even(curve: Bezier, count: int) -> Array:
    """Return a curve at even parameters: its length is a smooth function of its points."""
    return curve(np.linspace(0.0, 1.0, count + 1))


# ------------------------------------------------------------------------- below the waist


def draw_lower(m: Measures, role: Role) -> Lower:
    """Draw a lower part: the waist has its length, square to the centre and to the side."""
    hip = np.array([m.hip, -m.hip_deep])

    def parts(x: float) -> tuple[Array, Array]:
        corner = np.array([x, RISE])
        curve, up = _lower_side(hip, corner)
        inward = np.array([-up[1], up[0]])
        pulls = (0.2 * m.waist, 0.42 * m.waist)
        return even(Bezier.hermite(corner, inward, (0.0, 0.0), (-1.0, 0.0), pulls), 40), curve

    (x,) = solve(lambda x: length(parts(float(x[0]))[0]) - m.waist, m.waist - 2.0)
    waist, curve = parts(float(x))
    up = unit(90.0 + FLARE)
    foot = hip - BELOW_HIP / up[1] * up
    hem = _hem(foot, up, role)
    return Lower(hem, np.vstack([foot, curve]), waist, np.vstack([waist[-1], hem[0]]), hip)


def _lower_side(hip: Array, corner: Array) -> tuple[Array, Array]:
    """Return the side from the hip up, and its direction at the waist.

    At the hip it runs on from the straight below; the other direction is that of the
    circle through both points with that tangent, so it bends one way and evenly.
    """
    chord = corner - hip
    lean = math.degrees(math.atan2(-chord[0], chord[1]))
    up = unit(90.0 + 2.0 * lean - FLARE)
    pull = 0.34 * float(np.hypot(*chord))
    return even(Bezier.hermite(hip, unit(90.0 + FLARE), corner, up, (pull, pull)), 32), up


def _hem(end: Array, up: Array, role: Role) -> Array:
    """Square to the centre and square to the side."""
    start = np.array([0.0, end[1] - role.tail])
    out = np.array([up[1], -up[0]])
    pull = 0.36 * float(np.hypot(*(end - start)))
    return even(Bezier.hermite(start, (1.0, 0.0), end, out, (pull, pull)), 24)


# ------------------------------------------------------------------------- above the waist


def draw_upper(m: Measures, role: Role) -> Upper:
    """Draw an upper part whose waist is as long as the lower part's."""
    under = np.array([m.chest, m.high])

    def waist_to(x: float) -> tuple[Array, Array]:
        corner = np.array([x, -DIP])
        up = (under - corner) / float(np.hypot(*(under - corner)))
        pulls = (0.45 * m.waist, 0.3 * m.waist)
        out = np.array([up[1], -up[0]])
        return even(Bezier.hermite((0.0, 0.0), (1.0, 0.0), corner, out, pulls), 32), up

    (x,) = solve(lambda x: length(waist_to(float(x[0]))[0]) - m.waist, m.waist - 1.0)
    waist, up = waist_to(float(x))
    neck_end = np.array([m.neck, m.high + m.deep])
    tip = neck_end + m.shoulder * unit(-SLOPE)
    armhole = _armhole(under, up, tip, m, role)
    armhole = join(cut(armhole, 0.0, NOTCH_UP), cut(armhole, NOTCH_UP))
    neck = _neck(neck_end, m, role)
    return Upper(
        waist=waist,
        side=np.vstack([waist[-1], under]),
        armhole=armhole,
        shoulder=np.vstack([tip, neck_end]),
        neck=neck,
        centre=np.vstack([neck[-1], waist[0]]),
        notch=along(armhole, NOTCH_UP),
    )


def _armhole(corner: Array, up: Array, tip: Array, m: Measures, role: Role) -> Array:
    """From the underarm, square to the side, round to the shoulder's outer end."""
    inward = np.array([-up[1], up[0]])
    narrow = np.array([m.across - role.inward, m.high + 0.42 * (tip[1] - m.high)])
    reach = (role.pulls[0] * (corner[0] - narrow[0]), role.pulls[1] * (narrow[1] - corner[1]))
    first = Bezier.hermite(corner, inward, narrow, (0.0, 1.0), reach)
    into = unit(90.0 - SLOPE)  # square to the shoulder
    left = tip[1] - narrow[1]
    second = Bezier.hermite(narrow, (0.0, 1.0), tip, into, (0.38 * left, 0.3 * left))
    return join(even(first, 24), even(second, 16))


def _neck(end: Array, m: Measures, role: Role) -> Array:
    """From the shoulder down to the centre: square to both."""
    low = np.array([0.0, end[1] - role.neck_deep])
    pulls = (role.neck_pull, 0.6 * m.neck)
    return even(Bezier.hermite(end, unit(-90.0 - SLOPE), low, (-1.0, 0.0), pulls), 28)
