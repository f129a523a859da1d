"""Front and back of the skirt, each with a dart, and how they lie with the dart closed.

The drafting frame has the centre at x = 0, the side at the right and the waist level at
y = 0; outlines are drawn counter-clockwise: hem, side, waist, centre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from demo_sets.drafting import Bezier, length, offset_left, solve
from demo_sets.lined_skirt.darts import MarkedDart
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

__all__ = ["Quarter", "draw_back", "draw_front", "true_waist"]

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
    darts : those of the waist, the nearer to the side first
    open_by : degrees of the dart as it was drawn
    closed : array, the waist with its darts closed, from the side to the centre
    closed_side : array, the side where it lies then
    hip : point of the side at the hip level
    """

    hem: Bezier
    side: Array
    waist: Array
    centre: Array
    darts: tuple[MarkedDart, ...]
    open_by: float
    closed: Array
    closed_side: Array
    hip: Array

    @property
    def legs(self) -> tuple[int, int]:
        """The legs in `waist` of the dart nearest to the centre, side first."""
        return self.darts[-1].legs

    @property
    def tip(self) -> Array:
        """Its tip."""
        return self.darts[-1].tip


def draw_front(m: Measures) -> Quarter:
    """Return the front; its side corner is where the waist has its length."""
    seat = np.array([m.seat_front, -m.seat_depth])
    shape = _Shape(m.top_front, seat, 0.0, 0.62 * m.dart, 96.0, CORNER_FRONT)

    def miss(x: Array) -> float:
        return length(shape.waist(np.array([float(x[0]), RISE]))[0]) - m.top_front

    (x,) = solve(miss, m.top_front + 0.62 * m.dart)
    return shape.drawn(np.array([float(x), RISE]), m)


def draw_back(m: Measures, front: Quarter, nearer: float = 0.0, dip: float = 0.0) -> Quarter:
    """Return the back; its side is as long as the front's.

    Its dart stands by `nearer` mm nearer to the centre than the middle of the waist, and the
    waists of both dip by so many degrees where they meet at the side.
    """
    seat = np.array([m.seat_back, -m.seat_depth])
    corner = 180.0 - CORNER_FRONT - dip
    shape = _Shape(m.top_back, seat, BACK_DROP, m.dart, 128.0, corner, nearer)
    wanted = length(front.side[1:])

    def misses(place: Array) -> Array:
        top, curve = shape.waist(place)
        return np.array([length(top) - m.top_back, length(curve) - wanted])

    return shape.drawn(solve(misses, (m.top_back + m.dart, RISE)), m)


def true_waist(q: Quarter, wider: float) -> Quarter:
    """Return a quarter whose waist meets the side at an angle that is wider by some degrees.

    By hand with a curve: the corner and the dart stay, and the line between them is led over into
    what it was by a cubic.
    """
    leg = q.darts[0].legs[0]
    old = q.waist[: leg + 1]
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(old, axis=0).T))])
    share = arc / arc[-1]
    lead = math.tan(math.radians(wider)) * arc[-1] * share * (1.0 - share) ** 2
    square = offset_left(old, 1.0) - old
    waist = np.vstack([(old - lead[:, None] * square)[:-1], q.waist[leg:]])
    closed = np.vstack([turned(waist[:leg], q.open_by, q.tip), q.closed[leg:]])
    return replace(q, waist=waist, closed=closed)


@dataclass(frozen=True, eq=False)
class _Shape:
    """What a quarter is drawn from: the waist's length, the hip, the dart and the corner."""

    top: float
    seat: Array
    drop: float
    dart: float
    deep: float
    corner: float
    nearer: float = 0.0

    @property
    def tip(self) -> Array:
        return np.array([0.5 * self.top - self.nearer, -self.deep])

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
        side = np.vstack([end, curve[::-1]])
        return Quarter(
            hem=Bezier(hem.control[::-1]),
            side=side,
            waist=opened[::-1],
            centre=np.array([closed[0], hem.control[-1]]),
            darts=(MarkedDart((last - dart.turns[2], last - dart.turns[0]), self.tip),),
            open_by=self.open_by,
            closed=closed[::-1],
            closed_side=turned(side, self.open_by, self.tip),
            hip=self.seat,
        )
