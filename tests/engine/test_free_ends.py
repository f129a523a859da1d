"""Ends of a bag's free edge on a new outline, and openings that run outside it.

Judged by closed forms (a line that meets another at a known angle) and with shapely.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

import propagate
from propagate.engine.relations.free_end import seat_free_end
from propagate.geometry.motion import IDENTITY
from propagate.pattern.patternset import PatternSet
from tests import builders
from tests.engine import measure
from tests.shared import demo

OUTLINE = np.array([[-400.0, 0.0], [400.0, 0.0]])  # the silhouette lies below it


def bag(angle: float, beyond: float, size: float = 300.0) -> np.ndarray:
    """A bag's edge in chords of 5 mm that crosses the outline at the origin, at an angle."""
    along = np.linspace(beyond - size, beyond, round(size / 5.0) + 1)
    return np.outer(along, [math.cos(math.radians(angle)), math.sin(math.radians(angle))])


@pytest.mark.parametrize("beyond", [3.0, 24.0, 26.0, 61.0, 150.0])
@pytest.mark.parametrize("angle", [21.0, 45.0, 60.0, 71.0, 90.0, 135.0])
def test_an_end_outside_is_trimmed_however_much_that_is(angle: float, beyond: float) -> None:
    line = bag(angle, beyond)
    seated = seat_free_end(line, IDENTITY, OUTLINE, lambda: 40.0, outside=True)
    assert seated.how == "trimmed"
    assert seated.moved_mm == pytest.approx(beyond, abs=1e-6)
    # It ends where it crossed the outline, and nothing else of it moved.
    assert seated.points[-1] == pytest.approx([0.0, 0.0], abs=1e-6)
    assert seated.split.distance == pytest.approx(400.0, abs=1e-6)
    assert np.array_equal(seated.points[:-2], line[: len(seated.points) - 2])
    assert not shapely.LineString(seated.points[:-1]).crosses(shapely.LineString(OUTLINE))


@pytest.mark.parametrize("angle", [8.0, 14.0, 19.0])
@pytest.mark.parametrize("beyond", [5.0, 40.0])
def test_an_end_outside_that_grazes_is_faded(angle: float, beyond: float) -> None:
    """Under 20 degrees a small move of the outline would cut off much: it keeps its place."""
    line = bag(angle, beyond)
    seated = seat_free_end(line, IDENTITY, OUTLINE, lambda: 380.0, outside=True)
    assert seated.how in ("faded", "trimmed")
    assert seated.points[-1][1] == pytest.approx(0.0, abs=1e-6)
    held = np.hypot(*(line - line[-1]).T) > 60.0 + 5.0  # the fade's length, and a chord
    kept = seated.points[: int(held.sum())]
    assert np.array_equal(kept, line[: len(kept)]), "beyond the fade no digit changes"
    if seated.how == "faded":
        assert seated.split.distance == pytest.approx(380.0)
        assert seated.ahead_mm is None, "it was the angle"
        assert (seated.points[:-1, 1] < 1e-9).all(), "no bulge through the outline"


@pytest.mark.parametrize(
    ("short", "how"), [(10.0, "extended"), (24.9, "extended"), (31.0, "faded")]
)
def test_an_end_inside_runs_on_for_25_mm_at_most(short: float, how: str) -> None:
    line = bag(60.0, -short)
    seated = seat_free_end(line, IDENTITY, OUTLINE, lambda: 400.0)
    assert seated.how == how
    assert seated.points[-1] == pytest.approx([0.0, 0.0], abs=1e-6)
    if how == "faded":
        assert seated.ahead_mm == pytest.approx(short, abs=1e-6)


def test_a_curved_bag_is_cut_where_shapely_cuts_it() -> None:
    turn = np.radians(np.linspace(-150.0, 10.0, 161))
    arc = 120.0 * np.column_stack([np.cos(turn), np.sin(turn)]) + [0.0, -60.0]
    arc = arc[arc[:, 1] < 90.0]
    wave = np.column_stack([np.linspace(-50.0, 300.0, 200), np.zeros(200)])
    wave[:, 1] = -100.0 + 12.0 * np.sin(wave[:, 0] / 40.0)
    seated = seat_free_end(arc, IDENTITY, wave, lambda: None, outside=True)
    crossing = shapely.LineString(arc).intersection(shapely.LineString(wave))
    hits = shapely.get_coordinates(crossing)
    last = max(hits, key=lambda hit: shapely.LineString(arc).project(shapely.Point(hit)))
    assert seated.how == "trimmed"
    assert seated.moved_mm > 25.0
    assert seated.points[-1] == pytest.approx(last, abs=1e-5)


