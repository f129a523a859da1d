"""Points at a distance, nearest places, cutting and joining."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.ops import substring

from propagate.geometry.polyline import (
    arc_lengths,
    between,
    join,
    length,
    locate,
    locate_all,
    point_at,
    split,
)
from tests.geometry.catalogue import Array, arc, polylines, quick

SAME = 1e-6
shares = st.floats(0.0, 1.0)


def no_doubled_points(points: Array) -> bool:
    return bool(np.hypot(*np.diff(points, axis=0).T).min() > 0)


def test_point_on_an_arc() -> None:
    # A quarter of radius 100: the point at a third of its length lies at 30 degrees.
    fine = arc(100, 0, 90, 9000)
    point = point_at(fine, length(fine) / 3)
    expected = (100 * math.cos(math.pi / 6), 100 * math.sin(math.pi / 6))
    assert point == pytest.approx(expected, abs=1e-4)


@quick
@given(polylines(), shares)
def test_point_against_shapely(points: Array, share: float) -> None:
    line = shapely.LineString(points)
    distance = share * line.length
    expected = shapely.get_coordinates(line.interpolate(distance))[0]
    assert point_at(points, distance) == pytest.approx(expected, abs=3e-6)


def test_points_outside_are_clipped() -> None:
    points = np.array([[0.0, 0], [10, 0]])
    assert point_at(points, -5).tolist() == [0, 0]
    assert point_at(points, 15).tolist() == [10, 0]


@quick
@given(polylines())
def test_a_vertex_comes_back_digit_for_digit(points: Array) -> None:
    for vertex, distance in zip(points, arc_lengths(points), strict=True):
        for off in (-0.5 * SAME, 0.0, 0.5 * SAME):
            assert point_at(points, distance + off).tolist() == vertex.tolist()


@quick
@given(polylines(), st.tuples(st.floats(-600, 600), st.floats(-600, 600)))
def test_locate_against_shapely(points: Array, target: tuple[float, float]) -> None:
    line, place = shapely.LineString(points), shapely.Point(target)
    distance, gap = locate(points, target)
    assert gap == pytest.approx(line.distance(place), abs=1e-9)
    # Several places may be equally near: what is found must be one of them.
    found = line.interpolate(distance)
    assert found.distance(place) == pytest.approx(line.distance(place), abs=1e-7)
    others = np.array([target, points[0], points[-1]])
    along, gaps = locate_all(points, others)
    assert (along[0], gaps[0]) == (distance, gap)
    assert gaps[1:] == pytest.approx([0, 0], abs=1e-9)


def test_locate_agrees_with_projection_where_the_place_is_unique() -> None:
    fine = arc(100, 0, 90, 300)
    line = shapely.LineString(fine)
    rng = np.random.default_rng(4)
    for target in rng.uniform(20, 140, (40, 2)):
        assert locate(fine, target)[0] == pytest.approx(
            line.project(shapely.Point(target)), abs=1e-9
        )


@quick
@given(polylines(), st.floats(0.001, 0.999))
def test_split_parts_add_up(points: Array, share: float) -> None:
    whole = length(points)
    first, second = split(points, share * whole)
    assert length(first) == pytest.approx(share * whole, abs=2 * SAME)
    assert length(first) + length(second) == pytest.approx(whole, abs=2 * SAME)
    assert first[-1].tolist() == second[0].tolist()
    assert no_doubled_points(first) and no_doubled_points(second)
    again = join([first, second]).tolist()
    assert [row for row in again if row in points.tolist()] == points.tolist()
    assert len(again) - len(points) in (0, 1)


@pytest.mark.parametrize("off", [-0.9 * SAME, 0.0, 0.9 * SAME])
def test_split_on_a_vertex_makes_no_new_point(off: float) -> None:
    points = np.array([[0.0, 0.1], [10.3, 0.1], [10.3, 20.7], [40, 20.7]])
    first, second = split(points, float(arc_lengths(points)[2]) + off)
    assert first.tolist() == points[:3].tolist()
    assert second.tolist() == points[2:].tolist()


def test_split_takes_the_given_point() -> None:
    shared = np.array([4.0000001, 0.0])
    first, second = split(np.array([[0.0, 0], [10, 0]]), 4.0, shared)
    assert first.tolist() == [[0, 0], [4.0000001, 0]]
    assert second.tolist() == [[4.0000001, 0], [10, 0]]


@pytest.mark.parametrize("distance", [-1.0, 0.0, 0.9e-6, 10.0, 10.0 - 0.9e-6, 11.0])
def test_split_refuses_the_ends(distance: float) -> None:
    with pytest.raises(ValueError, match=r"cannot split a polyline of 10\.000000 mm"):
        split(np.array([[0.0, 0], [10, 0]]), distance)


@quick
@given(polylines(), shares, shares)
def test_between_against_shapely(points: Array, one: float, other: float) -> None:
    whole = length(points)
    begin, end = one * whole, other * whole
    if abs(begin - end) < 1e-3:
        return
    part = between(points, begin, end)
    expected = substring(shapely.LineString(points), begin, end)
    assert length(part) == pytest.approx(expected.length, abs=3 * SAME)
    assert part[0] == pytest.approx(expected.coords[0], abs=3e-6)
    assert part[-1] == pytest.approx(expected.coords[-1], abs=3e-6)
    assert no_doubled_points(part)
    inside = [row for row in part.tolist() if row in points.tolist()]
    places = [points.tolist().index(row) for row in inside]
    assert inside == [points[k].tolist() for k in places]
    assert length(between(points, end, begin)) == pytest.approx(length(part), rel=1e-12)


def test_between_the_ends_is_the_whole() -> None:
    points = arc(80, 0, 120, 17)
    assert between(points, 0.0, length(points)).tolist() == points.tolist()
    assert between(points, length(points), 0.0).tolist() == points[::-1].tolist()


@quick
@given(polylines(least=3), st.integers(1, 6))
def test_pieces_join_to_the_whole(points: Array, count: int) -> None:
    places = np.linspace(0, length(points), count + 1)
    parts = [between(points, a, b) for a, b in pairwise(places.tolist())]
    whole = join(parts)
    assert length(whole) == pytest.approx(length(points), abs=count * 2 * SAME)
    assert whole[0].tolist() == points[0].tolist()
    assert whole[-1].tolist() == points[-1].tolist()
