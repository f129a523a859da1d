"""End tangents, directions inside, corner angles and the sense of an outline."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given

from propagate.geometry.corner import is_counter_clockwise, signed_area
from propagate.geometry.directions import alike_at, direction_at, end_direction
from propagate.geometry.polyline import chord_angles, length, unit
from propagate.pattern.model import Edge
from tests.geometry.catalogue import Array, arc, chords_for, cubic, polylines, quick, shift


def apart(angle: float, expected: float) -> float:
    """Difference of two directions in degrees."""
    return abs(math.degrees(math.remainder(angle - expected, 2 * math.pi)))


@pytest.mark.parametrize("radius", [30.0, 100.0, 320.0])
@pytest.mark.parametrize("start", [0.0, 95.0, 181.0])
def test_end_tangent_is_exact_on_an_arc(radius: float, start: float) -> None:
    # The tangent of a circle is square to the radius.
    points = arc(radius, start, start + 70, chords_for(radius, 70, 0.01))
    assert apart(end_direction(points, "start"), math.radians(start + 90)) < 1e-6
    assert apart(end_direction(points, "end"), math.radians(start + 160)) < 1e-6


def test_last_chord_alone_breaks_the_promise_of_half_a_degree() -> None:
    # Half of the chord's turning, acos(1 - s/r): 0.81 degrees at r 100, s 0.01.
    points = arc(100, 0, 90, chords_for(100, 90, 0.01))
    chord = points[-1] - points[-2]
    assert apart(math.atan2(chord[1], chord[0]), math.pi) == pytest.approx(0.8, abs=0.02)
    assert apart(end_direction(points, "end"), math.pi) < 0.05


@pytest.mark.parametrize("decimals", [3, 6])
def test_end_tangent_of_a_rounded_arc(decimals: int) -> None:
    points = np.round(arc(100, 0, 90, chords_for(100, 90, 0.01)), decimals)
    assert apart(end_direction(points, "start"), math.pi / 2) < 0.05


def test_end_tangent_of_a_parabola() -> None:
    # y = x^2 / 200: slope x / 100; curvature changes along it, so the fit is not exact.
    x = np.linspace(0, 100, 51)
    points = np.column_stack([x, x * x / 200])
    assert apart(end_direction(points, "start"), 0.0) < 0.1
    assert apart(end_direction(points, "end"), math.atan(1.0)) < 0.1


@pytest.mark.parametrize("degrees", [0.0, 20.0, 173.0])
def test_a_first_chord_of_four_windows_is_a_straight_line(degrees: float) -> None:
    # Whatever goes on behind it: an arc, a corner, nothing.
    turn = np.array([unit(math.radians(degrees)), unit(math.radians(degrees + 90))])
    straight = np.array([[0.0, 0.0], [60.0, 0.0]])
    none, bend = np.empty((0, 2)), shift(arc(30, 270, 360, 30)[1:], 60.0, 30.0)
    for behind in (none, bend, np.array([[60.0, 40.0], [20.0, 40.0]])):
        points = np.vstack([straight, behind]) @ turn
        angle = math.atan2(points[1, 1], points[1, 0])
        assert end_direction(points, "start") == pytest.approx(angle, abs=1e-15)


def test_a_tiny_first_chord_does_not_mislead() -> None:
    points = arc(100, 0, 90, 56)
    rough = np.vstack([points[:1], shift(points[:1], 1e-6, 1e-5), points[1:]])
    assert apart(end_direction(rough, "start"), math.pi / 2) < 0.01


def test_a_turn_point_bounds_the_stretch() -> None:
    points = np.array([[0.0, 0], [5, 0], [5, 20], [5, 40]])
    assert apart(end_direction(points, "start", turns=[1]), 0.0) < 1e-9
    assert apart(end_direction(points[::-1], "end", turns=[2]), math.pi) < 1e-9


def test_direction_inside_an_arc() -> None:
    points = arc(100, 0, 90, 56)
    for share in (0.0, 0.3, 0.5, 0.9, 1.0):
        expected = math.radians(90 + 90 * share)
        # A chord that the window cuts counts with the part inside: not exact, far below
        # the half degree that is promised.
        assert apart(direction_at(points, share * length(points)), expected) < 0.1


def test_chord_angles_do_not_jump() -> None:
    # Twice around: the direction runs on to 4 pi.
    lengths, angles = chord_angles(arc(10, 0, 720, 100))
    assert lengths == pytest.approx(np.full(100, 20 * math.sin(math.radians(3.6))))
    assert angles[-1] - angles[0] == pytest.approx(math.radians(720 * 0.99))


def test_unit_vector() -> None:
    assert unit(math.radians(30)) == pytest.approx([math.sqrt(3) / 2, 0.5])


def interior_angle(
    before: Array, after: Array, turns_before: Any = (), turns_after: Any = ()
) -> float:
    first = Edge("first", before, tuple(turns_before))
    return first.angle_to(Edge("second", after, tuple(turns_after)))


@pytest.mark.parametrize("count", [3, 4, 6, 12])
def test_interior_angle_of_a_regular_polygon(count: int) -> None:
    # Euclid: (n - 2) 180 / n degrees.
    corners = arc(50, 7, 367, count)
    edges = [corners[i : i + 2] for i in range(count)]
    for i in range(count):
        found = interior_angle(edges[i - 1], edges[i])
        assert found == pytest.approx((count - 2) * 180 / count, abs=1e-9)


def test_interior_angle_of_an_inward_corner() -> None:
    before, after = np.array([[0.0, 0], [10, 0]]), np.array([[10.0, 0], [10, -10]])
    assert interior_angle(before, after) == pytest.approx(270)


def test_interior_angle_between_arcs() -> None:
    # Lens of two equal circles: the arcs meet at twice the angle of chord and tangent.
    upper, lower = arc(100, 60, 120, 40), arc(100, 240, 300, 40)
    rise = 100 * math.sin(math.pi / 3)
    upper, lower = shift(upper, 0, -rise), shift(lower, 0, rise)
    assert interior_angle(lower, upper) == pytest.approx(60, abs=1e-3)
    assert interior_angle(upper, lower) == pytest.approx(60, abs=1e-3)


def test_interior_angle_keeps_to_turn_points() -> None:
    before = np.array([[0.0, 0], [40, 0], [40, 3]])
    after = np.array([[40.0, 3], [0, 3]])
    assert interior_angle(before, after, turns_before=[1]) == pytest.approx(90)
    assert interior_angle(after[::-1], before[::-1], turns_after=[1]) == pytest.approx(270)


@quick
@given(polylines(least=3))
def test_area_against_shapely(points: Array) -> None:
    ring = shapely.LinearRing(points) if len(points) > 2 else None
    if ring is None or not ring.is_simple or ring.is_empty:
        return
    expected = shapely.Polygon(points).area * (1 if ring.is_ccw else -1)
    assert signed_area(points) == pytest.approx(expected, rel=1e-9, abs=1e-9)
    assert signed_area(np.vstack([points, points[:1]])) == pytest.approx(expected, abs=1e-6)
    assert is_counter_clockwise(points) == (signed_area(points) > 0)


def test_area_far_from_the_origin() -> None:
    square = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]]) + 1e6
    assert signed_area(square) == 1.0
    assert signed_area(square[::-1]) == -1.0


def test_area_under_a_cubic_quarter_circle() -> None:
    # Closed form of (x dy - y dx) / 2 over the Bezier quarter circle: 0.785618083.
    k = 0.5522847498
    curve = cubic([(1, 0), (1, k), (k, 1), (0, 1)], 4000)
    assert signed_area(np.vstack([[[0, 0]], curve])) == pytest.approx(0.785618083, abs=1e-7)


def test_ends_told_by_the_same_points_are_alike_whatever_lies_beyond() -> None:
    points = arc(100, 0, 90, 56)
    far, near, short = points.copy(), points.copy(), points[:8]
    far[40:] += [3.0, -2.0]
    near[2] += [1e-9, 0.0]
    none: tuple[int, ...] = ()
    assert alike_at(points, far, "start", turns=(none, none))
    assert end_direction(points, "start") == end_direction(far, "start")
    assert alike_at(points[::-1], far[::-1], "end", turns=(none, none))
    assert not alike_at(points, far, "end", turns=(none, none))
    assert not alike_at(points, near, "start", turns=(none, none))
    assert not alike_at(points, short, "start", turns=(none, none))
    assert not alike_at(points, points, "start", turns=(none, (3,)))
    assert alike_at(points, points, "start", turns=(none, (50,)))
