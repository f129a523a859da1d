"""The four panels of the dress: front, side front, side back, back.

Each is drawn in a frame of its own: the waist level at y = 0, the outer side at the right.
Where two panels meet, the second one is walked along the first from the waist, up and down: so
both edges are equally long, notch by notch, but for the ease over the bust.  The formulas are
our own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from demo_sets.drafting import Bezier, along, cut, join, length, locate, offset_left, solve, unit
from propagate.pattern.model import Array

__all__ = ["Measures", "Panel", "draw_facing", "draw_panels"]

FLARE = 3.0  # degrees of every edge below the hip
FRONT_SLOPE = 20.0  # degrees of the shoulder
BACK_SLOPE = 18.0
BUST_DART = 10.0  # degrees that the side front turns out above the bust
BLADE_DART = 4.0
EASE = 5.0  # mm of the side front eased in between the two notches about the bust
NEAR_BUST = 55.0  # mm from the bust to each of them
CENTRE_IN = 11.0  # mm that the centre back comes in at the waist
FACING = 45.0


@dataclass(frozen=True)
class Measures:
    """What the draft needs of one size, mm; widths are of one quarter, ease included."""

    bust: float
    waist: float
    hip: float
    bust_high: float  # waist to bust
    arm_high: float  # waist to underarm
    top: float  # waist to the neck end of the front's shoulder
    hip_deep: float
    long: float  # waist to hem at the centre front
    neck: float  # half the width of the neck
    neck_deep: float
    inner: float  # shoulder from neck to princess seam
    outer: float  # and from there to the armhole
    zip: float


@dataclass(frozen=True, eq=False)
class Panel:
    """A panel's lines by edge name, counter-clockwise from the hem, and its notches."""

    lines: dict[str, Array]
    notches: dict[str, tuple[str, Array]] = field(default_factory=dict)


def even(curve: Bezier, count: int) -> Array:
    """Return a curve at even parameters: its length is a smooth function of its points."""
    return curve(np.linspace(0.0, 1.0, count + 1))


def angle(step: Array) -> float:
    """Direction of a vector, degrees."""
    return math.degrees(math.atan2(step[1], step[0]))


def arc(start: Array, leave: float, end: Array, arrive: float, count: int) -> Array:
    """A curve between two points with a direction, in degrees, at each."""
    pull = 0.35 * float(np.hypot(*(end - start)))
    return even(Bezier.hermite(start, unit(leave), end, unit(arrive), (pull, pull)), count)


# ------------------------------------------------------------------------------ long edges


@dataclass(frozen=True, eq=False)
class Long:
    """A long edge: down from the waist, and up from it; `bust` lies on the way up."""

    down: Array
    up: Array
    bust: Array

    @property
    def rising(self) -> Array:
        """From the hem up."""
        return join(self.down[::-1], self.up)

    def at(self, distance: float) -> Array:
        """The point so far above the waist along the edge, below 0 so far below it."""
        return along(self.up, distance) if distance >= 0 else along(self.down, -distance)


def lower_part(hip: Array, waist: Array, lean: float, long: float) -> Array:
    """From the waist down; `lean` is +1 where the panel lies to the left of the edge, else -1."""
    curve = arc(waist, -90.0, hip, -90.0 + lean * FLARE, 24)
    foot = hip + (long + hip[1]) / math.cos(math.radians(FLARE)) * unit(-90.0 + lean * FLARE)
    return np.vstack([curve, foot])


def upper_part(waist: Array, bust: Array, end: Array, arrive: float) -> Array:
    """From the waist over the bust to `end`, one smooth line."""
    over = (angle(bust - waist) + angle(end - bust)) / 2.0
    return join(arc(waist, 90.0, bust, over, 24), arc(bust, over, end, arrive, 24))


def side_edge(m: Measures, hip: float, waist: float, bust: float) -> Long:
    """The edge at the side seam: over the bust straight on to the underarm."""
    at_waist, at_bust = np.array([waist, 0.0]), np.array([bust, m.bust_high])
    over = angle(at_bust - at_waist) - 2.0
    curve = arc(at_waist, 90.0, at_bust, over, 24)
    tip = at_bust + (m.arm_high - m.bust_high) * unit(over)
    down = lower_part(np.array([hip, -m.hip_deep]), at_waist, 1.0, m.long)
    return Long(down, np.vstack([curve, tip]), at_bust)


