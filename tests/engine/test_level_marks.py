"""A notch at the hip stays at the hip, whatever the rise and the hold; else that is told first.

Heights are read off the drawings: the small skirts lie with their grain upright.
"""

from __future__ import annotations

import pytest

import propagate
from propagate.report.notices import list_warnings
from tests import builders

PIECES = ("front", "back")
PAIRS = [("36", "40"), ("40", "36"), ("38", "40")]


def blended(make: str, upper: str, lower: str, rise: float, hold: float | None) -> propagate.Result:
    pattern = getattr(builders, make)()
    edit = propagate.Blend({"waist": upper, "hip": lower}, rise=rise, hold=hold)
    return propagate.blend(pattern, edit)


def heights(result: propagate.Result) -> list[float]:
    pieces = [result.pattern.sized(name, result.record.size) for name in PIECES]
    return [piece.landmark("hip_notch").point[1] for piece in pieces]


@pytest.mark.parametrize("hold", [None, 20.0, 60.0])
@pytest.mark.parametrize("rise", [150.0, 200.0, 300.0])
@pytest.mark.parametrize(("upper", "lower"), PAIRS)
@pytest.mark.parametrize("make", ["tiny_set", "pocket_set"])
def test_level_and_notch_stay_at_the_hip(
    make: str, upper: str, lower: str, rise: float, hold: float | None
) -> None:
    result = blended(make, upper, lower, rise, hold)
    for name in PIECES:
        piece = result.pattern.sized(name, result.record.size)
        assert piece.levels["hip"] == (0.0, builders.HIP_Y)
    assert heights(result) == pytest.approx([builders.HIP_Y] * 2, abs=0.25)
    assert not any("was drawn on level" in warning.text for warning in result.record.warnings)


@pytest.mark.parametrize("hold", [None, 20.0, 60.0])
@pytest.mark.parametrize(("upper", "lower"), PAIRS)
def test_where_the_opening_goes_past_the_hip_that_is_said_first(
    upper: str, lower: str, hold: float | None
) -> None:
    """A rise of half of what was drawn brings the opening, of which no mm may be lost, there."""
    result = blended("pocket_set", upper, lower, 100.0, hold)
    front, back = heights(result)
    assert front == pytest.approx(back, abs=0.05)
    off = builders.HIP_Y - front
    assert off > 10.0
    first, second, *_ = list_warnings(result.pattern, result.record)
    assert set(first.places) == set(PIECES)
    assert f"‘hip notch’ was drawn on level ‘hip’ and lies {off:.1f} mm from it" in first.text
    assert "was put at that end" in second.text
