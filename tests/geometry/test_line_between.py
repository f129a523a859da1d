"""A line between two others against closed forms: polygons, and circles about one centre."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.geometry.line_between import line_between
from tests.examples import examples


def half_circle(radius: float, count: int, bunched: float = 0.0) -> np.ndarray:
    """Half a circle; its points lie closer together towards the end when they are bunched."""
    t = np.linspace(0.0, 1.0, count)
    angle = np.pi * (t + bunched * t * (1.0 - t))
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


@given(share=st.floats(-1.0, 2.0))
@examples(30)
def test_vertices_of_a_polygon_go_straight(share: float) -> None:
    a = np.array([(0.0, 0.0), (100.0, 0.0), (130.0, 80.0), (90.0, 210.0)])
    b = np.array([(-4.0, 1.0), (108.0, -2.0), (141.0, 83.0), (95.0, 222.0)])
    points, turns = line_between(a, b, share, ((1, 2), (1, 2)))
    assert np.allclose(points, a + share * (b - a), rtol=0.0, atol=1e-12)
    assert turns == (1, 2)


@pytest.mark.parametrize("share", [-1.0, 0.3, 0.5, 1.6, 2.0])
@pytest.mark.parametrize(
    ("counts", "bunched"), [((90, 90), 0.9), ((90, 131), 0.0), ((90, 61), 0.4)]
)
def test_between_circles_about_one_centre_lies_a_circle(
    share: float, counts: tuple[int, int], bunched: float
) -> None:
    """Radius 100 and 120: the radius goes straight, however the points lie on either.

    A cubic over chords of 6 mm leaves a circle of 100 mm by less than 0.0001 mm.
    """
    a, b = half_circle(100.0, counts[0]), half_circle(120.0, counts[1], bunched)
    points, _ = line_between(a, b, share)
    radius = 100.0 + share * 20.0
    off = np.hypot(*points.T) - radius
    assert np.abs(off).max() < 0.01
    steps = np.hypot(*np.diff(points, axis=0).T)
    assert abs(steps.sum() - np.pi * radius) < 0.1
    turn = np.diff(np.unwrap(np.arctan2(*np.diff(points, axis=0).T[::-1])))
    assert (turn > 0.0).all()  # no kink, no step back


def test_marks_belong_together_where_vertices_do_not() -> None:
    """A mark at 40 mm of one straight line and at 80 mm of another lies at 60 mm halfway."""
    a = np.array([(0.0, 0.0), (50.0, 0.0), (100.0, 0.0)])
    b = np.array([(0.0, 10.0), (100.0, 10.0)])
    points, _ = line_between(a, b, 0.5, places=((40.0,), (80.0,)))
    assert np.abs(points - (60.0, 5.0)).sum(axis=1).min() < 1e-12


def test_as_many_knots_on_either_may_be_chance() -> None:
    """A corner at 40 of one line is not the third one at 60 of another, though both have three.

    A vertex beside the corner makes as many places where the spacing changes; the corner that
    is marked on both goes straight.
    """

    def line(corner: float, extra: tuple[float, ...], up: float) -> tuple[np.ndarray, int]:
        at = sorted({*np.linspace(0.0, corner, 20), *np.linspace(corner, 100.0, 20), *extra})
        points = np.array([(x, up + 0.3 * abs(x - corner)) for x in at])
        return points, int(np.abs(points[:, 0] - corner).argmin())

    a, turn_a = line(40.0, (39.99,), 0.0)
    b, turn_b = line(44.0, (70.3,), 10.0)
    assert len(a) == len(b)
    for share in (0.5, 1.5):
        points, turns = line_between(a, b, share, ((turn_a,), (turn_b,)))
        (turn,) = turns
        assert np.abs(points[turn] - (40.0 + 4.0 * share, 10.0 * share)).max() < 1e-6
        assert (np.diff(points[:, 0]) > 0.0).all()
