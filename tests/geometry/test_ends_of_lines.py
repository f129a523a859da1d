"""Directions at the ends of lines that are part arc, part straight, finely or coarsely drawn.

Judged by closed forms (the tangent of an arc, of a straight line), by Cornu's spiral from
scipy's quadrature, and by how much a thousandth of a millimetre turns a chord.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from propagate.geometry.directions import end_direction
from tests.examples import examples
from tests.geometry.catalogue import Array

Stretch = tuple[float, float, float]  # length, curvature at its beginning and at its end


def apart(angle: float, expected: float) -> float:
    """Difference of two directions in degrees."""
    return abs(math.degrees(math.remainder(angle - expected, 2 * math.pi)))


def drawn(parts: list[Stretch], chord: float) -> Array:
    """Stretches joined smoothly, from the origin along the x axis.

    A straight stretch is one chord, as programs write it.
    """
    points, at, heading = [(0.0, 0.0)], 0j, 0.0
    for size, first, last in parts:

        def turned(s: float, k: float = first, rate: float = (last - first) / size) -> float:
            return k * s + rate * s * s / 2

        pieces = 1 if first == last == 0 else max(round(size / chord), 1)
        for end in np.linspace(0.0, size, pieces + 1)[1:]:
            x = quad(lambda s, h=heading: math.cos(h + turned(s)), 0.0, end)[0]
            y = quad(lambda s, h=heading: math.sin(h + turned(s)), 0.0, end)[0]
            points.append((at.real + x, at.imag + y))
        at, heading = complex(*points[-1]), heading + turned(size)
    return np.array(points)


@pytest.mark.parametrize("radius", [60.0, 200.0, 400.0])
@pytest.mark.parametrize(("size", "chord"), [(5, 1), (5, 2), (8, 4), (12.6, 1), (12.6, 2)])
@pytest.mark.parametrize("chords_of_line", [(200.0,), (60.0,), (900.0, 30.0), (30.0, 30.0, 30.0)])
def test_a_line_behind_a_short_arc_does_not_turn_its_end(
    radius: float, size: float, chord: float, chords_of_line: tuple[float, ...]
) -> None:
    bend = 1 / radius
    points = drawn([(size, bend, bend), *((part, 0.0, 0.0) for part in chords_of_line)], chord)
    assert apart(end_direction(points, "start"), 0.0) < 0.02
    assert apart(end_direction(points[::-1], "end"), math.pi) < 0.02
    # Hundredths of a millimetre turn a chord of 1 mm by 0.4 degrees at most.
    assert apart(end_direction(np.round(points, 2), "start"), 0.0) < 0.4


@pytest.mark.parametrize("chord", [1.0, 2.0, 3.0, 4.2, 6.3])
def test_the_arc_of_a_centre_back_before_its_straight(chord: float) -> None:
    # Radius 200 for 12.6 mm, then 200 mm straight: read over both, it is 1.6 degrees off.
    points = drawn([(12.6, 1 / 200, 1 / 200), (200.0, 0.0, 0.0)], chord)
    assert apart(end_direction(points, "start"), 0.0) < 1e-3
    chord_of_both = points[-1] - points[0]
    assert apart(math.atan2(*chord_of_both[::-1]), 0.0) > 3.0


@pytest.mark.parametrize("chord", [1.0, 2.0, 3.0, 5.0])
@pytest.mark.parametrize("size", [8.0, 12.6, 20.0, 40.0])
def test_a_line_behind_a_spiral_does_not_turn_its_end(size: float, chord: float) -> None:
    # Curvature falls along a spiral, so a straight fit of its direction is a little off; a
    # line in the window used to put it 1.5 to 2.3 degrees off.
    points = drawn([(size, 1 / 100, 0.0), (200.0, 0.0, 0.0)], chord)
    assert apart(end_direction(points, "start"), 0.0) < 0.5


@pytest.mark.parametrize("radius", [100.0, 200.0, 400.0])
@pytest.mark.parametrize("chord", [2.0, 3.0, 5.0, 8.0])
def test_a_line_before_an_arc_ends_as_a_line(radius: float, chord: float) -> None:
    line = drawn([(25.0, 0.0, 0.0), (90.0, 1 / radius, 1 / radius)], chord)
    assert apart(end_direction(line, "start"), 0.0) < 1e-3


@pytest.mark.parametrize("chord", [16.0, 20.0, 30.0])
def test_a_coarse_pair_with_a_line_in_it_is_hardly_read_as_an_arc(chord: float) -> None:
    # As the chord of an arc the line would turn by 2.7 to 3.9 degrees before its end.
    line = drawn([(25.0, 0.0, 0.0), (90.0, 1 / 100, 1 / 100)], chord)
    assert apart(end_direction(line, "start"), 0.0) < 0.7


@pytest.mark.parametrize("size", [3.0, 5.0, 8.0, 12.6])
def test_one_chord_before_a_line_has_its_own_direction(size: float) -> None:
    # A kink of 10 degrees: nothing tells that the short chord is a curve's.
    points = np.array([[0.0, 0.0], [size, 0.0], [size + 197.0, 34.7]])
    assert apart(end_direction(points, "start"), 0.0) < 1.0


@pytest.mark.parametrize("chord", [0.7, 2.0, 4.4, 5.5, 6.6, 7.4, 8.0, 11.0, 15.1, 20.0, 30.0, 40.0])
def test_an_arc_of_any_chord_is_read_exactly(chord: float) -> None:
    points = drawn([(6 * chord, 1 / 200, 1 / 200)], chord)
    assert apart(end_direction(points, "start"), 0.0) < 1e-6


def test_a_stub_says_nothing() -> None:
    arc = drawn([(120.0, 1 / 100, 1 / 100)], 12.0)
    for stub in (1e-6, 1e-4, 1e-3):
        rough = np.vstack([arc[:1], arc[0] + stub * np.array([0.6, 0.8]), arc[1:]])
        assert apart(end_direction(rough, "start"), 0.0) < 0.06
        line = np.array([[0.0, 0.0], [0.6 * stub, 0.8 * stub], [200.0, 0.0]])
        assert apart(end_direction(line, "start"), 0.0) < 0.06


_chords = st.lists(
    st.tuples(
        st.floats(1.0, 80.0),  # length, mm
        st.integers(1, 5),  # how many of them
        st.floats(-1 / 60, 1 / 60),  # curvature, 1/mm
        st.floats(-0.2, 0.2),  # kink before them, radians
    ),
    min_size=1,
    max_size=5,
)


def polygon(parts: list[tuple[float, int, float, float]]) -> Array:
    """Chords of several stretches, each with its length, curvature and kink before it."""
    points, heading, last = [np.zeros(2)], 0.0, 0.0
    for size, count, bend, kink in parts:
        heading += kink
        for _ in range(count):
            heading += bend * (size + last) / 2 if last else 0.0
            points.append(points[-1] + size * np.array([math.cos(heading), math.sin(heading)]))
            last = size
    return np.array(points)


@examples(300)
@given(_chords, st.integers(0, 2**32 - 1))
def test_a_thousandth_of_a_millimetre_turns_an_end_by_little(
    parts: list[tuple[float, int, float, float]], seed: int
) -> None:
    """Continuity: no weight jumps, so rounding never decides what a line is.

    Two ends that move by 0.001 mm turn a chord by ``2 * 0.001 / length``; a fit that is read
    beyond its middle turns by a few times that.
    """
    points = polygon(parts)
    noise = np.random.default_rng(seed).uniform(-1e-3, 1e-3, points.shape) / math.sqrt(2)
    here, there = (end_direction(line, "start") for line in (points, points + noise))
    gaps = np.hypot(*np.diff(points, axis=0).T)
    # What lies beyond the window tells whether a coarse chord in it is straight.
    assert apart(there, here) < 4 * math.degrees(2e-3 / gaps.min())


@pytest.mark.parametrize("radius", [60.0, 200.0])
def test_an_end_turns_steadily_while_a_chord_grows(radius: float) -> None:
    """From a chord of 1 mm behind an arc to a line of 100 mm, by a hundredth each time."""
    arc = drawn([(9.0, 1 / radius, 1 / radius)], 3.0)
    heading = np.array([math.cos(9.0 / radius), math.sin(9.0 / radius)])
    sizes = np.exp(np.arange(0.0, math.log(100.0), 0.01))
    read = [end_direction(np.vstack([arc, arc[-1] + size * heading]), "start") for size in sizes]
    # The whole arc turns by 2.6 or 8.6 degrees.
    assert np.abs(np.diff(read)).max() < 0.01 * 9.0 / radius


def test_direction_and_frame_do_not_matter() -> None:
    points = drawn([(12.6, 1 / 200, 1 / 200), (30.0, 0.0, 0.0), (40.0, -1 / 90, -1 / 90)], 3.0)
    turned = 0.7
    rotation = np.array(
        [[math.cos(turned), math.sin(turned)], [-math.sin(turned), math.cos(turned)]]
    )
    elsewhere = points @ rotation + [3e4, -5e4]
    for end in ("start", "end"):
        here = end_direction(points, end)  # type: ignore[arg-type]
        assert apart(end_direction(elsewhere, end), here + turned) < 1e-6  # type: ignore[arg-type]
        mirrored = end_direction(points * [1.0, -1.0], end)  # type: ignore[arg-type]
        assert apart(mirrored, -here) < 1e-9
