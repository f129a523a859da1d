"""Whose a mark is that touches several outlines or none: judged by where it was drawn."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from propagate.io.chain import Chain
from propagate.io.sheet.graded_marks import order_by_size, rows_of
from propagate.io.sheet.marks_by_size import SheetMark, _find_touched_sizes

SIZES = ("S", "M", "L")


def box(wide: float, tall: float) -> np.ndarray:
    return np.array([(0, 0), (wide, 0), (wide, tall), (0, tall), (0, 0)], dtype=float)


def line(*points: tuple[float, float]) -> SheetMark:
    return SheetMark([Chain(points[0], tuple((p,) for p in points[1:]), False)], None)


NEST = {size: box(100.0 + 10.0 * k, 200.0 + 20.0 * k) for k, size in enumerate(SIZES)}
RIMS = {size: shapely.LinearRing(points) for size, points in NEST.items()}


def test_a_row_goes_by_the_outlines_from_the_smaller_to_the_larger() -> None:
    row = np.array([(50.0 + 5.0 * k, 100.0 + 10.0 * k) for k in range(3)])
    assert order_by_size(row, NEST, SIZES) == 1
    assert order_by_size(row[::-1], NEST, SIZES) == -1


def test_a_row_that_fits_hardly_better_one_way_is_not_told() -> None:
    """Marks in the middle of an edge that is hardly graded lie the same for every order."""
    row = np.array([(50.0 + 0.3 * k, 100.0 + 11.0 * (k % 2)) for k in range(3)])
    assert order_by_size(row, NEST, SIZES) is None


def test_rows_run_from_end_to_end_and_are_apart() -> None:
    places = np.array([(20.0, 0.0), (0.0, 0.0), (10.0, 0.0), (200.0, 0.0)])
    assert rows_of(places) == [[1, 2, 0], [3]]


@pytest.mark.parametrize(("at", "wanted"), [(110.0, ["M"]), (100.0, ["S"]), (120.0, ["L"])])
def test_a_tick_across_an_outline_is_of_the_size_in_its_middle(
    at: float, wanted: list[str]
) -> None:
    """Each is drawn evenly over its own outline, and over that of the next size too."""
    tick = line((at - 15.0, 90.0), (at + 15.0, 90.0))
    assert _find_touched_sizes(tick, RIMS, SIZES) == wanted


def test_a_mark_that_ends_between_two_outlines_is_of_the_nearer() -> None:
    nearly = line((110.2, 50.0), (104.0, 50.0))
    assert _find_touched_sizes(nearly, RIMS, SIZES) == ["M"]
