"""The front and the back of the slant trouser, drafted from body measurements.

Both are drafted the same way round: the side on the left, the centre on the right,
crotch level at y = 0 and the side at hip level at x = 0.  The front is stored so; the
back is mirrored when it is placed.  The formulas are our own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demo_sets.drafting import (
    Bezier,
    Curve,
    curve_length,
    flatten,
    join,
    length,
    locate,
    rotated,
    solve,
    unit,
)
from propagate.pattern.model import Array

__all__ = ["Body", "Main", "draw_back", "draw_front"]

# Ease over the whole girth, mm.
WAIST_EASE, HIP_EASE, RISE_EASE = 10.0, 40.0, 6.0
OFF_FLOOR = 25.0  # the trouser ends this far above the floor
HIP_TO_BACK = 5.0  # the back is this much wider than a quarter at the hip, the front narrower
WAIST_TO_FRONT = 21.0  # the front has no dart and keeps this much more of the waist
LEG_TO_BACK = 10.0  # half a back leg is this much wider than half a front leg
SIDE_LEAN = 0.010  # slope of the side at hip level: widest a hand below it
DART_WIDTH, DART_LENGTH = 28.0, 100.0
FRONT_ANGLE, FRONT_HEM_ANGLE, FRONT_FORK_ANGLE = 91.0, 87.0, 94.0  # the back has 180 less these
CENTRE_FRONT_LEAN, CENTRE_BACK_LEAN = 4.0, 10.5  # degrees from the grain


@dataclass(frozen=True)
class Body:
    """Measurements of one size, mm; `knee` and `hem` are half widths of a front leg."""

    waist: float
    hip: float
    rise: float
    waist_to_hip: float
    inside_leg: float
    knee: float
    hem: float

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
    def taper(self) -> float:
        """Slope of both leg seams below the knee."""
        return (self.knee - self.hem) / (self.knee_level - self.hem_level)


@dataclass(frozen=True, eq=False)
class Main:
    """A full silhouette: edges counter-clockwise and what the pockets and marks need.

    `legs` are the dart legs as vertex numbers on `waist`.
    """

    waist: Array
    side: Array
    hem: Bezier
    inseam: Array
    centre: Array
    crease: float
    legs: tuple[int, int] | None = None
    tip: Array | None = None


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


def _thigh_curve(body: Body, bend: float, inward: float) -> Curve:
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


def _inseam_curve(body: Body, fork: Array, crease: float, knee: float) -> tuple[Curve, float]:
    """Inseam from knee (0) to fork (1) and its slope dx/dy at the fork."""
    foot = np.array([crease + knee, body.knee_level])
    h = fork[1] - foot[1]
    chord = (fork[0] - foot[0]) / h
    slope = 2.2 * chord - 1.2 * body.taper

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


def _crotch(fork: Array, slope: float, angle: float, top: Array, lean: float, low: float) -> Array:
    """Centre edge from the fork, hooked into the straight centre line up to the waist.

    `angle` is the inner angle at the fork, `low` the height where the line begins.
    """
    rise = math.degrees(math.atan(slope)) + angle - 90.0
    up = unit(90.0 + lean)
    begin = top - up * (top[1] - low) / up[1]
    leave = unit(180.0 - rise)
    reach = np.linalg.solve(np.column_stack([leave, up]), begin - fork)
    hook = Bezier.hermite(fork, leave, begin, up, (0.62 * reach[0], 0.62 * reach[1]))
    return join(flatten(hook), np.array([begin, top]))


def _hem(body: Body, crease: float, half: float, angle: float) -> Bezier:
    """Hem from side to inseam; both inner corner angles are `angle`."""
    dip = math.degrees(math.atan(body.taper)) + 90.0 - angle
    left, right = [np.array([crease + x, body.hem_level]) for x in (-half, half)]
    return Bezier.hermite(left, unit(dip), right, unit(-dip), (0.66 * half, 0.66 * half))


def _waist_direction(slope: float, angle: float) -> Array:
    """Direction in which the waist arrives at the side, for an inner corner angle."""
    down = math.degrees(math.atan2(-1.0, -slope))
    return unit(down - (180.0 - angle))


def _side(body: Body, top: HipCurve, inward: float, crease: float, half: float) -> Array:
    """Whole side edge, from the waist to the hem; the leg is straight below the knee."""
    knee_to_hem = body.knee_level - body.hem_level
    knee = np.array([crease - half, body.knee_level])
    hem = knee + [body.taper * knee_to_hem, -knee_to_hem]
    thigh = flatten(_thigh_curve(body, top.bends[0], inward))
    above = flatten(top.curve(body.hip_level))
    return np.concatenate([above, thigh[1:-1], [knee, hem]])


def _inseam(body: Body, fork: Array, crease: float, half: float) -> tuple[Array, float]:
    """Whole inseam edge, from the hem to the fork, and its slope at the fork."""
    knee_to_hem = body.knee_level - body.hem_level
    curve, slope = _inseam_curve(body, fork, crease, half)
    hem = np.array([crease + half - body.taper * knee_to_hem, body.hem_level])
    upper = flatten(curve)
    return np.concatenate([[hem], upper[:-1], [fork]]), slope


def _centre_top(body: Body, hip_width: float, lean: float, height: float) -> Array:
    """Point of the leaning centre line at a height."""
    up = unit(90.0 + lean)
    return np.array([hip_width, body.hip_level]) + up * (height - body.hip_level) / up[1]


# --- the front and the back -------------------------------------------------------


def draw_front(body: Body) -> Main:
    """Draft the full front; the waist's length decides how far the side comes in."""
    hip_width = (body.hip + HIP_EASE) / 4 - HIP_TO_BACK
    waist = (body.waist + WAIST_EASE) / 4 + WAIST_TO_FRONT
    top = _centre_top(body, hip_width, CENTRE_FRONT_LEAN, body.waist_level - 9.0)
    height = body.waist_to_hip + 7.0

    def drawn(inward: float) -> tuple[Bezier, HipCurve]:
        hip_curve = HipCurve(inward, height, 0.60, 0.75)
        arrive = _waist_direction(hip_curve.end_slope, FRONT_ANGLE)
        corner = np.array([inward, body.waist_level + 7.0])
        handles = (0.38 * waist, 0.34 * waist)
        line = Bezier.hermite(top, unit(180.0 + CENTRE_FRONT_LEAN), corner, arrive, handles)
        return line, hip_curve

    (inward,) = solve(lambda x: curve_length(drawn(x[0])[0]) - waist, [26.0])
    line, hip_curve = drawn(inward)
    fork = np.array([hip_width + 0.055 * body.hip, 0.0])
    crease = fork[0] / 2
    inseam, slope = _inseam(body, fork, crease, body.knee)
    centre = _crotch(
        fork, slope, FRONT_FORK_ANGLE, top, CENTRE_FRONT_LEAN, 0.85 * body.hip_level
    )
    return Main(
        waist=flatten(line),
        side=_side(body, hip_curve, crease - body.knee, crease, body.knee),
        hem=_hem(body, crease, body.hem, FRONT_HEM_ANGLE),
        inseam=inseam,
        centre=centre,
        crease=crease,
    )


