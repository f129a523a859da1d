"""Garments drafted by formula that no kind of garment was written after, with their relations.

Measures and how they are joined are common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.pattern.ease import Ease
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
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

    front = {
        name: points[::-1] * [-1.0, 1.0] for name, points in reversed(body(deep + 2 * k).items())
    }
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
    seam("armhole", ["front.armhole reversed", "back.armhole reversed"], ["sleeve.cap"]),
    seam("underarm", ["sleeve.under_front"], ["sleeve.under_back reversed"]),
)
WHOLE_NECK = ["front.neck", "back.neck", "back.neck reversed", "front.neck reversed"]


def _cove_tee(k: int) -> dict[str, SizedPiece]:
    front, back = _tops(k, deep=88.0, slope=37.0)
    hole = length(front["armhole"]) + length(back["armhole"])
    neck = 2 * (length(front["neck"]) + length(back["neck"]))
    sleeve = _short_sleeve(hole + 5.0, 112.0 + 3 * k, 138.0 + 6 * k, 16.0)
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
