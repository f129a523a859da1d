"""Darts: legs by Pythagoras, tips inside and outside, widths across the sizes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.review.strips import only, rules, strip, strip_set

WIDTHS = (200.0, 210.0, 220.0, 230.0)


def test_a_tip_above_the_middle_is_silent() -> None:
    assert rules(strip_set([strip(200.0)])) == []


@pytest.mark.parametrize(("aside", "apart", "sews"), [(5.0, 1.96, True), (12.0, 4.59, False)])
def test_legs_that_differ(aside: float, apart: float, sews: bool) -> None:
    """Legs to (±10, 0) from (a, -50): roots of (10 ∓ a)² + 50²."""
    long, short = ((10 + s * aside) ** 2 + 2500.0 for s in (1, -1))
    assert abs(long**0.5 - short**0.5 - apart) < 0.01
    found = only(strip_set([strip(200.0, tip=(100.0 + aside, 50.0))]))
    assert (found.rule, found.sews) == ("dart legs differ", sews)
    assert f"{long**0.5:.1f} mm ('leg_left') and" not in found.text  # the right leg is first
    assert f"({aside:.1f} mm from above the middle of the mouth" in found.text
    assert "'leg_left'" in found.text


def test_a_difference_of_a_millimetre_is_drawing() -> None:
    """(10 + 2)² + 50² and (10 - 2)² + 50²: 51.42 and 50.64."""
    assert rules(strip_set([strip(200.0, tip=(102.0, 50.0))])) == []


def test_a_tip_outside_the_piece() -> None:
    found = only(strip_set([strip(200.0, tip=(100.0, -25.0))]))
    assert (found.rule, found.sews) == ("dart tip outside", False)
    assert "25.0 mm outside" in found.text
    above = only(strip_set([strip(200.0, tip=(100.0, 3100.0))]))
    assert "3000.0 mm outside" in above.text


def test_the_same_in_several_sizes_is_told_once() -> None:
    nest = [strip(w, tip=(w / 2, -25.0 if i else 50.0)) for i, w in enumerate(WIDTHS)]
    found = only(strip_set(nest))
    assert found.where == "piece 'strip', size 'S1', 'S2', 'S3', dart 'dart'"
    assert found.text.startswith("in 'S1' found the tip 25.0 mm outside the piece")


def test_a_dart_wider_than_long() -> None:
    found = only(strip_set([strip(200.0, tip=(100.0, 85.0))]))
    assert found.rule == "dart wider than long"
    assert "mouth of 20.0 mm and a depth of 15.0 mm" in found.text


def test_a_dart_that_jumps_in_one_size() -> None:
    nest = [strip(w, intake=28.0 if i == 2 else 20.0) for i, w in enumerate(WIDTHS)]
    found = only(strip_set(nest))
    assert (found.rule, found.sews) == ("dart out of line", True)
    assert "mouth of 28.0 mm" in found.text
    assert "about 20.0 mm (+8.0)" in found.text
    deep = [strip(w, tip=(w / 2, 30.0 if i == 1 else 50.0)) for i, w in enumerate(WIDTHS)]
    assert "depth from mouth to tip of 70.0 mm" in only(strip_set(deep)).text


@pytest.mark.parametrize("at", [1, 3])
def test_a_dart_in_another_place(at: int) -> None:
    nest = [strip(w) for w in WIDTHS]
    sized, by = nest[at], 15.0
    nest[at] = replace(
        sized,
        landmarks=tuple(
            replace(mark, point=(mark.point[0] - by, mark.point[1])) if "leg" in mark.name else mark
            for mark in sized.landmarks
        ),
        darts=(replace(sized.darts[0], tip=(sized.darts[0].tip[0] - by, 50.0)),),
    )
    found = only(strip_set(nest))
    assert (found.rule, found.where) == (
        "dart out of line",
        f"piece 'strip', size 'S{at}', dart 'dart'",
    )
    assert f"the middle of its mouth {WIDTHS[at] / 2 + by:.1f} mm from" in found.text


def test_darts_that_grow_are_silent() -> None:
    nest = [strip(w, intake=20.0 + 1.5 * i) for i, w in enumerate(WIDTHS)]
    assert rules(strip_set(nest)) == []


def test_legs_whose_names_are_exchanged_in_one_size() -> None:
    nest = [strip(200.0) for _ in range(4)]
    dart = nest[1].darts[0]
    nest[1] = replace(nest[1], darts=(replace(dart, legs=(dart.legs[1], dart.legs[0])),))
    found = only(strip_set(nest))
    assert (found.rule, found.where) == (
        "dart legs exchanged",
        "piece 'strip', size 'S1', dart 'dart'",
    )
