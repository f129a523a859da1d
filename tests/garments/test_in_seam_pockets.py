"""Pockets in the side seam: the mouth is as long on front, back and bag, whatever is changed.

A mouth keeps its length in every size (common practice, no source); places are measured by shapely.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import pytest

import propagate
from propagate import Amount, Blend, Lengthen, MoveMark, NamedEdit, PatternSet, TakeIn, blend
from propagate.pattern.model import Piece
from propagate.pattern.relations import BlendMain, BlendPlan
from propagate.pattern.validate import find_problems
from tests.garments.measures import long, up_to
from tests.suggesting.pocket_drafts import MOUTH_MM, ford_trouser, heron_skirt

NEAR_MM = 0.02
Level = Callable[[int], float]


def with_blend(
    made: PatternSet, lay_on: str, centre: str, levels: Mapping[str, Level]
) -> PatternSet:
    """A set with levels on its front and back, and what blending needs to know."""
    pieces = dict(made.pieces)
    for name in ("front", "back"):
        nest = {
            size: replace(
                made.sized(name, size), levels={own: (10.0, y(k)) for own, y in levels.items()}
            )
            for k, size in enumerate(made.sizes)
        }
        pieces[name] = Piece(name, nest)
    mains = tuple(
        BlendMain(name, "waist", centre, "side", "hip", "hip") for name in ("front", "back")
    )
    relations = replace(made.relations, blend=BlendPlan("waist", "hip", mains, "side"))
    found = replace(made, pieces=pieces, relations=relations, lay_on=lay_on)
    assert find_problems(found) == ()
    return found


TROUSER = with_blend(
    ford_trouser(),
    "crotch",
    "crotch",
    {
        "waist": lambda k: 1033.0 + 6 * k,
        "hip": lambda k: 831.0 + 7 * k,
        "crotch": lambda k: 771.0 + 2 * k,
    },
)
SKIRT = with_blend(
    heron_skirt(),
    "hip",
    "centre",
    {"waist": lambda k: 612.0 + 6 * k, "hip": lambda k: 407.0 + 6 * k},
)
SETS = {"trouser": TROUSER, "skirt": SKIRT}


def mouth(pattern: PatternSet, piece: str, size: str) -> tuple[float, float]:
    """How far the mouth begins from the upper end of a piece's side, and how long it is."""
    top, low = ("top", "low") if piece == "bag" else ("mouth_top", "mouth_low")
    a, b = (up_to(pattern, f"{piece}.side", mark, size) for mark in (top, low))
    if piece == "back":  # drawn from the hem up
        side = long(pattern, "back.side", size)
        a, b = side - a, side - b
    return a, b - a


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize(("waist", "hip"), [("2", "4"), ("5", "3"), ("1", "5")])
def test_a_blend_keeps_the_mouth(name: str, waist: str, hip: str) -> None:
    """The side is drawn anew between the notches, too; a bag that hangs free stays as it is."""
    found = blend(SETS[name], Blend({"waist": waist, "hip": hip}))
    assert found.sews
    size = found.pattern.sizes[0]
    down = mouth(SETS[name], "front", hip)[0]
    for piece in ("front", "back"):
        assert mouth(found.pattern, piece, size) == pytest.approx((down, MOUTH_MM), abs=NEAR_MM)
    assert mouth(found.pattern, "bag", size)[1] == pytest.approx(MOUTH_MM, abs=NEAR_MM)
    if name == "skirt":  # its bag goes up to the waist, and is as far from there
        assert mouth(found.pattern, "bag", size)[0] == pytest.approx(down, abs=NEAR_MM)
    else:
        assert found.pattern.sized("bag", size) == SETS[name].sized("bag", hip)


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize(
    "edit",
    [
        TakeIn(edge="front.side", by=Amount(mm=8.0), at="waist", to=("hip",), both=True),
        TakeIn(edge="back.side", by=Amount(mm=5.0), at="waist", to=("hip",), both=True),
        Lengthen(level="hip", by=Amount(mm=15.0)),
    ],
)
def test_a_side_that_moves_keeps_the_mouth(name: str, edit: propagate.SizedEdit) -> None:
    made = SETS[name]
    found = propagate.apply_edits(made, [NamedEdit("it", edit)], sizes=("1", "3"))
    assert found.sews
    for size in ("1", "3"):
        down = mouth(made, "front", size)[0]
        for piece in ("front", "back"):
            told = mouth(found.pattern, piece, size)
            assert told == pytest.approx((down, MOUTH_MM), abs=NEAR_MM)
        assert mouth(found.pattern, "bag", size)[1] == pytest.approx(MOUTH_MM, abs=NEAR_MM)


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("mark", ["front.mouth_low", "back.mouth_low", "bag.low"])
def test_a_mouth_that_is_made_longer_is_so_on_all_three(name: str, mark: str) -> None:
    made, size = SETS[name], "3"
    way = -12.0 if mark.startswith("back") else 12.0
    edit = MoveMark(mark=mark, by=Amount(mm=way))
    found = propagate.apply_edits(made, [NamedEdit("it", edit)], sizes=(size,))
    assert found.sews
    for piece in ("front", "back", "bag"):
        begins = mouth(made, piece, size)[0]
        told = mouth(found.pattern, piece, size)
        assert told == pytest.approx((begins, MOUTH_MM + 12.0), abs=NEAR_MM)
