"""The body of the ferry shirt: front and back of one half, and the yoke cut from both.

The drafting frame has the centre at x = 0, the side at the right and the waist level at
y = 0.  The formulas are our own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from demo_sets.drafting import (
    Bezier,
    along,
    crossing,
    cut,
    flatten,
    join,
    length,
    offset_left,
    solve,
    unit,
)
from propagate.pattern.model import Array

__all__ = ["WRAP", "Body", "Half", "Shirt", "draw_body"]

BUST_EASE, WAIST_EASE, HIP_EASE = 120.0, 170.0, 110.0  # over the whole girth, mm
NECK_EASE = 16.0
WRAP = 15.0  # mm from the centre front to the seam of the button band, on both sides of it
SLOPE = 20.0  # degrees of the shoulder
NAPE_RISE = 22.0  # mm from the nape up to the neck end of the shoulder
SHOULDER_FORWARD = 30.0  # mm of the front that belong to the yoke
YOKE_DEPTH = 85.0  # mm from the nape down to the back seam of the yoke
HIP_BELOW = 200.0  # mm from waist to hip
TAIL = 120.0  # mm from the hip down to the hem at the centre
TAIL_RISE = 55.0  # mm by which the hem at the side lies higher
FRONT_WIDER = 4.0  # mm by which the front is wider than the back below the armhole
CLEAR = 0.3  # no chord shorter than this where a line is cut


@dataclass(frozen=True)
class Body:
    """Measures of a body, mm, and what an edit would change of the draft.

    `deeper` lowers the front neck at the band, to nothing at the yoke; `waist_in` takes in each
    side seam on both of its sides at the waist; `longer` is added below the hip.
    """

    neck: float
    bust: float
    waist: float
    hip: float
    back_length: float
    shoulder: float
    arm: float
    wrist: float
    edits: Mapping[str, float] = field(default_factory=dict)

    @property
    def bust_level(self) -> float:
        """Height of the underarm over the waist."""
        return self.back_length - (self.bust / 8.0 + 130.0)

    @property
    def hip_level(self) -> float:
        """Height of the hip, below 0."""
        return -HIP_BELOW

    @property
    def hem_level(self) -> float:
        """Height of the hem at the centre, below 0."""
        return -HIP_BELOW - TAIL - self.edits.get("longer", 0.0)


@dataclass(frozen=True, eq=False)
class Half:
    """One half of front or back without the yoke; lines run counter-clockwise."""

    hem: Array
    side: Array
    armhole: Array
    yoke: Array
    centre: Array
    neck: Array | None = None


@dataclass(frozen=True, eq=False)
class Shirt:
    """Front and back, and the yoke in the frame of the back.

    `tip` and `point` are the shoulder's ends, which lie on the armhole and on the neck of the
    yoke.
    """

    front: Half
    back: Half
    yoke: Mapping[str, Array]
    tip: Array
    point: Array


def draw_body(body: Body) -> Shirt:
    """Draft front, back and yoke of one size."""
    half_neck = body.neck / 5.0 - 2.0
    along_shoulder, up = unit(-SLOPE), unit(90.0 - SLOPE)
    point = np.array([half_neck, body.back_length + NAPE_RISE])
    tip = point + body.shoulder * along_shoulder
    nape = np.array([0.0, body.back_length])
    back_neck = flatten(
        Bezier.hermite(point, -up, nape, (-1.0, 0.0), (0.45 * NAPE_RISE, 0.62 * half_neck))
    )
    front_neck = _front_neck(body, point, up, length(back_neck))
    back_armhole = _armhole(body, tip, up, -FRONT_WIDER / 2, (0.52, 0.46))
    front_armhole = _armhole(body, tip, up, FRONT_WIDER / 2, (0.62, 0.50))

    level = np.array([[-1.0, nape[1] - YOKE_DEPTH], [1000.0, nape[1] - YOKE_DEPTH]])
    back_cut = crossing(back_armhole, level)[0]
    forward = offset_left(np.array([tip, point]), SHOULDER_FORWARD)
    forward = np.array([2 * forward[0] - forward[1], 2 * forward[1] - forward[0]])
    arm_cut = crossing(front_armhole, forward)[0]
    neck_cut = crossing(front_neck, forward)[0]
    ends = along(back_armhole, back_cut), np.array([0.0, level[0, 1]])

    def to_back(points: Array) -> Array:
        """Fold what lies below the shoulder of the front over it, on to the back."""
        away = (points - point) @ up
        return np.asarray(points - 2.0 * away[:, None] * up)

    arm_front = to_back(cut(front_armhole, arm_cut, clear=CLEAR))[::-1]
    neck_front = to_back(cut(front_neck, 0.0, neck_cut, clear=CLEAR))[::-1]
    yoke = {
        "back": np.array([ends[1], ends[0]]),
        "armhole": join(cut(back_armhole, back_cut, clear=CLEAR), arm_front),
        "front": np.array([arm_front[-1], neck_front[0]]),
        "neck": join(neck_front, back_neck),
        "centre": np.array([nape, ends[1]]),
    }
    front = _half(body, FRONT_WIDER / 2, WRAP, cut(front_armhole, 0.0, arm_cut, clear=CLEAR))
    neck = _lowered(cut(front_neck, neck_cut, clear=CLEAR), body.edits.get("deeper", 0.0))
    back = _half(body, -FRONT_WIDER / 2, 0.0, cut(back_armhole, 0.0, back_cut, clear=CLEAR))
    return Shirt(
        Half(
            front.hem,
            front.side,
            front.armhole,
            np.array([front.armhole[-1], neck[0]]),
            np.array([neck[-1], front.hem[0]]),
            neck,
        ),
        Half(
            back.hem,
            back.side,
            back.armhole,
            ends[0] + np.array([[0.0], [1.0]]) * (ends[1] - ends[0]),
            np.array([ends[1], back.hem[0]]),
        ),
        yoke,
        tip,
        point,
    )


def _front_neck(body: Body, point: Array, up: Array, back_neck: float) -> Array:
    """The neck of the front down to the band, square to shoulder and band, as long as it must."""
    wanted = (body.neck + NECK_EASE) / 2.0 - back_neck - WRAP

    def line(deep: float) -> Array:
        foot = np.array([WRAP, point[1] - deep])
        pulls = (0.52 * deep, 0.62 * (point[0] - WRAP))
        return flatten(Bezier.hermite(point, -up, foot, (-1.0, 0.0), pulls))

    (deep,) = solve(lambda x: length(line(float(x[0]))) - wanted, 80.0, close=1e-4)
    return line(float(deep))


def _lowered(neck: Array, by: float) -> Array:
    """The front neck lower at the band, by less and less up to the yoke, which stays."""
    if not by:
        return neck
    steps = np.hypot(*np.diff(neck, axis=0).T)
    left = 1.0 - np.concatenate([[0.0], np.cumsum(steps)]) / length(neck)
    fade = (1.0 - left) ** 2 * (1.0 + left / 2.0)
    return np.asarray(neck - by * np.column_stack([np.zeros(len(neck)), fade]))


def _armhole(body: Body, tip: Array, up: Array, wider: float, pulls: tuple[float, float]) -> Array:
    """From the underarm, square to the side, up to the shoulder, square to it."""
    low = np.array([_quarter(body.bust, BUST_EASE) + wider, body.bust_level])
    high = float(tip[1] - low[1])
    wide = float(low[0] - tip[0])
    handles = (wide * (0.9 + pulls[0]), high * pulls[1])
    return flatten(Bezier.hermite(low, (-1.0, 0.0), tip, up, handles))


def _quarter(girth: float, ease: float) -> float:
    return (girth + ease) / 4.0


def _half(body: Body, wider: float, inner: float, armhole: Array) -> Half:
    """The part below the armhole; `inner` is where the hem begins."""
    hip_y = body.hip_level
    waist = _quarter(body.waist, WAIST_EASE) + wider - body.edits.get("waist_in", 0.0)
    at = {
        "bust": np.array([_quarter(body.bust, BUST_EASE) + wider, body.bust_level]),
        "waist": np.array([waist, 0.0]),
        "hip": np.array([_quarter(body.hip, HIP_EASE) + wider, hip_y]),
    }
    foot = np.array([at["hip"][0], body.hem_level + TAIL_RISE])
    up = (0.0, 1.0)
    low, high = -hip_y / 3.0, body.bust_level / 3.0
    side = join(
        np.array([foot, at["hip"]]),
        flatten(Bezier.hermite(at["hip"], up, at["waist"], up, (low, low))),
        flatten(Bezier.hermite(at["waist"], up, at["bust"], up, (high, high))),
    )
    start = np.array([inner, body.hem_level])
    reach = 0.45 * float(foot[0] - inner)
    hem = flatten(Bezier.hermite(start, (1.0, 0.0), foot, (1.0, 0.0), (reach, reach)))
    return Half(hem, side, armhole, armhole[-1:], start[None])
