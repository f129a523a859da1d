"""Godets and gussets, and what they are set in."""

from __future__ import annotations

import math

import numpy as np

from propagate.pattern.patternset import PatternSet
from tests.garments.drafts import (
    STEP,
    Array,
    Draft,
    arc,
    bezier,
    chord_length,
    curve,
    garment,
    head,
    line,
)

Point = tuple[float, float]

# --------------------------------------------------------------------------- godets

GODET_SEAM = """
[[seam]]                          # from the waist down to the point of the godet
name = "upper"
lead = "front.seam from end to apex"
follow = "side.seam from start to apex"
both_ways = true
notches = [["front.apex", "side.apex"]]
crossing = { start = ["front.waist", "side.waist"] }

[[seam]]                          # from the hem up to it
name = "godet_left"
lead = "front.seam from start to apex"
follow = "godet.left reversed"
both_ways = true
crossing = { start = ["front.hem", "godet.hem"] }

[[seam]]
name = "godet_right"
lead = "godet.right"
follow = "side.seam from end to apex"
both_ways = true
crossing = { start = ["godet.hem", "side.hem"] }
"""
APEX = 0.45  # of the seam, from the hem


def godet_draft(side: float, angle: float) -> Draft:
    """A sector: two sides from the point at the origin, and the hem between them."""
    quarter = -math.pi / 2
    hem = arc((0.0, 0.0), side, quarter - angle / 2, quarter + angle / 2)
    right, left = tuple(hem[-1]), tuple(hem[0])
    return Draft({"hem": hem, "right": line(right, (0.0, 0.0)), "left": line((0.0, 0.0), left)})


def godet_in_seam_drafts(size: str, longer: float = 0.0) -> dict[str, Draft]:
    step = STEP[size]
    long = 620.0 + 10 * step
    low, high = (150.0 + 4 * step, -long), (110.0 + 4 * step, 0.0)
    seam = bezier(low, 0.1, high, 0.08)
    levels = {"waist": 0.0, "hip": -200.0, "knee": -480.0}
    front = Draft(
        {
            "hem": line((0.0, -long), low),
            "seam": seam,
            "waist": line(high, (0.0, 0.0)),
            "centre": line((0.0, 0.0), (0.0, -long)),
        },
        {"apex": ("seam", APEX)},
        levels,
        40.0,
    )
    wide = 240.0 + 4 * step
    other = bezier((wide, -long), 0.05, (wide - 40.0, 0.0), 0.1)
    mirror = seam[::-1] * (-1.0, 1.0) + (150.0, 0.0)
    side = Draft(
        {
            "hem": line(tuple(mirror[-1]), (wide, -long)),
            "side": other,
            "waist": line((wide - 40.0, 0.0), tuple(mirror[0])),
            "seam": mirror,
        },
        {"apex": ("seam", 1.0 - APEX)},
        levels,
        150.0,
    )
    godet = godet_draft(APEX * chord_length(seam), 0.5)
    return {"front": front, "side": side, "godet": godet}


def godet_in_seam() -> PatternSet:
    toml = head("godet in a seam", ["front", "side", "godet"]).replace(
        "[pieces.front]\n", '[pieces.front]\nfold = "centre"\n'
    )
    for piece in ("side", "godet"):
        toml = toml.replace(f"[pieces.{piece}]\n", f"[pieces.{piece}]\ncut = 2\npair = true\n")
    return garment(toml + GODET_SEAM, godet_in_seam_drafts)


GODET_SLIT = """
[[seam]]                          # each side from the hem up to the point
name = "godet_left"
lead = "panel.slit_left"
follow = "godet.left reversed"
both_ways = true
crossing = { start = ["panel.hem_left", "godet.hem"] }

[[seam]]
name = "godet_right"
lead = "panel.slit_right reversed"
follow = "godet.right"
both_ways = true
crossing = { start = ["panel.hem_right", "godet.hem"] }
"""


