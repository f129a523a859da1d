"""Garments with a gusset, drafted by formula, with their relations.

Measures and how they are joined are common practice, no source.
"""

from __future__ import annotations

import numpy as np

from propagate.geometry.polyline import between
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.suggesting.garment_drafts import (
    SIZES,
    Array,
    casing_seams,
    curve,
    leg_seams,
    length,
    line,
    mirror_edges,
    outline,
    seam,
    set_of,
    solved,
)
from tests.suggesting.wardrobe_drafts import draft_attic_pyjama

# ----------------------------------------------------- leggings with a diamond at the crotch


def _reed_leggings(k: int) -> dict[str, SizedPiece]:
    legs, cut = draft_attic_pyjama(k), 70.0 + 2 * k
    front = {edge.name: np.asarray(edge.points) for edge in legs["front"].edges}
    back = {edge.name: np.asarray(edge.points) for edge in legs["back"].edges}
    inseam = between(front["inseam"], 0.0, length(front["inseam"]) - cut)
    crotch = between(front["crotch"], 0.55 * cut, length(front["crotch"]))
    low = tuple(map(float, inseam[-1])), tuple(map(float, crotch[0]))
    front = {
        "side": front["side"],
        "hem": front["hem"],
        "inseam": inseam,
        "cut": line(*low),
        "crotch": crotch,
        "waist": front["waist"],
    }
    inseam = between(back["inseam"], cut, length(back["inseam"]))
    crotch = between(back["crotch"], 0.0, length(back["crotch"]) - cut)
    low = tuple(map(float, crotch[-1])), tuple(map(float, inseam[0]))
    back = {
        "waist": back["waist"],
        "crotch": crotch,
        "cut": line(*low),
        "inseam": inseam,
        "hem": back["hem"],
        "side": back["side"],
    }
    wide = 32.0 + k
    up, down = (float(np.sqrt(length(piece["cut"]) ** 2 - wide**2)) for piece in (front, back))
    gusset = {
        "front_left": line((0.0, up), (-wide, 0.0)),
        "back_left": line((-wide, 0.0), (0.0, -down)),
        "back_right": line((0.0, -down), (wide, 0.0)),
        "front_right": line((wide, 0.0), (0.0, up)),
    }
    drawn = {"front": front, "back": back, "gusset": gusset}
    return {**{name: outline(edges) for name, edges in drawn.items()}, "casing": legs["casing"]}


def reed_leggings() -> PatternSet:
    """Leggings to pull on with a diamond at the crotch, sewn to both legs front and back."""
    seams = [
        *leg_seams(),
        # Its ends lie at the centre, front and back, its sides at the inseams.
        seam("gusset_front_left", ["front.cut reversed"], ["gusset.front_left"]),
        seam("gusset_front_right", ["front.cut"], ["gusset.front_right"]),
        seam("gusset_back_left", ["back.cut reversed"], ["gusset.back_left"]),
        seam("gusset_back_right", ["back.cut"], ["gusset.back_right"]),
        *casing_seams(),
    ]
    return set_of("reed leggings", [_reed_leggings(k) for k in range(len(SIZES))], seams)


# --------------------------------------- a top with sleeves in one and a gusset at the underarm


def _osier_top(k: int) -> dict[str, SizedPiece]:
    half, tall, neck = 250.0 + 12 * k + k * k, 640.0 + 11 * k, 75.0 + 2 * k
    reach, slit, scye = 420.0 + 8 * k, 88.0 + 2 * k, 236.0 + 5 * k

    def body(drop: float) -> dict[str, Array]:
        pit = (half, tall - scye)
        point = (pit[0] - slit * 0.5, pit[1] + slit * 0.866)
        end = (reach - 12.0, tall - 210.0 - 3 * k)
        low, out = (pit[0], pit[1] - 10.0), (pit[0] + 10.0, pit[1] + 4.0)
        return {
            "hem": line((0.0, 0.0), (half - 6, 0.0)),
            "side": line((half - 6, 0.0), low),
            "slit_side": line(low, point),
            "slit_sleeve": line(point, out),
            "underarm": line(out, end),
            "wrist": line(end, (reach, tall - 60.0)),
            "overarm": curve(
                (reach, tall - 60.0), (reach - 270, tall - 30), (neck + 80, tall - 6), (neck, tall)
            ),
            "neck": curve(
                (neck, tall),
                (neck - 4, tall - drop * 0.6),
                (neck / 2, tall - drop),
                (0, tall - drop),
            ),
            "centre": line((0.0, tall - drop), (0.0, 0.0)),
        }

    back = body(24.0)
    front = mirror_edges(body(95.0 + 2 * k))
    wide = 46.0 + 2 * k
    below, above = (
        solved(lambda y: float(np.hypot(wide, y)), length(back[edge]), 1.0, 400.0)
        for edge in ("slit_side", "slit_sleeve")
    )
    gusset = {
        "front_side": line((-wide, 0.0), (0.0, -below)),
        "back_side": line((0.0, -below), (wide, 0.0)),
        "back_sleeve": line((wide, 0.0), (0.0, above)),
        "front_sleeve": line((0.0, above), (-wide, 0.0)),
    }
    drawn = {"front": front, "back": back, "gusset": gusset}
    return {name: outline(edges) for name, edges in drawn.items()}


def osier_top() -> PatternSet:
    """A top whose sleeves are drawn on, cut in at the underarm for a gusset of four sides."""
    seams = [
        seam("side", ["front.side"], ["back.side reversed"]),
        seam("underarm", ["front.underarm"], ["back.underarm reversed"]),
        seam("overarm", ["front.overarm"], ["back.overarm reversed"]),
        seam("gusset_front_side", ["front.slit_side"], ["gusset.front_side"]),
        seam("gusset_front_sleeve", ["front.slit_sleeve"], ["gusset.front_sleeve"]),
        seam("gusset_back_side", ["back.slit_side"], ["gusset.back_side"]),
        seam("gusset_back_sleeve", ["back.slit_sleeve"], ["gusset.back_sleeve"]),
    ]
    return set_of("osier top", [_osier_top(k) for k in range(len(SIZES))], seams)
