"""Garments whose front and back are drawn for the same hand, with relations known to no kind.

A shirt with a camp collar, a yoke and a box pleat, a dress with gathers and a round collar, and a
wrap skirt.  Measures and how they are joined are common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.geometry.polyline import point_at
from propagate.pattern.ease import Ease
from propagate.pattern.model import Dart, Landmark, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo
from tests.suggesting.garment_drafts import (
    SIZES,
    Array,
    curve,
    length,
    line,
    outline,
    seam,
    set_of,
    solved,
    strip,
)

Edges = dict[str, Array]
PLEAT_MM, GATHERED = 30.0, 0.45
"""What the box pleat takes from half a back, and how much longer the puffed cap is."""


def _joined(*parts: Array) -> Array:
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])


def _notched(edges: Edges, marks: dict[str, tuple[str, float]]) -> SizedPiece:
    """A piece with notches, each so far along an edge; negative from its end."""
    drawn = outline(edges)
    found = []
    for name, (edge, at) in marks.items():
        where = at if at >= 0.0 else length(edges[edge]) + at
        x, y = point_at(edges[edge], where).tolist()
        found.append(Landmark(name, edge, (x, y), "notch"))
    return replace(drawn, landmarks=tuple(found))


def _folded(pattern: PatternSet, **folds: str) -> PatternSet:
    info = {name: PieceInfo(name, fold=fold) for name, fold in folds.items()}
    return replace(pattern, info={**pattern.info, **info})


# ------------------------------------------------------------------------------------ a shirt


def _burdock_shirt(k: int) -> dict[str, SizedPiece]:
    half, tall, neck = 250.0 + 15 * k + k * k, 700.0 + 8 * k, 76.0 + 2 * k
    lap, facing, drop = 20.0, 75.0, 100.0 + 2 * k
    tip, pit = (neck + 142.0 + 5 * k, -45.0 - k), (half, -250.0 - 7 * k)
    front = {
        "hem": _joined(
            line((-lap - facing, -tall), (0.0, -tall)),
            curve((0.0, -tall), (half * 0.4, -tall), (half * 0.8, 5 - tall), (half, 12 - tall)),
        ),
        "side": line((half, 12 - tall), pit),
        "armhole": curve(pit, (half - 60, pit[1] + 4), (tip[0] - 28, tip[1] - 110), tip),
        "shoulder": line(tip, (neck, 0.0)),
        "neck": _joined(
            curve((neck, 0.0), (neck - 4, -60.0), (neck * 0.6, -drop), (0.0, -drop)),
            line((0.0, -drop), (-lap, -drop)),
        ),
        "lapel": line((-lap, -drop), (-lap - facing, 40 - drop)),
        "edge": line((-lap - facing, 40 - drop), (-lap - facing, -tall)),
    }
    wide, low, top = half + PLEAT_MM, -115.0, (tip[0] - 22.0, -117.0)
    corner = (top[0] + PLEAT_MM, top[1])
    back = {
        "hem": curve((0.0, -tall), (half * 0.4, -tall), (half * 0.8, 5 - tall), (wide, 12 - tall)),
        "side": line((wide, 12 - tall), (wide, pit[1])),
        "armhole": curve(
            (wide, pit[1]), (wide - 55, pit[1] + 3), (corner[0] - 6, corner[1] - 60), corner
        ),
        "yoke": line(corner, (0.0, low)),
        "centre": line((0.0, low), (0.0, -tall)),
    }
    across = float(np.sqrt((length(back["yoke"]) - PLEAT_MM) ** 2 - 4.0))
    shoulder = length(front["shoulder"])
    high = (neck + shoulder * float(np.cos(0.22)), 14.0 - shoulder * float(np.sin(0.22)))
    yoke = {
        "lower": line((0.0, low + 30), (across, low + 32)),
        "armhole": curve(
            (across, low + 32), (across - 2, low + 60), (high[0] - 3, high[1] - 25), high
        ),
        "shoulder": line(high, (neck, 14.0)),
        "neck": curve((neck, 14.0), (neck * 0.75, -2.0), (neck * 0.4, -8.0), (0.0, -8.0)),
        "centre": line((0.0, -8.0), (0.0, low + 30)),
    }
    hole = sum(length(one["armhole"]) for one in (front, back, yoke))
    arm = 190.0 + 10 * k

    def cap(h: float) -> Array:
        return _joined(
            curve((arm, 0.0), (arm * 0.6, 2.0), (arm * 0.55, h), (0.0, h)),
            curve((0.0, h), (-arm * 0.5, h), (-arm * 0.62, 3.0), (-arm, 0.0)),
        )

    sleeve = {
        "wrist": line((18 - arm, -150.0), (arm - 18, -150.0)),
        "front_seam": line((arm - 18, -150.0), (arm, 0.0)),
        "cap": cap(solved(lambda h: length(cap(h)), hole + 6.0, 20.0, 300.0)),
        "back_seam": line((-arm, 0.0), (18 - arm, -150.0)),
    }
    round_ = length(front["neck"]) - lap + length(yoke["neck"])
    collar = {
        "neck": curve((0.0, 0.0), (round_ * 0.4, 0.0), (round_ * 0.8, -2.0), (round_, -12.0)),
        "end": line((round_, -12.0), (round_ + 22, 68.0)),
        "outer": curve(
            (round_ + 22, 68.0), (round_ * 0.7, 75.0), (round_ * 0.4, 76.0), (0.0, 76.0)
        ),
        "centre": line((0.0, 76.0), (0.0, 0.0)),
    }
    return {
        "front": _notched(front, {"lapel": ("neck", -lap), "chest": ("armhole", 110.0)}),
        "back": _notched(back, {"pleat": ("yoke", -PLEAT_MM)}),
        "yoke": outline(yoke),
        "sleeve": _notched(sleeve, {"fore": ("cap", 110.0)}),
        "collar": _notched(collar, {"shoulder": ("neck", length(yoke["neck"]))}),
    }


def burdock_shirt() -> PatternSet:
    """A shirt whose collar is sewn up to the lapel; its outer edge is as long as the whole neck."""
    round_ = ["front.armhole", "yoke.armhole reversed", "back.armhole reversed"]
    neck = ["yoke.neck reversed", "front.neck from start to lapel"]
    seams = [
        seam("side", ["front.side"], ["back.side"]),
        seam("shoulder", ["front.shoulder"], ["yoke.shoulder"]),
        replace(seam("yoke", ["yoke.lower"], ["back.yoke reversed"]), ease=PLEAT_MM),
        replace(seam("armhole", round_, ["sleeve.cap"]), ease=6.0),
        seam("underarm", ["sleeve.front_seam"], ["sleeve.back_seam reversed"]),
        seam("collar", neck, ["collar.neck"]),
    ]
    drawn = [_burdock_shirt(k) for k in range(len(SIZES))]
    pattern = set_of("burdock shirt", drawn, seams)
    return _folded(pattern, back="centre", yoke="centre", collar="centre")


# ------------------------------------------------------------------------------------ a dress


def _lintel_dress(k: int) -> dict[str, SizedPiece]:
    half, neck, tall = 145.0 + 6 * k + k * k / 4, 52.0 + 1.5 * k, 205.0 + 12 * k
    lap, drop = 25.0, 58.0 + 2 * k
    pit, tip = (half, -130.0 - 5 * k), (neck + 62.0 + 3 * k, -20.0 - 0.6 * k)

    def bodice(deep: float) -> Edges:
        return {
            "waist": curve(
                (0.0, -tall), (half * 0.4, -tall), (half * 0.7, 2 - tall), (half - 6, 6 - tall)
            ),
            "side": line((half - 6, 6 - tall), pit),
            "armhole": curve(pit, (half - 38, pit[1] + 1), (tip[0] - 14, tip[1] - 55), tip),
            "shoulder": line(tip, (neck, 0.0)),
            "neck": curve((neck, 0.0), (neck * 0.97, -deep * 0.6), (neck * 0.6, -deep), (0, -deep)),
        }

    front, back = bodice(drop), bodice(18.0)
    front["centre"] = line((0.0, -drop), (0.0, -tall))
    front_mm, back_mm = length(front["neck"]), length(back["neck"])
    back["waist"] = _joined(line((-lap, -tall), (0.0, -tall)), back["waist"])
    back["neck"] = _joined(back["neck"], line((0.0, -18.0), (-lap, -18.0)))
    back["edge"] = line((-lap, -18.0), (-lap, -tall))
    # A ring of a collar, its neck from the back to the front.
    radius, wide = (front_mm + back_mm) / 2.35, 55.0
    angles = np.linspace(1.15, -1.2, 60)[:, None]
    ring = np.hstack([np.cos(angles), np.sin(angles)])
    inner = ring * radius * (front_mm + back_mm) / length(ring * radius)
    outer = ring[::-1][4:-3] * (radius + wide)
    collar = {
        "neck": inner,
        "front_end": line(tuple(inner[-1]), tuple(outer[0])),
        "outer": outer,
        "back_end": line(tuple(outer[-1]), tuple(inner[0])),
    }
    hole = length(front["armhole"]) + length(back["armhole"])
    arm = 0.62 * hole

    def cap(h: float) -> Array:
        return _joined(
            curve((arm, 0.0), (arm * 0.72, 0.0), (arm * 0.66, h), (0.0, h)),
            curve((0.0, h), (-arm * 0.62, h), (-arm * 0.72, 0.0), (-arm, 0.0)),
        )

    sleeve = {
        "wrist": curve((8 - arm, -40.0), (-arm * 0.4, -48.0), (arm * 0.4, -48.0), (arm - 8, -40.0)),
        "front_seam": line((arm - 8, -40.0), (arm, 0.0)),
        "cap": cap(solved(lambda h: length(cap(h)), hole * (1.0 + GATHERED), 10.0, 250.0)),
        "back_seam": line((-arm, 0.0), (8 - arm, -40.0)),
    }
    return {
        "front": _notched(front, {"fore": ("armhole", 70.0)}),
        "back": _notched(back, {"lap": ("neck", -lap), "hind": ("armhole", 76.0)}),
        "collar": _notched(collar, {"shoulder": ("neck", back_mm)}),
        "sleeve": _notched(sleeve, {"fore": ("cap", 70.0), "hind": ("cap", -76.0)}),
        "band": strip(170.0 + 5 * k, 40.0),
    }


def lintel_dress() -> PatternSet:
    """A child's dress that is buttoned behind, with a collar up to the lap and puffed sleeves."""
    neck = ["back.neck from lap to start", "front.neck"]
    round_ = ["front.armhole", "back.armhole reversed"]
    seams = [
        seam("side", ["front.side"], ["back.side"]),
        seam("shoulder", ["front.shoulder"], ["back.shoulder"]),
        replace(seam("armhole", round_, ["sleeve.cap"]), ease=Ease(share=GATHERED)),
        seam("underarm", ["sleeve.front_seam"], ["sleeve.back_seam reversed"]),
        seam("collar", neck, ["collar.neck"]),
    ]
    pattern = set_of("lintel dress", [_lintel_dress(k) for k in range(len(SIZES))], seams)
    return _folded(pattern, front="centre")


