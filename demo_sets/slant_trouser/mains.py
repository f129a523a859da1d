"""The front and the back of the slant trouser, drafted from body measurements.

The front is stored as it is drafted, the back is mirrored when it is placed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

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

__all__ = ["Main", "draw_back", "draw_front"]

# Ease over the whole girth, mm.
WAIST_EASE, HIP_EASE = 10.0, 40.0
HIP_TO_BACK = 5.0  # the back is this much wider than a quarter at the hip, the front narrower
LEG_TO_BACK = 10.0  # half a back leg is this much wider than half a front leg
DART_WIDTH, DART_LENGTH = 28.0, 100.0
FRONT_ANGLE, FRONT_HEM_ANGLE, FRONT_FORK_ANGLE = 91.0, 87.0, 93.0  # the back has 180 less these
CENTRE_FRONT_LEAN, CENTRE_BACK_LEAN = 4.0, 10.5  # degrees from the grain


@dataclass(frozen=True, eq=False)
class Main:
    """A full silhouette: edges counter-clockwise and what the pockets and marks need.

    `curves` are the front's waist and its side down to the hip before they were made
    polylines; `legs` are the back's dart legs as vertex numbers on `waist`.
    """

    waist: Array
    side: Array
    hem: Bezier
    inseam: Array
    centre: Array
    crease: float
    curves: tuple[Curve, Curve] | None = None
    legs: tuple[int, int] | None = None
    tip: Array | None = None

    def with_vertices(self, on_waist: float, on_side: float) -> Main:
        """The front with vertices where the mouth ends, given as curve parameters.

        The vertices lie on the curves and not on chords, so the bend stays even there.
        """
        if self.curves is None:
            raise ValueError("only a main that keeps its curves can be given vertices")
        line, hip = self.curves
        waist = join(flatten(line, 0.0, on_waist), flatten(line, on_waist, 1.0))
        above = join(flatten(hip, 0.0, on_side), flatten(hip, on_side, 1.0))
        below = self.side[self.side[:, 1] < above[-1, 1]]
        return replace(self, waist=waist, side=np.concatenate([above, below]))


# --- the front and the back -------------------------------------------------------


def draw_front(body: Body) -> Main:
    """Draft the full front; the waist's length decides how far the side comes in."""
    hip_width = (body.hip + HIP_EASE) / 4 - HIP_TO_BACK
    waist = (body.waist + WAIST_EASE) / 4 + body.to_front
    top = centre_top(body, hip_width, CENTRE_FRONT_LEAN, body.waist_level - 9.0)
    height = body.waist_to_hip + 7.0

    def drawn(inward: float) -> tuple[Bezier, HipCurve]:
        hip_curve = HipCurve(inward, height, 0.65, 0.42)
        arrive = waist_direction(hip_curve.end_slope, FRONT_ANGLE)
        corner = np.array([inward, body.waist_level + 7.0])
        handles = (0.38 * waist, 0.34 * waist)
        line = Bezier.hermite(top, unit(180.0 + CENTRE_FRONT_LEAN), corner, arrive, handles)
        return line, hip_curve

    (inward,) = solve(lambda x: curve_length(drawn(x[0])[0]) - waist, [26.0])
    line, hip_curve = drawn(inward)
    fork = np.array([hip_width + 0.055 * body.hip, 0.0])
    crease = fork[0] / 2
    inseam, slope = inseam_edge(body, fork, crease, body.knee)
    centre = crotch_edge(
        fork, slope, FRONT_FORK_ANGLE, top, CENTRE_FRONT_LEAN, 0.85 * body.hip_level
    )
    return Main(
        waist=flatten(line),
        side=side_edge(body, hip_curve, crease - body.knee, crease, body.knee),
        hem=hem_edge(body, crease, body.hem, FRONT_HEM_ANGLE),
        inseam=inseam,
        centre=centre,
        crease=crease,
        curves=(line, hip_curve.curve(body.hip_level)),
    )


def draw_back(body: Body, front: Main) -> Main:
    """Draft the back so that side and inseam sew to the front's.

    The side corner, the side's way in and the dart's angle are solved for the waist's
    length, the side's length above the hip and the dart's width; the leg is placed so
    that the side agrees from hip to knee; the fork sinks until the inseams agree.
    """
    hip_width = (body.hip + HIP_EASE) / 4 + HIP_TO_BACK
    waist = (body.waist + WAIST_EASE) / 4 - body.to_front
    top = centre_top(body, hip_width, CENTRE_BACK_LEAN, body.waist_level + 24.0)
    side_above = locate(front.side, [0.0, body.hip_level])
    knee_at = locate(front.side, [front.crease - body.knee, body.knee_level])

    def drawn(x: Array) -> tuple[_ClosedWaist, HipCurve]:
        inward, height, dart = x
        hip_curve = HipCurve(inward, height, 0.70, 0.36)
        arrive = waist_direction(hip_curve.end_slope, 180.0 - FRONT_ANGLE)
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
        lambda x: curve_length(thigh_curve(body, bend, x[0])) - (knee_at - side_above),
        [front.crease - body.knee],
    )
    crease = inward + half
    inseam_above = length(front.inseam) - length(front.inseam[:2])

    def fork_at(drop: float) -> Array:
        return np.array([hip_width + 0.102 * body.hip, -drop])

    (drop,) = solve(
        lambda x: curve_length(inseam_curve(body, fork_at(x[0]), crease, half)[0]) - inseam_above,
        [8.0],
    )
    fork = fork_at(drop)
    inseam, slope = inseam_edge(body, fork, crease, half)
    waist_points, legs = closed.opened()
    return Main(
        waist=waist_points,
        side=side_edge(body, hip_curve, inward, crease, half),
        hem=hem_edge(body, crease, body.hem + LEG_TO_BACK, 180.0 - FRONT_HEM_ANGLE),
        inseam=inseam,
        centre=crotch_edge(
            fork, slope, 180.0 - FRONT_FORK_ANGLE, top, CENTRE_BACK_LEAN, 0.78 * body.hip_level
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
