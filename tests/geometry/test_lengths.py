"""Arc lengths against closed forms and adaptive quadrature."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from scipy.integrate import quad
from scipy.special import ellipe

from propagate.geometry.densify import densify_smoothly
from propagate.geometry.polyline import arc_lengths, length, sample_line
from tests.geometry.catalogue import Array, arc, chopped, chords_for, cubic, polylines, quick

FINE = 20_000


@pytest.mark.parametrize(("radius", "sweep"), [(5.0, 360.0), (100.0, 90.0), (320.0, 33.0)])
def test_inscribed_arc(radius: float, sweep: float) -> None:
    # Elementary geometry: n chords of 2 r sin(phi / 2).
    count = 37
    expected = count * 2 * radius * math.sin(math.radians(sweep) / count / 2)
    assert length(arc(radius, 10, 10 + sweep, count)) == pytest.approx(expected, rel=1e-13)


def test_circle() -> None:
    assert length(arc(100, 0, 360, FINE)) == pytest.approx(2 * math.pi * 100, rel=1e-7)


def test_distances_of_what_cannot_change_are_kept() -> None:
    """As long as it lives: an array made afterwards, maybe in the same place, has its own."""
    for radius in (10.0, 20.0, 30.0):
        points = arc(radius, 0, 90, 50).copy()
        changing = arc_lengths(points)
        assert arc_lengths(points) is not changing
        points.setflags(write=False)
        kept = arc_lengths(points)
        assert kept is arc_lengths(points) and not kept.flags.writeable
        assert kept.tolist() == changing.tolist()
        # Of the reversed one, which is a view: from the other end.
        assert arc_lengths(points[::-1])[-1] == pytest.approx(kept[-1])
        del points


def test_a_view_of_what_may_change_is_measured_anew() -> None:
    points = arc(10.0, 0, 90, 50).copy()
    view = points[:]
    view.setflags(write=False)
    before = arc_lengths(view)[-1]
    points *= 2.0
    assert arc_lengths(view)[-1] == pytest.approx(2 * before)


def test_chord_error_costs_the_length_that_theory_says() -> None:
    # Over an arc of length L a chord height s loses L s / (3 r), computed by hand.
    count = chords_for(100.0, 171.887, 0.05)
    swept = math.radians(171.887) * 100
    height = 100 * (1 - math.cos(math.radians(171.887) / count / 2))
    lost = swept - length(arc(100, 0, 171.887, count))
    assert lost == pytest.approx(swept * height / 300, rel=1e-3)
    assert lost < 0.051


def test_parabola() -> None:
    # Closed form sqrt(5)/2 + asinh(2)/4 = 1.4789428575446.
    x = np.linspace(0, 1, FINE)
    expected = math.sqrt(5) / 2 + math.asinh(2) / 4
    assert expected == pytest.approx(1.4789428575446, abs=1e-13)
    assert length(np.column_stack([x, x * x])) == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize(("a", "b", "value"), [(2, 1, 9.688448220548), (50, 30, 255.269988633981)])
def test_ellipse(a: float, b: float, value: float) -> None:
    # Perimeter 4 a E(m), m = 1 - b^2 / a^2 (complete elliptic integral, scipy.special).
    t = np.linspace(0, 2 * np.pi, FINE)
    measured = length(np.column_stack([a * np.cos(t), b * np.sin(t)]))
    assert 4 * a * ellipe(1 - b * b / a / a) == pytest.approx(value, rel=1e-12)
    assert measured == pytest.approx(value, rel=1e-7)


@pytest.mark.parametrize(
    ("control", "value"),
    [
        # Pythagorean-hodograph cubic: t + t^3 / 3 (Farouki), 4/3 at t = 1.
        ([(0, 0), (1 / 3, 0), (2 / 3, 1 / 3), (2 / 3, 1)], 4 / 3),
        # The parabola above as a cubic.
        ([(0, 0), (1 / 3, 0), (2 / 3, 1 / 3), (1, 1)], 1.4789428575446),
        # Quarter circle with the handle 0.5522847498, longer than pi / 2 by 2.2e-4.
        ([(1, 0), (1, 0.5522847498), (0.5522847498, 1), (0, 1)], 1.5710166981),
        ([(0, 0), (0, 90), (40, 200), (25, 310)], None),
    ],
)
def test_cubic_against_quadrature(control: list[tuple[float, float]], value: float | None) -> None:
    p = np.array(control, dtype=float)

    def speed(t: float) -> float:
        d = (
            3 * (1 - t) ** 2 * (p[1] - p[0])
            + 6 * t * (1 - t) * (p[2] - p[1])
            + 3 * t * t * (p[3] - p[2])
        )
        return float(np.hypot(*d))

    expected = quad(speed, 0, 1, epsabs=1e-12, epsrel=1e-12)[0]
    if value is not None:
        assert expected == pytest.approx(value, abs=2e-10)
    assert length(cubic(control, FINE)) == pytest.approx(expected, rel=1e-8)


@quick
@given(polylines())
def test_against_shapely(points: Array) -> None:
    expected = shapely.LineString(points).length
    assert length(points) == pytest.approx(expected, rel=1e-12)
    assert arc_lengths(points)[-1] == pytest.approx(expected, rel=1e-12)
    assert length(points[::-1]) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("chords", [6, 9, 30])
def test_smooth_densifying_finds_the_arc(chords: int) -> None:
    coarse = arc(200, 10, 60, chords)
    dense = densify_smoothly(coarse, 1.0)
    rows = {tuple(row) for row in dense.tolist()}
    assert all(tuple(row) in rows for row in coarse.tolist())
    # The circle itself is the yardstick; the coarse chords are off by up to 0.6 mm.
    assert np.abs(np.hypot(*dense.T) - 200).max() < 1e-3
    assert length(dense) == pytest.approx(200 * math.radians(50), rel=1e-5)


def test_smooth_densifying_keeps_corners_and_lines() -> None:
    corner = np.array([[0.0, 0], [50, 0], [50, 40]])
    assert densify_smoothly(corner, 5.0) == pytest.approx(chopped(corner, 5.0))
    line = np.array([[0.0, 0], [30, 0], [100, 0]])
    assert densify_smoothly(line, 5.0)[:, 1] == pytest.approx(np.zeros(21))
    assert densify_smoothly(line, 80.0) is line


@pytest.mark.parametrize("turned", [False, True])
def test_a_straight_stretch_that_runs_into_an_arc_stays_straight(turned: bool) -> None:
    """450 mm straight, then an arc of 300 mm radius in chords of 15 mm: closed forms."""
    radius, chord = 300.0, 15.0
    angles = np.arange(0, 13) * 2 * np.arcsin(chord / 2 / radius)
    arc = np.column_stack([radius * np.sin(angles), radius * (1 - np.cos(angles))])
    points = np.vstack([[[-450.0, 0.0]], arc])
    dense = densify_smoothly(points[::-1] if turned else points, 2.0)
    straight = dense[dense[:, 0] < 0.0]
    assert np.abs(straight[:, 1]).max() < 1e-9
    off = np.hypot(*(dense[dense[:, 0] >= 0.0] - [0.0, radius]).T) - radius
    assert np.abs(off).max() < 0.002


@quick
@given(polylines())
def test_points_at_distances_against_shapely(points: Array) -> None:
    line = shapely.LineString(points)
    found = sample_line(points, 9)
    wanted = shapely.line_interpolate_point(line, np.linspace(0.0, line.length, 9))
    assert np.abs(found - shapely.get_coordinates(wanted)).max() <= 1e-9 * max(line.length, 1.0)
