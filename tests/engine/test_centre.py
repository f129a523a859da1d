"""The centre seam: straight where both sizes are, faded where they slant differently.

Front and back of the demo trouser have a centre that is straight from 12 mm below the hip
up to the waist, at the same angle in every size: between hold and waist there is nothing
to fade.  A small skirt is slanted on purpose.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from propagate import Blend, blend
from propagate.pattern.patternset import PatternSet
from propagate.pattern.validate import find_problems
from tests import builders
from tests.engine import measure
from tests.shared import blended, demo


@pytest.mark.parametrize("silhouette", ["full_front", "back"])
@pytest.mark.parametrize(("upper", "lower"), [("36", "38"), ("36", "44"), ("48", "50")])
def test_a_centre_that_is_straight_in_both_sizes_stays_straight(silhouette, upper, lower):
    pattern = demo("slant_trouser")
    result = blended("slant_trouser", upper, lower)
    new = measure.taped(result.pattern, silhouette, result.pattern.base)
    top = new.above("centre", "waist", "hip")
    assert measure.nearest(top, [top[0], top[-1]]).max() < 0.01
    kept = measure.taped(pattern, silhouette, lower).above("centre", "waist", "hip")
    angles = [measure.end_tangent(line, "start") for line in (top, kept)]
    assert abs(measure.degrees_between(*angles)) < 0.01
    assert not [notice for notice in result.record.warnings if "centre" in notice.where]


def slanted(lean: dict[str, float], foot: float = builders.HIP_Y) -> PatternSet:
    """The tiny skirt whose centre leans in by so many mm above a height, by size."""
    pattern = builders.tiny_set()
    for size, mm in lean.items():
        for name, sense in (("front", 1), ("back", -1)):
            waist = np.array(pattern.pieces[name].at(size).edge("waist").points)
            waist[:, 0] += sense * mm * (1 - np.abs(waist[:, 0]) / builders.WAIST[size])
            top = waist[-1 if name == "front" else 0]
            centre = [top, (0.0, foot), (0.0, builders.HEM_Y)]
            pattern = builders.with_edge(pattern, name, size, "waist", waist)
            pattern = builders.with_edge(
                pattern, name, size, "centre", centre if name == "front" else centre[::-1]
            )
    assert find_problems(pattern) == ()
    return pattern


@pytest.mark.parametrize("mm", [3.0, 6.0, 12.0])
@pytest.mark.parametrize("silhouette", ["front", "back"])
def test_a_centre_that_slants_otherwise_is_faded_from_the_one_to_the_other(silhouette, mm):
    """Upright up to the hold, then atan(mm / 200) off: without a fade a kink of 0.9 to 3.4 degrees.

    The fade leaves the hold upright and ends along the upper size's own line.  Such a
    curve has to bend both ways; a cubic would bend with 4 turns over the length, no curve
    can do with less than 2.41 (two arcs), the plain arc has 2.
    """
    pattern = slanted({"36": mm})
    result = blend(pattern, Blend({"waist": "36", "hip": "40"}))
    new = measure.taped(result.pattern, silhouette, result.pattern.base)
    drawn = new.above("centre", "waist", "hip")
    assert np.allclose(drawn[0], (0.0, builders.HIP_Y))
    assert np.abs(drawn[-1] - [mm if silhouette == "front" else -mm, 0.0]).max() < 1e-6
    lean = math.atan2(mm, 200.0)
    away = -lean if silhouette == "front" else lean
    angles = [measure.end_tangent(drawn, end) for end in ("start", "end")]
    assert abs(measure.degrees_between(math.pi / 2, angles[0])) < 0.05
    assert abs(measure.degrees_between(math.pi / 2 + away, angles[1])) < 0.05
    size = math.hypot(mm, 200.0)
    assert 2.3 * lean / size < measure.largest_curvature(drawn) < 1.6 * 2 * lean / size
    bends = measure.inflections(drawn)
    assert bends <= 1
    (row,) = [r for r in result.record.fairness if r.edge == f"{silhouette}/centre"]
    assert row.ok
    assert row.inflections == bends
    said = [n.text for n in result.record.warnings if n.where == f"{silhouette}/centre"]
    assert len(said) == bends
    assert all("another direction than size 40" in text for text in said)


def test_a_centre_that_slants_alike_is_not_faded():
    """The slant begins below the hold, and is the same in both sizes: nothing to fade."""
    pattern = slanted({"36": 6.0, "40": 6.0}, foot=-300.0)
    result = blend(pattern, Blend({"waist": "36", "hip": "40"}))
    for name in ("front", "back"):
        new = result.pattern.pieces[name].at(result.pattern.base).edge("centre").points
        old = pattern.pieces[name].at("40").edge("centre").points
        assert len(new) == 4, "corners, the foot of the slant and the hold"
        assert measure.farthest_apart(new, old) < 1e-6


def curved_at_hip(chord: float, bend: float = 1 / 200, size: float = 12.6) -> PatternSet:
    """The tiny skirt whose centre leans in from the hip up, by an arc that ends or begins there.

    Straight up from the hem, an arc of 12.6 mm that ends at the hip, straight on to the waist:
    the same in every size, so that a blend has nothing to fade.
    """
    pattern = builders.tiny_set()
    lean = size * bend
    for name, sense in (("front", 1), ("back", -1)):
        for grade in pattern.sizes:
            turned = np.linspace(0.0, lean, round(size / chord) + 1)
            arc = np.column_stack([(1 - np.cos(turned)) / bend, np.sin(turned) / bend])
            arc += [0.0, builders.HIP_Y - arc[-1][1]]
            top = arc[-1] + (0.0 - arc[-1][1]) / math.cos(lean) * np.array(
                [math.sin(lean), math.cos(lean)]
            )
            centre = np.vstack([[0.0, builders.HEM_Y], arc, top]) * [sense, 1.0]
            waist = np.array(pattern.pieces[name].at(grade).edge("waist").points)
            share = 1 - np.abs(waist[:, 0]) / builders.WAIST[grade]
            waist[:, 0] += sense * top[0] * share
            hem = np.array(pattern.pieces[name].at(grade).edge("hem").points)
            pattern = builders.with_edge(pattern, name, grade, "waist", waist)
            pattern = builders.with_edge(pattern, name, grade, "hem", hem)
            pattern = builders.with_edge(
                pattern, name, grade, "centre", centre[::-1] if name == "front" else centre
            )
    return pattern


@pytest.mark.parametrize("chord", [1.05, 2.1, 4.2])
@pytest.mark.parametrize(("waist", "hip"), [("36", "38"), ("38", "36"), ("36", "40")])
def test_a_short_arc_between_two_straights_makes_no_kink(chord, waist, hip):
    """The arc ends at the hold: what lies above it is straight on, and stays as drawn.

    Read over the 400 mm below it too, the arc's end is 1.6 degrees off; then the top was
    faded from there, 1.2 mm off, and the kink was told.
    """
    pattern = curved_at_hip(chord)
    result = blend(pattern, Blend({"waist": waist, "hip": hip}))
    for name in ("front", "back"):
        new = result.pattern.pieces[name].at(result.pattern.base).edge("centre").points
        old = pattern.pieces[name].at(hip).edge("centre").points
        assert measure.farthest_apart(new, old) < 0.01
        (row,) = [r for r in result.record.fairness if r.edge == f"{name}/centre"]
        assert row.ok
        assert abs(row.join_deg) < 0.05
    assert not [n for n in result.record.warnings if "centre" in n.where]
