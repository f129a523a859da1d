"""Rigid motions: group laws, and the fit against scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import orthogonal_procrustes
from scipy.spatial.transform import Rotation

from propagate.geometry.motion import IDENTITY, Motion, fit, from_two_points
from tests.geometry.catalogue import Array, polylines, quick

angles = st.floats(-math.pi, math.pi)
shifts = st.tuples(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))


@st.composite
def motions(draw: st.DrawFn) -> Motion:
    angle, shift = draw(angles), draw(shifts)
    return Motion(complex(math.cos(angle), math.sin(angle)), complex(*shift), draw(st.booleans()))


def matrix(motion: Motion) -> tuple[Array, Array]:
    """The same motion as a 2x2 matrix and a shift, written out by hand."""
    c, s = motion.turn.real, motion.turn.imag
    flip = np.diag([1.0, -1.0 if motion.face_down else 1.0])
    return np.array([[c, -s], [s, c]]) @ flip, np.array([motion.shift.real, motion.shift.imag])


@quick
@given(motions(), polylines())
def test_apply_is_the_matrix(motion: Motion, points: Array) -> None:
    turn, shift = matrix(motion)
    assert motion.apply(points) == pytest.approx(points @ turn.T + shift, abs=1e-8)
    assert motion.apply(points[0]) == pytest.approx(turn @ points[0] + shift, abs=1e-8)
    assert motion.rotate(points[0]) == pytest.approx(turn @ points[0], abs=1e-8)


@quick
@given(motions(), polylines())
def test_inverse_undoes(motion: Motion, points: Array) -> None:
    assert motion.inverse().apply(motion.apply(points)) == pytest.approx(points, abs=1e-8)
    assert motion.apply(motion.inverse().apply(points)) == pytest.approx(points, abs=1e-8)
    assert motion.inverse().face_down == motion.face_down


@quick
@given(motions(), motions(), motions(), polylines())
def test_after_chains(one: Motion, two: Motion, three: Motion, points: Array) -> None:
    chained = two.after(one)
    assert chained.apply(points) == pytest.approx(two.apply(one.apply(points)), abs=1e-7)
    left, right = three.after(two).after(one), three.after(two.after(one))
    assert left.apply(points) == pytest.approx(right.apply(points), abs=1e-6)
    assert abs(chained.turn) == pytest.approx(1, abs=1e-15)
    assert chained.face_down == (one.face_down != two.face_down)


@quick
@given(motions(), polylines())
def test_lengths_are_kept(motion: Motion, points: Array) -> None:
    before = np.hypot(*np.diff(points, axis=0).T)
    after = np.hypot(*np.diff(motion.apply(points), axis=0).T)
    assert after == pytest.approx(before, abs=1e-8)


def test_long_chains_stay_rigid() -> None:
    step = from_two_points([(0, 0), (1, 0)], [(3, 4), (3 + math.cos(0.7), 4 + math.sin(0.7))])
    chained = IDENTITY
    for _ in range(1000):
        chained = step.after(chained)
    assert abs(chained.turn) == pytest.approx(1.0, abs=1e-14)
    expected = math.remainder(700.0, 2 * math.pi)
    assert chained.angle == pytest.approx(expected, abs=1e-9)


def test_identity_changes_no_digit() -> None:
    points = np.array([[0.1, 0.2], [1 / 3, 1e6]])
    assert IDENTITY.apply(points) is points
    assert IDENTITY.inverse() == IDENTITY
    assert IDENTITY.after(IDENTITY) == IDENTITY


@quick
@given(polylines(least=3), motions(), st.integers(0, 10**6))
def test_fit_against_scipy(points: Array, motion: Motion, seed: int) -> None:
    spread = np.hypot(*(points - points.mean(axis=0)).T).max()
    if spread < 5:
        return
    noise = np.random.default_rng(seed).normal(0, 0.3, points.shape)
    target = motion.apply(points) + noise
    found, residual = fit(points, target, face_down=motion.face_down)
    flip = np.array([1.0, -1.0 if motion.face_down else 1.0])
    source = points * flip
    p, q = source - source.mean(axis=0), target - target.mean(axis=0)
    # Orthogonal Procrustes, forced to a rotation as in Kabsch 1976.
    u, _, vt = np.linalg.svd(p.T @ q)
    best = u @ np.diag([1.0, np.linalg.det(u @ vt)]) @ vt
    free, _ = orthogonal_procrustes(p, q)
    if np.linalg.det(free) > 0:
        assert best == pytest.approx(free, abs=1e-9)
    moved = p @ best + target.mean(axis=0)
    assert found.apply(points) == pytest.approx(moved, abs=1e-6)
    assert residual == pytest.approx(np.hypot(*(moved - target).T).max(), abs=1e-6)


def test_fit_against_align_vectors() -> None:
    # Triangle turned by 30 degrees, in space about z.
    triangle = np.array([[0.0, 0, 0], [40, 0, 0], [10, 25, 0]])
    spun = Rotation.from_euler("z", 30, degrees=True).apply(triangle)
    found, residual = fit(triangle[:, :2], spun[:, :2] + [5, 6])
    middle, spun_middle = triangle.mean(axis=0), spun.mean(axis=0)
    rotation, _ = Rotation.align_vectors(spun - spun_middle, triangle - middle)
    assert math.degrees(found.angle) == pytest.approx(30.0, abs=1e-12)
    assert found.angle == pytest.approx(rotation.as_euler("zyx")[0], abs=1e-12)
    assert residual == pytest.approx(0, abs=1e-12)


def test_fit_reports_what_does_not_fit() -> None:
    # Two pairs, 100 and 101 mm apart: half a millimetre is left at each end.
    motion, residual = fit([(0, 0), (100, 0)], [(0, 0), (0, 101)])
    assert residual == pytest.approx(0.5)
    assert math.degrees(motion.angle) == pytest.approx(90)


def test_two_points_land() -> None:
    motion = from_two_points([(1, 2), (4, 6)], [(100, 100), (100, 105)])
    assert motion.apply([(1, 2), (4, 6)]) == pytest.approx(np.array([(100, 100), (100, 105)]))
    down = from_two_points([(1, 2), (4, 6)], [(100, 100), (100, 105)], face_down=True)
    assert down.apply([(1, 2), (4, 6)]) == pytest.approx(np.array([(100, 100), (100, 105)]))
    # A third point comes to lie on the other side.
    side = motion.apply((4, 2))[0] - 100
    assert down.apply((4, 2))[0] - 100 == pytest.approx(-side)
    assert abs(side) > 1


@pytest.mark.parametrize("make", [from_two_points, fit])
def test_points_that_coincide_are_refused(make: object) -> None:
    assert callable(make)
    with pytest.raises(ValueError, match="coincide"):
        make([(1, 1), (1, 1)], [(0, 0), (5, 5)])
