"""Culottes: legs whose hem is a fifth of their outline and more are those of a trouser."""

from __future__ import annotations

import numpy as np

from propagate.io.garments import known_kinds
from propagate.pattern.model import SizedPiece
from propagate.suggesting.asking import Asking
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.nets import recognise_garments
from propagate.suggesting.suggestions import suggest
from tests.suggesting.garment_drafts import curve, length, line, outline, set_of, strip

SIZES = 5


def leg(k: int, waist: float, hip: float, fork: float, tilt: float, flare: float) -> SizedPiece:
    """A leg 560 mm long, with its side on the right; side and inseam are straight below the hip."""
    rise, long = 262.0 + 4 * k, 560.0 + 6 * k
    top, seat, tip = (tilt, tilt), (0.0, -0.6 * rise), (-fork, -rise)
    side_top, low, foot = (tilt + waist, 6.0), (hip, -205.0), (hip + flare, -long)
    heel = (-fork - 0.4 * flare, -long)
    rounded = curve(seat, (0.0, -0.85 * rise), (-0.45 * fork, -rise), tip)
    upper = curve(low, (hip, -150.0), (side_top[0] + 10, -70.0), side_top)
    return outline(
        {
            "hem": line(heel, foot),
            "side": np.concatenate([line(foot, low), upper[1:]]),
            "waist": line(side_top, top),
            "crotch": np.concatenate([line(top, seat), rounded[1:]]),
            "inseam": line(tip, heel),
        }
    )


def draw(k: int) -> dict[str, SizedPiece]:
    front = leg(k, 180.0 + 10 * k, 232.0 + 10 * k, 55.0 + 2 * k, 6.0, 40.0)
    back = leg(k, 180.0 + 10 * k, 232.0 + 10 * k, 95.0 + 2 * k, 6.0, 40.0)
    waist = length(front.edge("waist").points) + length(back.edge("waist").points)
    return {"front": front, "back": back, "band": strip(waist, 40.0)}


def test_wide_legs_are_recognised_with_their_side_and_inseam() -> None:
    bare = set_of("wide legs", [draw(k) for k in range(SIZES)], [])
    for name in ("front", "back"):
        sized = bare.sized(name, bare.base)
        whole = sum(edge.length for edge in sized.edges)
        assert sized.edge("hem").length > 0.2 * whole
    kinds = known_kinds()
    (garment,) = recognise_garments(measure_nest(bare), kinds)
    assert garment.kind.name == "a trouser"
    likely = [one.edges for one in suggest(bare, kinds=kinds).proposals if one.score >= 0.9]
    assert {"front.side", "back.side"} in likely
    assert {"front.inseam", "back.inseam"} in likely


def test_both_centres_are_asked_about_where_no_fly_fits() -> None:
    """Nothing else is as long as the front's crotch seam, so it is likely sewn to its twin."""
    bare = set_of("wide legs", [draw(k) for k in range(SIZES)], [])
    asked = [one.edges for one in Asking.begin(bare, kinds=tuple(known_kinds())).open]
    assert {"front.crotch"} in asked and {"back.crotch"} in asked
