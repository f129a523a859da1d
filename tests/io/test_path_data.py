"""Path data: judged against dense closed forms and an independent evaluation."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import BPoly

from propagate.errors import FormatError
from propagate.io.arcs import arc_segments
from propagate.io.path_data import flatten_path
from tests.examples import examples

CHORD_MM = 0.01  # what docs/set-format.md promises


def apart(dense: np.ndarray, text: str) -> float:
    """Largest distance of densely computed points from the flattened line, mm."""
    line = shapely.LineString(flatten_path(text)[0])
    return float(shapely.distance(line, shapely.points(dense)).max())


coordinate = st.floats(-500, 500).map(lambda v: round(v, 3))
point = st.tuples(coordinate, coordinate)


@examples(40)
@given(st.lists(point, min_size=4, max_size=4, unique=True))
def test_cubic_stays_within_the_chord_error(control: list[tuple[float, float]]) -> None:
    (a, b), *rest = control
    text = f"M{a} {b}C" + " ".join(f"{x},{y}" for x, y in rest)
    dense = BPoly(np.array(control)[:, None, :], [0, 1])(np.linspace(0, 1, 2001))
    assert apart(dense, text) <= CHORD_MM + 1e-9


@examples(40)
@given(st.lists(point, min_size=3, max_size=3, unique=True))
def test_quadratic_stays_within_the_chord_error(control: list[tuple[float, float]]) -> None:
    (a, b), *rest = control
    text = f"M {a} {b} Q " + " ".join(f"{x} {y}" for x, y in rest)
    dense = BPoly(np.array(control)[:, None, :], [0, 1])(np.linspace(0, 1, 2001))
    assert apart(dense, text) <= CHORD_MM + 1e-9


def test_an_s_shaped_cubic_whose_middle_lies_on_its_chord() -> None:
    # A halving that only looks at the middle would stop at once here.
    text = "M 0 0 C 100 300 200 -300 300 0"
    t = np.linspace(0, 1, 5001)[:, None]
    p = np.array([(0, 0), (100, 300), (200, -300), (300, 0)], dtype=float)
    dense = (
        p[0] * (1 - t) ** 3 + 3 * p[1] * t * (1 - t) ** 2 + 3 * p[2] * t**2 * (1 - t) + p[3] * t**3
    )
    assert apart(dense, text) <= CHORD_MM


@pytest.mark.parametrize("large", [0, 1])
@pytest.mark.parametrize("rising", [0, 1])
def test_arc_lies_on_its_circle(large: int, rising: int) -> None:
    # Ends 100 apart on a circle of radius 80; centre (50, +-sqrt(80^2 - 50^2)).
    points, turns = flatten_path(f"M0 0A80 80 0 {large} {rising} 100 0")
    height = math.sqrt(80**2 - 50**2)
    # The small arc that turns counter-clockwise passes below its chord, centre above.
    centre = (50.0, height if large != rising else -height)
    radii = np.hypot(*(points - centre).T)
    assert np.abs(radii - 80).max() < 1e-9
    middles = np.hypot(*((points[1:] + points[:-1]) / 2 - centre).T)
    assert (80 - middles).max() <= CHORD_MM
    small_angle = 2 * math.asin(50 / 80)
    length = 80 * (math.tau - small_angle if large else small_angle)
    assert np.hypot(*np.diff(points, axis=0).T).sum() == pytest.approx(length, abs=0.05)
    # Rising sweeps turn counter-clockwise where y points up.
    assert (_turning(points) > 0) == bool(rising)
    assert turns == ()


@pytest.mark.parametrize(
    "arc",
    [
        "1e200 1e200 0 0 1 10 0",
        "1e153 1e153 0 0 1 10 0",
        "1e30 1e30 0 0 1 10 0",
        "1e200 1e200 0 1 1 10 0",
        "1e-300 1 0 0 1 10 0",
        "1e-320 1 0 0 1 10 0",
        "1e12 1e12 0 0 0 10 0",
    ],
)
def test_an_arc_beyond_all_drawings_is_the_line_between_its_ends(arc: str) -> None:
    points, _ = flatten_path(f"M0 0A{arc}")
    assert points.tolist() == [[0, 0], [10, 0]]


@pytest.mark.parametrize("radius", [1e12, 1e15, 1e20, 1e60])
def test_curves_for_a_flat_arc_stay_between_its_ends(radius: float) -> None:
    for curve in arc_segments((3, 4), (radius, radius), 0.0, False, True, (10, 8)):
        for x, y in curve:
            assert 3 <= x <= 10 and 4 <= y <= 8


def test_a_circle_whose_ends_nearly_meet_is_whole() -> None:
    points, _ = flatten_path("M0 0A50 50 0 1 1 1e-6 0")
    assert float(np.hypot(*np.diff(points, axis=0).T).sum()) == pytest.approx(
        2 * math.pi * 50, rel=1e-3
    )


def _turning(points: np.ndarray) -> float:
    d = np.diff(points, axis=0)
    return float((d[:-1, 0] * d[1:, 1] - d[:-1, 1] * d[1:, 0]).sum())


def test_tilted_ellipse_satisfies_its_equation() -> None:
    points, _ = flatten_path("M 10 20 a 60 30 25 1 0 40 10")
    # A conic through all points: fitted on five, it holds for the others.
    rows = np.column_stack([points**2, points[:, 0] * points[:, 1], points])
    coefficients, *_ = np.linalg.lstsq(rows, np.ones(len(rows)), rcond=None)
    assert np.abs(rows @ coefficients - 1).max() < 1e-9
    a, c, b = coefficients[:3]
    tilt = math.degrees(0.5 * math.atan2(b, a - c)) % 90
    assert tilt == pytest.approx(25, abs=1e-6)
    low, high = sorted(np.abs(np.linalg.eigvalsh([[a, b / 2], [b / 2, c]])))
    assert math.sqrt(high / low) == pytest.approx(2.0, rel=1e-9)  # 60 : 30
    assert points[-1].tolist() == [50.0, 30.0]


def test_radii_too_small_are_scaled_up_to_reach() -> None:
    # SVG 1.1, F.6.6: too small radii grow until the ends are just reached: a half circle.
    points, _ = flatten_path("M 0 0 A 1 1 0 0 1 100 0")
    assert np.abs(np.hypot(*(points - (50, 0)).T) - 50).max() < 1e-9


@pytest.mark.parametrize(
    ("relative", "absolute"),
    [
        ("m 1 2 l 3 4 5 6", "M 1 2 L 4 6 9 12"),
        ("M1,2h3v4", "M 1 2 H 4 V 6"),
        ("M1 2 3 4", "M 1 2 L 3 4"),
        ("m1 2 3 4", "M 1 2 L 4 6"),
        ("M0 0c10 0 20 10 20 20s10 20 20 20", "M0 0C10 0 20 10 20 20C20 30 30 40 40 40"),
        ("M0 0q10 0 20 10t20 10", "M0 0Q10 0 20 10Q30 20 40 20"),
        ("M0 0S10 20 30 30", "M0 0C0 0 10 20 30 30"),
        ("M0 0T30 30", "M0 0Q0 0 30 30"),
        ("M0 0a5 5 0 0110 0", "M 0 0 A 5 5 0 0 1 10 0"),
        ("M0 0A0 5 0 0 1 10 0", "M 0 0 L 10 0"),
        ("M.5.5L1.5-.5", "M 0.5 0.5 L 1.5 -0.5"),
        ("M1e1 0L2E+1 1e-1", "M 10 0 L 20 0.1"),
    ],
)
def test_spellings_of_one_line(relative: str, absolute: str) -> None:
    assert flatten_path(relative)[0].tolist() == flatten_path(absolute)[0].tolist()


def test_ends_of_every_command_are_exact() -> None:
    points, _ = flatten_path("M 0.1 0.2 C 5 9 10 9 13.7 0.3 Q 20 -5 27.1 0.7 A 9 9 0 0 1 33.3 1.9")
    found = {tuple(p) for p in points.tolist()}
    assert {(0.1, 0.2), (13.7, 0.3), (27.1, 0.7), (33.3, 1.9)} <= found


@pytest.mark.parametrize(("angle", "turned"), [(0.0, False), (1.9, False), (2.1, True), (90, True)])
def test_a_corner_becomes_a_turn_point(angle: float, turned: bool) -> None:
    x, y = 10 + 10 * math.cos(math.radians(angle)), 10 * math.sin(math.radians(angle))
    points, turns = flatten_path(f"M 0 0 L 10 0 L {x!r} {y!r}")
    assert turns == ((1,) if turned else ())
    assert len(points) == 3


def test_smooth_joints_of_curves_are_no_turns_and_sharp_ones_are() -> None:
    # A quarter circle running on along its tangent, then a corner of 90 degrees.
    points, turns = flatten_path("M 0 0 A 50 50 0 0 1 50 50 V 80 H 20")
    assert [points[t].tolist() for t in turns] == [[50.0, 80.0]]


def test_steps_without_length_are_left_out() -> None:
    points, turns = flatten_path("M 0 0 L 0 0 L 10 0 l 0 0 h 5")
    assert points.tolist() == [[0, 0], [10, 0], [15, 0]]
    assert turns == ()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "starts with M"),
        ("L 1 1", "character 1: found 'L 1 1', expected path data that starts with M"),
        ("M 0 0", "draws nothing"),
        ("M 0 0 L 0 0", "draws nothing"),
        ("M 0 0 L 1 1 Z", "character 13: found 'Z', expected one of L H V C S Q T A"),
        ("M 0 0 L 1 1 M 2 2 L 3 3", "no second M"),
        ("M 0 0 L 1", "found 'the end', expected a number"),
        ("M 0 0 L 1 x", "expected a number"),
        ("M 0 0 C 1 1 2 2", "expected a number"),
        ("M 0 0 A 1 1 0 2 0 3 3", "arc flag"),
        ("M 0 0 L 1e999 0", "expected a number"),
        ("M 0 0 L 1 1;", "expected a number"),
        ("M 0 0 C 1e20 0 0 1e20 1 1", "millimetres"),
    ],
)
def test_bad_path_data_is_named(text: str, message: str) -> None:
    with pytest.raises(FormatError) as caught:
        flatten_path(text)
    assert message in str(caught.value)
