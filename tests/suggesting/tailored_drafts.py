"""A coat with a sleeve in two parts and culottes, drafted by formula, with their relations.

Measures and how they are joined are common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.pattern.ease import Ease
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from tests.suggesting.garment_drafts import (
    SIZES,
    Array,
    curve,
    length,
    line,
    marked,
    outline,
    seam,
    set_of,
    solved,
    strip,
)
from tests.suggesting.wardrobe_drafts import attic_pyjama

TOP_EASE_MM, UNDER_EASE_MM = 26.0, 2.0
"""By how much the caps of the coat's sleeve are longer than what they are sewn to."""


def _up_to(points: Array, along: float) -> Array:
    """The point so far along a line."""
    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return np.array([np.interp(along, at, points[:, 0]), np.interp(along, at, points[:, 1])])


def _heath_coat(k: int) -> dict[str, SizedPiece]:
    chest, tall, scye = 560.0 + 24 * k + k * k, 980.0 + 10 * k, 262.0 + 7 * k
    across, neck = chest / 2 - 62.0 + k, 74.0 + 2.2 * k
    pit_y, slope = tall - scye, 44.0 + k
    tip = (across + 6.0, tall - slope)
    back = {
        "hem": line((8.0, 0.0), (chest / 2 + 22, 0.0)),
        "side": curve(
            (chest / 2 + 22, 0.0),
            (chest / 2 + 4, pit_y * 0.4),
            (chest / 2 - 8, pit_y * 0.7),
            (chest / 2 + 2, pit_y),
        ),
        "armhole": curve(
            (chest / 2 + 2, pit_y), (across + 14, pit_y + 4), (across - 6, pit_y + 70), tip
        ),
        "shoulder": line(tip, (neck, tall + 20)),
        "neck": curve((neck, tall + 20), (neck - 14, tall + 3), (32.0, tall), (0.0, tall)),
        "centre": curve((0.0, tall), (0.0, tall - 180), (14.0, pit_y * 0.75), (8.0, 0.0)),
    }
    shoulder = length(back["shoulder"]) - 8.0  # eased in at the back
    side = length(back["side"])
    # Front: its side to the left, the edge with the lapel to the right.
    half, lap = chest / 2 - 4.0, 26.0
    roll = tall - scye - 60.0
    top = (half - neck - 6, tall + 6)
    tip_f = (top[0] - float(np.sqrt(shoulder**2 - (slope + 20) ** 2)), top[1] - slope - 20)

    def front_side(low: float) -> Array:
        return curve((0.0, pit_y), (10.0, pit_y * 0.7), (0.0, pit_y * 0.4), (-20.0, low))

    low = -solved(lambda d: length(front_side(-d)), side, -40.0, 60.0)
    peak, notch = (half + 62.0, tall - 96.0), (half + 20.0, tall - 70.0)
    front = {
        "side": front_side(low),
        "hem": curve((-20.0, low), (half * 0.4, 0.0), (half * 0.7, 0.0), (half + lap, 0.0)),
        "edge": np.concatenate(
            [
                line((half + lap, 0.0), (half + lap, roll)),
                curve(
                    (half + lap, roll), (half + lap + 10, roll + 80), (half + 70, roll + 160), peak
                )[1:],
            ]
        ),
        "step": line(peak, notch),
        "neck": curve(notch, (half - 20, tall - 52.0), (top[0] + 4, tall - 40), top),
        "shoulder": line(top, tip_f),
        "armhole": curve(
            tip_f, (tip_f[0] + 30, tip_f[1] - scye * 0.42), (46.0, pit_y + 2), (0.0, pit_y)
        ),
    }
    # The pitches: where the seams of the sleeve meet the armhole.
    front_long, back_long = length(front["armhole"]), length(back["armhole"])
    low_front, low_back = 58.0 + k, 96.0 + 2 * k
    pitch_f = _up_to(front["armhole"], front_long - low_front)
    pitch_b = _up_to(back["armhole"], low_back)
    over = front_long - low_front + back_long - low_back + TOP_EASE_MM + 0.5 * k
    under = low_front + low_back + UNDER_EASE_MM

    def top_cap(wide: float) -> Array:
        a = curve((wide, 0.0), (wide * 0.98, 60.0), (wide * 0.62, 148.0), (8.0, 150.0 + 2 * k))
        b = curve(
            (8.0, 150.0 + 2 * k), (-wide * 0.5, 150.0), (-wide * 0.8, 92.0), (-wide + 6, 62.0)
        )
        return np.concatenate([a, b[1:]])

    wide = solved(lambda w: length(top_cap(w)), over, 60.0, 320.0)
    long = 430.0 + 6 * k

    def under_cap(x: float) -> Array:
        return curve((-x, 62.0), (-x * 0.6, -34.0), (x * 0.2, -44.0), (x * 0.86, 0.0))

    thin = solved(lambda x: length(under_cap(x)), under, 20.0, 200.0)
    fore = curve(
        (thin * 0.86, 0.0), (thin - 16, -long * 0.4), (thin - 16, -long * 0.6), (thin - 4, -long)
    )
    fore_long = length(fore)

    def top_fore(y: float) -> Array:
        return curve(
            (wide - 14, y), (wide - 26, -long * 0.6), (wide - 22, -long * 0.4), (wide, 0.0)
        )

    top_low = -solved(lambda d: length(top_fore(-d)), fore_long, long * 0.9, long * 1.1)
    hind = curve(
        (-thin + 18, -long), (-thin - 4, -long * 0.6), (-thin - 6, -long * 0.2), (-thin, 62.0)
    )
    hind_long = length(hind)

    def top_hind(y: float) -> Array:
        return curve(
            (-wide + 6, 62.0), (-wide - 8, -long * 0.2), (-wide - 2, -long * 0.5), (-wide + 34, y)
        )

    hind_low = -solved(lambda d: length(top_hind(-d)), hind_long, long * 0.85, long * 1.15)
    top_sleeve = {
        "cap": top_cap(wide),
        "hind_seam": top_hind(hind_low),
        "wrist": line((-wide + 34, hind_low), (wide - 14, top_low)),
        "fore_seam": top_fore(top_low),
    }
    under_sleeve = {  # from outside its fore seam is on the left
        name: points * [-1.0, 1.0]
        for name, points in {
            "cap": under_cap(thin),
            "fore_seam": fore,
            "wrist": line((thin - 4, -long), (-thin + 18, -long)),
            "hind_seam": hind,
        }.items()
    }
    gorge = length(front["neck"]) + length(back["neck"])

    def sewn(x: float) -> Array:
        return curve((0.0, 0.0), (x * 0.4, 0.0), (x * 0.75, 8.0), (x, 26.0))

    c = solved(lambda x: length(sewn(x)), gorge, 80.0, 400.0)
    collar = {
        "sewn": sewn(c),
        "point": line((c, 26.0), (c + 14, 84.0)),
        "outer": curve((c + 14, 84.0), (c * 0.8, 74.0), (c * 0.4, 78.0), (0.0, 78.0)),
        "centre": line((0.0, 78.0), (0.0, 0.0)),
    }
    inner_top = top[0] - 48.0
    at = (inner_top - top[0]) / (tip_f[0] - top[0])
    inner_at = (inner_top, top[1] + at * (tip_f[1] - top[1]))
    facing = {
        "inner": curve(inner_at, (inner_top + 20, roll + 150), (half - 70, roll), (half - 70, 0.0)),
        "hem": line((half - 70, 0.0), (half + lap, 0.0)),
        "edge": front["edge"],
        "step": front["step"],
        "neck": front["neck"],
        "shoulder": line(top, inner_at),
    }
    return {
        "front": marked(
            outline(front), [("fore_pitch", "armhole", (float(pitch_f[0]), float(pitch_f[1])))]
        ),
        "back": marked(
            outline(back), [("hind_pitch", "armhole", (float(pitch_b[0]), float(pitch_b[1])))]
        ),
        "top_sleeve": outline(top_sleeve),
        "under_sleeve": outline(under_sleeve),
        "undercollar": outline(collar, (1.0, 0.0)),
        "facing": outline(facing),
    }