def godet_in_slit_drafts(size: str) -> dict[str, Draft]:
    """A slit up from the hem, whose seam lines are 12 mm apart there."""
    step = STEP[size]
    half, long, slit = 200.0 + 5 * step, 600.0 + 10 * step, 240.0 + 5 * step
    apex = (0.0, slit - long)
    right = bezier((half, -long), 0.05, (half - 40.0, 0.0), 0.1)
    panel = Draft(
        {
            "hem_left": line((-half, -long), (-6.0, -long)),
            "slit_left": line((-6.0, -long), apex),
            "slit_right": line(apex, (6.0, -long)),
            "hem_right": line((6.0, -long), (half, -long)),
            "right": right,
            "waist": curve(lambda t: _waist(t, half - 40.0)),
            "left": right[::-1] * (-1.0, 1.0),
        },
        {},
        {"waist": 0.0, "hip": -200.0, "knee": -450.0},
        60.0,
    )
    return {"panel": panel, "godet": godet_draft(math.hypot(6.0, slit), 0.6)}


def _waist(t: Array, half: float) -> Array:
    x = half * (1 - 2 * t)
    return np.column_stack([x, -8.0 * (1 - (x / half) ** 2)])


def godet_in_slit() -> PatternSet:
    return garment(head("godet in a slit", ["panel", "godet"]) + GODET_SLIT, godet_in_slit_drafts)


# -------------------------------------------------------------------------- gussets

UNDERARM = """
[[seam]]                          # from the hem up to the gusset
name = "side"
lead = "front.side"
follow = "back.side reversed"
both_ways = true
crossing = { start = ["front.hem", "back.hem"] }

[[seam]]                          # from the gusset to the wrist
name = "sleeve"
lead = "front.under"
follow = "back.under reversed"
both_ways = true
crossing = { end = ["front.wrist", "back.wrist"] }

[[seam]]                          # from the neck to the wrist
name = "over"
lead = "front.over reversed"
follow = "back.over"
both_ways = true

[[seam]]                          # the four sides of the gusset, each to the point of its slit
name = "gusset_front_low"
lead = "front.slit_low"
follow = "gusset.front_low"
both_ways = true
[[seam]]
name = "gusset_front_high"
lead = "front.slit_high"
follow = "gusset.front_high"
both_ways = true
[[seam]]
name = "gusset_back_low"
lead = "back.slit_low reversed"
follow = "gusset.back_low reversed"
both_ways = true
[[seam]]
name = "gusset_back_high"
lead = "back.slit_high reversed"
follow = "gusset.back_high reversed"
both_ways = true
"""


def kimono(size: str) -> dict[str, Draft]:
    """A bodice with its sleeve cut in one: a slit runs up into the underarm on both sides."""
    step = STEP[size]
    half, low = 240.0 + 10 * step, 0.0
    armpit = (half, 320.0 + 5 * step)
    point = (half - 60.0, armpit[1] + 75.0)
    upper = (half + 45.0, armpit[1] + 22.0)
    wrist_low, wrist_high = (half + 300.0, 380.0), (half + 320.0, 480.0)
    neck_side, neck = (80.0, 600.0), (0.0, 510.0)
    side = bezier((half + 10.0, low), 0.06, armpit, -0.05)
    front = {
        "hem": line((0.0, low), (half + 10.0, low)),
        "side": side,
        "slit_low": line(armpit, point),
        "slit_high": line(point, upper),
        "under": line(upper, wrist_low),
        "wrist": line(wrist_low, wrist_high),
        "over": curve(lambda t: bowed(t, wrist_high, neck_side, 14.0)),
        "neck": curve(lambda t: bowed(t, neck_side, neck, -25.0)),
        "centre": line(neck, (0.0, low)),
    }
    back = {name: points[::-1] * (-1.0, 1.0) for name, points in reversed(front.items())}
    back = {"hem": back.pop("hem"), **back}
    levels = {"waist": 80.0, "bust": 280.0}
    a = math.dist(armpit, point)
    b = math.dist(point, upper)
    return {
        "front": Draft(front, {}, levels, 100.0),
        "back": Draft(back, {}, levels, -100.0),
        "gusset": gusset_draft(a, b),
    }


