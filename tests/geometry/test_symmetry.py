"""What is its own mirror image is told by its outline, however it lies."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.geometry.symmetry import is_own_mirror_image
from tests.examples import examples

CUFF = [(0, 0), (240, 0), (240, 70), (0, 70)]
SQUARE = [(0, 0), (90, 0), (90, 90), (0, 90)]
TRIANGLE = [(0, 0), (60, 0), (30, 51.961524)]
KITE = [(0, 0), (40, 60), (0, 200), (-40, 60)]
# Turned by half a turn it lies on itself, turned over it never does.
LEANING = [(0, 0), (240, 0), (260, 70), (20, 70)]
PIN_WHEEL = [(0, 0), (60, 0), (60, 20), (80, 20), (80, 80), (20, 80), (20, 60), (0, 60)]
HOOK = [(0, 0), (60, 0), (60, 20), (20, 20), (20, 90), (0, 90)]


@pytest.mark.parametrize(
    ("corners", "same"),
    [
        (CUFF, True),
        (SQUARE, True),
        (TRIANGLE, True),
        (KITE, True),
        (PIN_WHEEL, True),
        (LEANING, False),
        (HOOK, False),
    ],
)
@examples(15)
@given(turn=st.floats(0, 360), first=st.integers(0, 7), over=st.booleans())
def test_figures_of_plane_geometry(
    corners: list[tuple[float, float]], same: bool, turn: float, first: int, over: bool
) -> None:
    angle = np.radians(turn)
    spin = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    points = np.roll(np.array(corners, dtype=float), first, axis=0)
    if over:
        points = (points * (-1, 1))[::-1]
    assert is_own_mirror_image(points @ spin + (700.0, -300.0), 0.5) is same
