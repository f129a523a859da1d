"""The two silhouettes of the skirt: full front (corner not yet cut away) and back.

The drafting frame has the centre at x = 0, the flank at the right and the natural waist
level at y = 0; outlines are drawn clockwise, from the top of the centre.  The formulas
are our own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from demo_sets.drafting import Bezier, join, length, rotated, solve, unit
from propagate.pattern.model import Array

__all__ = [
    "DART_LEAN",
    "Dart",
    "Measures",
    "Silhouette",
    "draw_back",
    "draw_front",
    "even",
    "flank_curve",
    "foot",
    "foot_end",
    "open_dart",
    "turned",
]

FLARE = 6.5  # degrees of the straight flank below the seat
CORNER_FRONT = 91.5  # degrees at the top of the flank; the back has the rest of 180
RISE = 20.0  # mm from the natural waist level up to the front's flank corner
CB_DROP = 6.0  # mm from the natural waist level down to the back's top
CB_IN = 9.0  # mm that the centre back seam comes in at the top
DART_LENGTH = 125.0  # mm; the dart's width is given at this distance from its tip
DART_LEAN = 4.0  # degrees that its axis leans to the centre, about square to the top


@dataclass(frozen=True)
class Measures:
    """What the draft needs of one size, mm; widths are of one quarter, ease included."""

    top_front: float
    top_back: float
    seat_front: float
    seat_back: float
    seat_depth: float
    long: float
    dart: float


@dataclass(frozen=True, eq=False)
class Dart:
    """The back's dart: where its legs and the peak between them stand in the top."""

    turns: tuple[int, int, int]
    tip: Array


@dataclass(frozen=True, eq=False)
class Silhouette:
    """One quarter of the skirt, drawn clockwise.

    `top` runs from the centre to the flank, `flank` down, `foot` to the centre,
    `centre` up.  `seat` is the flank's point at the seat level.
    """

    top: Array
    flank: Array
    foot: Bezier
    centre: tuple[Bezier, ...]
    seat: Array
    dart: Dart | None = None


def even(curve: Bezier, count: int = 72) -> Array:
    """Return a curve at even parameters.

    Unlike halving steps where it bends, this leaves the length of the polyline a smooth
    function of the control points, so that the draft can be solved on it exactly.
    """
    return curve(np.linspace(0.0, 1.0, count + 1))


def turned(points: Array, degrees: float, about: npt.ArrayLike = (0.0, 0.0)) -> Array:
    """Return `points`, (n, 2) or one point (2,), turned counter-clockwise about a point."""
    return rotated(points, degrees, about).reshape(points.shape)


def flank_curve(corner: Array, seat: Array) -> tuple[Array, Array]:
    """Return the flank from corner to seat and its direction at the corner.

    At the seat it runs on into the straight below; the corner's direction is that of
    the circle through both points with that tangent, so the curve bends one way and
    evenly.
    """
    chord = corner - seat
    span = float(np.hypot(*chord))
    lean = math.degrees(math.atan2(-chord[0], chord[1]))
    down = unit(-90.0 + 2.0 * lean - FLARE)
    below = unit(-90.0 + FLARE)
    return even(Bezier.hermite(corner, down, seat, below, (0.32 * span, 0.36 * span)), 48), down


def foot_end(seat: Array, m: Measures) -> Array:
    """Return the flank's end at the foot: as far below the seat in front as in back.

    An arc square to flank and centre is w tan(flare/2) shorter at the flank than at the
    centre, w the width at the seat; the mean width serves both.
    """
    mean = (m.seat_front + m.seat_back) / 2.0
    drop = m.long - m.seat_depth - mean * math.tan(math.radians(FLARE / 2.0))
    return np.asarray(seat + drop * unit(-90.0 + FLARE))


def foot(end: Array, m: Measures) -> Bezier:
    """Return the hem line: square to the flank and square to the centre."""
    centre = np.array([0.0, -m.long])
    pull = 0.335 * float(np.hypot(*(end - centre)))
    return Bezier.hermite(end, -unit(FLARE), centre, (-1.0, 0.0), (pull, pull))