def cut_like(edge: Long, other: Long) -> Long:
    """An edge cut off, or drawn on straight, to the lengths of the one it is sewn to."""
    return Long(_to(edge.down, length(other.down)), _to(edge.up, length(other.up)), edge.bust)


def _to(line: Array, wanted: float) -> Array:
    have, step = length(line), line[-1] - line[-2]
    if wanted <= have:
        return cut(line, 0.0, wanted)
    return np.vstack([line[:-1], line[-1] + (wanted - have) * step / np.hypot(*step)])


# ------------------------------------------------------------------------------ the panels


@dataclass(frozen=True)
class Role:
    """What parts the two front panels from the two back ones."""

    bust: float  # widths of the two panels together, mm
    waist: float
    hip: float
    part: tuple[float, float, float]  # of which the inner panel has so much, bust, waist, hip
    slope: float
    dart: float
    ease: float
    rise: float  # neck end of the shoulder above that of the front
    neck_deep: float
    centre: tuple[float, float]  # how far the centre comes in at bust and waist


def draw_panels(m: Measures) -> dict[str, Panel]:
    """Draw all four panels of a size."""
    shift = 5.0
    front = Role(
        m.bust + shift, m.waist + shift, m.hip - shift, (0.43, 0.43, 0.45),
        FRONT_SLOPE, BUST_DART, EASE, 0.0, m.neck_deep, (0.0, 0.0),
    )  # fmt: skip
    back = Role(
        m.bust - shift, m.waist - shift, m.hip + shift, (0.47, 0.43, 0.46),
        BACK_SLOPE, BLADE_DART, 0.0, 12.0, 0.38 * m.neck_deep, (4.0, CENTRE_IN),
    )  # fmt: skip
    inner_front, front_edge = inner_panel(m, front, "centre_front")
    inner_back, back_edge = inner_panel(m, back, "centre")
    side_front, side = side_panel(m, front, front_edge, None)
    side_back, _ = side_panel(m, back, back_edge, side)
    inner_back.notches["zip_end"] = ("centre", along(inner_back.lines["centre"], m.zip))
    return {
        "front": inner_front,
        "side_front": side_front,
        "side_back": side_back,
        "back": inner_back,
    }


def inner_panel(m: Measures, role: Role, centre: str) -> tuple[Panel, Long]:
    """Front or back: the centre at the left, the princess seam at the right."""
    in_bust, in_waist = role.centre
    bust = np.array([in_bust + role.part[0] * role.bust, m.bust_high])
    waist = np.array([in_waist + role.part[1] * role.waist, 0.0])
    hip = np.array([role.part[2] * role.hip, -m.hip_deep])
    neck_end = np.array([m.neck, m.top + role.rise])
    end = neck_end + m.inner * unit(-role.slope)
    up = upper_part(waist, bust, end, top_angle(bust, end))
    edge = Long(lower_part(hip, waist, 1.0, m.long), up, bust)
    start = np.array([0.0, -m.long])
    hem = arc(start, 0.0, edge.down[-1], FLARE, 16)
    low = np.array([0.0, neck_end[1] - role.neck_deep])
    pulls = (0.42 * role.neck_deep, 0.62 * m.neck)
    square = unit(-90.0 - role.slope)
    neck = even(Bezier.hermite(neck_end, square, low, (-1.0, 0.0), pulls), 72)
    lines = {
        "hem": hem,
        "princess": edge.rising,
        "shoulder": np.vstack([end, neck_end]),
        "neck": neck,
        centre: centre_line(m, low, in_bust, in_waist),
    }
    return Panel(lines, princess_notches(edge, edge, 0.0)), edge


def top_angle(bust: Array, end: Array) -> float:
    """Direction in which the inner panel's princess line reaches the shoulder."""
    return angle(end - bust) + 2.0


