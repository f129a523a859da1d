"""The chart by itself, and the garment against the body: figures by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.review.strips import on_body, only, rules, strip, strip_set, widths

FOUR = (300.0, 320.0, 340.0, 360.0)  # twice that is the garment: 600, 640, 680, 720
BODY = (560.0, 600.0, 640.0, 680.0)


def test_a_chart_that_fits_is_silent() -> None:
    assert rules(on_body(widths(*FOUR), {"hip": BODY})) == []


@pytest.mark.parametrize(("by", "words"), [(10.0, "centimetres"), (25.4, "inches")])
def test_a_row_in_another_unit(by: float, words: str) -> None:
    found = only(on_body(widths(*FOUR), {"hip": [value / by for value in BODY]}))
    assert found.rule == "chart in another unit"
    assert f"in {words}, read as millimetres" in found.text
    assert "a garment of 600.0 to 720.0 mm" in found.text


def test_one_value_in_inches() -> None:
    found = only(on_body(widths(*FOUR), {"hip": (560.0, 23.6, 640.0, 680.0)}))
    assert found.where == "chart, row 'hip', size 'S1'"
    assert "in inches, read as millimetres" in found.text


def test_a_row_without_a_girth_that_no_body_has() -> None:
    rows = {"hip": BODY, "rise": (27.0, 27.5, 28.0, 28.5)}
    assert only(on_body(widths(*FOUR), rows)).where == "chart, row 'rise'"


def test_digits_exchanged_in_one_value() -> None:
    pattern = replace(widths(200.0, 210.0, 220.0, 230.0, 240.0), chart={})
    found = only(on_body(pattern, {"chest": (840.0, 880.0, 290.0, 960.0, 1000.0)}))
    assert found.rule == "chart in another unit" or "about 920.0" in found.text
    found = only(on_body(pattern, {"chest": (840.0, 880.0, 990.0, 960.0, 1000.0)}))
    assert (found.rule, found.where) == ("chart out of line", "chart, row 'chest', size 'S2'")
    assert "about 920.0 mm (+70.0)" in found.text


def test_a_row_that_goes_back_and_on() -> None:
    pattern = widths(200.0, 210.0, 220.0, 230.0, 240.0)
    found = only(on_body(pattern, {"chest": (840.0, 880.0, 960.0, 920.0, 1000.0)}))
    assert (found.rule, found.where) == ("chart out of order", "chart, sizes 'S2' and 'S3'")
    assert "'chest' 960.0 and then 920.0" in found.text


def test_a_row_that_falls_in_the_large_sizes_may_be_meant() -> None:
    pattern = widths(200.0, 210.0, 220.0, 230.0, 240.0)
    assert rules(on_body(pattern, {"leg": (780.0, 784.0, 786.0, 785.0, 783.0)})) == []


def test_a_garment_smaller_than_the_body_in_one_size() -> None:
    """A chart rounded otherwise in S1: 650 for a garment of 640."""
    found = only(on_body(widths(*FOUR), {"hip": (600.0, 650.0, 680.0, 720.0)}))
    assert (found.rule, found.sews) == ("garment smaller than the body", True)
    assert "640.0 mm on a body of 650.0 mm in size 'S1' (-10.0" in found.text


def test_every_size_is_looked_at_not_the_base_alone() -> None:
    found = only(on_body(widths(*FOUR), {"hip": (580.0, 620.0, 660.0, 725.0)}))
    assert "size 'S3'" in found.text


def test_half_of_the_garment() -> None:
    """Counted once: 300 on 560 is 0.54 of the body."""
    found = only(on_body(widths(*FOUR), {"hip": BODY}, times=1))
    assert "mirrored pieces count twice ('times' is 1)" in found.text
    assert "smaller in every size" in found.text


def test_ease_out_of_line() -> None:
    """Ease 40 everywhere, 31 and 49 are near; 20 is not: 660 for 640, of steps 40 and 40."""
    even = widths(300.0, 320.0, 340.0, 360.0, 380.0, 400.0)
    near = {"hip": (560.0, 600.0, 645.0, 680.0, 720.0, 760.0)}
    assert rules(on_body(even, near)) == []
    far = {"hip": (560.0, 600.0, 649.5, 680.0, 720.0, 760.0)}
    found = only(on_body(even, far))
    assert (found.rule, found.where) == ("ease out of line", "girth 'hip', size 'S2'")
    assert "30.5 mm of ease" in found.text


def test_a_result_of_one_size_is_compared_too() -> None:
    one = on_body(strip_set([strip(300.0)]), {"hip": (640.0,)})
    assert only(one).rule == "garment smaller than the body"


def test_a_garment_that_does_not_grow_with_the_body() -> None:
    """Rules read from size to size: 0, 20, 60, 120 for 0, 20, 40, 60, so 240 mm for 120."""
    pattern = widths(300.0, 320.0, 360.0, 420.0)
    found = only(on_body(pattern, {"hip": BODY}))
    assert found.rule == "graded unlike the chart"
    assert "grows by 240 mm from 'S0' to 'S3' and a body that grows by 120 mm" in found.text
    assert "ease 40 to 160 mm" in found.text
    assert rules(on_body(widths(300.0, 325.0, 350.0, 375.0), {"hip": BODY})) == []
