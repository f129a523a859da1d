"""Crossings with lines, circles and polylines."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.geometry.crossing import circle_crossings, crossings, line_crossings
from propagate.geometry.polyline import point_at
from tests.geometry.catalogue import Array, arc, polylines, quick, shift

ORIGIN = np.zeros(2)
TURNS = [0.0, 17.0, 90.0, 133.3, 211.0, 300.0]


def turned(points: Array, degrees: float) -> Array:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return points @ np.array([[c, s], [-s, c]])


@pytest.mark.parametrize("degrees", TURNS)
def test_circle_and_line(degrees: float) -> None:
    # Closed form: circle of radius 5 at 0, line y = 3, disc = r^2 - d^2: x = -4, 4.
    line = turned(np.array([[-10.0, 3], [10, 3]]), degrees)
    hits = circle_crossings(line, ORIGIN, 5.0)
    assert hits == pytest.approx([6, 14], abs=1e-9)
    found = np.array([point_at(line, hit) for hit in hits])
    assert found == pytest.approx(turned(np.array([[-4.0, 3], [4, 3]]), degrees), abs=1e-9)


@pytest.mark.parametrize("degrees", TURNS)
@pytest.mark.parametrize("shift", [(0, 0), (123.4, -55.5), (1e6, 1e6)])
def test_circle_and_tangent(degrees: float, shift: tuple[float, float]) -> None:
    # d = r: one point; d > r: none.  A micron beyond the tolerance is already none.
    centre = np.array(shift)
    line = turned(np.array([[-10.0, 5], [10, 5]]), degrees) + centre
    hits = circle_crossings(line, centre, 5.0)
    assert len(hits) >= 1
    assert hits == pytest.approx(10.0, abs=5e-3)
    out = turned(np.array([[-10.0, 5.001], [10, 5.001]]), degrees) + centre
    assert len(circle_crossings(out, centre, 5.0)) == 0


def test_circle_wholly_around_or_inside_a_bend() -> None:
    corner = np.array([[0.0, 0], [10, 0], [10, 10]])
    assert len(circle_crossings(corner, np.array([5.0, 5]), 100.0)) == 0
    # Through the vertex, once: the doubled hit of the two chords counts once.
    assert circle_crossings(corner, np.array([9.0, 1]), math.sqrt(2)) == pytest.approx([8, 10, 12])


@quick
@given(polylines(), st.tuples(st.floats(-300, 300), st.floats(-300, 300)), st.floats(1, 400))
def test_circle_hits_lie_on_the_circle(
    points: Array, centre: tuple[float, float], radius: float
) -> None:
    middle = np.array(centre)
    for hit in circle_crossings(points, middle, radius):
        assert np.hypot(*(point_at(points, hit) - middle)) == pytest.approx(radius, abs=5e-6)
    # Every chord with one end inside and one outside is crossed.
    inside = np.hypot(*(points - middle).T) < radius
    least = int(np.count_nonzero(inside[:-1] != inside[1:]))
    assert len(circle_crossings(points, middle, radius)) >= min(least, 1)


@quick
@given(polylines(), st.floats(0, math.pi), st.floats(-300, 300))
def test_line_hits_against_shapely(points: Array, angle: float, away: float) -> None:
    direction = np.array([math.cos(angle), math.sin(angle)])
    origin = away * np.array([-direction[1], direction[0]])
    hits = line_crossings(points, origin, direction)
    assert np.all(np.diff(hits) >= 0)
    endless = shapely.LineString([origin - 4000 * direction, origin + 4000 * direction])
    for hit in hits:
        assert shapely.Point(point_at(points, hit)).distance(endless) < 3e-6
    side = (points - origin) @ np.array([-direction[1], direction[0]])
    if np.abs(side).min() > 1e-3:
        met = shapely.intersection(shapely.LineString(points), endless)
        places = {tuple(np.round(p, 6)) for p in shapely.get_coordinates(met)}
        found = {tuple(np.round(point_at(points, hit), 6)) for hit in hits}
        assert len(found) == len(places)


@quick
@given(polylines(), polylines())
def test_crossings_against_shapely(first: Array, second: Array) -> None:
    found = crossings(first, second)
    r, s = np.diff(first, axis=0), np.diff(second, axis=0)
    if (r[:, None, 0] * s[None, :, 1] == r[:, None, 1] * s[None, :, 0]).any():
        return  # parallel chords may lie on each other: no crossing in our sense
    one, two = shapely.LineString(first), shapely.LineString(second)
    for along, other in found:
        assert point_at(first, along) == pytest.approx(point_at(second, other), abs=1e-5)
    met = shapely.intersection(one, two)
    if met.is_empty:
        assert all(
            np.hypot(*(point_at(first, along) - point_at(second, other))) < 1e-5
            for along, other in found
        )
        return
    here = [shapely.Point(point_at(first, along)) for along in found[:, 0]]
    for place in shapely.get_parts(met):
        if place.geom_type == "Point":
            assert min(place.distance(point) for point in here) < 1e-5


def test_crossings_come_in_order_and_once() -> None:
    # A sine crosses the axis at every multiple of pi: 31.4 mm a half wave here.
    x = np.linspace(5, 305, 3001)
    wave = np.column_stack([x, 20 * np.sin(x / 10)])
    axis = np.array([[400.0, 0], [-100, 0]])
    found = crossings(wave, axis)
    expected = np.arange(1, 10) * 10 * math.pi
    assert [point_at(wave, s)[0] for s, _ in found] == pytest.approx(expected, abs=1e-3)
    assert (400 - found[:, 1]) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("seed", range(12))
def test_long_lines_against_shapely(seed: int) -> None:
    """Lines of hundreds of chords, of which most lie far from the other: none is overlooked."""
    rng = np.random.default_rng(seed)
    first, second = (
        np.cumsum(rng.normal(size=(count, 2)) + rng.normal(size=2) / 3, axis=0)
        for count in (400, 250)
    )
    first -= first[rng.integers(400)] - second[rng.integers(250)]
    first += rng.normal(size=2) / 10
    met = shapely.intersection(shapely.LineString(first), shapely.LineString(second))
    places = shapely.get_coordinates(met)
    found = np.array([point_at(first, along) for along, _ in crossings(first, second)])
    assert len(found) == len(places) > 0
    gaps = np.hypot(*(found[:, None] - places[None]).transpose(2, 0, 1))
    assert gaps.min(axis=0).max() < 1e-9


def test_crossing_at_a_shared_vertex_counts_once() -> None:
    first = np.array([[0.0, 0], [10, 0], [20, 0]])
    second = np.array([[10.0, -5], [10, 0], [10, 5]])
    assert crossings(first, second) == pytest.approx(np.array([[10.0, 5.0]]))


def test_parallel_and_distant_lines_do_not_cross() -> None:
    line = np.array([[0.0, 0], [10, 0]])
    assert crossings(line, shift(line, 0, 1)).shape == (0, 2)
    assert crossings(line, shift(arc(3, 0, 90, 9), 50, 50)).shape == (0, 2)