def gusset_draft(low: float, high: float) -> Draft:
    """Two triangles on one base: the lower sides and the upper ones are sewn to front and back.

    Its points lie in the points of the two slits, its other corners at the seams.
    """
    # corners: the side seam below, the sleeve seam above; the points left and right
    wide = 55.0
    below, above = math.sqrt(low**2 - wide**2), math.sqrt(high**2 - wide**2)
    s, t, f, k = (0.0, -below), (0.0, above), (wide, 0.0), (-wide, 0.0)
    return Draft(
        {
            "front_low": line(s, f),
            "front_high": line(f, t),
            "back_high": line(t, k),
            "back_low": line(k, s),
        }
    )


def bowed(t: Array, begin: Point, end: Point, out: float) -> Array:
    """A parabola over a chord, so far out of the piece in its middle."""
    start, chord = np.array(begin), np.subtract(end, begin)
    normal = np.array([chord[1], -chord[0]]) / np.hypot(*chord)
    bow = 4 * t * (1 - t)
    return np.asarray(start + t[:, None] * chord + out * bow[:, None] * normal)


def underarm_gusset() -> PatternSet:
    toml = head("kimono", ["front", "back", "gusset"], "bust")
    for piece in ("front", "back"):
        toml = toml.replace(f"[pieces.{piece}]\n", f'[pieces.{piece}]\nfold = "centre"\n')
    toml = toml.replace("[pieces.gusset]\n", "[pieces.gusset]\ncut = 2\npair = true\n")
    return garment(toml + UNDERARM, kimono)


CROTCH = """
[[seam]]                          # from the ankle up to the gusset
name = "inseam"
lead = "front.inseam reversed"
follow = "back.inseam"
both_ways = true
[[seam]]
name = "side"
lead = "front.side"
follow = "back.side reversed"
both_ways = true
[[seam]]                          # left and right front each to one side of the gusset
name = "front_left"
lead = "front.crotch_low"
follow = "gusset.front_left"
[[seam]]
name = "front_right"
lead = "front.crotch_low"
follow = "gusset.front_right reversed"
[[seam]]
name = "back_left"
lead = "back.crotch_low"
follow = "gusset.back_left"
[[seam]]
name = "back_right"
lead = "back.crotch_low"
follow = "gusset.back_right reversed"
[[seam]]
name = "centre_front"
lead = "front.centre"
mirror = true
[[seam]]
name = "centre_back"
lead = "back.centre"
mirror = true
"""


def leggings(size: str) -> dict[str, Draft]:
    """Half a front and half a back; the gusset lies between all four."""
    step = STEP[size]
    wide, long = 190.0 + 8 * step, 700.0 + 10 * step
    fork, top = (0.0, 0.0), (12.0, 210.0 + 3 * step)
    cut = (6.0, 70.0 + 2 * step)
    ankle_in, ankle_out = (25.0, -long), (wide - 45.0, -long)
    waist_out = (wide, top[1] + 10.0)
    front = {
        "hem": line(ankle_in, ankle_out),
        "side": bezier(ankle_out, -0.1, waist_out, 0.02),
        "waist": line(waist_out, top),
        "centre": line(top, cut),
        "crotch_low": curve(lambda t: bowed(t, cut, fork, 4.0)),
        "inseam": bezier((25.0, -long), 0.05, fork, 0.02)[::-1],
    }
    back = {
        "hem": front["hem"][::-1] * (-1.0, 1.0),
        "inseam": front["inseam"][::-1] * (-1.0, 1.0),
        "crotch_low": curve(lambda t: bowed(t, (0.0, 0.0), (-6.0, cut[1] + 15.0), 6.0)),
        "centre": line((-6.0, cut[1] + 15.0), (-12.0, top[1] + 30.0)),
        "waist": line((-12.0, top[1] + 30.0), (-wide, waist_out[1])),
        "side": front["side"][::-1] * (-1.0, 1.0),
    }
    levels = {"waist": top[1], "hip": 40.0, "knee": -300.0}
    a, b = chord_length(front["crotch_low"]), chord_length(back["crotch_low"])
    half = 40.0
    up, down = math.sqrt(a**2 - half**2), math.sqrt(b**2 - half**2)
    point, tail, right, left = (0.0, up), (0.0, -down), (half, 0.0), (-half, 0.0)
    gusset = {
        "front_left": line(point, left),
        "back_left": line(left, tail)[::1],
        "back_right": line(tail, right),
        "front_right": line(right, point),
    }
    return {
        "front": Draft(front, {}, levels, 90.0),
        "back": Draft(back, {}, levels, -90.0),
        "gusset": Draft(gusset),
    }


