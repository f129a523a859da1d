"""An edge through points: judged by scipy's natural cubic spline."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

import propagate
from propagate import DrawEdge, NamedEdit, PropagateError
from tests.builders import tiny_set
from tests.examples import examples
from tests.shared import demo


def nodes(points: np.ndarray, told: list[tuple[float, float]]) -> np.ndarray:
    """Ends and points, those as shares of the chord, out of a counter-clockwise outline."""
    start, end = points[0], points[-1]
    chord = end - start
    out = np.array([chord[1], -chord[0]])
    return np.array([start, *(start + x * chord + y * out for x, y in told), end])


def test_it_is_the_natural_spline_of_its_points() -> None:
    old = tiny_set()
    edit = DrawEdge(edge="front.side", through=("25%:2%", "60%:-1%"))
    found = propagate.apply_edits(old, [NamedEdit("curve", edit)])
    assert found.sews
    for size in old.sizes:
        was, now = (p.sized("front", size).edge("side") for p in (old, found.pattern))
        through = nodes(was.points, [(0.25, 0.02), (0.6, -0.01)])
        places = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(through, axis=0).T))])
        curve = CubicSpline(places, through, bc_type="natural")
        dense = shapely.LineString(curve(np.linspace(0.0, places[-1], 4000)))
        assert dense.hausdorff_distance(shapely.LineString(now.points)) < 0.02
        line = shapely.LineString(now.points)
        assert max(line.distance(shapely.Point(node)) for node in through) < 1e-5
        assert now.points[[0, -1]].tolist() == was.points[[0, -1]].tolist()
        back = found.pattern.sized("back", size).edge("side")
        assert back.length == pytest.approx(now.length, abs=0.05)


def test_millimetres_and_shares_say_the_same() -> None:
    old = tiny_set()
    was = old.sized("front", "38").edge("side").points
    chord = float(np.hypot(*(was[-1] - was[0])))
    ways = [("40%:3%",), (f"{0.4 * chord}mm:{0.03 * chord}mm",)]
    lines = [
        propagate.run(old, DrawEdge(edge="front.side", through=way))
        .pattern.sized("front", "38")
        .edge("side")
        .points
        for way in ways
    ]
    assert lines[0] == pytest.approx(lines[1], abs=1e-5)


def test_without_points_it_is_straight_and_a_notch_keeps_its_height() -> None:
    old = tiny_set()
    new = propagate.run(old, DrawEdge(edge="front.side")).pattern
    was, now = (p.sized("front", "38") for p in (old, new))
    assert len(now.edge("side").points) == 2
    heights = [p.landmark("hip_notch").point[1] for p in (was, now)]
    assert heights[0] == pytest.approx(heights[1], abs=0.02)


def test_a_line_that_is_taped_together_is_cut_apart_again() -> None:
    trousers = demo("slant_trouser")
    edit = DrawEdge(edge="full_front.waist", through=("50%:-5mm",))
    result = propagate.run(trousers, edit)
    assert result.sews
    changed = {piece.piece for piece in result.record.pieces if piece.status != "same"}
    assert {"front", "facing", "under_bag", "top_bag"} <= changed


@pytest.mark.parametrize(
    ("edge", "through", "words"),
    [
        ("front.sid", (), "did you mean 'side'"),
        ("front.centre", ("50%:5mm",), "lies on the fold"),
        ("front.side", ("50%",), "expected a place along the chord"),
        ("front.side", ("50%:5",), "expected a place along the chord"),
        ("front.side", ("120%:5mm",), "between the ends"),
        ("front.side", ("60%:5mm", "40%:5mm"), "in order"),
        ("front.side", ("50%:5000mm",), "another unit"),
        ("front.side", ("50%:-400mm",), "cross itself"),
    ],
)
def test_what_cannot_be_is_said(edge: str, through: tuple[str, ...], words: str) -> None:
    with pytest.raises(PropagateError) as error:
        propagate.run(tiny_set(), DrawEdge(edge=edge, through=through))
    assert words in str(error.value)


@pytest.mark.parametrize(
    ("edge", "words"), [("front.mouth", "is opening 'front_pocket'"), ("back.waist", "has a dart")]
)
def test_openings_and_darts_are_left_to_their_own_edits(edge: str, words: str) -> None:
    trousers = demo("slant_trouser")
    with pytest.raises(PropagateError, match=words):
        propagate.run(trousers, DrawEdge(edge=edge, through=("50%:2mm",)))


@examples(10)
@given(st.floats(20.0, 80.0), st.floats(-4.0, 4.0))
def test_twice_is_once_and_the_rest_keeps_its_digits(along: float, out: float) -> None:
    old = tiny_set()
    edit = DrawEdge(edge="front.side", through=(f"{along}%:{out}%",))
    once = propagate.run(old, edit, corners="left").pattern
    twice = propagate.run(once, edit, corners="left").pattern
    for name in old.pieces:
        assert twice.sized(name, "38") == once.sized(name, "38")
    for edge in ("hem", "waist", "centre"):
        assert once.sized("front", "38").edge(edge) == old.sized("front", "38").edge(edge)
