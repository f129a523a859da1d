"""Left differing from right: a wrap front, and what stays symmetric or on the fold beside it."""

from __future__ import annotations

from propagate.pattern.patternset import PatternSet
from tests.garments.drafts import STEP, Draft, bezier, curve, garment, head, line
from tests.garments.inserts import bowed

WRAP = """
[[seam]]                          # from the hem up; the back is one piece, sewn to both fronts
name = "left_side"
lead = "left.side"
follow = "back.left reversed"
both_ways = true
crossing = { start = ["left.hem", "back.hem"], end = ["left.armhole", "back.armhole_left"] }

[[seam]]
name = "right_side"
lead = "right.side reversed"
follow = "back.right"
both_ways = true
crossing = { start = ["right.hem", "back.hem"], end = ["right.armhole", "back.armhole_right"] }

[[seam]]                          # from the armhole to the neck
name = "left_shoulder"
lead = "left.shoulder"
follow = "back.shoulder_left reversed"
both_ways = true

[[seam]]
name = "right_shoulder"
lead = "right.shoulder reversed"
follow = "back.shoulder_right"
both_ways = true
"""
OVER = 130.0  # how far the left front laps over the middle, mm


def front(size: str, over: float) -> dict[str, object]:
    """A left front, the wearer's left, whose edge lies `over` mm beyond the middle."""
    step = STEP[size]
    half, armpit = 240.0 + 10 * step, (240.0 + 10 * step, 360.0 + 6 * step)
    tip = (190.0 + 4 * step, 560.0 + 4 * step)
    neck = (75.0 + 2 * step, 600.0 + 4 * step)
    return {
        "hem": line((-over, 0.0), (half + 10.0, 0.0)),
        "side": bezier((half + 10.0, 0.0), 0.1, armpit, -0.02),
        "armhole": curve(lambda t: bowed(t, armpit, tip, -30.0)),
        "shoulder": line(tip, neck),
        "neck": curve(lambda t: bowed(t, neck, (-over, 300.0), 6.0)),
        "edge": line((-over, 300.0), (-over, 0.0)),
    }


def wrap_drafts(size: str) -> dict[str, Draft]:
    left, other = front(size, OVER), front(size, 15.0)
    right = {name: points[::-1] * (-1.0, 1.0) for name, points in reversed(other.items())}
    half = {name: other[name] for name in ("side", "armhole", "shoulder")}
    (x, y), step = half["shoulder"][-1], STEP[size]
    neck = curve(lambda t: bowed(t, (x, y), (-x, y), -20.0))
    back = {
        "hem": line(tuple(half["side"][0] * (-1.0, 1.0)), tuple(half["side"][0])),
        "right": half["side"],
        "armhole_right": half["armhole"],
        "shoulder_right": half["shoulder"],
        "neck": neck,
        "shoulder_left": half["shoulder"][::-1] * (-1.0, 1.0),
        "armhole_left": half["armhole"][::-1] * (-1.0, 1.0),
        "left": half["side"][::-1] * (-1.0, 1.0),
    }
    levels = {"waist": 120.0, "bust": 300.0 + 6 * step}
    return {
        "left": Draft(left, {}, levels, 60.0),
        "right": Draft({"hem": right.pop("hem"), **right}, {}, levels, -60.0),
        "back": Draft(back, {}, levels, 0.0),
    }


def wrap() -> PatternSet:
    toml = head("wrap", ["left", "right", "back"], "bust").replace(
        "allowance", "cut = 1\nallowance"
    )
    return garment(toml + WRAP, wrap_drafts)