def draw_back(body: Body, front: Main) -> Main:
    """Draft the back so that side and inseam sew to the front's.

    The side corner, the side's way in and the dart's angle are solved for the waist's
    length, the side's length above the hip and the dart's width; the leg is placed so
    that the side agrees from hip to knee; the fork sinks until the inseams agree.
    """
    hip_width = (body.hip + HIP_EASE) / 4 + HIP_TO_BACK
    waist = (body.waist + WAIST_EASE) / 4 - WAIST_TO_FRONT
    top = _centre_top(body, hip_width, CENTRE_BACK_LEAN, body.waist_level + 24.0)
    side_above = locate(front.side, [0.0, body.hip_level])
    knee_at = locate(front.side, [front.crease - body.knee, body.knee_level])

    def drawn(x: Array) -> tuple[_ClosedWaist, HipCurve]:
        inward, height, dart = x
        hip_curve = HipCurve(inward, height, 0.65, 0.70)
        arrive = _waist_direction(hip_curve.end_slope, 180.0 - FRONT_ANGLE)
        corner = np.array([inward, body.hip_level + height])
        return _ClosedWaist.drawn(top, corner, arrive, dart, waist), hip_curve

    def residual(x: Array) -> list[float]:
        closed, hip_curve = drawn(x)
        return [
            curve_length(closed.line) - waist,
            curve_length(hip_curve.curve(body.hip_level)) - side_above,
            closed.width - DART_WIDTH,
        ]

    closed, hip_curve = drawn(solve(residual, [26.0, body.waist_to_hip + 7.0, 15.0]))
    half = body.knee + LEG_TO_BACK
    bend = hip_curve.bends[0]
    (inward,) = solve(
        lambda x: curve_length(_thigh_curve(body, bend, x[0])) - (knee_at - side_above),
        [front.crease - body.knee],
    )
    crease = inward + half
    inseam_above = length(front.inseam) - length(front.inseam[:2])

    def fork_at(drop: float) -> Array:
        return np.array([hip_width + 0.105 * body.hip, -drop])

    (drop,) = solve(
        lambda x: curve_length(_inseam_curve(body, fork_at(x[0]), crease, half)[0]) - inseam_above,
        [8.0],
    )
    fork = fork_at(drop)
    inseam, slope = _inseam(body, fork, crease, half)
    waist_points, legs = closed.opened()
    return Main(
        waist=waist_points,
        side=_side(body, hip_curve, inward, crease, half),
        hem=_hem(body, crease, body.hem + LEG_TO_BACK, 180.0 - FRONT_HEM_ANGLE),
        inseam=inseam,
        centre=_crotch(
            fork, slope, 180.0 - FRONT_FORK_ANGLE, top, CENTRE_BACK_LEAN, 0.9 * body.hip_level
        ),
        crease=crease,
        legs=legs,
        tip=closed.tip,
    )