def centre_line(m: Measures, top: Array, in_bust: float, in_waist: float) -> Array:
    """From the neck down to the hem; straight where it does not come in."""
    foot = np.array([0.0, -m.long])
    if not in_waist:
        return np.vstack([top, foot])
    bust, waist = np.array([in_bust, m.bust_high]), np.array([in_waist, 0.0])
    hip = np.array([0.0, -m.hip_deep])
    over = (angle(bust - top) + angle(waist - bust)) / 2.0
    parts = [arc(top, -90.0, bust, over, 20), arc(bust, over, waist, -90.0, 20)]
    return join(*parts, arc(waist, -90.0, hip, -90.0, 20), np.vstack([hip, foot]))


def side_panel(m: Measures, role: Role, sewn: Long, side: Long | None) -> tuple[Panel, Long]:
    """Side front or side back: the princess seam at the left, the side at the right.

    Above the bust it is the other panel's line turned out, drawn so long that the two edges
    are sewn with `role.ease`.
    """
    hip, waist, bust = (
        (1.0 - part) * whole
        for part, whole in zip(role.part[::-1], (role.hip, role.waist, role.bust), strict=True)
    )
    left_waist = 0.42 * (hip - waist)
    left_bust = left_waist - 0.5 * (bust - waist)
    at_waist, at_bust = np.array([left_waist, 0.0]), np.array([left_bust, m.bust_high])
    chord = sewn.up[-1] - sewn.bust
    out = angle(chord) - role.dart
    arrive = top_angle(sewn.bust, sewn.up[-1]) - role.dart

    def up(far: float) -> Array:
        return upper_part(at_waist, at_bust, at_bust + far * unit(out), arrive)

    wanted = length(sewn.up) + role.ease
    (far,) = solve(lambda x: length(up(float(x[0]))) - wanted, float(np.hypot(*chord)))
    down = lower_part(np.array([0.0, -m.hip_deep]), at_waist, -1.0, m.long)
    princess = Long(_to(down, length(sewn.down)), up(float(far)), at_bust)
    right = side_edge(m, hip, left_waist + waist, left_bust + bust)
    right = right if side is None else cut_like(right, side)
    turned = -role.slope - role.dart
    end = princess.up[-1]
    tip = end + m.outer * unit(turned)
    under, rising = right.up[-1], angle(right.up[-1] - right.up[-2])
    reach = (0.56 * (under[0] - end[0]), 0.52 * (tip[1] - under[1]))
    armhole = even(Bezier.hermite(under, unit(rising + 90.0), tip, unit(90.0 + turned), reach), 64)
    lines = {
        "hem": arc(princess.down[-1], -FLARE, right.down[-1], FLARE, 16),
        "side": right.rising,
        "armhole": armhole,
        "shoulder": np.vstack([tip, end]),
        "princess": princess.rising[::-1],
    }
    notches = princess_notches(princess, sewn, role.ease)
    lead = right if side is None else side
    above = locate(lead.up, lead.bust)
    below = locate(lead.down, lead.down[-2])
    for name, distance in (("bust", above), ("waist", 0.0), ("hip", -below)):
        notches[f"{name}_side"] = ("side", right.at(distance))
    return Panel(lines, notches), right


def princess_notches(edge: Long, sewn: Long, ease: float) -> dict[str, tuple[str, Array]]:
    """The notches of a princess seam, walked along the edge that leads it."""
    bust = locate(sewn.up, sewn.bust)
    hip = locate(sewn.down, sewn.down[-2])
    places = {
        "bust_top": bust + NEAR_BUST + ease,
        "bust_notch": bust + ease / 2.0,
        "bust_low": bust - NEAR_BUST,
        "waist_notch": 0.0,
        "hip_notch": -hip,
    }
    return {name: ("princess", edge.at(at)) for name, at in places.items()}


def draw_facing(panel: Panel, centre: str) -> Mapping[str, Array]:
    """The neck facing: along the neck as wide as told, to the shoulder and the centre."""
    neck, low = panel.lines["neck"], panel.lines[centre]
    inner = offset_left(neck, FACING)
    shoulder = panel.lines["shoulder"]
    outer = shoulder[-1] + FACING * (shoulder[0] - shoulder[-1]) / length(shoulder)
    foot = along(low, FACING)
    inner[0], inner[-1] = outer, foot
    return {
        "inner": inner[::-1],
        "shoulder": np.vstack([outer, neck[0]]),
        "neck": neck,
        "centre": cut(low, 0.0, FACING),
    }
