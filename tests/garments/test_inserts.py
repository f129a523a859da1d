"""Godets and gussets follow what they are set in, and lead it where they are edited themselves."""

from __future__ import annotations

import math

import numpy as np
import pytest

from propagate import EditError, Lengthen, LetOut, Lower, MoveMark, PatternSet, Raise, TakeIn
from tests.garments.drafts import sized
from tests.garments.inserts import (
    crotch_gusset,
    godet_draft,
    godet_in_seam,
    godet_in_slit,
    underarm_gusset,
)
from tests.garments.measures import (
    area_apart,
    area_unmirrored,
    edited,
    gains,
    long,
    misses,
    mm,
    up_to,
)

SEAM, SLIT = godet_in_seam(), godet_in_slit()
KIMONO, LEGGINGS = underarm_gusset(), crotch_gusset()
SEWN = 0.02


def is_sewn(pattern: PatternSet, size: str = "M") -> bool:
    return max(misses(pattern, size).values()) < SEWN


# --------------------------------------------------------------------------- godets


@pytest.mark.parametrize("hem", ["front", "side", "godet"])
def test_a_hem_lowered_at_any_piece_is_lower_all_round_the_godet(hem: str) -> None:
    found = edited(SEAM, Lower(edge=f"{hem}.hem", by=mm(20.0)))
    assert found.sews and is_sewn(found.pattern)
    told = gains(SEAM, found.pattern)
    for key in ("front.seam", "side.seam", "godet.left", "godet.right"):
        assert told[key] == pytest.approx(20.0, abs=0.01)
    assert told["front.centre"] == pytest.approx(20.0, abs=0.2)
    front = found.pattern.sized("front", "M")
    assert np.ptp(front.edge("centre").points[:, 0]) == 0.0  # the fold stays straight
    # and the hem square to it: at the seam 20 mm are measured along the seam, which leans
    assert np.ptp(front.edge("hem").points[:, 1]) <= 20.0 * (1 - math.cos(0.1)) + 1e-6


@pytest.mark.parametrize(("level", "of_godet"), [("knee", 30.0), ("hip", 0.0)])
def test_a_godet_is_as_long_as_what_is_below_its_point(level: str, of_godet: float) -> None:
    """A skirt lengthened below the point lengthens it; above it not by a digit."""
    found = edited(SEAM, Lengthen(level=level, by=mm(30.0)), sizes=SEAM.sizes)
    assert found.sews
    for size in SEAM.sizes:
        assert is_sewn(found.pattern, size)
        gain = long(found.pattern, "godet.left", size) - long(SEAM, "godet.left", size)
        assert gain == pytest.approx(of_godet, abs=0.1)
        below = up_to(found.pattern, "front.seam", "apex", size)
        assert long(found.pattern, "godet.left", size) == pytest.approx(below, abs=SEWN)
        drafted = sized(godet_draft(below, 0.5))
        now = found.pattern.sized("godet", size)
        assert area_apart(now, drafted, "right") < 0.002 * below * below
        if not of_godet:
            assert now == SEAM.sized("godet", size)


def test_the_point_of_a_godet_is_moved_on_both_sides_of_its_seam() -> None:
    found = edited(SEAM, MoveMark(mark="front.apex", by=mm(20.0)))
    assert found.sews and is_sewn(found.pattern)
    # The hem stays where it is: the godet gets a longer point and the same width.
    told = gains(SEAM, found.pattern)
    assert told == pytest.approx({"godet.left": 20.0, "godet.right": 20.0}, abs=0.01)
    for piece, way in (("front", 1.0), ("side", -1.0)):
        moved = up_to(found.pattern, f"{piece}.seam", "apex") - up_to(SEAM, f"{piece}.seam", "apex")
        assert moved == pytest.approx(20.0 * way, abs=1e-3)


def test_a_seam_taken_in_above_the_point_has_one_other_side_there() -> None:
    """Below the point it is sewn to the godet: which edge `both` means is told by the places."""
    edit = TakeIn(edge="front.seam", by=mm(5.0), at="end", to=("hip",), both=True)
    found = edited(SEAM, edit)
    assert found.sews and is_sewn(found.pattern)
    told = gains(SEAM, found.pattern)
    assert told["front.waist"] == told["side.waist"] == pytest.approx(-5.0, abs=1e-3)
    assert not any(key.startswith("godet") for key in told)
    with pytest.raises(EditError, match=r"found godet\.left, side\.seam sewn to edge 'seam'"):
        edited(SEAM, TakeIn(edge="front.seam", by=mm(5.0), both=True))


