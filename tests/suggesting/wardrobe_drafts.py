"""Garments drafted by formula that no kind of garment was written after, with their relations.

Measures and how they are joined are common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from propagate.pattern.ease import Ease
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam, parse_run
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
    strip,
)

# ------------------------------------------------------------------------------ a T-shirt


def _tops(k: int, *, deep: float, slope: float) -> tuple[dict[str, Array], dict[str, Array]]:
    """A front and a back on the fold, their shoulders and sides as long as each other."""
    half, tall, across = 258.0 + 21 * k + k * k, 655.0 + 13 * k, 196.0 + 8 * k
    scye, neck = 226.0 + 8 * k, 78.0 + 2.3 * k

    def body(drop: float) -> dict[str, Array]:
        top, tip, pit = (neck, tall), (across, tall - slope), (half, tall - scye)
        return {
            "hem": line((0.0, 0.0), (half - 9.0, 0.0)),
            "side": line((half - 9.0, 0.0), pit),
            "armhole": curve(
                pit, (half - 52, tall - scye), (across - 21 + drop / 20, tall - scye * 0.6), tip
            ),
            "shoulder": line(tip, top),
            "neck": curve(
                top,
                (neck * 0.96, tall - drop * 0.6),
                (neck * 0.55, tall - drop),
                (0.0, tall - drop),
            ),
            "centre": line((0.0, tall - drop), (0.0, 0.0)),
        }

    front = mirror_edges(body(deep + 2 * k))
    return front, body(21.0)


def _cap(wide: float, high: float, low: float = 0.0) -> Array:
    """A sleeve cap from the front to the back, about the middle."""
    a = curve((wide, low), (wide * 0.6, low + 5), (wide * 0.55, low + high), (4.0, low + high))
    b = curve((4.0, low + high), (-wide * 0.5, low + high), (-wide * 0.62, low), (-wide, low))
    return np.concatenate([a, b[1:]])


def _short_sleeve(hole: float, high: float, long: float, narrow: float) -> dict[str, Array]:
    """A sleeve whose cap is as long as it has to be, at the width at which it is."""
    wide = solved(lambda w: length(_cap(w, high)), hole, 80.0, 320.0)
    return {
        "cap": _cap(wide, high),
        "under_back": line((-wide, 0.0), (-wide + narrow, -long)),
        "wrist": line((-wide + narrow, -long), (wide - narrow, -long)),
        "under_front": line((wide - narrow, -long), (wide, 0.0)),
    }


TOP_SEAMS = (
    seam("side", ["front.side"], ["back.side reversed"]),
    seam("shoulder", ["front.shoulder"], ["back.shoulder reversed"]),
    replace(
        seam("armhole", ["front.armhole reversed", "back.armhole reversed"], ["sleeve.cap"]),
        ease=4.0,
    ),
    seam("underarm", ["sleeve.under_front"], ["sleeve.under_back reversed"]),
)
WHOLE_NECK = ["front.neck", "back.neck", "back.neck reversed", "front.neck reversed"]


def _cove_tee(k: int) -> dict[str, SizedPiece]:
    front, back = _tops(k, deep=88.0, slope=37.0)
    hole = length(front["armhole"]) + length(back["armhole"])
    neck = 2 * (length(front["neck"]) + length(back["neck"]))
    sleeve = _short_sleeve(hole + 4.0, 112.0 + 3 * k, 138.0 + 6 * k, 16.0)
    return {
        "front": outline(front),
        "back": outline(back),
        "sleeve": outline(sleeve),
        "neckband": strip(0.85 * neck, 40.0),
    }


def cove_tee() -> PatternSet:
    """A T-shirt on the fold with a neckband that is cut once, whole, 0.85 of the whole neck."""
    band = replace(seam("neckband", WHOLE_NECK, ["neckband.sewn"]), ease=Ease(share=-0.15))
    ends = seam("neckband_ends", ["neckband.begin"], ["neckband.end reversed"])
    drawn = [_cove_tee(k) for k in range(len(SIZES))]
    return set_of("cove tee", drawn, [*TOP_SEAMS, band, ends])


# -------------------------------------------------------------- a raglan top with ribs


def _tarn_raglan(k: int) -> dict[str, SizedPiece]:
    half, tall = 300.0 + 24 * k + k * k, 640.0 + 12 * k
    scye, neck = 262.0 + 9 * k, 62.0 + 2 * k

    def body(drop: float, bend: float) -> dict[str, Array]:
        top, pit = (neck, tall - 19.0), (half, tall - scye)
        return {
            "hem": line((0.0, 0.0), (half - 4.0, 0.0)),
            "side": line((half - 4.0, 0.0), pit),
            "raglan": curve(pit, (half - 60, tall - scye + 8), (neck + 60 + bend, tall - 100), top),
            "neck": curve(
                top, (neck - 3, tall - drop * 0.7), (neck / 2, tall - drop), (0.0, tall - drop)
            ),
            "centre": line((0.0, tall - drop), (0.0, 0.0)),
        }

    back = body(33.0, 6.0)
    front = mirror_edges(body(92.0 + 2 * k, -8.0))
    wide, narrow, long = 196.0 + 10 * k, 112.0 + 4 * k, 445.0 + 7 * k

    def half_cap(high: float, out: float) -> Array:
        return curve((out, 0.0), (out - 44, 14.0), (70.0, high - 90), (26.0, high))

    f = solved(lambda h: length(half_cap(h, wide - 6)), length(front["raglan"]), 60.0, 400.0)
    b = solved(lambda h: length(half_cap(h, wide + 6)), length(back["raglan"]), 60.0, 400.0)
    left, right = half_cap(b, wide + 6)[::-1] * [-1.0, 1.0], half_cap(f, wide - 6)
    under = long
    side_mm = float(np.hypot(wide - 6 - narrow, under))
    # Both underarm edges are as long as each other.
    lower = float(np.sqrt(side_mm**2 - (wide + 6 - narrow) ** 2))
    sleeve = {
        "front_raglan": right,
        "neck": line((26.0, f), (-26.0, b)),
        "back_raglan": left,
        "under_back": line((-wide - 6, 0.0), (-narrow, -lower)),
        "wrist": line((-narrow, -lower), (narrow, -under)),
        "under_front": line((narrow, -under), (wide - 6, 0.0)),
    }
    neck_mm = 2 * (length(front["neck"]) + length(sleeve["neck"]) + length(back["neck"]))
    return {
        "front": outline(front),
        "back": outline(back),
        "sleeve": outline(sleeve),
        "neckband": strip(0.82 * neck_mm, 60.0),
        "hem_band": strip(0.88 * 2 * (length(front["hem"]) + length(back["hem"])), 130.0),
        "cuff": strip(0.8 * length(sleeve["wrist"]), 120.0),
    }


def tarn_raglan() -> PatternSet:
    """A raglan top on the fold, with a neckband, cuffs and a hem band of a rib."""
    neck = ["front.neck", "sleeve.neck", "back.neck"]
    back = ["back.neck reversed", "sleeve.neck reversed", "front.neck reversed"]
    hem = ["front.hem reversed", "back.hem reversed", "back.hem", "front.hem"]
    seams = [
        seam("side", ["front.side"], ["back.side reversed"]),
        seam("front_raglan", ["front.raglan"], ["sleeve.front_raglan reversed"]),
        seam("back_raglan", ["back.raglan"], ["sleeve.back_raglan reversed"]),
        seam("underarm", ["sleeve.under_front"], ["sleeve.under_back reversed"]),
        replace(seam("neckband", neck + back, ["neckband.sewn"]), ease=Ease(share=-0.18)),
        seam("neckband_ends", ["neckband.begin"], ["neckband.end reversed"]),
        replace(seam("hem_band", hem, ["hem_band.sewn"]), ease=Ease(share=-0.12)),
        seam("hem_band_ends", ["hem_band.begin"], ["hem_band.end reversed"]),
        replace(seam("cuff", ["sleeve.wrist"], ["cuff.sewn"]), ease=Ease(share=-0.2)),
        seam("cuff_ends", ["cuff.begin"], ["cuff.end reversed"]),
    ]
    return set_of("tarn raglan", [_tarn_raglan(k) for k in range(len(SIZES))], seams)


# ------------------------------------------------------------------- a hooded, zipped top


def _moor_hoodie(k: int) -> dict[str, SizedPiece]:
    front, back = _tops(k, deep=96.0, slope=40.0)
    hole = length(front["armhole"]) + length(back["armhole"])
    sleeve = _short_sleeve(hole + 4.0, 104.0 + 2 * k, 470.0 + 6 * k, 78.0 + 2 * k)
    neck = length(front["neck"]) + length(back["neck"])
    high = 330.0 + 4 * k

    def lower(wide: float) -> Array:
        return curve((0.0, 0.0), (wide * 0.3, 12.0), (wide * 0.7, -22.0), (wide, -26.0))

    wide = solved(lambda w: length(lower(w)), neck, 60.0, 500.0)
    hood = {
        "neck": lower(wide),
        "face": line((wide, -26.0), (wide + 14, high - 8)),
        "crown": np.concatenate(
            [
                line((wide + 14, high - 8), (wide * 0.62, high + 10)),
                curve(
                    (wide * 0.62, high + 10), (-30.0, high + 16), (-52.0, high * 0.4), (0.0, 0.0)
                )[1:],
            ]
        ),
    }
    return {
        "front": outline(front),
        "back": outline(back),
        "sleeve": outline(sleeve),
        "hood": outline(hood),
        "pocket": outline(
            {
                "top": line((60.0, 180.0), (0.0, 180.0)),
                "centre": line((0.0, 180.0), (0.0, 0.0)),
                "hem": line((0.0, 0.0), (150.0, 0.0)),
                "side": line((150.0, 0.0), (150.0, 60.0)),
                "slant": curve((150.0, 60.0), (120.0, 100.0), (80.0, 120.0), (60.0, 180.0)),
            }
        ),
    }


def moor_hoodie() -> PatternSet:
    """A top with a zip at the centre front and a hood in two halves."""
    seams = [
        *TOP_SEAMS,
        seam("hood", ["back.neck reversed", "front.neck reversed"], ["hood.neck"]),
        Seam("crown", parse_run(["hood.crown"]), (), mirror=True),
    ]
    return set_of("moor hoodie", [_moor_hoodie(k) for k in range(len(SIZES))], seams)


# --------------------------------------------------------- pyjama trousers with a casing


def draft_attic_pyjama(k: int) -> dict[str, SizedPiece]:
    hip, rise, leg, hem = 260.0 + 12 * k, 280.0 + 6 * k, 740.0 + 4 * k, 196.0 + 5 * k
    fork, tail = 52.0 + 3 * k, 104.0 + 5 * k
    top = leg + rise
    front_in = curve(
        (hem, 0.0), (hem + 6, leg * 0.6), (hip + fork - 24, leg - 90), (hip + fork, leg)
    )
    front = {
        "side": line((0.0, top), (0.0, 0.0)),
        "hem": line((0.0, 0.0), (hem, 0.0)),
        "inseam": front_in,
        "crotch": np.concatenate(
            [
                curve((hip + fork, leg), (hip + 14, leg + 3), (hip, leg + 30), (hip - 1, leg + 90)),
                line((hip - 1, leg + 90), (hip - 6, top))[1:],
            ]
        ),
        "waist": line((hip - 6, top), (0.0, top)),
    }
    wide = hip + 18.0

    def back_in(high: float) -> Array:
        return curve(
            (-tail, high),
            (-tail + 40, high - 90),
            (wide - hem - 46, leg * 0.6),
            (wide - hem - 26, 0.0),
        )

    fork_y = solved(lambda y: length(back_in(y)), length(front_in), leg - 90, leg + 60)
    back = {
        "waist": line((wide, top), (26.0, top + 30.0)),
        "crotch": np.concatenate(
            [
                line((26.0, top + 30.0), (4.0, leg + 100)),
                curve((4.0, leg + 100), (-2.0, leg + 30), (-24.0, fork_y + 4), (-tail, fork_y))[1:],
            ]
        ),
        "inseam": back_in(fork_y),
        "hem": line((wide - hem - 26, 0.0), (wide, 0.0)),
        "side": line((wide, 0.0), (wide, top)),
    }
    whole = 2 * (length(front["waist"]) + length(back["waist"]))
    return {"front": outline(front), "back": outline(back), "casing": strip(whole, 70.0)}


def attic_pyjama() -> PatternSet:
    """Pyjama trousers with a casing for an elastic that is cut once, whole."""
    seams = [
        *leg_seams(),
        *casing_seams(),
    ]
    return set_of("attic pyjama", [draft_attic_pyjama(k) for k in range(len(SIZES))], seams)


# ------------------------------------------------------------------------- a waistcoat


def _mill_waistcoat(k: int) -> dict[str, SizedPiece]:
    half, tall, scye = 252.0 + 11 * k + k * k, 560.0 + 9 * k, 268.0 + 6 * k
    neck, across, slope = 82.0 + 2 * k, 172.0 + 5 * k, 42.0 + k
    back = {
        "hem": line((0.0, 0.0), (half - 12, 6.0)),
        "side": curve((half - 12, 6.0), (half - 22, 90.0), (half - 6, 190.0), (half, tall - scye)),
        "armhole": curve(
            (half, tall - scye),
            (half - 62, tall - scye + 4),
            (across - 10, tall - 150),
            (across, tall - slope),
        ),
        "shoulder": line((across, tall - slope), (neck, tall)),
        "neck": curve((neck, tall), (neck - 16, tall - 20), (40.0, tall - 23), (0.0, tall - 23)),
        "centre": curve((0.0, tall - 23), (2.0, tall - 160), (14.0, 200.0), (0.0, 0.0)),
    }
    side = back["side"]
    point = (26.0, -62.0)
    shoulder = length(back["shoulder"])
    tip = (-across + 2, tall - slope - 6)
    at = (tip[0] + float(np.sqrt(shoulder**2 - (slope + 2) ** 2)), tip[1] + slope + 2)
    front = {
        "side": side[::-1] * [-1.0, 1.0],
        "hem": line((-half + 12, 6.0), (-46.0, -70.0)),
        "point": line((-46.0, -70.0), point),
        "edge": line(point, (26.0, 250.0 + 3 * k)),
        "neck": curve((26.0, 250.0 + 3 * k), (10.0, 330.0), (-46.0, tall - 90), at),
        "shoulder": line(at, tip),
        "armhole": curve(
            tip, (-across + 26, tall - 170), (-half + 74, tall - scye + 2), (-half, tall - scye)
        ),
    }
    return {"front": outline(front), "back": outline(back), "belt": strip(240.0 + 3 * k, 40.0)}


def mill_waistcoat() -> PatternSet:
    """A waistcoat with a point in front and a seam at the centre back."""
    seams = [
        seam("side", ["front.side"], ["back.side reversed"]),
        seam("shoulder", ["front.shoulder"], ["back.shoulder reversed"]),
        Seam("centre_back", parse_run(["back.centre"]), (), mirror=True),
    ]
    return set_of("mill waistcoat", [_mill_waistcoat(k) for k in range(len(SIZES))], seams)


# ------------------------------------------------- a bag with a round bottom, and an apron


def _creel_bag(k: int) -> dict[str, SizedPiece]:
    wide, high, deep, bend = 240.0 + 30 * k, 260.0 + 26 * k + k * k, 80.0 + 9 * k, 60.0 + 4 * k

    def panel(tall: float) -> dict[str, Array]:
        c = bend * 0.55
        u = np.concatenate(
            [
                line((0.0, tall), (0.0, bend)),
                curve((0.0, bend), (0.0, bend - c), (bend - c, 0.0), (bend, 0.0))[1:],
                line((bend, 0.0), (wide - bend, 0.0))[1:],
                curve((wide - bend, 0.0), (wide - bend + c, 0.0), (wide, bend - c), (wide, bend))[
                    1:
                ],
                line((wide, bend), (wide, tall))[1:],
            ]
        )
        return {"round": u, "top": line((wide, tall), (0.0, tall))}

    front, lining = panel(high), panel(high - 40.0)
    flap = {
        "sewn": line((wide, 0.0), (0.0, 0.0)),
        "free": curve((0.0, 0.0), (-4.0, -high * 0.9), (wide + 4, -high * 0.9), (wide, 0.0)),
    }
    return {
        "front": outline(front),
        "back": outline(front),
        "gusset": strip(length(front["round"]), deep),
        "lining": outline(lining),
        "lining_gusset": strip(length(lining["round"]), deep),
        "flap": outline(flap),
        "strap": strip(900.0 + 40 * k, 60.0),
    }


def creel_bag() -> PatternSet:
    """A bag of two panels with round corners, a gusset, a flap and a lining."""
    seams = [
        seam("front_round", ["front.round"], ["gusset.sewn reversed"]),
        seam("back_round", ["back.round"], ["gusset.far reversed"]),
        seam("lining_round", ["lining.round"], ["lining_gusset.sewn reversed"]),
        seam("flap", ["back.top"], ["flap.sewn"]),
    ]
    return set_of("creel bag", [_creel_bag(k) for k in range(len(SIZES))], seams)


def _pantry_apron(k: int) -> dict[str, SizedPiece]:
    bib, half, long, deep = 130.0 + 7 * k, 330.0 + 20 * k, 560.0 + 14 * k, 270.0 + 9 * k
    top = long + deep
    body = {
        "bib": line((bib, top), (0.0, top)),
        "centre": line((0.0, top), (0.0, 0.0)),
        "hem": line((0.0, 0.0), (half, 0.0)),
        "side": line((half, 0.0), (half, long)),
        "armhole": curve((half, long), (half - 110, long + 12), (bib + 34, top - 130), (bib, top)),
    }
    low = 60.0
    facing = {
        "top": line((bib, top), (0.0, top)),
        "centre": line((0.0, top), (0.0, top - low)),
        "lower": line((0.0, top - low), (bib + 13.0, top - low)),
        "end": line((bib + 13.0, top - low), (bib, top)),
    }
    return {
        "apron": outline(body),
        "facing": outline(facing),
        "binding": strip(length(body["armhole"]) * 0.97, 40.0),
        "tie": strip(850.0 + 20 * k, 50.0),
        "neck_strap": strip(560.0 + 12 * k, 60.0),
        "pocket": outline(
            {
                "top": line((200.0, 180.0), (0.0, 180.0)),
                "left": line((0.0, 180.0), (0.0, 0.0)),
                "bottom": line((0.0, 0.0), (200.0, 0.0)),
                "right": line((200.0, 0.0), (200.0, 180.0)),
            }
        ),
    }


def pantry_apron() -> PatternSet:
    """An apron with a bib on the fold, its facing, and its armholes bound."""
    bound = replace(seam("bound", ["apron.armhole"], ["binding.sewn"]), ease=Ease(share=-0.03))
    seams = [seam("bib", ["apron.bib"], ["facing.top"]), bound]
    return set_of("pantry apron", [_pantry_apron(k) for k in range(len(SIZES))], seams)


# --------------------------------------------------------- skirts of gores and of panels


def _fen_gores(k: int) -> dict[str, SizedPiece]:
    top, low, long = 58.0 + 4 * k, 150.0 + 5 * k, 640.0 + 8 * k
    right = curve((low, 0.0), (low - 34, 260.0), (top + 12, long - 170), (top, long - 2))
    gore = {
        "hem": curve((-low, 0.0), (-low / 3, -9.0), (low / 3, -9.0), (low, 0.0)),
        "right": right,
        "waist": curve(
            (top, long - 2), (top / 3, long - 5), (-top / 3, long - 5), (-top, long - 2)
        ),
        "left": right[::-1] * [-1.0, 1.0],
    }
    return {"gore": outline(gore), "waistband": strip(6 * length(gore["waist"]), 40.0)}


def fen_gores() -> PatternSet:
    """A skirt of one gore that is cut six times and sewn in a round, with a straight band.

    That the band goes round six of one piece cannot be said in a set.
    """
    seams = [seam("gore_seam", ["gore.right"], ["gore.left reversed"])]
    return set_of("fen gores", [_fen_gores(k) for k in range(len(SIZES))], seams)


def _weir_panels(k: int) -> dict[str, SizedPiece]:
    long = 620.0 + 7 * k

    def panel(top: float, low: float, left: float, right: float, sides: float) -> dict[str, Array]:
        """Between two lines that flare by so much, each about as long as the others."""
        a = curve((0.0, long), (-4.0, long - 160), (-left, 260.0), (-left, 0.0))
        b = curve((low, sides), (low, 260.0), (top + 5, long - 160), (top, long))
        return {
            "left": a,
            "hem": curve(a[-1], (low * 0.3, -5.0), (low * 0.6, sides - 5.0), (low, sides)),
            "right": b,
            "waist": curve((top, long), (top * 0.6, long - 3), (top * 0.3, long - 3), (0.0, long)),
        }

    def fit(top: float, low: float, left: float, wanted: float) -> dict[str, Array]:
        s = solved(lambda y: -length(panel(top, low, left, 0.0, y)["right"]), -wanted, -90.0, 90.0)
        return panel(top, low, left, 0.0, s)

    centre_front = fit(92.0 + 5 * k, 150.0 + 6 * k, 0.0, long + 9.0)
    side_front = fit(88.0 + 6 * k, 160.0 + 7 * k, 40.0, long + 14.0)
    one = length(centre_front["right"])

    # The left line of each is the right line of the one before, in length.
    def met(name: dict[str, Array], wanted: float) -> dict[str, Array]:
        x = name["left"][-1][0]
        low = solved(
            lambda d: length(curve((0.0, long), (-4.0, long - 160), (x, 260.0), (x, -d))),
            wanted,
            -90.0,
            90.0,
        )
        left = curve((0.0, long), (-4.0, long - 160), (x, 260.0), (x, -low))
        hem = curve((x, -low), (60.0, -5.0), (90.0, -5.0), tuple(name["right"][0]))
        return {**name, "left": left, "hem": hem}

    side_front = met(side_front, one)
    side_back = met(
        fit(90.0 + 6 * k, 166.0 + 7 * k, 44.0, long + 18.0), length(side_front["right"])
    )
    back = met(fit(84.0 + 5 * k, 168.0 + 6 * k, 48.0, long + 6.0), length(side_back["right"]))
    waist = sum(length(p["waist"]) for p in (centre_front, side_front, side_back, back))
    return {
        "centre_front": outline(centre_front),
        "side_front": outline(side_front),
        "side_back": outline(side_back),
        "centre_back": outline(back),
        "waistband": strip(waist, 42.0),
    }


def weir_panels() -> PatternSet:
    """A skirt of eight panels of four forms, with half of a straight band."""
    names = ["centre_front", "side_front", "side_back", "centre_back"]
    seams = [
        seam(f"seam_{k + 1}", [f"{a}.right"], [f"{b}.left reversed"])
        for k, (a, b) in enumerate(pairwise(names))
    ]
    seams.append(
        seam("waistband", [f"{name}.waist reversed" for name in names], ["waistband.sewn"])
    )
    return set_of("weir panels", [_weir_panels(k) for k in range(len(SIZES))], seams)


# ------------------------------------------------------------------------- dungarees


def _hop_dungarees(k: int) -> dict[str, SizedPiece]:
    legs = draft_attic_pyjama(k)
    front_mm, back_mm = (
        length(np.asarray(legs[piece].edge("waist").points)) for piece in ("front", "back")
    )

    def bib(wide: float, high: float, top: float) -> dict[str, Array]:
        return {
            "lower": line((0.0, 0.0), (wide, 0.0)),
            "side": curve((wide, 0.0), (wide - 50, 26.0), (top + 22, high * 0.45), (top, high)),
            "top": line((top, high), (0.0, high)),
            "centre": line((0.0, high), (0.0, 0.0)),
        }

    return {
        "front": legs["front"],
        "back": legs["back"],
        "bib": outline(bib(front_mm, 250.0 + 8 * k, 105.0 + 4 * k)),
        "back_bib": outline(bib(back_mm, 190.0 + 7 * k, 70.0 + 3 * k)),
        "strap": strip(620.0 + 14 * k, 70.0),
    }


def hop_dungarees() -> PatternSet:
    """Dungarees: trousers with a bib in front and one at the back, sewn at the waist."""
    seams = [
        *leg_seams(),
        seam("bib", ["front.waist"], ["bib.lower"]),
        seam("back_bib", ["back.waist reversed"], ["back_bib.lower"]),
    ]
    return set_of("hop dungarees", [_hop_dungarees(k) for k in range(len(SIZES))], seams)
