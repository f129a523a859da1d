"""A blouse drafted by formula: a bust dart in the side of the front, hollow sides, set-in sleeves.

The side of the back is a parabola whose narrowest place is known; the front has the same side
with a dart between two of its heights, so that all above the dart lies higher by what it takes up.
Measures are common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.pattern.model import Dart, Landmark, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.suggesting.garment_drafts import (
    SIZES,
    Array,
    Point,
    curve,
    length,
    line,
    outline,
    seam,
    set_of,
    solved,
    strip,
)

DART_MM = 28.0
BUST_BELOW_MM = 25.0
LEGS = ("leg_low", "leg_high")
HEM_STEPS, TOP_STEPS = 40, 36


def waist_of(k: int) -> float:
    """The height of the narrowest place above the hem."""
    return 215.0 + 3.0 * k


def underarm_of(k: int) -> float:
    return 405.0 + 5.0 * k


def side_x(k: int, y: Array | float) -> Array:
    """Half the width of half a piece, from the fold to the side."""
    away = (np.asarray(y) - waist_of(k)) / 100.0
    return np.asarray(212.0 + 13.0 * k + (1.0 + 0.1 * k) * k + 8.5 * away**2)


def _side(k: int) -> Array:
    """From the hem up to the underarm."""
    low = np.linspace(0.0, waist_of(k), HEM_STEPS + 1)
    high = np.linspace(waist_of(k), underarm_of(k), TOP_STEPS + 1)
    heights = np.concatenate([low, high[1:]])
    return np.column_stack([side_x(k, heights), heights])


def _top(k: int, pit: Point, neck_down: float) -> dict[str, Array]:
    """Armhole, shoulder, neck and fold above a side."""
    across, tall = 178.0 + 5.0 * k, pit[1] + 205.0 + 4.0 * k
    wide = 72.0 + 2.0 * k
    tip, shoulder = (across, tall - 40.0), (wide, tall)
    drop = tall - neck_down - 1.5 * k
    return {
        "armhole": curve(pit, (pit[0] - 40.0, pit[1]), (across - 18.0, pit[1] + 90.0), tip),
        "shoulder": line(tip, shoulder),
        "neck": curve(
            shoulder, (wide - 4.0, tall - neck_down * 0.6), (wide / 2, drop), (0.0, drop)
        ),
        "centre": line((0.0, drop), (0.0, 0.0)),
    }


def _blouse(k: int) -> dict[str, SizedPiece]:
    side = _side(k)
    back = {
        "hem": line((0.0, 0.0), (float(side[0, 0]), 0.0)),
        "side": side,
        **_top(k, (float(side[-1, 0]), float(side[-1, 1])), 22.0),
    }
    at = HEM_STEPS + TOP_STEPS - 12  # where the dart is: well above the waist, below the bust
    raised = side[at:] + np.array([0.0, DART_MM])
    front = {
        "hem": back["hem"],
        "side": np.concatenate([side[: at + 1], raised]),
        **_top(k, (float(raised[-1, 0]), float(raised[-1, 1])), 78.0),
    }
    legs = (side[at], raised[0])
    drawn = outline({name: points[::-1] * [-1.0, 1.0] for name, points in reversed(front.items())})
    marks = tuple(
        Landmark(name, "side", (-float(x), float(y)), "dart leg")
        for name, (x, y) in zip(LEGS, legs, strict=True)
    )
    middle, across = (legs[0] + legs[1]) / 2.0, np.array([1.0, (legs[1][0] - legs[0][0]) / DART_MM])
    x, y = middle - (150.0 + 4.0 * k) * across  # above the middle of the mouth, square to it
    tip = (-float(x), float(y))
    dart = Dart("bust_dart", "side", LEGS, tip)
    hole = length(front["armhole"]) + length(back["armhole"])
    return {
        "front": SizedPiece(drawn.edges, drawn.grain, marks, (dart,)),
        "back": outline(back),
        "sleeve": outline(_sleeve(k, hole)),
        "collar": strip(2.0 * (length(front["neck"]) + length(back["neck"])), 65.0),
    }


def _sleeve(k: int, hole: float) -> dict[str, Array]:
    high, low, wrist = 125.0 + 2.0 * k, 330.0 + 4.0 * k, 135.0 + 3.0 * k

    def cap(wide: float) -> Array:
        rise = curve((wide, 0.0), (wide * 0.6, 6.0), (wide * 0.5, high), (0.0, high))
        fall = curve((0.0, high), (-wide * 0.45, high), (-wide * 0.62, 4.0), (-wide, 0.0))
        return np.concatenate([rise, fall[1:]])

    wide = solved(lambda w: length(cap(w)), hole + 18.0, 100.0, 320.0)
    return {
        "cap": cap(wide),
        "under_back": line((-wide, 0.0), (-wrist, -low)),
        "wrist": line((-wrist, -low), (wrist, -low)),
        "under_front": line((wrist, -low), (wide, 0.0)),
    }


def larch_blouse() -> PatternSet:
    """The blouse, joined, without a level or a notch."""
    neck = ["front.neck", "back.neck", "back.neck reversed", "front.neck reversed"]
    seams = [
        seam("side", ["front.side"], ["back.side reversed"]),
        seam("shoulder", ["front.shoulder"], ["back.shoulder reversed"]),
        replace(
            seam("armhole", ["front.armhole reversed", "back.armhole reversed"], ["sleeve.cap"]),
            ease=18.0,
        ),
        seam("underarm", ["sleeve.under_front"], ["sleeve.under_back reversed"]),
        seam("collar", neck, ["collar.sewn"]),
    ]
    return set_of("larch blouse", [_blouse(k) for k in range(len(SIZES))], seams)
