"""Where both sizes are straight the blend draws a straight line, and no kink at the hold.

Front and back of this trouser have a centre that is straight from 12 mm below the hip up
to the waist, at the same angle in every size: between hold and waist there is nothing to
fade.
"""

from __future__ import annotations

import pytest

from propagate import Blend, blend
from tests.engine import measure


@pytest.mark.parametrize("silhouette", ["full_front", "back"])
@pytest.mark.parametrize(("upper", "lower"), [("36", "38"), ("36", "44"), ("48", "50")])
def test_a_centre_that_is_straight_in_both_sizes_stays_straight(silhouette, upper, lower):
    pattern = measure.demo("slant_trouser")
    result = blend(pattern, Blend({"waist": upper, "hip": lower}))
    new = measure.taped(result.pattern, silhouette, result.pattern.base)
    top = new.above("centre", "waist", "hip")
    assert measure.nearest(top, [top[0], top[-1]]).max() < 0.01
    kept = measure.taped(pattern, silhouette, lower).above("centre", "waist", "hip")
    angles = [measure.end_tangent(line, "start") for line in (top, kept)]
    assert abs(measure.degrees_between(*angles)) < 0.01
    assert not [notice for notice in result.record.warnings if "centre" in notice.where]
