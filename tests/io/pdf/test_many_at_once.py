"""What is done of many lines at once is what is done of each by itself."""

from __future__ import annotations

import gc
from decimal import ROUND_HALF_EVEN, Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.errors import FormatError
from propagate.io.chain import tidy_chain
from propagate.io.options import ReadOptions
from propagate.io.pdf.cutting import cut_lines
from propagate.io.pdf.polyline import Polyline
from propagate.io.pdf.read import read_sheet_of_pdf
from propagate.io.pdf.rounding import round_all
from propagate.io.pdf.tile_levels import find_levels
from propagate.io.report import ReportNotes
from propagate.tolerances import DECIMALS
from tests.examples import examples
from tests.io.pdf.drafts import by_reportlab, nested, plain_pdf

LENGTHS = st.floats(-1e4, 1e4, allow_nan=False)
POINTS = st.lists(st.tuples(LENGTHS, LENGTHS), min_size=2, max_size=8)


@examples(200)
@given(st.lists(POINTS, min_size=1, max_size=5))
def test_rounded_at_once_as_one_by_one(lines: list[list[tuple[float, float]]]) -> None:
    for points, found in zip(lines, round_all(list(map(np.array, lines)), 0.002), strict=True):
        alone = tidy_chain(points[0], [(point,) for point in points[1:]], False, 0.001)
        if found is None:
            steps = np.hypot(*np.diff(np.array(points), axis=0).T)
            assert steps.min() < 0.003
        else:
            assert alone is not None
            assert Polyline(found, False).to_chain() == alone


@examples(200)
@given(st.lists(st.tuples(*2 * [st.integers(-(10**9), 10**9)]), min_size=2, max_size=8))
def test_what_lies_half_between_two_decimals_is_rounded_by_its_exact_value(
    halves: list[tuple[int, int]],
) -> None:
    """Numbers whose last decimals are 5: judged by decimal arithmetic, which loses nothing."""
    points = np.array(halves) / 10.0**DECIMALS + 0.5 / 10.0**DECIMALS
    (found,) = round_all([points], -1.0)
    assert found is not None
    step = Decimal(1).scaleb(-DECIMALS)
    exact = [[float(Decimal(v).quantize(step, ROUND_HALF_EVEN)) for v in p] for p in points]
    assert found.tolist() == exact


@examples(100)
@given(st.lists(st.tuples(*4 * [st.floats(0, 100)]), max_size=20), st.integers(0, 1))
def test_levels_are_those_of_all_lines(lines: list[tuple[float, ...]], axis: int) -> None:
    values = np.linspace(-2, 102, 300)
    levels = find_levels(np.array(lines).reshape(-1, 4), axis, 0.25)
    across = [(line[1 - axis], line[3 - axis]) for line in lines]
    every = [any(min(p) - 0.25 <= v <= max(p) + 0.25 for p in across) for v in values]
    assert levels.has(values).astype(bool).tolist() == every
    assert np.all(levels.low[1:] > levels.high[:-1])


@examples(100)
@given(st.lists(st.tuples(st.integers(-5, 15), st.integers(-5, 15)), min_size=2, max_size=9))
def test_a_polyline_is_cut_as_the_chain_it_is(points: list[tuple[int, int]]) -> None:
    """Lines that touch the sides of the box and its corners, too."""
    line = Polyline(np.array(points, dtype=float), points[0] == points[-1])
    boxes = [(0.0, 0.0, 10.0, 10.0)] * 2
    of_chain, of_line = cut_lines([line.to_chain(), line], boxes)
    assert of_chain == of_line
    inside = all(0 <= x <= 10 and 0 <= y <= 10 for x, y in points)
    assert (of_chain is None) == inside
    for part in of_chain or []:
        assert np.all((part.points >= -1e-9) & (part.points <= 10 + 1e-9))


def test_the_collector_goes_on_as_before(tmp_path: Path) -> None:
    drawn = by_reportlab(nested("market_bag"), tmp_path / "bag.pdf")
    empty = plain_pdf("", tmp_path / "empty.pdf")
    for was_running in (True, False):
        (gc.enable if was_running else gc.disable)()
        try:
            read_sheet_of_pdf([drawn], ReadOptions(), ReportNotes())
            with pytest.raises(FormatError, match="nothing drawn"):
                read_sheet_of_pdf([empty], ReadOptions(), ReportNotes())
            assert gc.isenabled() == was_running
        finally:
            gc.enable()