@pytest.mark.parametrize(("waist", "hip", "pocket"), [("36", "52", "lower"), ("40", "50", "upper")])
def test_bags_of_a_far_pair_are_cut_and_not_hooked(waist: str, hip: str, pocket: str) -> None:
    """The bags reach up to 61 mm beyond the new side: what is left is what they were."""
    trousers = demo("slant_trouser")
    result = propagate.blend(trousers, propagate.Blend({"waist": waist, "hip": hip}, pocket=pocket))
    new = result.pattern
    taken = {"upper": waist, "lower": hip}[pocket]
    for layer in _bags(new):
        old = trousers.sized(layer, taken).edge("bag")
        now = new.sized(layer, new.base).edge("bag")
        # In the layer's own frame the edge lies on its old line; at the waist it may run on.
        line = shapely.LineString(old.points)
        ends = [shapely.Point(now.points[k]) for k in (0, -1)]
        cut = max(
            min(line.project(end), line.length - line.project(end))
            for end in ends
            if line.distance(end) < 1e-3
        )
        assert cut > 25.0
        told = [n.text for n in result.record.warnings if n.where == layer and "side" in n.text]
        assert not [text for text in told if "faded" in text]


def _bags(pattern: PatternSet) -> list[str]:
    (stack,) = pattern.relations.stacks.values()
    return [layer.piece for layer in stack.layers if layer.bag]


@pytest.fixture
def flared(monkeypatch: pytest.MonkeyPatch) -> PatternSet:
    """A pocket skirt whose largest waist is wider than its smallest hip.

    There the side flares out above the hip, so that a straight opening from near the side
    corner to near the hip cuts across the hollow of it.
    """
    for name, values in (("WAIST", (150.0, 190.0, 250.0)), ("HIP", (195.0, 215.0, 260.0))):
        monkeypatch.setattr(builders, name, dict(zip(builders.SIZES, values, strict=True)))
    heights = {"MOUTH_LOW_Y": -185.0, "FACING_LOW_Y": -192.0, "BAG_LOW_Y": -197.0}
    for name, value in {**heights, "MOUTH_IN": 20.0, "FACING_IN": 60.0, "BAG_IN": 90.0}.items():
        monkeypatch.setattr(builders, name, value)
    return builders.pocket_set()


@pytest.mark.parametrize("pocket", ["upper", "lower"])
@pytest.mark.parametrize("hip", ["36", "38"])
def test_an_opening_outside_is_told_with_every_layer(
    flared: PatternSet, hip: str, pocket: str
) -> None:
    result = propagate.blend(flared, propagate.Blend({"waist": "40", "hip": hip}, pocket=pocket))
    whole = measure.taped(result.pattern, "full_front", result.pattern.base)
    mouth = shapely.LineString(
        result.pattern.sized("front", result.pattern.base).edge("mouth").points
    )
    out = mouth.difference(whole.polygon.buffer(0.05))
    finely = shapely.points(shapely.get_coordinates(shapely.segmentize(out, 0.1)))
    far = shapely.distance(finely, whole.polygon).max()
    assert far > 1.0
    (text,) = [
        n.text for n in result.record.warnings if n.where == "front_pocket" and "outside" in n.text
    ]
    assert f"for {out.length:.0f} mm, by up to {far:.1f} mm" in text
    (stack,) = flared.relations.stacks.values()
    for layer in stack.layers:
        assert f"'{layer.piece}'" in text


def test_an_opening_inside_is_not_told(flared: PatternSet) -> None:
    """Where the side is hollow the other way, and in every pair of the demo skirt."""
    for waist, hip in (("36", "38"), ("38", "40"), ("36", "40")):
        result = propagate.blend(flared, propagate.Blend({"waist": waist, "hip": hip}))
        assert not [n.text for n in result.record.warnings if "outside" in n.text]


def test_a_bag_that_would_run_on_for_long_says_so() -> None:
    trousers = demo("slant_trouser")
    result = propagate.blend(
        trousers, propagate.Blend({"waist": "52", "hip": "36"}, pocket="lower")
    )
    for layer in _bags(result.pattern):
        (text,) = [n.text for n in result.record.warnings if n.where == layer and "faded" in n.text]
        assert "would have to run on for" in text
        assert "flat" not in text
