"""Euler spirals against the Fresnel integrals, arcs and the end conditions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import fresnel

from propagate.geometry.fairness import arc_curvature
from propagate.geometry.polyline import chord_angles, length
from propagate.geometry.spiral import TAPER_LIMITS, Spiral, fit_taper, spiral_to
from tests.geometry.catalogue import Array, arc, quick, shift

START = np.array([3.0, -7.0])
tapers = st.floats(*TAPER_LIMITS)
leans = st.floats(-60, 60).filter(lambda d: abs(d) > 0.5)


def test_fresnel() -> None:
    # k = s over s 0..1 turns by s^2/2, so taper -1 and turn 0.5; the end is
    # sqrt(pi) (C, S)(1 / sqrt(pi)) = (0.975287688, 0.163714047), turn 0.5 rad.
    sine, cosine = fresnel(1 / math.sqrt(math.pi))
    expected = math.sqrt(math.pi) * np.array([cosine, sine])
    assert expected == pytest.approx([0.975287688, 0.163714047], abs=1e-9)
    spiral = Spiral(np.zeros(2), 0.0, -1.0, 20_000)
    assert spiral.end(1.0, 0.5)[0] == pytest.approx(expected, abs=1e-9)
    points = spiral.points(1.0, 0.5)
    assert points[-1] == pytest.approx(expected, abs=1e-9)
    half_sine, half_cosine = fresnel(0.5 / math.sqrt(math.pi))
    halfway = math.sqrt(math.pi) * np.array([half_cosine, half_sine])
    assert points[10_000] == pytest.approx(halfway, abs=1e-9)


def test_end_is_the_last_point_and_its_derivatives_are_right() -> None:
    spiral = Spiral(START, 0.4, 0.3, 60)
    end, by = spiral.end(80.0, 0.9)
    assert spiral.points(80.0, 0.9)[-1] == pytest.approx(end, abs=1e-11)
    step = 1e-5
    by_length = (spiral.end(80 + step, 0.9)[0] - spiral.end(80 - step, 0.9)[0]) / (2 * step)
    by_turn = (spiral.end(80, 0.9 + step)[0] - spiral.end(80, 0.9 - step)[0]) / (2 * step)
    assert by == pytest.approx(np.column_stack([by_length, by_turn]), abs=1e-7)


@quick
@given(leans, tapers, st.floats(20, 600), st.floats(-3, 3))
def test_spiral_hits_its_target(lean: float, taper: float, chord: float, direction: float) -> None:
    away = direction + math.radians(lean)
    target = START + chord * np.array([math.cos(away), math.sin(away)])
    spiral = Spiral(START, direction, taper, 80)
    size, turn = spiral_to(spiral, target)
    points = spiral.points(size, turn)
    assert np.hypot(*(points[-1] - target)) < 1e-9
    assert points[0].tolist() == START.tolist()
    assert length(points) == pytest.approx(size, rel=1e-12)
    # It bends to the side of the chord all the way, without an inflection.
    _, angles = chord_angles(points)
    assert np.all(np.diff(angles) * math.copysign(1, lean) > 0)


@pytest.mark.parametrize("lean", [-40.0, 5.0, 30.0, 70.0])
def test_taper_zero_is_a_circular_arc(lean: float) -> None:
    # Tangent-chord angle: the arc turns by twice the lean; radius chord / (2 sin lean).
    half = math.radians(lean)
    target = START + 120 * np.array([math.cos(half), math.sin(half)])
    spiral = Spiral(START, 0.0, 0.0, 4000)
    size, turn = spiral_to(spiral, target)
    radius = 60 / math.sin(half)
    assert turn == pytest.approx(2 * half, abs=1e-9)
    assert size == pytest.approx(radius * 2 * half, rel=1e-6)
    centre = shift(START, 0, radius)
    off = np.hypot(*(spiral.points(size, turn) - centre).T) - abs(radius)
    assert np.abs(off).max() < 1e-4
    assert arc_curvature(START, 0.0, target) == pytest.approx(1 / abs(radius), rel=1e-12)


@pytest.mark.parametrize("taper", [*TAPER_LIMITS, -0.15, 0.25])
@pytest.mark.parametrize("lean", [1.0, 10.0, 25.0])
def test_largest_curvature_against_the_plain_arc(taper: float, lean: float) -> None:
    # Curvature of the spiral: turn / length (1 + b (1 - 2 u)), largest at an end; by
    # hand it is (1 + |b|) / (1 + b / 3) times the arc's for small turns.
    half = math.radians(lean)
    target = START + 150 * np.array([math.cos(half), math.sin(half)])
    size, turn = spiral_to(Spiral(START, 0.0, taper, 2000), target)
    ratio = turn / size * (1 + abs(taper)) / arc_curvature(START, 0.0, target)
    assert ratio < 1.45
    if lean == 1.0:
        assert ratio == pytest.approx((1 + abs(taper)) / (1 + taper / 3), rel=1e-3)


def test_straight_ahead_is_a_straight_line() -> None:
    spiral = Spiral(START, 0.0, 0.2, 10)
    size, turn = spiral_to(spiral, shift(START, 50, 0))
    assert (size, turn) == pytest.approx((50, 0), abs=1e-9)


@pytest.mark.parametrize("target", [(-50.0, 0.0), (-20.0, 40.0), (0.0, 0.0)])
def test_an_end_behind_the_start_is_refused(target: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="behind the start"):
        spiral_to(Spiral(START, 0.0, 0.0, 10), START + np.array(target))


@quick
@given(tapers, st.floats(10, 80), st.booleans())
def test_fit_taper_finds_its_own(taper: float, degrees: float, left: bool) -> None:
    turn = math.radians(degrees if left else -degrees)
    points = Spiral(START, 1.0, taper, 50).points(200.0, turn)
    assert fit_taper(*chord_angles(points)) == pytest.approx(taper, abs=1e-9)


def test_fit_taper_of_an_arc_and_of_a_line() -> None:
    assert fit_taper(*chord_angles(arc(200, 10, 60, 30))) == pytest.approx(0, abs=1e-9)
    assert fit_taper(*chord_angles(arc(8000, 0, 2, 30))) is None
    assert fit_taper(*chord_angles(np.array([[0.0, 0], [10, 1], [20, 9]]))) is None


@pytest.mark.parametrize("taper", [-0.9, 0.9])
def test_fit_taper_is_limited(taper: float) -> None:
    points: Array = Spiral(START, 1.0, taper, 50).points(200.0, 0.8)
    found = fit_taper(*chord_angles(points))
    assert found in TAPER_LIMITS
    assert found is not None and found * taper > 0