@dataclass(frozen=True, eq=False)
class _ClosedWaist:
    """The back's waist with the dart folded out: one smooth line, opened at the dart.

    The part on the side's side is turned about the dart's tip by `dart` degrees, so
    the legs are equally long and the waist runs on smoothly once the dart is sewn.
    """

    line: Bezier
    tip: Array
    dart: float
    split: float

    @classmethod
    def drawn(
        cls, top: Array, corner: Array, arrive: Array, dart: float, waist: float
    ) -> _ClosedWaist:
        """Draw it from the centre's top to the side's corner turned in by the dart."""
        chord = (corner - top) / np.hypot(*(corner - top))
        tip = (top + corner) / 2 + DART_LENGTH * np.array([-chord[1], chord[0]])
        end = rotated(corner, -dart, tip)[0]
        line = Bezier.hermite(
            top,
            unit(180.0 + CENTRE_BACK_LEAN),
            end,
            rotated(arrive, -dart)[0],
            (0.36 * waist, 0.36 * waist),
        )

        def square(t: Array) -> float:
            before, at, after = line(np.array([t[0] - 1e-4, t[0], t[0] + 1e-4]))
            return float((after - before) @ (at - tip)) / 2e-4 / waist

        (split,) = solve(square, [0.5])
        return cls(line, tip, dart, float(split))

    @property
    def width(self) -> float:
        """Width of the dart's mouth."""
        leg = float(np.hypot(*(self.line(np.array([self.split]))[0] - self.tip)))
        return 2 * leg * math.sin(math.radians(self.dart / 2))

    def opened(self) -> tuple[Array, tuple[int, int]]:
        """The waist as drawn, from centre to side, and the vertex numbers of the legs."""
        centre_part, side_part = (flatten(part) for part in self.line.split(self.split))
        opened = rotated(side_part, self.dart, self.tip)
        return np.concatenate([centre_part, opened]), (len(centre_part) - 1, len(centre_part))