def _straight(start: Array, end: Array) -> Bezier:
    return Bezier(np.linspace(start, end, 4))


def draw_front(m: Measures) -> Silhouette:
    """Return the full front; the flank corner is where the top has its length."""
    seat = np.array([m.seat_front, -m.seat_depth])
    pulls = (0.42 * m.top_front, 0.2 * m.top_front)

    def parts(x: float) -> tuple[Array, Array]:
        corner = np.array([x, RISE])
        curve, down = flank_curve(corner, seat)
        out = -turned(down, -CORNER_FRONT)
        return even(Bezier.hermite((0.0, 0.0), (1.0, 0.0), corner, out, pulls)), curve

    (x,) = solve(lambda x: length(parts(float(x[0]))[0]) - m.top_front, m.top_front - 2.0)
    top, curve = parts(float(x))
    end = foot_end(seat, m)
    centre = _straight(np.array([0.0, -m.long]), np.zeros(2))
    return Silhouette(top, np.vstack([curve, end]), foot(end, m), (centre,), seat)


def draw_back(m: Measures, front: Silhouette) -> Silhouette:
    """Return the back: top drawn with its dart closed, flank as long as the front's."""
    seat = np.array([m.seat_back, -m.seat_depth])
    start = np.array([CB_IN, -CB_DROP])
    centre, down_centre = _centre_back(start, m)
    open_by = 2.0 * math.degrees(math.asin(m.dart / 2.0 / DART_LENGTH))
    tip = np.array([0.48 * m.seat_back, -DART_LENGTH])
    pulls = (0.4 * m.top_back, 0.25 * m.top_back)
    flank_length = length(front.flank[:-1])

    def parts(place: Array) -> tuple[Array, Array]:
        curve, down = flank_curve(place, seat)
        corner = turned(place, open_by, tip)
        out = -turned(down, open_by - (180.0 - CORNER_FRONT))
        return even(Bezier.hermite(start, turned(down_centre, 90.0), corner, out, pulls)), curve

    def misses(place: Array) -> Array:
        top, curve = parts(place)
        return np.array([length(top) - m.top_back, length(curve) - flank_length])

    closed, curve = parts(solve(misses, (m.top_back + m.dart + CB_IN, RISE)))
    top, dart = open_dart(closed, tip, open_by)
    end = foot_end(seat, m)
    return Silhouette(top, np.vstack([curve, end]), foot(end, m), centre, seat, dart)


def _centre_back(start: Array, m: Measures) -> tuple[tuple[Bezier, Bezier], Array]:
    """Return the centre back seam from foot to top, and its direction down at the top."""
    seat = np.array([0.0, -m.seat_depth])
    chord = start - seat
    down = unit(-90.0 - 2.0 * math.degrees(math.atan2(chord[0], chord[1])))
    pull = 0.34 * float(np.hypot(*chord))
    curve = Bezier.hermite(seat, (0.0, 1.0), start, -down, (pull, pull))
    return (_straight(np.array([0.0, -m.long]), seat), curve), down


def open_dart(
    closed: Array, tip: Array, open_by: float, lean: float = DART_LEAN
) -> tuple[Array, Dart]:
    """Cut the closed top at the dart leg and swing its flank side out about the tip.

    The mouth is a roof: folded towards the centre its cloth lies along the top.
    """
    axis = unit(90.0 + lean)
    toward = turned(axis, open_by / 2.0)
    beyond = (closed - tip) @ turned(toward, -90.0)
    i = int(np.searchsorted(beyond, 0.0))
    step = closed[i] - closed[i - 1]
    leg = closed[i - 1] + beyond[i - 1] / (beyond[i - 1] - beyond[i]) * step
    mirrored = turned(step, 180.0) - 2.0 * (turned(step, 180.0) @ toward) * toward
    peak = leg - np.linalg.solve(np.column_stack([mirrored, axis]), leg - tip)[0] * mirrored
    other = turned(leg, -open_by, tip)
    points = join(
        np.vstack([closed[:i], leg]),
        np.vstack([leg, peak, other]),
        np.vstack([other, turned(closed[i:], -open_by, tip)]),
    )
    return points, Dart((i, i + 1, i + 2), tip)
