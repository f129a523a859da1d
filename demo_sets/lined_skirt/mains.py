"""Front and back of the skirt, each with a dart, and how they lie with the dart closed.

The drafting frame has the centre at x = 0, the side at the right and the waist level at
y = 0; outlines are drawn counter-clockwise: hem, side, waist, centre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demo_sets.drafting import Bezier, length, solve
from demo_sets.scoop_skirt.mains import (
    Measures,
    even,
    flank_curve,
    foot,
    foot_end,
    open_dart,
    turned,
)
from propagate.pattern.model import Array

__all__ = ["Quarter", "draw_back", "draw_front"]

CORNER_FRONT = 91.0  # degrees at the top of the side; the back has the rest of 180
RISE = 14.0  # mm from the waist level up to the front's side corner
BACK_DROP = 8.0  # mm from the waist level down to the back's waist at the centre
LEAN = 2.0  # degrees that the axis of a dart leans to the centre


@dataclass(frozen=True, eq=False)
class Quarter:
    """One quarter of the skirt.

    Attributes
    ----------
    hem, side, waist, centre : arrays, counter-clockwise
    legs : indices of the dart's legs in `waist`, side first; the peak lies between them
    tip : point
    open_by : degrees of the dart
    closed : array, the waist with its dart closed, from the side to the centre
    hip : point of the side at the hip level
    """

    hem: Bezier
    side: Array
    waist: Array
    centre: Array
    legs: tuple[int, int]
    tip: Array
    open_by: float
    closed: Array
    hip: Array

    @property
    def closed_side(self) -> Array:
        """The side where it lies when the dart is closed."""
        return turned(self.side, self.open_by, self.tip)


def draw_front(m: Measures) -> Quarter:
    """Return the front; its side corner is where the waist has its length."""
    seat = np.array([m.seat_front, -m.seat_depth])
    shape = _Shape(m.top_front, seat, 0.0, 0.62 * m.dart, 96.0, CORNER_FRONT)

    def miss(x: Array) -> float:
        return length(shape.waist(np.array([float(x[0]), RISE]))[0]) - m.top_front

    (x,) = solve(miss, m.top_front + 0.62 * m.dart)
    return shape.drawn(np.array([float(x), RISE]), m)


def draw_back(m: Measures, front: Quarter) -> Quarter:
    """Return the back; its side is as long as the front's."""
    seat = np.array([m.seat_back, -m.seat_depth])
    shape = _Shape(m.top_back, seat, BACK_DROP, m.dart, 128.0, 180.0 - CORNER_FRONT)
    wanted = length(front.side[1:])

    def misses(place: Array) -> Array:
        top, curve = shape.waist(place)
        return np.array([length(top) - m.top_back, length(curve) - wanted])

    return shape.drawn(solve(misses, (m.top_back + m.dart, RISE)), m)


@dataclass(frozen=True, eq=False)
class _Shape:
    """What a quarter is drawn from: the waist's length, the hip, the dart and the corner."""

    top: float
    seat: Array
    drop: float
    dart: float
    deep: float
    corner: float

    @property
    def tip(self) -> Array:
        return np.array([0.5 * self.top, -self.deep])

    @property
    def open_by(self) -> float:
        return 2.0 * math.degrees(math.asin(self.dart / 2.0 / self.deep))

    def waist(self, place: Array) -> tuple[Array, Array]:
        """The waist with its dart closed, from the centre, and the side from `place` to the hip."""
        curve, down = flank_curve(place, self.seat)
        corner = turned(place, self.open_by, self.tip)
        out = -turned(down, self.open_by - self.corner)
        start = np.array([0.0, -self.drop])
        pulls = (0.42 * self.top, 0.24 * self.top)
        return even(Bezier.hermite(start, (1.0, 0.0), corner, out, pulls)), curve

    def drawn(self, place: Array, m: Measures) -> Quarter:
        """The quarter with its side corner at a place."""
        closed, curve = self.waist(place)
        opened, dart = open_dart(closed, self.tip, self.open_by, LEAN)
        end = foot_end(self.seat, m)
        hem = foot(end, m)
        last = len(opened) - 1
        return Quarter(
            hem=Bezier(hem.control[::-1]),
            side=np.vstack([end, curve[::-1]]),
            waist=opened[::-1],
            centre=np.array([closed[0], hem.control[-1]]),
            legs=(last - dart.turns[2], last - dart.turns[0]),
            tip=self.tip,
            open_by=self.open_by,
            closed=closed[::-1],
            hip=self.seat,
        )
