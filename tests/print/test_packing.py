"""Pieces on paper: apart from each other, inside the sheet, close together."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.report.printing.packing import Item, pack_items
from propagate.report.printing.placed_piece import on_paper
from tests.examples import examples
from tests.shared import demo

GAP = 6.0


def check(items: list[Item], width: float, height: float = np.inf) -> list[float]:
    packing = pack_items(items, width, height, gap=GAP)
    for spot in packing.spots:
        left, bottom, right, top = spot.shape.bounds
        assert left >= -1e-6 and right <= width + 1e-6 and top <= 1e-6
        assert bottom >= -height - 1e-6
    for one, other in combinations(packing.spots, 2):
        if one.sheet == other.sheet:
            assert one.shape.distance(other.shape) >= GAP - 1e-6
    assert [spot.item for spot in packing.spots] == items
    return list(packing.lengths)


@pytest.mark.parametrize("name", ["slant_trouser", "scoop_skirt"])
def test_demo_pieces_lie_apart_and_take_less_than_their_boxes(name: str) -> None:
    pattern = demo(name)
    items = [
        Item(piece, on_paper(pattern, piece, (pattern.base,)).footprint) for piece in pattern.pieces
    ]
    (length,) = check(items, 894.4)
    boxes = sum(shapely.box(*item.shape.bounds).area for item in items)
    assert 894.4 * length < 1.3 * boxes


@examples(25)
@given(
    st.lists(st.tuples(st.floats(5, 190), st.floats(5, 250)), min_size=1, max_size=8),
    st.booleans(),
)
def test_triangles_lie_apart_on_sheets(sides: list[tuple[float, float]], turn: bool) -> None:
    items = [
        Item(f"t{i}", shapely.Polygon([(50, 50), (50 + w, 50), (50, 50 + h)]), may_turn=turn)
        for i, (w, h) in enumerate(sides)
    ]
    check(items, 190.0, 277.0)


def test_an_item_as_large_as_the_sheet_fits() -> None:
    assert check([Item("all", shapely.box(-95, 0, 95, 277))], 190.0, 277.0) == [277.0]


def test_an_item_that_is_too_large_is_named() -> None:
    items = [Item("a", shapely.box(0, 0, 10, 10)), Item("b", shapely.box(0, 0, 190.1, 10))]
    with pytest.raises(ValueError, match="1"):
        pack_items(items, 190.0)


def test_two_triangles_slide_into_each_other_when_one_may_turn() -> None:
    shape = shapely.Polygon([(0, 0), (100, 0), (0, 200)])
    free = pack_items([Item("a", shape), Item("b", shape)], 150.0)
    kept = pack_items([Item("a", shape, may_turn=False), Item("b", shape, may_turn=False)], 150.0)
    assert free.lengths[0] < 0.75 * kept.lengths[0]
    assert sorted(spot.turned for spot in free.spots) == [False, True]
