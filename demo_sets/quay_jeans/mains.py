"""Front and back of the quay jeans: full silhouettes, and the back's yoke with its dart closed.

Drafted with the side on the left, the centre on the right, crotch level at y = 0 and the side
at hip level at x = 0; the back and its yoke are mirrored when they are placed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from demo_sets.drafting import (
    Bezier,
    Curve,
    curve_length,
    cut,
    flatten,
    join,
    length,
    locate,
    rotated,
    solve,
    unit,
)
from demo_sets.slant_trouser.lines import (
    Body,
    HipCurve,
    centre_top,
    crotch_edge,
    hem_edge,
    inseam_curve,
    inseam_edge,
    side_edge,
    thigh_curve,
    waist_direction,
)
from propagate.pattern.model import Array

__all__ = ["Back", "Front", "Leg", "Yoke", "draw_back", "draw_front"]

WAIST_EASE, HIP_EASE = 14.0, 26.0  # over the whole girth, mm
TO_FRONT = 8.0  # the front's waist is this much longer than a quarter, the back's shorter
HIP_TO_BACK = 6.0  # the back is this much wider than a quarter at the hip, the front narrower
LEG_TO_BACK = 9.0  # half a back leg is this much wider than half a front leg
FRONT_ANGLE, FRONT_HEM_ANGLE, FRONT_FORK_ANGLE = 91.0, 88.0, 93.0  # the back has 180 less these
CENTRE_FRONT_LEAN, CENTRE_BACK_LEAN = 4.5, 12.0  # degrees from the grain
FRONT_DROP = 10.0  # the waist at the centre front lies this far below the waist level
BACK_RISE = 22.0  # and at the centre back this far above it

YOKE_SIDE, YOKE_CENTRE = 38.0, 70.0  # depth of the yoke at the side and at the centre back
YOKE_DART = 7.0  # degrees: the dart that is closed in the yoke


@dataclass(frozen=True, eq=False)
class Leg:
    """What front and back have below the waist; edges counter-clockwise."""

    side: Array
    hem: Bezier
    inseam: Array
    centre: Array
    crease: float


@dataclass(frozen=True, eq=False)
class Front:
    """The full front; `curves` are its waist and its side down to the hip as functions."""

    leg: Leg
    waist: Array
    curves: tuple[Curve, Curve]

    def with_vertices(self, on_waist: float, on_side: float) -> Front:
        """The front with vertices where the mouth ends, given as curve parameters."""
        line, hip = self.curves
        waist = join(flatten(line, 0.0, on_waist), flatten(line, on_waist, 1.0))
        above = join(flatten(hip, 0.0, on_side), flatten(hip, on_side, 1.0))
        below = self.leg.side[self.leg.side[:, 1] < above[-1, 1]]
        leg = self.leg
        side = np.concatenate([above, below])
        return Front(Leg(side, leg.hem, leg.inseam, leg.centre, leg.crease), waist, self.curves)


@dataclass(frozen=True, eq=False)
class Yoke:
    """The yoke with its dart closed, counter-clockwise, in the frame of its centre part."""

    waist: Array
    side: Array
    lower: Array
    centre: Array


@dataclass(frozen=True, eq=False)
class Back:
    """The back below the yoke, and the yoke; `top` runs from the centre to the side."""

    leg: Leg
    top: Array
    yoke: Yoke


def draw_front(body: Body) -> Front:
    """Draft the full front; the waist's length decides how far the side comes in."""
    hip_width = (body.hip + HIP_EASE) / 4 - HIP_TO_BACK
    waist = (body.waist + WAIST_EASE) / 4 + TO_FRONT
    top = centre_top(body, hip_width, CENTRE_FRONT_LEAN, body.waist_level - FRONT_DROP)
    height = body.waist_to_hip + 5.0

    def drawn(inward: float) -> tuple[Bezier, HipCurve]:
        hip_curve = HipCurve(inward, height, 0.70, 0.60)
        arrive = waist_direction(hip_curve.end_slope, FRONT_ANGLE)
        corner = np.array([inward, body.hip_level + height])
        handles = (0.38 * waist, 0.34 * waist)
        line = Bezier.hermite(top, unit(180.0 + CENTRE_FRONT_LEAN), corner, arrive, handles)
        return line, hip_curve

    (inward,) = solve(lambda x: curve_length(drawn(x[0])[0]) - waist, [20.0])
    line, hip_curve = drawn(inward)
    fork = np.array([hip_width + 0.050 * body.hip, 0.0])
    crease = fork[0] / 2
    inseam, slope = inseam_edge(body, fork, crease, body.knee)
    low = 0.55 * body.hip_level
    leg = Leg(
        side_edge(body, hip_curve, crease - body.knee, crease, body.knee),
        hem_edge(body, crease, body.hem, FRONT_HEM_ANGLE),
        inseam,
        _at_hip(crotch_edge(fork, slope, FRONT_FORK_ANGLE, top, CENTRE_FRONT_LEAN, low), body),
        crease,
    )
    return Front(leg, flatten(line), (line, hip_curve.curve(body.hip_level)))


def _at_hip(centre: Array, body: Body) -> Array:
    """The centre with a vertex where its straight part crosses the hip level."""
    begin, top = centre[-2:]
    share = (body.hip_level - begin[1]) / (top[1] - begin[1])
    return np.concatenate([centre[:-1], [begin + share * (top - begin)], centre[-1:]])


