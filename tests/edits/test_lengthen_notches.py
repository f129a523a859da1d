"""Notch pairs of pieces that one edit draws: they meet again, wherever on the level they lie."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import propagate
from propagate import Amount
from propagate.engine.edits.lengthen import Lengthen, Shorten
from propagate.pattern.model import Landmark, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.engine.following.test_by_hand import panel, seam, sewn

AT = 300.0
"""mm from the hem along the seam, where both notches are."""


def leaning(out: float) -> SizedPiece:
    """A panel whose side leans by so much over its 600 mm, with a notch; a level at 300 mm."""
    piece = panel(top=200.0 + out)
    side = piece.edge("side").points
    way = (side[1] - side[0]) / np.hypot(*(side[1] - side[0]))
    x, y = side[0] + AT * way
    return replace(
        piece,
        landmarks=(Landmark("notch", "side", (float(x), float(y)), "notch"),),
        levels={"hip": (0.0, 300.0), "waist": (0.0, 600.0)},
    )


def two(out: float) -> PatternSet:
    pair = (("front.notch", "back.notch"),)
    upright, other = leaning(0.0), leaning(out)
    return sewn(
        {"front": upright, "back": other},
        seam("side", "front.side", "back.side", notches=pair, ease=0.0, tolerance=1.5),
    )


@pytest.mark.parametrize("by", [20.0, -20.0])
def test_notches_beside_the_level_meet_after_it_was_cut_across(by: float) -> None:
    """By Pythagoras the leaning side's notch lies 0.6 mm lower: the cut moves it by less."""
    out = 38.0
    pattern = two(out)
    low = 300.0 - AT * 600.0 / np.hypot(600.0, out)
    assert low == pytest.approx(0.6, abs=0.01)
    kind = Lengthen if by > 0 else Shorten
    result = propagate.run(pattern, kind(level="hip", by=Amount(mm=abs(by))))
    new = {name: result.pattern.sized(name, "M") for name in ("front", "back")}
    at = {name: piece.distance("side", "notch") for name, piece in new.items()}
    assert at["front"] == pytest.approx(AT + by / 2, abs=0.01)
    assert at["back"] == pytest.approx(at["front"], abs=0.05)


def test_a_straight_edge_along_the_grain_needs_no_more_points() -> None:
    result = propagate.run(two(0.0), Lengthen(level="hip", by=Amount(mm=20.0)))
    for name in ("front", "back"):
        assert len(result.pattern.sized(name, "M").outline) == 4