def test_a_godet_in_a_slit_follows_its_two_sides() -> None:
    found = edited(SLIT, Lengthen(level="knee", by=mm(30.0)))
    assert found.sews and is_sewn(found.pattern)
    assert area_unmirrored(found.pattern.sized("godet", "M")) < 0.01
    back = edited(SLIT, Lower(edge="godet.hem", by=mm(20.0)))
    assert back.sews and is_sewn(back.pattern)
    told = gains(SLIT, back.pattern)
    assert told["panel.slit_left"] == told["panel.slit_right"] == pytest.approx(20.0, abs=0.01)
    assert area_unmirrored(back.pattern.sized("panel", "M")) < 0.01


# -------------------------------------------------------------------------- gussets


@pytest.mark.parametrize(
    ("edit", "sides"),
    [
        (TakeIn(edge="front.side", by=mm(10.0), both=True), {"low": -10.0}),
        (LetOut(edge="back.side", by=mm(10.0)), {"low": 10.0}),
        (TakeIn(edge="front.under", by=mm(8.0), both=True), {"high": -8.0}),
        (Lower(edge="front.hem", by=mm(20.0)), {}),
        (TakeIn(edge="front.under", by=mm(8.0), at="end", to=("start",), both=True), {}),
    ],
)
def test_an_underarm_gusset_has_four_sides(edit: TakeIn, sides: dict[str, float]) -> None:
    """Front and back alike: the gusset stays symmetric, and what is no side of it does not move."""
    found = edited(KIMONO, edit)
    assert found.sews and is_sewn(found.pattern)
    told = {k: v for k, v in gains(KIMONO, found.pattern).items() if k.startswith("gusset")}
    wanted = {f"gusset.{p}_{end}": v for end, v in sides.items() for p in ("front", "back")}
    assert told == pytest.approx(wanted, abs=0.01)
    assert area_unmirrored(_upright(found.pattern)) < 2.0


def _upright(pattern: PatternSet):
    """The gusset with its two points level: it may have turned a little."""
    from dataclasses import replace

    gusset = pattern.sized("gusset", "M")
    low, high = gusset.edge("front_low").points[0], gusset.edge("front_high").points[-1]
    turn = math.pi / 2 - math.atan2(*(high - low)[::-1])
    lean = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    edges = tuple(replace(e, points=(e.points - low) @ lean) for e in gusset.edges)
    return replace(gusset, edges=edges)


def test_a_gusset_let_out_lets_out_what_it_is_set_in() -> None:
    found = edited(KIMONO, LetOut(edge="gusset.front_low", by=mm(6.0)))
    assert found.sews and is_sewn(found.pattern)
    told = gains(KIMONO, found.pattern)
    assert told["front.slit_high"] == pytest.approx(6.0, abs=0.01)
    assert told["back.slit_low"] == pytest.approx(6.0, abs=0.01)


@pytest.mark.parametrize(
    ("edit", "front", "back"),
    [
        (TakeIn(edge="front.inseam", by=mm(8.0), both=True), -8.0, -8.0),
        (Lengthen(level="hip", by=mm(10.0)), 9.91, 9.96),
        (TakeIn(edge="front.centre", by=mm(5.0)), -5.0, 0.0),
        (Raise(edge="front.waist", by=mm(15.0)), 0.0, 0.0),
    ],
)
def test_a_crotch_gusset_is_sewn_to_four_halves(
    edit: TakeIn | Lengthen, front: float, back: float
) -> None:
    """Each half is cut as a pair, so it leads two sides of the gusset, which stays symmetric."""
    found = edited(LEGGINGS, edit)
    assert found.sews and is_sewn(found.pattern)
    told = gains(LEGGINGS, found.pattern)
    for side, gain in (("front", front), ("back", back)):
        for hand in ("left", "right"):
            assert told.get(f"gusset.{side}_{hand}", 0.0) == pytest.approx(gain, abs=0.05)
    gusset = found.pattern.sized("gusset", "M")
    ends = [gusset.edge(e).points[0] for e in ("front_left", "back_right")]
    across = [gusset.edge(e).points[0] for e in ("back_left", "front_right")]
    axis, chord = ends[1] - ends[0], across[1] - across[0]
    lean = abs(axis @ chord) / (np.hypot(*axis) * np.hypot(*chord))
    assert lean < 0.002  # its two diagonals are square to each other
