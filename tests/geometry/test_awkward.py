"""Every function of the geometry on every awkward polyline."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from propagate.geometry.crossing import circle_crossings, crossings, line_crossings
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.directions import direction_at, end_direction
from propagate.geometry.fade import bend_start, fade_end
from propagate.geometry.fairness import measure_fairness
from propagate.geometry.motion import Motion, fit
from propagate.geometry.parallel import offset_line
from propagate.geometry.polyline import (
    arc_lengths,
    between,
    chord_angles,
    join,
    length,
    locate,
    locate_all,
    point_at,
    split,
)
from tests.geometry.catalogue import AWKWARD, Array

pytestmark = pytest.mark.parametrize("points", list(AWKWARD.values()), ids=list(AWKWARD))


def near(points: Array) -> float:
    """What rounding costs at the size of the coordinates, mm."""
    return 1e-9 + 4e-15 * float(np.abs(points).max()) * 1e2


def test_lengths(points: Array) -> None:
    whole = shapely.LineString(points).length
    arc = arc_lengths(points)
    assert np.all(np.diff(arc) > 0)
    assert arc[0] == 0.0
    assert arc[-1] == pytest.approx(whole, rel=1e-9)
    assert length(points) == pytest.approx(whole, rel=1e-9)
    assert length(points[::-1]) == pytest.approx(whole, rel=1e-9)


def test_vertices_are_found_again(points: Array) -> None:
    arc = arc_lengths(points)
    for row, distance in enumerate(arc):
        assert point_at(points, distance).tolist() == points[row].tolist()
    _, gaps = locate_all(points, points)
    assert gaps.max() <= near(points)


def test_places_between_vertices(points: Array) -> None:
    line = shapely.LineString(points)
    for share in (0.0, 0.123, 0.5, 0.987, 1.0):
        point = point_at(points, share * length(points))
        assert line.distance(shapely.Point(point)) < near(points)
        along, gap = locate(points, point)
        assert gap < near(points)
        assert np.hypot(*(point_at(points, along) - point)) < 2e-6


def test_cutting(points: Array) -> None:
    whole = length(points)
    first, second = split(points, 0.4 * whole)
    assert length(first) + length(second) == pytest.approx(whole, rel=1e-6)
    assert join([first, second])[[0, -1]].tolist() == points[[0, -1]].tolist()
    middle = between(points, 0.25 * whole, 0.75 * whole)
    assert length(middle) == pytest.approx(whole / 2, rel=1e-5)
    for part in (first, second, middle):
        assert np.hypot(*np.diff(part, axis=0).T).min() > 0


def test_densify_smoothly(points: Array) -> None:
    dense = densify_smoothly(points, 3.0)
    rows = {tuple(row) for row in dense.tolist()}
    assert all(tuple(row) in rows for row in points.tolist())
    assert length(dense) >= length(points) * (1 - 1e-12)


def test_directions(points: Array) -> None:
    lengths, angles = chord_angles(points)
    assert lengths.min() > 0
    assert np.abs(np.diff(angles)).max(initial=0) <= math.pi + 1e-12
    for end in ("start", "end"):
        assert math.isfinite(end_direction(points, end))  # type: ignore[arg-type]
    for share in (-0.1, 0.0, 0.5, 1.0, 1.1):
        assert math.isfinite(direction_at(points, share * length(points)))
    turn = end_direction(points[::-1], "end") - end_direction(points, "start")
    assert math.remainder(turn - math.pi, 2 * math.pi) == pytest.approx(0, abs=1e-9)


def test_line_through_the_middle(points: Array) -> None:
    origin = point_at(points, length(points) / 2)
    for degrees in (0.0, 38.0, 90.0):
        direction = np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])
        normal = np.array([-direction[1], direction[0]])
        hits = line_crossings(points, origin, direction)
        assert np.all(np.diff(hits) >= 0)
        assert all(abs((point_at(points, hit) - origin) @ normal) < 3e-6 for hit in hits)
        # The line goes through the middle, so it is met unless it runs along a chord.
        along = np.abs((points - origin) @ normal).max() < 1e-6
        assert len(hits) >= 1 or along


def test_circle_about_the_start(points: Array) -> None:
    radius = 0.6 * float(np.hypot(*(points - points[0]).T).max())
    hits = circle_crossings(points, points[0], radius)
    assert len(hits) >= 1
    for hit in hits:
        away = np.hypot(*(point_at(points, hit) - points[0]))
        assert away == pytest.approx(radius, abs=5e-6)


def test_crossings_with_a_slanted_line(points: Array) -> None:
    middle = point_at(points, 0.5 * length(points))
    size = float(np.ptp(points, axis=0).max()) + 10
    slanted = middle + np.outer([-1.0, 1.0], [0.37 * size, 0.93 * size])
    found = crossings(points, slanted)
    assert len(found) >= 1
    for along, other in found:
        gap = point_at(points, along) - point_at(slanted, other)
        assert np.hypot(*gap) < 3e-6


def test_fairness(points: Array) -> None:
    found = measure_fairness(points)
    assert found.inflections >= 0 and found.peaks >= 0
    assert math.isfinite(found.max_curvature) and math.isfinite(found.turn_deg)


def test_fades(points: Array) -> None:
    target = points[-1] + (0.4, -0.3)
    faded = fade_end(points, target, length(points) / 3, 2.0)
    assert faded[-1].tolist() == target.tolist()
    assert faded[0].tolist() == points[0].tolist()
    bent = bend_start(points, 0.01, 2.0)
    assert bent[[0, -1]].tolist() == points[[0, -1]].tolist()
    assert np.isfinite(bent).all()


def test_motion(points: Array) -> None:
    motion = Motion(complex(0.6, 0.8), complex(11.0, -3.0), True)
    moved = motion.apply(points)
    assert length(moved) == pytest.approx(length(points), rel=1e-7)
    found, residual = fit(points, moved, face_down=True)
    assert residual < 1e-6
    # The turn of a piece of a thousandth of a millimetre is not sharp far from 0.
    assert found.apply(points) == pytest.approx(moved, abs=1e-6)


@pytest.mark.parametrize("width", [0.0, 2.0, 15.0])
def test_offset_line(points: Array, width: float) -> None:
    line = offset_line(points, width)
    gap = shapely.LineString(line).distance(shapely.LineString(points))
    if width == 0.0:
        assert line.tolist() == points.tolist()
    elif np.hypot(*(points[-1] - points[0])) > 1e-9 and not crosses_itself(points):
        assert gap == pytest.approx(width, abs=2e-6)
    else:
        assert gap <= width + 2e-6


def crosses_itself(points: Array) -> bool:
    return not shapely.LineString(points).is_simple