def crotch_gusset() -> PatternSet:
    toml = head("leggings", ["front", "back", "gusset"])
    toml = toml.replace("allowance", "cut = 2\npair = true\nallowance", 2)
    said = CROTCH.replace('"gusset.back_left"', '"gusset.back_left reversed"').replace(
        '"gusset.back_right reversed"', '"gusset.back_right"'
    )
    return garment(toml + said, leggings)


BAG = """
[[seam]]                          # one strip round three edges, both panels alike
name = "front_round"
lead = ["front.left", "front.bottom", "front.right"]
follow = "gusset.front_side reversed"
both_ways = true
notches = [
  ["front.bottom.start", "gusset.right_front"],
  ["front.bottom.end", "gusset.left_front"],
]
[[seam]]
name = "back_round"
lead = ["back.left reversed", "back.bottom reversed", "back.right reversed"]
follow = "gusset.back_side"
both_ways = true

[[alike]]
name = "panels"
pieces = ["front", "back"]
"""


def bag_drafts(size: str, turned: float = 0.0) -> dict[str, Draft]:
    """Two panels that taper and whose bottom is bowed; the back lies face down, and turned."""
    step = STEP[size]
    wide, high, deep = 150.0 + 10 * step, 300.0 + 15 * step, 120.0
    right = bezier((wide, 0.0), 0.06, (wide - 12.0, high), 0.02)
    front = {
        "bottom": curve(lambda t: bowed(t, (-wide, 0.0), (wide, 0.0), 14.0)),
        "right": right,
        "top": curve(lambda t: bowed(t, (wide - 12.0, high), (12.0 - wide, high), -6.0)),
        "left": right[::-1] * (-1.0, 1.0),
    }
    lean = np.array([[math.cos(turned), math.sin(turned)], [-math.sin(turned), math.cos(turned)]])
    back = {
        name: (points[::-1] * (-1.0, 1.0)) @ lean + (700.0, 20.0)
        for name, points in reversed(front.items())
    }
    side, low = chord_length(right), chord_length(front["bottom"])
    whole = 2 * side + low
    gusset = {
        "front_side": line((0.0, 0.0), (whole, 0.0)),
        "right_end": line((whole, 0.0), (whole, deep)),
        "back_side": line((whole, deep), (0.0, deep)),
        "left_end": line((0.0, deep), (0.0, 0.0)),
    }
    marks = {
        "right_front": ("front_side", (side + low) / whole),
        "left_front": ("front_side", side / whole),
    }
    handle = {"handle": ("top", 0.3)}
    return {
        "front": Draft(front, handle, {"hip": 100.0}),
        "back": Draft(back, {"handle": ("top", 0.7)}, {"hip": 100.0}, 700.0),
        "gusset": Draft(gusset, marks),
    }


def bag(turned: float = 0.0) -> PatternSet:
    toml = head("bag", ["front", "back", "gusset"]).replace(
        "[pieces.gusset]\n", '[pieces.gusset]\nstrip = ["front_side", "back_side"]\n'
    )
    return garment(toml + BAG, lambda size: bag_drafts(size, turned))
