"""Notch pairs at a hold: both sides go together, and a hundredth of a millimetre decides nothing.

Distances are taken with shapely from the hem, which a blend does not touch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
import shapely

from propagate.engine.edits.blend import Blend
from propagate.engine.run import run
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from tests import shared
from tests.examples import part_of

PAIRS = {
    "scoop_skirt": ("skirt_front.seat_notch", "skirt_back.seat_notch"),
    "slant_trouser": ("front.hip_notch", "back.hip_notch"),
    "workshop_gilet": ("lower_front.hip_notch", "lower_back.hip_notch"),
}


def upwards(piece: SizedPiece, edge: str) -> shapely.LineString:
    """The edge from the end where it meets the hem."""
    points = piece.edge(edge).points
    hem = piece.edge("hem" if "hem" in piece.edge_names else "foot").points
    at_start = np.abs(hem[[0, -1]] - points[0]).max(axis=1).min() < 1e-6
    return shapely.LineString(points if at_start else points[::-1])


def from_hem(piece: SizedPiece, name: str) -> float:
    mark = piece.landmark(name)
    return float(upwards(piece, mark.edge).project(shapely.Point(mark.point)))


def raised(
    pattern: PatternSet, marks: Sequence[str], by: float, decimals: int | None = None
) -> PatternSet:
    """The set with notches drawn higher on their edges, or rounded as a file would."""
    pieces = dict(pattern.pieces)
    for full in marks:
        name, _, landmark = full.partition(".")
        nest = {}
        for size, piece in pieces[name].nest.items():
            mark = piece.landmark(landmark)
            line = upwards(piece, mark.edge)
            there = line.interpolate(line.project(shapely.Point(mark.point)) + by)
            x, y = there.x, there.y
            if decimals is not None:
                x, y = round(x, decimals), round(y, decimals)
            others = tuple(
                replace(one, point=(x, y)) if one.name == landmark else one
                for one in piece.landmarks
            )
            nest[size] = replace(piece, landmarks=others)
        pieces[name] = Piece(name, nest)
    return replace(pattern, pieces=pieces)


def far_pairs(pattern: PatternSet) -> list[tuple[str, str]]:
    sizes = pattern.sizes
    return [
        (sizes[0], sizes[-1]),
        (sizes[-1], sizes[0]),
        (sizes[3], sizes[1]),
        (sizes[1], sizes[3]),
        (sizes[2], sizes[1]),
    ]


def blended(pattern: PatternSet, upper: str, lower: str, **options: object) -> PatternSet:
    plan = pattern.relations.blend
    assert plan is not None
    edit = Blend({plan.upper: upper, plan.lower: lower}, **options)  # type: ignore[arg-type]
    return run(pattern, edit).pattern


def heights(pattern: PatternSet, demo: str, size: str) -> tuple[float, float]:
    first, second = (
        from_hem(pattern.sized(piece, size), mark)
        for piece, _, mark in (name.partition(".") for name in PAIRS[demo])
    )
    return first, second


@pytest.mark.parametrize("demo", PAIRS)
@pytest.mark.parametrize(
    ("which", "by"), part_of(product([(0,), (1,), (0, 1)], [0.01, -0.01, 0.03]), 2)
)
def test_a_hundredth_above_the_hold_is_on_the_hold(
    demo: str, which: tuple[int, ...], by: float
) -> None:
    drawn = shared.demo(demo)
    pattern = raised(drawn, [PAIRS[demo][i] for i in which], by)
    for upper, lower in far_pairs(pattern):
        result = blended(pattern, upper, lower)
        for full in PAIRS[demo]:
            name, _, mark = full.partition(".")
            was = pattern.sized(name, lower).landmark(mark).point
            now = result.sized(name, result.base).landmark(mark).point
            assert np.hypot(*np.subtract(now, was)) < 0.005


@pytest.mark.parametrize("demo", PAIRS)
def test_marks_of_two_decimals_stay_in_pairs(demo: str) -> None:
    drawn = shared.demo(demo)
    pattern = raised(drawn, PAIRS[demo], 0.0, decimals=2)
    for upper, lower in far_pairs(pattern):
        result = blended(pattern, upper, lower)
        assert np.diff(heights(result, demo, result.base))[0] == pytest.approx(0.0, abs=0.02)


@pytest.mark.parametrize("demo", PAIRS)
@pytest.mark.parametrize("options", [{"rise": "lower", "hold": 5.0}, {"hold": 5.0}])
def test_between_level_and_hold_a_pair_goes_together(demo: str, options: dict[str, object]) -> None:
    pattern = shared.demo(demo)
    for upper, lower in far_pairs(pattern):
        result = blended(pattern, upper, lower, **options)
        assert np.diff(heights(result, demo, result.base))[0] == pytest.approx(0.0, abs=0.06)


@pytest.mark.parametrize("side", [0, 1])
def test_the_notch_that_was_kept_decides(side: int) -> None:
    """One of the pair is drawn 0.2 mm above the hold: the other stays digit for digit."""
    demo = "slant_trouser"
    drawn = shared.demo(demo)
    pattern = raised(drawn, [PAIRS[demo][side]], 0.2)
    for upper, lower in far_pairs(pattern):
        result = blended(pattern, upper, lower)
        name, _, mark = PAIRS[demo][1 - side].partition(".")
        assert result.sized(name, result.base).landmark(mark) == pattern.sized(
            name, lower
        ).landmark(mark)
        assert np.diff(heights(result, demo, result.base))[0] == pytest.approx(0.0, abs=0.06)
