"""From body measurements to sizes, by hand from the chart of the demo trousers."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from propagate import EditError, UnknownName, sizes_from_body
from propagate.lengths import parse_length
from propagate.report.blend_text import body_lines
from tests.builders import tiny_set
from tests.shared import demo

# waist  36 680, 38 716, 40 754, 42 794, 44 834, 46 876, 48 920, 50 966, 52 1014
# hip    36 920, 38 956, 40 994, 42 1034, 44 1074, 46 1114, 48 1156, 50 1200, 52 1244
PATTERN = demo("slant_trouser")


@pytest.mark.parametrize(
    ("waist", "size", "off"),
    [(680.0, "36", 0.0), (697.9, "36", 17.9), (698.1, "38", -17.9), (800.0, "42", 6.0)],
)
def test_the_nearest_size_and_what_is_left_over(waist: float, size: str, off: float) -> None:
    (choice,) = sizes_from_body(PATTERN, {"waist": waist}, nearest=True).choices
    assert choice.size == size
    assert math.isclose(choice.off_mm, off, abs_tol=1e-9)
    assert choice.warnings == ()
    assert choice.also is None


def test_a_tie_goes_to_the_larger_size_and_says_so() -> None:
    """774 lies halfway between 754 and 794."""
    chosen = sizes_from_body(PATTERN, {"waist": 774}, nearest=True)
    assert chosen.sizes == {"waist": "42"}
    assert chosen.choices[0].also == "40"
    assert "as near as 40" in "\n".join(body_lines(chosen))


def test_beyond_the_ends_of_the_chart() -> None:
    little = sizes_from_body(PATTERN, {"hip": 1260}, nearest=True)
    assert little.sizes == {"hip": "52"}
    assert len(little.warnings) == 1  # 16 mm, less than half of the last step of 44 mm
    assert "beyond the largest size" in little.warnings[0]
    assert "16 mm" in little.warnings[0]
    much = sizes_from_body(PATTERN, {"waist": 640}, nearest=True)
    assert much.sizes == {"waist": "36"}
    assert "beyond the smallest size" in much.warnings[0]
    assert "more than half of a step (36 mm)" in much.warnings[1]


@pytest.mark.parametrize(
    ("row", "body", "size"),
    [
        ("waist", 785.0, "41.55"),  # 31 of the 40 mm from 754 to 794
        ("waist", 794.0, "42"),
        ("hip", 1135.0, "47"),  # 21 of the 42 mm from 1114 to 1156
        ("waist", 662.0, "35"),  # half of the first step, 36 mm, below 680
        ("hip", 1288.0, "54"),  # the last step, 44 mm, once more
    ],
)
def test_nothing_is_left_over_between_two_sizes(row: str, body: float, size: str) -> None:
    (choice,) = sizes_from_body(PATTERN, {row: body}).choices
    assert choice.size == size
    assert abs(choice.off_mm) < 0.005
    assert bool(choice.warnings) is (not 680 <= body <= 1244)


@pytest.mark.parametrize(
    ("row", "body", "said"),
    [("waist", 640.0, "644 mm"), ("waist", 1063.0, "1062 mm"), ("hip", 880.0, "884 mm")],
)
def test_more_than_a_step_beyond_is_refused_with_the_nearest(
    row: str, body: float, said: str
) -> None:
    with pytest.raises(EditError, match=f"the nearest that can be is {said}"):
        sizes_from_body(PATTERN, {row: body})


def test_a_row_that_stands_still_or_turns_back() -> None:
    """A plateau gives its larger size; a body that a row has in two places is refused."""
    from dataclasses import replace

    def chart(*values: float) -> dict[str, dict[str, float]]:
        said = dict(zip(("36", "38", "40"), values, strict=True))
        return {"waist": said, "hip": {"36": 780, "38": 824, "40": 868}}

    still = replace(tiny_set(), chart=chart(700, 700, 760))
    (choice,) = sizes_from_body(still, {"waist": 700}).choices
    assert (choice.size, choice.also) == ("38", "36")
    back = replace(tiny_set(), chart=chart(700, 760, 740))
    with pytest.raises(EditError, match="in several places"):
        sizes_from_body(back, {"waist": 750})
    assert sizes_from_body(back, {"waist": 720}).choices[0].between is not None
    with pytest.raises(EditError, match="does not go on that way"):
        sizes_from_body(back, {"waist": 765})


def test_text_with_units() -> None:
    chosen = sizes_from_body(PATTERN, {"waist": "31 1/4in", "hip": "115.6 cm"})
    assert chosen.choices[0].body_mm == float(Fraction(125, 4) * Fraction(254, 10))
    assert chosen.choices[1].off_mm == 0.0


@pytest.mark.parametrize(
    ("body", "error", "said"),
    [
        ({"waist": "wide"}, EditError, "expected a length above 0"),
        ({"waist": 0.0}, EditError, "expected a length above 0"),
        ({"waist": float("nan")}, EditError, "expected a length above 0"),
        ({"waist": 31.0}, EditError, "was it 31 in?"),
        ({"waist": "77"}, EditError, "was it 77 cm?"),
        ({"hip": 10_000}, EditError, "expected something like"),
        ({"hips": 1000}, UnknownName, "did you mean 'hip'"),
        ({"inside_leg": 780}, EditError, "those that do: 'waist', 'hip'"),
    ],
)
def test_refusals(body: dict[str, float | str], error: type[Exception], said: str) -> None:
    with pytest.raises(error) as caught:
        sizes_from_body(PATTERN, body)
    assert said in str(caught.value)


def test_a_set_without_a_chart() -> None:
    from dataclasses import replace

    with pytest.raises(EditError, match="no chart"):
        sizes_from_body(replace(tiny_set(), chart={}), {"waist": 700})


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("770", 770.0),
        ("770mm", 770.0),
        ("77cm", 770.0),
        ("30.25in", 768.35),
        ("30 1/4in", 768.35),
        ("5/8 in", 15.875),
        ("-3", -3.0),
        ("30 1/4", 30.25),
    ],
)
def test_lengths(text: str, mm: float) -> None:
    found = parse_length(text, bare="mm")
    assert found is not None
    assert math.isclose(found, mm, rel_tol=1e-12)


@pytest.mark.parametrize("text", ["", "mm", "1 2mm", "1/0in", "1e3", "7 m", "nan", "٣", "3''"])
def test_what_is_no_length(text: str) -> None:
    assert parse_length(text, bare="mm") is None