# --- the back and its yoke ------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Closing:
    """The yoke's line on the back, and how the yoke's side part goes when its dart is closed.

    The dart's tip is the middle of the line.  The back's top bows up by as much as the yoke's
    lower edge bows down, a quarter of the dart's angle at each end: so both are equally long
    between the same two points, and side and centre run on smoothly as sewn.  `at` is the
    parameter of the side's curve at which the line meets it.
    """

    side: Array
    centre: Array
    at: float

    def top(self) -> Array:
        """The back's top, from the centre to the side."""
        chord = self.side - self.centre
        reach = float(np.hypot(*chord))
        along = np.degrees(np.arctan2(chord[1], chord[0]))
        bow = YOKE_DART / 4
        curve = Bezier.hermite(
            self.centre, unit(along - bow), self.side, unit(along + bow), (reach / 3, reach / 3)
        )
        return flatten(curve)

    def lower(self) -> Array:
        """The yoke's lower edge, from the side to the centre, where the side part now lies."""
        axis = self.side - self.centre
        axis = axis / np.hypot(*axis)
        across = np.array([-axis[1], axis[0]])
        own = (self.top() - self.centre) @ np.column_stack([axis, -across])
        end = self.closed(self.side[None])[0] - self.centre
        axis = end / np.hypot(*end)
        points: Array = self.centre + own @ np.array([axis, [-axis[1], axis[0]]])
        return points[::-1]

    def closed(self, points: Array) -> Array:
        """Points of the side part after the dart is closed about its tip.

        The part is let out by the tenths of a millimetre that the chord loses by it.
        """
        top = self.top()
        tip = top[len(top) // 2]
        end = rotated(self.side, -YOKE_DART, tip)[0]
        reach, now = (float(np.hypot(*(p - self.centre))) for p in (self.side, end))
        return rotated(points, -YOKE_DART, tip) + (end - self.centre) * (reach / now - 1.0)


def draw_back(body: Body, front: Front) -> Back:
    """Draft the back so that side and inseam sew to the front's, and cut it in back and yoke.

    The side's corner and its way in are solved for the length of the closed waist and of the
    side above the hip; the leg is placed so that the side agrees from hip to knee; the fork
    sinks until the inseams agree.
    """
    hip_width = (body.hip + HIP_EASE) / 4 + HIP_TO_BACK
    waist = (body.waist + WAIST_EASE) / 4 - TO_FRONT
    top = centre_top(body, hip_width, CENTRE_BACK_LEAN, body.waist_level + BACK_RISE)
    up = unit(90.0 + CENTRE_BACK_LEAN)
    side_above = locate(front.leg.side, [0.0, body.hip_level])
    knee_at = locate(front.leg.side, [front.leg.crease - body.knee, body.knee_level])

    def drawn(x: Array) -> tuple[Bezier, HipCurve, _Closing]:
        hip_curve = HipCurve(x[0], x[1], 0.72, 0.55)
        side = hip_curve.curve(body.hip_level)
        (at,) = solve(lambda t: curve_length(side, 0.0, t[0]) - YOKE_SIDE, [0.25])
        closing = _Closing(side(np.array([at]))[0], top - YOKE_CENTRE * up, float(at))
        arrive = waist_direction(hip_curve.end_slope, 180.0 - FRONT_ANGLE)
        corner = closing.closed(np.array([[x[0], body.hip_level + x[1]]]))[0]
        line = Bezier.hermite(
            top,
            unit(180.0 + CENTRE_BACK_LEAN),
            corner,
            rotated(arrive, -YOKE_DART)[0],
            (0.36 * waist, 0.36 * waist),
        )
        return line, hip_curve, closing

    def residual(x: Array) -> list[float]:
        line, hip_curve, _ = drawn(x)
        side = curve_length(hip_curve.curve(body.hip_level))
        return [curve_length(line) - waist, side - side_above]

    line, hip_curve, closing = drawn(solve(residual, [20.0, body.waist_to_hip + 5.0]))
    half = body.knee + LEG_TO_BACK
    bend = hip_curve.bends[0]
    (inward,) = solve(
        lambda x: curve_length(thigh_curve(body, bend, x[0])) - (knee_at - side_above),
        [front.leg.crease - body.knee],
    )
    crease = inward + half
    inseam_above = length(front.leg.inseam) - length(front.leg.inseam[:2])

    def fork_at(drop: float) -> Array:
        return np.array([hip_width + 0.098 * body.hip, -drop])

    (drop,) = solve(
        lambda x: curve_length(inseam_curve(body, fork_at(x[0]), crease, half)[0]) - inseam_above,
        [8.0],
    )
    fork = fork_at(drop)
    inseam, slope = inseam_edge(body, fork, crease, half)
    whole = side_edge(body, hip_curve, inward, crease, half)
    curve = hip_curve.curve(body.hip_level)
    upper, rest = flatten(curve, 0.0, closing.at), flatten(curve, closing.at, 1.0)
    side = np.concatenate([rest, whole[whole[:, 1] < rest[-1, 1]]])
    centre = crotch_edge(
        fork, slope, 180.0 - FRONT_FORK_ANGLE, top, CENTRE_BACK_LEAN, 0.5 * body.hip_level
    )
    centre = _at_hip(centre, body)
    yoke = Yoke(
        flatten(line),
        closing.closed(upper),
        closing.lower(),
        cut(centre, length(centre) - YOKE_CENTRE),
    )
    leg = Leg(
        side,
        hem_edge(body, crease, body.hem + LEG_TO_BACK, 180.0 - FRONT_HEM_ANGLE),
        inseam,
        cut(centre, 0.0, length(centre) - YOKE_CENTRE),
        crease,
    )
    return Back(leg, closing.top(), yoke)
