"""A left front that laps over a right one, and a back in one piece between them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from propagate import Lengthen, LetOut, Lower, PatternSet, TakeIn
from propagate.engine.review.run import review
from propagate.engine.walk import walk
from tests.garments.drafts import one_gore, ring_of_gores
from tests.garments.fronts import wrap
from tests.garments.inserts import (
    bag,
    crotch_gusset,
    godet_in_seam,
    godet_in_slit,
    underarm_gusset,
)
from tests.garments.measures import area_unmirrored, edited, gains, misses, mm

WRAP = wrap()
HANDS = ("left", "right")


def test_an_edit_of_one_front_reaches_its_own_side_of_the_back_alone() -> None:
    edit = TakeIn(edge="left.side", by=mm(10.0), at="end", to=("waist",), both=True)
    found = edited(WRAP, edit)
    assert found.sews and max(misses(found.pattern).values()) < 0.02
    told = gains(WRAP, found.pattern)
    assert set(told) == {"left.side", "left.armhole", "back.left", "back.armhole_left"}
    assert found.pattern.sized("right", "M") == WRAP.sized("right", "M")


def test_the_same_on_both_hands_keeps_the_back_symmetric() -> None:
    """Left and right differ; what is done to both alike leaves a symmetric back symmetric."""
    edits = [
        LetOut(
            edge=f"{hand}.side", by=mm(6.0), at="end" if hand == "left" else "start", to=("waist",)
        )
        for hand in HANDS
    ]
    shoulders = [
        TakeIn(edge=f"{hand}.armhole", by=mm(5.0), at=at, to=(to,))
        for hand, at, to in (("left", "end", "start"), ("right", "start", "end"))
    ]
    found = edited(WRAP, *edits, *shoulders)
    assert found.sews and max(misses(found.pattern).values()) < 0.02
    assert area_unmirrored(found.pattern.sized("back", "M")) < 0.5
    told = gains(WRAP, found.pattern)
    for edge in ("shoulder", "armhole"):
        assert told[f"back.{edge}_left"] == pytest.approx(told[f"back.{edge}_right"], abs=0.01)


@pytest.mark.parametrize(
    "edit", [Lower(edge="back.hem", by=mm(20.0)), Lengthen(level="waist", by=mm(20.0))]
)
def test_a_longer_back_makes_both_fronts_longer(edit: Lower | Lengthen) -> None:
    found = edited(WRAP, edit, sizes=WRAP.sizes)
    assert found.sews
    for size in WRAP.sizes:
        told = gains(WRAP, found.pattern, size)
        assert told["left.edge"] == pytest.approx(told["right.edge"], abs=0.2)
        assert told["left.side"] == told["right.side"] == pytest.approx(20.0, abs=0.05)
        assert area_unmirrored(found.pattern.sized("back", size)) < 0.5


@pytest.mark.parametrize(
    "draw",
    [
        ring_of_gores,
        one_gore,
        godet_in_seam,
        godet_in_slit,
        underarm_gusset,
        crotch_gusset,
        bag,
        wrap,
    ],
)
def test_no_garment_is_taken_for_a_mistake(draw: Callable[[], PatternSet]) -> None:
    """Each is stated as the page of structures tells it: the walk and the review find nothing."""
    pattern = draw()
    assert review(pattern) == ()
    assert all(walk(pattern, size).sews for size in pattern.sizes)
