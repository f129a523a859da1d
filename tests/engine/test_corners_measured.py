"""A corner where all lines end as they did is not measured after an edit."""

import pytest

import propagate
from propagate.engine import truing
from tests.shared import demo


@pytest.fixture
def measured(monkeypatch):
    corners = []
    real = truing.corner_angles

    def note(lookup, seam, end):
        corners.append((seam.name, end))
        return real(lookup, seam, end)

    monkeypatch.setattr(truing, "corner_angles", note)
    return corners


def test_a_blend_measures_no_corner_below_the_hold(measured):
    pattern = demo("slant_trouser")
    propagate.blend(pattern, propagate.Blend({"waist": "42", "hip": "48"}))
    crossed = {
        (seam.name, end) for seam in pattern.relations.seams.values() for end in seam.crossing
    }
    # The hem and the crotch are the lower size's, digit for digit.
    assert {("side_seam", "end"), ("inseam", "start"), ("inseam", "end")} <= crossed
    assert {("side_seam", "start"), ("centre_back", "start")} == set(measured)


def test_a_corner_of_which_one_line_moved_is_measured(measured):
    pattern = demo("slant_trouser")
    edit = propagate.Blend({"waist": "48", "hip": "48"}, rise=260.0)
    propagate.blend(pattern, edit)
    assert ("side_seam", "start") in measured
    assert ("side_seam", "end") not in measured
