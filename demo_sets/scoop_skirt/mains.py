"""The two silhouettes of the skirt: full front (corner not yet cut away) and back."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demo_sets.scoop_skirt.curves import Line, direction, length, newton, turned
from propagate.pattern.model import Array

__all__ = ["Measures", "Silhouette", "draw_back", "draw_front"]

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


@dataclass(frozen=True)
class Silhouette:
    """One quarter of the skirt in the drafting frame, drawn clockwise.

    `top` runs from the centre to the flank, `flank` down, `foot` to the centre,
    `centre` up.  `curve` is the part of the flank above the seat.
    """

    top: Line
    flank: Line
    foot: Line
    centre: Line
    curve: Array
    legs: tuple[Array, Array] | None = None
    tip: Array | None = None


def _flank_curve(corner: Array, seat: Array) -> tuple[Array, Array]:
    """Return the cubic (4, 2) from corner to seat and the unit tangent at the corner.

    At the seat it has the direction of the straight below; the corner's direction
    is that of the circle through both points with that tangent, so the curve bends
    one way and evenly.
    """
    chord = corner - seat
    lean = math.degrees(math.atan2(-chord[0], chord[1]))
    down = direction(-90.0 + 2.0 * lean - FLARE)
    span = float(np.hypot(*chord))
    up = -direction(-90.0 + FLARE)
    return np.array([corner, corner + 0.32 * span * down, seat + 0.36 * span * up, seat]), down


def _foot_end(seat: Array, m: Measures) -> Array:
    """Return the flank's end at the foot: the same distance below the seat in front and back.

    An arc square to flank and centre is w tan(flare/2) shorter at the flank than at the
    centre, w the width at the seat; the mean width serves both.
    """
    mean = (m.seat_front + m.seat_back) / 2.0
    drop = m.long - m.seat_depth - mean * math.tan(math.radians(FLARE / 2.0))
    return seat + drop * direction(-90.0 + FLARE)


def _foot(end: Array, m: Measures) -> Line:
    """Return the hem line: square to the flank and square to the centre."""
    centre = np.array([0.0, -m.long])
    pull = 0.335 * float(np.hypot(*(end - centre)))
    control = [end, end - pull * direction(FLARE), centre + np.array([pull, 0.0]), centre]
    return Line((np.array(control),), as_path=True)


def _flank(curve: Array, end: Array) -> Line:
    above = Line((curve,)).points
    return Line.through(np.vstack([above, end]))


def draw_front(m: Measures) -> Silhouette:
    """Return the full front; the flank corner is where the top has its length."""
    seat = np.array([m.seat_front, -m.seat_depth])

    def parts(x: float) -> tuple[Array, Array]:
        corner = np.array([x, RISE])
        curve, down = _flank_curve(corner, seat)
        inward = turned(down, -CORNER_FRONT)
        pulls = (0.42 * m.top_front, 0.2 * m.top_front)
        start = np.array([0.0, 0.0])
        first = start + np.array([pulls[0], 0.0])
        return np.array([start, first, corner + pulls[1] * inward, corner]), curve

    def misses(x: Array) -> Array:
        return np.array([length(Line((parts(float(x[0]))[0],)).points) - m.top_front])

    (x,) = newton(misses, [m.top_front - 2.0])
    top, curve = parts(float(x))
    end = _foot_end(seat, m)
    return Silhouette(
        top=Line.through(Line((top,)).points),
        flank=_flank(curve, end),
        foot=_foot(end, m),
        centre=Line((np.array([[0.0, -m.long], [0.0, 0.0]]),)),
        curve=Line((curve,)).points,
    )


def draw_back(m: Measures, front: Silhouette) -> Silhouette:
    """Return the back: top drawn with its dart closed, flank as long as the front's."""
    seat = np.array([m.seat_back, -m.seat_depth])
    start = np.array([CB_IN, -CB_DROP])
    cb, down_cb = _centre_back(start, m)
    open_by = 2.0 * math.degrees(math.asin(m.dart / 2.0 / DART_LENGTH))
    tip = np.array([0.48 * m.seat_back, -DART_LENGTH])

    def parts(xy: Array) -> tuple[Array, Array]:
        curve, down = _flank_curve(xy, seat)
        corner = tip + turned(xy - tip, open_by)
        inward = turned(down, open_by - (180.0 - CORNER_FRONT))
        first = start + 0.4 * m.top_back * turned(down_cb, 90.0)
        return np.array([start, first, corner + 0.25 * m.top_back * inward, corner]), curve

    def misses(xy: Array) -> Array:
        top, curve = parts(xy)
        tops = length(Line((top,)).points) - m.top_back
        return np.array([tops, length(Line((curve,)).points) - length(front.curve)])

    corner = newton(misses, [m.top_back + m.dart + CB_IN, RISE])
    closed, curve = parts(corner)
    top, legs = _open_dart(Line((closed,)).points, tip, open_by)
    end = _foot_end(seat, m)
    return Silhouette(top, _flank(curve, end), _foot(end, m), cb, Line((curve,)).points, legs, tip)


def _centre_back(start: Array, m: Measures) -> tuple[Line, Array]:
    """Return the centre back seam from foot to top, and its direction at the top."""
    seat = np.array([0.0, -m.seat_depth])
    chord = start - seat
    lean = 2.0 * math.degrees(math.atan2(chord[0], chord[1]))
    down = direction(-90.0 - lean)
    pull = 0.34 * float(np.hypot(*chord))
    curve = np.array([seat, seat + np.array([0.0, pull]), start + pull * down, start])
    return Line((np.array([[0.0, -m.long], seat]), curve), as_path=True), down


def _open_dart(closed: Array, tip: Array, open_by: float) -> tuple[Line, tuple[Array, Array]]:
    """Cut the closed top at the dart leg and swing its flank side out about the tip.

    The mouth is a roof: folded towards the centre its cloth lies along the top.
    """
    axis = direction(90.0 + DART_LEAN)
    toward = turned(axis, open_by / 2.0)
    across = (closed - tip) @ turned(toward, -90.0)
    i = int(np.searchsorted(across, 0.0))
    part = across[i - 1] / (across[i - 1] - across[i])
    leg = closed[i - 1] + part * (closed[i] - closed[i - 1])
    other = tip + turned(leg - tip, -open_by)
    inner = np.vstack([closed[:i], leg])
    outer = np.vstack([other, tip + turned(closed[i:] - tip, -open_by)])
    along = closed[i - 1] - leg
    back = 2.0 * (along @ toward) * toward - along  # mirrored in the leg's line
    size = np.linalg.solve(np.stack([back, -axis], axis=1), tip - leg)[0]
    points = np.vstack([inner, leg + size * back, outer])
    return Line.through(points, (i, i + 1, i + 2)), (leg, other)
