"""Affine maps: judged by shapely's."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import affine_transform

from propagate.geometry.affine import UNMOVED, Affine
from tests.examples import examples

factor = st.floats(-3.0, 3.0)
maps = st.builds(Affine, factor, factor, factor, factor, st.floats(-500, 500), st.floats(-500, 500))
POINTS = np.array([[0.0, 0.0], [120.0, -7.5], [33.3, 480.0]])


def by_shapely(place: Affine, points: np.ndarray) -> np.ndarray:
    values = [place.a, place.c, place.b, place.d, place.e, place.f]
    return shapely.get_coordinates(affine_transform(shapely.MultiPoint(points), values))


@examples(40)
@given(maps, maps)
def test_one_after_the_other(outer: Affine, inner: Affine) -> None:
    wanted = by_shapely(outer, by_shapely(inner, POINTS))
    both = outer @ inner
    assert both(POINTS) == pytest.approx(wanted, abs=1e-8)
    assert np.array([both.apply((x, y)) for x, y in POINTS]) == pytest.approx(wanted, abs=1e-8)


@examples(40)
@given(st.floats(-180, 180), st.booleans(), st.floats(-500, 500))
def test_a_turn_keeps_lengths_and_undoes(angle: float, mirrored: bool, far: float) -> None:
    cos, sin = float(np.cos(np.radians(angle))), float(np.sin(np.radians(angle)))
    flip = -1.0 if mirrored else 1.0
    place = Affine(cos, sin, -sin * flip, cos * flip, far, -far)
    assert place.is_rigid and place.is_mirrored == mirrored
    assert place.angle == pytest.approx(angle) or abs(angle) > 179.999
    assert place.back(place(POINTS)) == pytest.approx(POINTS, abs=1e-9)
    assert not Affine(2.0, 0.0, 0.0, 2.0).is_rigid


def test_what_is_not_moved_keeps_every_digit() -> None:
    assert UNMOVED.is_identity and UNMOVED.back(POINTS) is POINTS
    assert not Affine(e=1e-300).is_identity
