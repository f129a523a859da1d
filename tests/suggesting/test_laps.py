"""An edge that laps over another is not sewn to its twin, as a centre seam is, nor is a tie's."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.pattern.grain import Grain
from propagate.pattern.model import InternalLine, Landmark, Mark, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.suggesting import suggest
from propagate.suggesting.asking import ASKED
from tests.suggesting.test_drawn_by_hand import drawn, polygon

LAP_MM = 60.0


def beside(sized: SizedPiece, what: str, high: float) -> SizedPiece:
    """A piece with what shows that its left edge laps over."""
    if what == "notches":
        marks = [Landmark("m1", "e1", (LAP_MM, 0.0), "notch")]
        return replace(sized, landmarks=(*marks, Landmark("m2", "e3", (LAP_MM, high), "notch")))
    if what == "line":
        line = InternalLine("centre", np.array([[LAP_MM, 0.0], [LAP_MM, high]]))
        return replace(sized, lines=(line,))
    if what == "buttons":
        return replace(sized, drills=tuple(Mark(f"b{k}", (15.0, 90.0 + 70 * k)) for k in range(4)))
    if what == "one notch":
        return replace(sized, landmarks=(Landmark("m1", "e1", (LAP_MM, 0.0), "notch"),))
    if what == "crease":
        lean = InternalLine("crease", np.array([[LAP_MM, 0.0], [LAP_MM + 40, high]]))
        return replace(sized, lines=(lean,), drills=(Mark("b", (15.0, 90.0)),))
    return sized


def notched(sized: SizedPiece, edge: str, at: tuple[float, float]) -> SizedPiece:
    return replace(sized, landmarks=(*sized.landmarks, Landmark("side", edge, at, "notch")))


def skirt(what: str) -> PatternSet:
    """Half a back, cut as a pair, on whose left edge the question is, and a front on the fold."""
    front, back = [], []
    for k in range(3):
        wide, high = 200.0 + 11 * k + k * k, 400.0 + 7 * k**1.3
        half = polygon([(0, 0), (wide, 0), (wide - 30, high), (0, high)])
        back.append(notched(beside(half, what, high), "e2", (wide - 7.5, high / 4)))
        half = polygon([(0, 0), (0, high), (-wide - 38, high), (-wide - 8, 0)])
        front.append(notched(half, "e3", (-wide - 15.5, high / 4)))
    pattern = drawn({"back": back, "front": front})
    pair = replace(pattern.info["back"], cut=2, pair=True)
    fold = replace(pattern.info["front"], fold="e1")
    return replace(pattern, info={"back": pair, "front": fold})


def score_of(pattern: PatternSet, edge: str) -> float:
    found = (one for one in suggest(pattern).of_edge(edge) if one.kind == "mirror seam")
    return max((one.score for one in found), default=0.0)


@pytest.mark.parametrize("what", ["plain", "one notch", "crease"])
def test_a_square_edge_along_the_grain_is_a_centre_seam(what: str) -> None:
    assert score_of(skirt(what), "back.e4") > 0.9


@pytest.mark.parametrize("what", ["notches", "line", "buttons"])
def test_what_is_drawn_along_an_edge_tells_that_it_laps(what: str) -> None:
    """A wrap, a lap or a facing that is grown on (common practice, no source)."""
    assert score_of(skirt(what), "back.e4") < 0.5


def test_the_long_sides_of_a_tie_are_sewn_to_nothing() -> None:
    """It is folded along its middle or hemmed; one of its ends is cut askew."""
    ties = []
    for k in range(3):
        long = 900.0 + 10 * k
        tie = polygon([(0, 0), (long, 0), (long + 40, 45), (0, 45)])
        ties.append(replace(tie, grain=Grain((0.0, 20.0), (90.0, 20.0))))
    pattern = skirt("plain")
    more = drawn({"tie": ties})
    info = {**pattern.info, "tie": replace(more.info["tie"], cut=2, pair=True)}
    pattern = replace(pattern, pieces={**pattern.pieces, **more.pieces}, info=info)
    assert score_of(pattern, "tie.e1") < ASKED
    assert score_of(pattern, "tie.e3") < ASKED
