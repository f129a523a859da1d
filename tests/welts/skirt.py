"""A skirt whose back has a welt pocket: invented, on the small skirt of `tests.builders`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.pattern.amount import Amount
from propagate.pattern.grain import Grain
from propagate.pattern.model import (
    Dart,
    Edge,
    InternalLine,
    Landmark,
    Mark,
    Piece,
    SizedPiece,
    frozen_points,
)
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Allowance, PieceInfo, Place
from propagate.pattern.welts import WeltOpening, WeltPart
from tests.builders import SIZES, WAIST, back_sized, edge, tiny_set, waist_y

LONG = {"36": 104.0, "38": 110.0, "40": 116.0}
FACED, BAGGED = 15.0, 12.0
"""How far facing and bag go on beyond the opening at each end, mm."""
DEEP = 72.0
"""Of the dart, mm."""
SLANT = np.radians(-4.0)


def opening_ends(size: str) -> np.ndarray:
    """(2, 2) from the end near the side to the one near the centre, on the back as drawn."""
    begin = np.array([-(WAIST[size] - 30.0), -85.0])
    return np.array([begin, begin + LONG[size] * np.array([np.cos(SLANT), np.sin(SLANT)])])


def back_with_welt(size: str) -> SizedPiece:
    """The back with a dart, and below it the line of a welt with a drill mark at each end."""
    plain = back_sized(size)
    middle, half = -0.5 * WAIST[size], 8.0
    legs = [(x, waist_y(size, x)) for x in (middle + half, middle - half)]
    on_line = [_on(plain.edge("waist"), leg) for leg in legs]
    ends = opening_ends(size)
    mouth = np.array(on_line)
    across = mouth[1] - mouth[0]
    down = np.array([-across[1], across[0]]) / np.hypot(*across)
    tip = mouth.mean(axis=0) + DEEP * down
    return replace(
        plain,
        landmarks=(
            *plain.landmarks,
            Landmark("dart_in", "waist", on_line[0], "dart leg"),
            Landmark("dart_out", "waist", on_line[1], "dart leg"),
        ),
        darts=(Dart("dart", "waist", ("dart_in", "dart_out"), (float(tip[0]), float(tip[1]))),),
        lines=(*plain.lines, InternalLine("welt", frozen_points(ends))),
        drills=(
            *plain.drills,
            *(
                Mark(name, (float(x), float(y)))
                for name, (x, y) in zip(("by_side", "by_centre"), ends, strict=True)
            ),
        ),
    )


def _on(line: Edge, point: tuple[float, float]) -> tuple[float, float]:
    """The place on a line above a point."""
    order = np.argsort(line.points[:, 0])
    return point[0], float(np.interp(point[0], line.points[order, 0], line.points[order, 1]))


def strip(wide: float, high: float) -> SizedPiece:
    """A rectangle whose edge `long` runs along its foot."""
    corners = [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high), (0.0, 0.0)]
    names = ("long", "right", "top", "left")
    return SizedPiece(
        edges=tuple(edge(name, corners[i], corners[i + 1]) for i, name in enumerate(names)),
        grain=Grain((wide / 2, 0.2 * high), (wide / 2, 0.8 * high)),
    )


def bag(size: str) -> SizedPiece:
    """A bag with rounded lower corners; its mouth is the part of its top between two marks."""
    wide, deep, bend = LONG[size] + 2 * BAGGED, 95.0, 20.0
    turn = np.linspace(0.0, np.pi / 2, 25)
    left = np.column_stack([bend - bend * np.cos(turn), bend - bend * np.sin(turn)])
    right = np.column_stack([wide - left[::-1, 0], left[::-1, 1]])
    return SizedPiece(
        edges=(
            edge("left", (0.0, deep), (0.0, bend)),
            Edge("foot", frozen_points(np.vstack([left, right]))),
            edge("right", (wide, bend), (wide, deep)),
            edge("top", (wide, deep), (0.0, deep)),
        ),
        landmarks=(
            Landmark("mouth_right", "top", (wide - BAGGED, deep), "notch"),
            Landmark("mouth_left", "top", (BAGGED, deep), "notch"),
            Landmark("middle", "top", (wide / 2, deep), "notch"),
        ),
        grain=Grain((wide / 2, 30.0), (wide / 2, 80.0)),
    )


OPENING = WeltOpening(
    "back_pocket",
    on="back",
    line="welt",
    anchors=("waist", "side"),
    length=Amount(sizes=tuple(LONG.items())),
    marks=("by_side", "by_centre"),
    parts=(
        WeltPart("welt", "long"),
        WeltPart("facing", "long", beyond=FACED),
        WeltPart("bag", "top", "mouth_left", "mouth_right", bag=True),
    ),
)


def welt_skirt(opening: WeltOpening = OPENING) -> PatternSet:
    """The skirt in three sizes, whose waists and hips can be blended."""
    skirt = tiny_set()
    fresh = {
        "back": {size: back_with_welt(size) for size in SIZES},
        "welt": {size: strip(LONG[size], 28.0) for size in SIZES},
        "facing": {size: strip(LONG[size] + 2 * FACED, 50.0) for size in SIZES},
        "bag": {size: bag(size) for size in SIZES},
    }
    info = {name: PieceInfo(name, allowance=Allowance(10.0)) for name in ("welt", "facing", "bag")}
    return replace(
        skirt,
        name="welt skirt",
        pieces={**skirt.pieces, **{name: Piece(name, nest) for name, nest in fresh.items()}},
        info={**skirt.info, **info},
        relations=replace(
            skirt.relations,
            places={name: Place(name, "waist") for name in ("welt", "facing", "bag")},
            welt_openings={opening.name: opening},
        ),
    )