def heath_coat() -> PatternSet:
    """A coat with a lapel, a sleeve in two parts with ease in its cap, an undercollar, a facing."""
    by_size = zip(SIZES, (TOP_EASE_MM + 0.5 * k for k in range(len(SIZES))), strict=True)
    over = Ease(sizes=tuple(by_size))
    seams = [
        seam("side", ["front.side"], ["back.side reversed"]),
        replace(seam("shoulder", ["front.shoulder"], ["back.shoulder reversed"]), ease=8.0),
        Seam("centre_back", parse_run(["back.centre"]), (), mirror=True),
        seam("hind_seam", ["top_sleeve.hind_seam"], ["under_sleeve.hind_seam reversed"]),
        seam("fore_seam", ["top_sleeve.fore_seam"], ["under_sleeve.fore_seam reversed"]),
        replace(
            seam(
                "top_armhole",
                ["front.armhole from fore_pitch to start", "back.armhole from end to hind_pitch"],
                ["top_sleeve.cap"],
            ),
            ease=over,
        ),
        replace(
            seam(
                "under_armhole",
                ["back.armhole from hind_pitch to start", "front.armhole from end to fore_pitch"],
                ["under_sleeve.cap"],
            ),
            ease=UNDER_EASE_MM,
        ),
        seam("neck", ["back.neck reversed", "front.neck reversed"], ["undercollar.sewn"]),
        seam("front_edge", ["front.edge", "front.step"], ["facing.edge", "facing.step"]),
    ]
    return set_of("heath coat", [_heath_coat(k) for k in range(len(SIZES))], seams)


def lagoon_culottes() -> PatternSet:
    """Culottes with a zip at the centre back and half a waistband, its fold at the centre front."""
    pyjama = attic_pyjama()
    nest = {}
    for size in SIZES:
        front, back = (pyjama.sized(name, size) for name in ("front", "back"))
        long = front.edge("waist").length + back.edge("waist").length
        nest[size] = strip(long, 40.0)
    pieces = {name: pyjama.pieces[name] for name in ("front", "back")}
    pieces["waistband"] = Piece("waistband", nest)
    kept = ("side", "inseam", "crotch_front", "crotch_back")
    seams = {name: pyjama.relations.seams[name] for name in kept}
    seams["waistband"] = seam("waistband", ["front.waist", "back.waist"], ["waistband.sewn"])
    info = {name: PieceInfo(name) for name in pieces}
    relations = replace(pyjama.relations, seams=seams)
    return replace(pyjama, name="lagoon culottes", pieces=pieces, info=info, relations=relations)