# ------------------------------------------------------------------------------- a wrap skirt


def _darted(edges: Edges, middle: float, wide: float, deep: float) -> SizedPiece:
    """A piece with a dart in its waist, its middle so far along."""
    drawn, waist = outline(edges), edges["waist"]
    legs = [point_at(waist, middle + off) for off in (-wide / 2, wide / 2)]
    along = (legs[1] - legs[0]) / float(np.hypot(*(legs[1] - legs[0])))
    tip = (legs[0] + legs[1]) / 2 + deep * np.array([-along[1], along[0]])
    marks = tuple(
        Landmark(name, "waist", (float(x), float(y)), "dart leg")
        for name, (x, y) in zip(("leg_a", "leg_b"), legs, strict=True)
    )
    dart = Dart("dart", "waist", ("leg_a", "leg_b"), (float(tip[0]), float(tip[1])))
    return replace(drawn, landmarks=marks, darts=(dart,))


def _with_notches(piece: SizedPiece, notches: dict[str, tuple[str, float]]) -> SizedPiece:
    more = _notched({edge.name: edge.points for edge in piece.edges}, notches).landmarks
    return replace(piece, landmarks=(*piece.landmarks, *more))


def _fennick_skirt(k: int) -> dict[str, SizedPiece]:
    waist, tall, dart = 640.0 + 40 * k + 3 * k * k, 600.0 + 6 * k, 24.0
    hip, lap = waist + 240.0, 170.0 + 4 * k

    def side(x: float, wide: float, low: float) -> Array:
        return _joined(
            curve((wide + 52, low), (wide + 38, -tall * 0.7), (wide, -270), (wide, -200)),
            curve((wide, -200.0), (wide, -130.0), (x + 9, -55.0), (x, 14.0)),
        )

    def panel(x: float, wide: float, low: float) -> Edges:
        return {
            "hem": curve((0.0, -tall), (wide * 0.5, -tall), (wide * 0.8, -tall), (wide + 52, low)),
            "side": side(x, wide, low),
            "waist": curve((x, 14.0), (x * 0.65, 3.0), (x * 0.3, 0.0), (0.0, 0.0)),
        }

    back = panel(waist / 4 + dart, hip / 4 + 8, 9 - tall)
    back["centre"] = line((0.0, 0.0), (0.0, -tall))
    at = waist / 4 + dart * 0.8, hip / 4 - 8
    deep = solved(lambda y: length(side(*at, -y)), length(back["side"]), tall - 60, tall + 60)
    front = panel(*at, -deep)
    front["hem"] = _joined(line((-lap, -tall), (0.0, -tall)), front["hem"])
    front["waist"] = _joined(front["waist"], line((0.0, 0.0), (-lap, 0.0)))
    front["wrap"] = line((-lap, 0.0), (-lap, -tall))
    fore = length(front["waist"]) - dart * 0.8
    hind = length(back["waist"]) - dart
    band = strip(2 * fore + 2 * hind, 45.0)
    edges = {edge.name: edge.points for edge in band.edges}
    notches = {"left": ("sewn", fore), "right": ("sewn", fore + 2 * hind)}
    long = 900.0 + 10 * k
    tie = {
        "lower": line((0.0, 0.0), (long, 0.0)),
        "tip": line((long, 0.0), (long + 40, 45.0)),
        "upper": line((long + 40, 45.0), (0.0, 45.0)),
        "sewn": line((0.0, 45.0), (0.0, 0.0)),
    }
    return {
        "back": _with_notches(
            _darted(back, length(back["waist"]) * 0.55, dart, 128.0 + 1.5 * k),
            {"hip": ("side", -214.0)},
        ),
        "front": _with_notches(
            _darted(front, length(front["waist"]) * 0.25, dart * 0.8, 97.0 + k),
            {"hip": ("side", -214.0), "centre": ("waist", -lap)},
        ),
        "band": replace(_notched(edges, notches), grain=band.grain),
        "tie": replace(outline(tie), grain=band.grain),
    }


def fennick_skirt() -> PatternSet:
    """A wrap skirt: its band goes round from wrap to wrap, with a notch at each side seam."""
    round_ = ["front.waist reversed", "back.waist", "back.waist reversed", "front.waist"]
    seams = [
        seam("side", ["front.side"], ["back.side"]),
        seam("waistband", round_, ["band.sewn"]),
    ]
    pattern = set_of("fennick skirt", [_fennick_skirt(k) for k in range(len(SIZES))], seams)
    pair = replace(pattern.info["front"], cut=2, pair=True)
    told = _folded(pattern, back="centre")
    return replace(told, info={**told.info, "front": pair})
