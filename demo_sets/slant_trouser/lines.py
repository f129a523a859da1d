"""The body of one size and the lines that front and back are drafted with.

Both mains are drafted the same way round: the side on the left, the centre on the
right, crotch level at y = 0 and the side at hip level at x = 0.  The formulas are our
own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demo_sets.drafting import Bezier, Curve, flatten, join, unit
from propagate.pattern.model import Array

__all__ = [
    "Body",
    "HipCurve",
    "centre_top",
    "crotch_edge",
    "hem_edge",
    "inseam_curve",
    "inseam_edge",
    "side_edge",
    "thigh_curve",
    "waist_direction",
]

RISE_EASE = 6.0
OFF_FLOOR = 25.0  # the trouser ends this far above the floor
SIDE_LEAN = 0.010  # slope of the side at hip level: it is widest a little below


@dataclass(frozen=True)
class Body:
    """Measurements of the body in one size, mm, and what the draft derives from them.

    Heights are above the crotch level; `knee` and `hem` are half widths of a front leg.
    """

    waist: float
    hip: float
    rise: float
    waist_to_hip: float
    inside_leg: float

    @property
    def waist_level(self) -> float:
        """Height of the waist level above the crotch level."""
        return self.rise + RISE_EASE

    @property
    def hip_level(self) -> float:
        """Height of the hip level."""
        return self.waist_level - self.waist_to_hip

    @property
    def hem_level(self) -> float:
        """Height of the hem."""
        return OFF_FLOOR - self.inside_leg

    @property
    def knee_level(self) -> float:
        """Half of the leg, raised by 50 mm."""
        return self.hem_level / 2 + 50.0

    @property
    def knee(self) -> float:
        """Half width of a front leg at the knee."""
        return 24.0 + 0.090 * self.hip

    @property
    def hem(self) -> float:
        """Half width of a front leg at the hem."""
        return 36.0 + 0.055 * self.hip

    @property
    def to_front(self) -> float:
        """How much longer the front's waist is than a quarter, and the sewn back's shorter.

        The front has no dart and keeps more of the waist.
        """
        return 13.6 + 0.008 * self.hip

    @property
    def taper(self) -> float:
        """Slope of both leg seams below the knee."""
        return (self.knee - self.hem) / (self.knee_level - self.hem_level)


# --- the side -----------------------------------------------------------------


@dataclass(frozen=True)
class HipCurve:
    """Side between hip and waist, x as a function of the height u above the hip.

    The bend (second derivative) goes from `low` at the hip over a peak to `high` at
    the waist, as multiples of the constant bend that would lead to the same place.
    """

    inward: float
    height: float
    low: float
    high: float

    @property
    def bends(self) -> tuple[float, float, float]:
        """Bend at the hip, at the waist, and the hump between them."""
        even = 2 * (self.inward - SIDE_LEAN * self.height) / self.height**2
        hump = 1.5 - self.low - self.high / 2
        return even * self.low, even * self.high, even * hump

    def x(self, u: Array) -> Array:
        """Inward distance at the heights `u`."""
        low, high, hump = self.bends
        v = np.asarray(u) / self.height
        bent = low * (v**2 / 2 - v**3 / 6) + high * v**3 / 6 + hump * (2 * v**3 / 3 - v**4 / 3)
        out: Array = SIDE_LEAN * np.asarray(u) + self.height**2 * bent
        return out

    @property
    def end_slope(self) -> float:
        """dx/du at the waist."""
        low, high, hump = self.bends
        return SIDE_LEAN + self.height * (low / 2 + high / 2 + 2 * hump / 3)

    def curve(self, hip_level: float) -> Curve:
        """From the waist (0) to the hip (1)."""

        def points(t: Array) -> Array:
            u = self.height * (1 - np.asarray(t))
            return np.column_stack([self.x(u), hip_level + u])

        return points


def thigh_curve(body: Body, bend: float, inward: float) -> Curve:
    """Side from hip (0) to knee (1): a quintic that joins both ends with their bend."""
    h = body.hip_level - body.knee_level
    # In w = depth / h: value, slope and bend at both ends.
    a0, a1, a2 = 0.0, -SIDE_LEAN * h, bend * h * h / 2
    rows = np.array([[1.0, 1.0, 1.0], [3.0, 4.0, 5.0], [6.0, 12.0, 20.0]])
    wanted = [inward - a0 - a1 - a2, body.taper * h - a1 - 2 * a2, -2 * a2]
    b3, b4, b5 = np.linalg.solve(rows, wanted)

    def points(t: Array) -> Array:
        w = np.asarray(t)
        x = a0 + a1 * w + a2 * w**2 + b3 * w**3 + b4 * w**4 + b5 * w**5
        return np.column_stack([x, body.hip_level - h * w])

    return points


# --- inseam, crotch and hem -----------------------------------------------------


def inseam_curve(body: Body, fork: Array, crease: float, knee: float) -> tuple[Curve, float]:
    """Inseam from knee (0) to fork (1) and its slope dx/dy at the fork."""
    foot = np.array([crease + knee, body.knee_level])
    h = fork[1] - foot[1]
    chord = (fork[0] - foot[0]) / h
    slope = 1.8 * chord - 0.8 * body.taper

    def points(t: Array) -> Array:
        v = np.asarray(t)
        x = (
            foot[0]
            + body.taper * h * v
            + h * (3 * chord - 2 * body.taper - slope) * v**2
            + h * (body.taper + slope - 2 * chord) * v**3
        )
        return np.column_stack([x, foot[1] + h * v])

    return points, slope


def crotch_edge(
    fork: Array, slope: float, angle: float, top: Array, lean: float, low: float
) -> Array:
    """Centre edge from the fork, hooked into the straight centre line up to the waist.

    `angle` is the inner angle at the fork, `low` the height where the line begins.
    """
    rise = math.degrees(math.atan(slope)) + angle - 90.0
    up = unit(90.0 + lean)
    begin = top - up * (top[1] - low) / up[1]
    leave = unit(180.0 - rise)
    reach = np.linalg.solve(np.column_stack([leave, up]), begin - fork)
    hook = Bezier.hermite(fork, leave, begin, up, (0.72 * reach[0], 0.60 * reach[1]))
    return join(flatten(hook), np.array([begin, top]))


def hem_edge(body: Body, crease: float, half: float, angle: float) -> Bezier:
    """Hem from side to inseam; both inner corner angles are `angle`."""
    dip = math.degrees(math.atan(body.taper)) + 90.0 - angle
    left, right = [np.array([crease + x, body.hem_level]) for x in (-half, half)]
    return Bezier.hermite(left, unit(dip), right, unit(-dip), (0.66 * half, 0.66 * half))


def waist_direction(slope: float, angle: float) -> Array:
    """Direction in which the waist arrives at the side, for an inner corner angle."""
    down = math.degrees(math.atan2(-1.0, -slope))
    return unit(down - (180.0 - angle))


def side_edge(body: Body, top: HipCurve, inward: float, crease: float, half: float) -> Array:
    """Whole side edge, from the waist to the hem; the leg is straight below the knee."""
    knee_to_hem = body.knee_level - body.hem_level
    knee = np.array([crease - half, body.knee_level])
    hem = knee + np.array([body.taper * knee_to_hem, -knee_to_hem])
    thigh = flatten(thigh_curve(body, top.bends[0], inward))
    above = flatten(top.curve(body.hip_level))
    return np.concatenate([above, thigh[1:-1], [knee, hem]])


def inseam_edge(body: Body, fork: Array, crease: float, half: float) -> tuple[Array, float]:
    """Whole inseam edge, from the hem to the fork, and its slope at the fork."""
    knee_to_hem = body.knee_level - body.hem_level
    curve, slope = inseam_curve(body, fork, crease, half)
    hem = np.array([crease + half - body.taper * knee_to_hem, body.hem_level])
    upper = flatten(curve)
    return np.concatenate([[hem], upper[:-1], [fork]]), slope


def centre_top(body: Body, hip_width: float, lean: float, height: float) -> Array:
    """Point of the leaning centre line at a height."""
    up = unit(90.0 + lean)
    point: Array = np.array([hip_width, body.hip_level]) + up * (height - body.hip_level) / up[1]
    return point
