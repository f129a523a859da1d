"""Fades: what is held keeps every digit, what is moved arrives exactly."""

from __future__ import annotations

import math

import numpy as np
import pytest

from propagate.geometry.fade import bend_start, fade_end, smoothstep
from propagate.geometry.polyline import arc_lengths, chord_angles, length
from tests.geometry.catalogue import S_CURVE, Array, arc

LINE = np.array([[0.0, 0], [100, 0]])
CURVES = {"line": LINE, "arc": arc(150, 30, 80, 70), "s-curve": S_CURVE}


def direction(points: Array, row: int) -> float:
    chord = points[row + 1] - points[row] if row >= 0 else points[row] - points[row - 1]
    return math.atan2(chord[1], chord[0])


def test_smoothstep() -> None:
    # 3 u^2 - 2 u^3, by hand: 0, 5/32, 1/2, 27/32, 1; flat outside.
    u = np.array([-1.0, 0, 0.25, 0.5, 0.75, 1, 2])
    assert smoothstep(u) == pytest.approx([0, 0, 5 / 32, 1 / 2, 27 / 32, 1, 1], abs=1e-15)


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("degrees", [-3.0, -0.4, 0.7, 2.5])
def test_bend_turns_the_start_and_nothing_else(name: str, degrees: float) -> None:
    curve = CURVES[name]
    bent = bend_start(curve, math.radians(degrees), 0.2)
    assert bent[0].tolist() == curve[0].tolist()
    assert bent[-1].tolist() == curve[-1].tolist()
    # The curve before it, cut as finely, so that the chords' own lean cancels.
    plain = bend_start(curve, 0.0, 0.2)
    turned = math.degrees(direction(bent, 0) - direction(plain, 0))
    assert turned == pytest.approx(degrees, abs=0.05)
    assert math.degrees(direction(bent, -1) - direction(plain, -1)) == pytest.approx(0, abs=0.1)


@pytest.mark.parametrize("name", CURVES)
def test_bend_by_nothing_changes_nothing(name: str) -> None:
    curve = CURVES[name]
    bent = bend_start(curve, 0.0, 1.0)
    rows = {tuple(row) for row in bent.tolist()}
    assert all(tuple(row) in rows for row in curve.tolist())
    # New points lie on the curve that the chords stand for: longer by less than the
    # chord error costs.
    assert length(curve) <= length(bent) * (1 + 1e-12) < length(curve) + 0.01


def test_bend_is_nearly_the_flattest_there_is() -> None:
    # h(0) = 0, h'(0) = 1, h(1) = h'(1) = 0 with |h''| <= K has its least K where h'' is
    # -K and then +K (two arcs): the switch lies at 1 / sqrt 2 and K = 1 + sqrt 2 = 2.41.
    turn = math.radians(1.0)
    bent = bend_start(LINE, turn, 0.1)
    slope = np.diff(bent[:, 1]) / np.diff(bent[:, 0])
    second = np.diff(slope) / 0.1 * 100 / math.tan(turn)
    assert 1 + math.sqrt(2) < np.abs(second).max() < 2.54
    assert np.abs(second).max() == pytest.approx(2.53, abs=0.01)
    # It bends one way and then the other, once.
    assert np.count_nonzero(np.diff(np.sign(second[np.abs(second) > 0.1]))) == 1


def test_bend_displaces_as_its_slope_says() -> None:
    # The integral of the slope back from the fixed end gives the displacement: it has
    # one sign and its largest value lies near a third of the length.
    bent = bend_start(LINE, math.radians(2.0), 0.5)
    assert bent[1:-1, 1].min() > 0
    assert 0.2 < bent[np.argmax(bent[:, 1]), 0] / 100 < 0.5
    assert bent[:, 1].max() < 100 * math.tan(math.radians(2.0)) / 4


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("over", [20.0, 60.0])
@pytest.mark.parametrize("shift", [(0.0, 0.0), (1.5, -2.0), (-4.0, 0.3)])
def test_fade_end(name: str, over: float, shift: tuple[float, float]) -> None:
    curve = CURVES[name]
    target = curve[-1] + shift
    faded = fade_end(curve, target, over, 1.0)
    assert faded[-1].tolist() == target.tolist()
    held = arc_lengths(curve) <= length(curve) - over
    assert faded[: int(held.sum())].tolist() == curve[held].tolist()
    assert faded[0].tolist() == curve[0].tolist()
    steps, angles = chord_angles(faded)
    assert steps.min() > 0
    assert np.degrees(np.abs(np.diff(angles)).max()) < 5.0


def test_fade_end_follows_the_cubic() -> None:
    # Displacement 3 u^2 - 2 u^3 over the last 40 mm of a straight line.
    faded = fade_end(LINE, np.array([100.0, 4.0]), 40.0, 1.0)
    u = np.clip((faded[:, 0] - 60) / 40, 0, 1)
    assert faded[:, 1] == pytest.approx(4 * u * u * (3 - 2 * u), abs=1e-12)
    assert direction(faded, -1) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("off", [-1e-9, 0.0, 1e-9])
def test_a_hold_on_a_vertex_adds_no_point_before_it(off: float) -> None:
    coarse = arc(150, 30, 80, 10)
    over = length(coarse) - float(arc_lengths(coarse)[6]) + off
    faded = fade_end(coarse, coarse[-1] + 1.0, over, 1.0)
    assert faded[:7].tolist() == coarse[:7].tolist()


def test_fade_longer_than_the_curve_moves_all_but_the_start() -> None:
    faded = fade_end(LINE, np.array([101.0, 1.0]), 500.0, 1.0)
    assert faded[0].tolist() == [0, 0]
    assert faded[-1].tolist() == [101, 1]


def test_fade_does_not_write_to_its_argument() -> None:
    curve = S_CURVE.copy()
    curve.setflags(write=False)
    fade_end(curve, curve[-1] + 1.0, 30.0, 1.0)
    bend_start(curve, 0.02, 1.0)
    assert curve.tolist() == S_CURVE.tolist()
