"""Pairs of edits that have nothing to do with each other may be done in either order."""

from __future__ import annotations

from itertools import combinations

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import (
    Allow,
    Amount,
    ChangeOpening,
    DrawEdge,
    Lower,
    MoveMark,
    NamedEdit,
    Raise,
    Spread,
)
from propagate.engine.edits.sized import SizedEdit
from tests.examples import examples
from tests.shared import demo


def mm(value: float) -> Amount:
    return Amount(mm=round(value, 2))


# Each touches other edges than the others do, and no end of another one's edge.
EDITS = {
    "mark": lambda x: MoveMark(mark="front.knee_notch_inseam", by=mm(20 * x)),
    "drill": lambda x: MoveMark(mark="back.welt_side", by=mm(-10 * x), across=mm(3 * x)),
    "opening": lambda x: ChangeOpening(opening="front_pocket", to=mm(165 + 12 * x)),
    "waist": lambda x: Raise(
        edge="back.waist", by=mm(2 + 8 * x), at="end", to=("dart_out",), taper="straight"
    ),
    "shield": lambda x: DrawEdge(edge="fly_shield.lower", through=(f"50%:{-2 * x:.2f}mm",)),
    "allowance": lambda x: Allow(edge="back.centre", to=mm(15 + 10 * x)),
}


def trousers() -> propagate.PatternSet:
    return demo("slant_trouser")


def done(pattern: propagate.PatternSet, edits: list[SizedEdit]) -> propagate.PatternSet:
    for edit in edits:
        pattern = propagate.run(pattern, edit).pattern
    return pattern


@examples(10)
@given(
    st.sampled_from(list(combinations(sorted(EDITS), 2))),
    st.floats(0.05, 1.0),
    st.floats(0.05, 1.0),
)
def test_the_order_of_two_does_not_matter(pair: tuple[str, str], x: float, y: float) -> None:
    old = trousers()
    first, second = EDITS[pair[0]](x), EDITS[pair[1]](y)
    one, other = done(old, [first, second]), done(old, [second, first])
    assert one.info == other.info
    for name in old.pieces:
        a, b = one.sized(name, "42"), other.sized(name, "42")
        for edge in a.edges:
            line = shapely.LineString(edge.points)
            assert line.hausdorff_distance(shapely.LineString(b.edge(edge.name).points)) < 0.05
        for here, there in zip((*a.landmarks, *a.drills), (*b.landmarks, *b.drills), strict=True):
            assert here.point == pytest.approx(there.point, abs=0.05), here.name


@examples(6)
@given(st.sampled_from(sorted(EDITS)), st.floats(0.05, 1.0))
def test_what_is_not_reached_keeps_every_digit(word: str, x: float) -> None:
    old = trousers()
    result = propagate.run(old, EDITS[word](x))
    reached = {piece.piece for piece in result.record.pieces}
    for name in old.pieces:
        if name not in reached:
            assert result.pattern.sized(name, "42") is old.sized(name, "42")
    for piece in result.record.pieces:
        for edge in piece.edges:
            if edge.status == "same":
                now = result.pattern.sized(piece.piece, "42").edge(edge.edge)
                assert now == old.sized(piece.piece, "42").edge(edge.edge)
    assert result.sews


def test_fullness_and_a_longer_hem_in_either_order() -> None:
    skirt = demo("scoop_skirt")
    wide = Spread(
        piece="skirt_back", first="foot", second="top", by=mm(30), at=("60mm",), to_at=("30mm",)
    )
    low = Lower(edge="full_front.top", by=mm(4), at="start", to=("end",))
    named = [NamedEdit("wide", wide), NamedEdit("low", low)]
    one, other = (
        propagate.apply_edits(skirt, order, sizes=("M",)).pattern for order in (named, named[::-1])
    )
    for name in skirt.pieces:
        a, b = one.sized(name, "M"), other.sized(name, "M")
        for edge in a.edges:
            line = shapely.LineString(edge.points)
            assert line.hausdorff_distance(shapely.LineString(b.edge(edge.name).points)) < 0.05
