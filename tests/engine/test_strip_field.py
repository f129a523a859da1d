"""How a strip is made longer: its ends do not turn, its width stays, what lies on it goes along.

Straight strips, worked out by hand; a ring sector, by its radius.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.engine.strip import Strip, StripField, stretched_piece, strip_field
from propagate.pattern.model import Dart, InternalLine, Landmark, Mark, SizedPiece
from tests.engine.test_corners_that_follow import _piece, length
from tests.examples import examples


def slanted(left: float, right: float) -> SizedPiece:
    """200 mm along the near side, 40 wide; its ends lean in by so many millimetres."""
    return _piece(
        ("near", np.array([(0.0, 0.0), (200.0, 0.0)])),
        ("right", np.array([(200.0, 0.0), (200.0 - right, 40.0)])),
        ("far", np.array([(200.0 - right, 40.0), (left, 40.0)])),
        ("left", np.array([(left, 40.0), (0.0, 0.0)])),
    )


def made_longer(piece: SizedPiece, marks: list[float], gains: list[float], stays: float = 0.0):
    strip = Strip(piece, ("near",), ("far",))
    return stretched_piece(strip, strip_field(strip, np.array(marks), np.array(gains), stays))


@examples(30)
@given(
    left=st.floats(-30.0, 30.0),
    right=st.floats(-30.0, 30.0),
    first=st.floats(-12.0, 25.0),
    second=st.floats(-12.0, 25.0),
    stays=st.floats(0.0, 200.0),
)
def test_both_sides_gain_alike_and_no_end_turns(left, right, first, second, stays) -> None:
    old = slanted(left, right)
    new = made_longer(old, [0.0, 90.0, 200.0], [first, second], stays)
    for edge in ("near", "far"):
        assert length(new, edge) - length(old, edge) == pytest.approx(first + second, abs=1e-5)
    for edge in ("left", "right"):
        shift = new.edge(edge).points - old.edge(edge).points
        assert np.ptp(shift, axis=0) == pytest.approx([0.0, 0.0], abs=2e-6)
    assert (new.outline[:, 1] == old.outline[:, 1]).all()


def test_what_lies_on_a_strip_goes_along_and_beyond_the_last_mark_nothing_is_stretched() -> None:
    piece = replace(
        slanted(0.0, 0.0),
        landmarks=(
            Landmark("half", "near", (50.0, 0.0)),
            Landmark("last", "near", (100.0, 0.0)),
            Landmark("button", "near", (180.0, 0.0)),
            Landmark("across", "far", (75.0, 40.0)),
            Landmark("a", "far", (150.0, 40.0), "dart leg"),
            Landmark("b", "far", (146.0, 40.0), "dart leg"),
        ),
        darts=(Dart("dart", "far", ("a", "b"), (148.0, 20.0)),),
        drills=(Mark("hole", (25.0, 20.0)),),
        lines=(InternalLine("fold", np.array([(0.0, 20.0), (100.0, 20.0), (200.0, 20.0)])),),
    )
    new = made_longer(piece, [0.0, 100.0], [10.0])
    x = {name: new.landmark(name).point[0] for name in ("half", "last", "button", "across")}
    assert x == pytest.approx({"half": 55.0, "last": 110.0, "button": 190.0, "across": 82.5})
    assert new.drills[0].point == pytest.approx((27.5, 20.0))
    assert new.darts[0].tip == pytest.approx((158.0, 20.0))
    assert new.lines[0].points[:, 0] == pytest.approx([0.0, 110.0, 210.0])
    assert length(new, "near") == pytest.approx(210.0)


def test_what_does_not_move_keeps_every_digit() -> None:
    piece = replace(
        slanted(0.0, 0.0), landmarks=(Landmark("here", "near", (60.123456789123, 0.0)),)
    )
    new = made_longer(piece, [100.0, 200.0], [10.0])
    assert new.landmarks == piece.landmarks
    assert new.edge("left") is piece.edge("left")
    held = made_longer(piece, [0.0, 100.0], [10.0], stays=100.0)
    assert held.edge("right") is piece.edge("right")


@pytest.mark.parametrize("gain", [14.0, -9.0])
def test_a_ring_sector_keeps_its_angle_and_its_width(gain: float) -> None:
    """Near side outside, of radius 300: the new radii are (300 a + gain) / a, and 35 less."""
    angle, steps = 0.8, np.linspace(0.0, 0.8, 161)
    ring = np.column_stack([np.cos(steps), np.sin(steps)])
    piece = _piece(
        ("near", 300.0 * ring),
        ("right", np.array([300.0 * ring[-1], 265.0 * ring[-1]])),
        ("far", 265.0 * ring[::-1]),
        ("left", np.array([265.0 * ring[0], 300.0 * ring[0]])),
    )
    new = made_longer(piece, [0.0, length(piece, "near")], [gain])
    line = shapely.LineString(new.edge("near").points)
    gaps = [line.distance(shapely.Point(p)) for p in new.edge("far").points[1:-1]]
    assert np.array(gaps) == pytest.approx(35.0, abs=2e-3)
    radius = (300.0 * angle + gain) / angle
    near, far = (new.edge(name).points for name in ("near", "far"))
    chord = 2.0 * np.sin(angle / 2)
    assert np.hypot(*(near[-1] - near[0])) == pytest.approx(radius * chord, abs=0.05)
    assert np.hypot(*(far[-1] - far[0])) == pytest.approx((radius - 35.0) * chord, abs=0.05)


def test_a_field_is_told_between_its_places() -> None:
    field = StripField(
        np.array([0.0, 10.0]), np.array([(0.0, 0.0), (2.0, 4.0)]), np.array([0.0, 12.0])
    )
    assert field.at(np.array([5.0, 20.0])) == pytest.approx(np.array([(1.0, 2.0), (2.0, 4.0)]))
