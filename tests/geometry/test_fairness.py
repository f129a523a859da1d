"""Fairness of curves whose curvature is known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from propagate.geometry.fairness import arc_curvature, count_turnings, measure_fairness
from propagate.geometry.motion import Motion
from tests.geometry.catalogue import FAR, Array, arc, chopped, chords_for


def s_curve(radius: float, sweep: float, chords: int) -> Array:
    """Two equal arcs, the second bending the other way."""
    first = arc(radius, 180, 180 + sweep, chords)
    second = first[-1] * 2 - first[::-1]
    return np.vstack([first, second[1:]])


@pytest.mark.parametrize("radius", [60.0, 150.0, 400.0])
@pytest.mark.parametrize("decimals", [3, 6, 12])
def test_arc(radius: float, decimals: int) -> None:
    points = np.round(arc(radius, 20, 80, chords_for(radius, 60, 0.01)), decimals)
    found = measure_fairness(points)
    assert found.inflections == 0
    assert found.peaks == 1
    assert found.max_curvature == pytest.approx(1 / radius, rel=0.02)
    assert found.turn_deg == pytest.approx(60, abs=0.05)


@pytest.mark.parametrize("chords", [80, 800, 3200])
def test_noise_of_a_micron_is_no_inflection(chords: int) -> None:
    # Rounded to 0.001 mm a chord of 0.05 mm leans by up to a degree either way.
    found = measure_fairness(np.round(arc(100, 0, 90, chords), 3))
    assert (found.inflections, found.peaks) == (0, 1)
    assert found.max_curvature == pytest.approx(0.01, rel=0.02)
    assert found.turn_deg == pytest.approx(90, abs=0.05)


def test_a_tiny_chord_is_no_inflection() -> None:
    points = arc(100, 0, 90, 56)
    rough = np.insert(points, 30, points[30] + (2e-6, -1e-6), axis=0)
    assert measure_fairness(rough).inflections == 0
    assert measure_fairness(rough).max_curvature == pytest.approx(0.01, rel=0.02)


@pytest.mark.parametrize("points", [[(0, 0), (100, 0)], [(0, 0), (30, 40), (60, 80)]])
@pytest.mark.parametrize("step", [200.0, 1.0])
def test_straight_line(points: list[tuple[float, float]], step: float) -> None:
    found = measure_fairness(chopped(np.array(points, dtype=float), step))
    assert (found.inflections, found.peaks, found.max_curvature) == (0, 0, 0.0)
    assert found.turn_deg == pytest.approx(0, abs=1e-9)


def test_noisy_straight_line() -> None:
    x = np.arange(0, 300, 2.0)
    y = np.random.default_rng(1).choice([0, 0.001], len(x))
    found = measure_fairness(np.column_stack([x, y]))
    assert found.inflections == 0
    assert found.max_curvature < 1e-4


@pytest.mark.parametrize("decimals", [3, 12])
def test_s_curve(decimals: int) -> None:
    found = measure_fairness(np.round(s_curve(120, 50, 50), decimals))
    assert found.inflections == 1
    assert found.peaks == 2
    assert found.max_curvature == pytest.approx(1 / 120, rel=0.02)
    assert found.turn_deg == pytest.approx(0, abs=0.1)


def test_sine_waves() -> None:
    # y = a sin(x/b): curvature a/b^2 at the crests, one inflection at every zero inside.
    x = np.linspace(0, 4 * math.pi * 40, 1500)
    found = measure_fairness(np.column_stack([x, 10 * np.sin(x / 40)]))
    assert found.inflections == 3
    assert found.peaks == 4
    assert found.max_curvature == pytest.approx(10 / 1600, rel=0.05)


def test_an_ellipse_quarter_has_one_peak_per_vertex() -> None:
    # Curvature a b / (a^2 sin^2 + b^2 cos^2)^(3/2): b/a^2 at the end of the short axis,
    # a/b^2 at that of the long one; half of the ellipse holds one peak.
    t = np.linspace(-math.pi / 2, math.pi / 2, 400)
    found = measure_fairness(np.column_stack([150 * np.cos(t), 100 * np.sin(t)]), step=5.0)
    assert (found.inflections, found.peaks) == (0, 1)
    assert found.max_curvature == pytest.approx(150 / 100**2, rel=0.02)


def test_fairness_does_not_depend_on_the_frame() -> None:
    points = s_curve(90, 70, 60)
    moved = Motion(complex(math.cos(2), math.sin(2)), complex(*FAR)).apply(points)
    one, two = measure_fairness(points), measure_fairness(moved)
    assert (one.inflections, one.peaks) == (two.inflections, two.peaks)
    assert one.max_curvature == pytest.approx(two.max_curvature, rel=1e-5)
    back = measure_fairness(points[::-1])
    assert (back.inflections, back.peaks) == (1, 2)


def test_turnings() -> None:
    up_down = np.array([0.0, 1, 2, 1, 0, 1, 2])
    assert count_turnings(up_down, 0.5) == 2
    assert count_turnings(up_down, 3.0) == 0
    assert count_turnings(np.array([0.0, 1, 0.9, 2, 1.9, 3]), 0.5) == 0
    assert count_turnings(np.array([1.0]), 0.5) == 0


@pytest.mark.parametrize("lean", [-50.0, 12.0, 45.0, 90.0])
def test_arc_curvature(lean: float) -> None:
    # Chord of a circle: 2 r sin(half the turn), the lean being half the turn.
    half = math.radians(lean)
    end = 80 * np.array([math.cos(half), math.sin(half)])
    assert arc_curvature(np.zeros(2), 0.0, end) == pytest.approx(abs(math.sin(half)) / 40)
