"""Inches to 1/16 against exact fractions."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.lengths import parse_length
from propagate.report.units import INCHES, MILLIMETRES, is_shown, say_length, say_number

INCH = Fraction(254, 10)


@pytest.mark.parametrize(
    ("mm", "text"),
    [
        (0.0, "0"),
        (0.7, "0"),  # less than 1/32
        (25.4 / 16, "1/16"),
        (25.4 / 2, "1/2"),
        (25.4, "1"),
        (30.1625, "1 3/16"),
        (34.774558, "1 3/8"),
        (36.102458, "1 7/16"),
        (1083.566609, "42 11/16"),
        (25.0, "1"),
        (-3.175, "-1/8"),
    ],
)
def test_by_hand(mm: float, text: str) -> None:
    assert say_number(mm, INCHES) == text


@given(st.floats(-3000.0, 3000.0))
def test_the_nearest_sixteenth_in_lowest_terms(mm: float) -> None:
    text = say_number(mm, INCHES)
    read = parse_length(text, bare="in")
    assert read is not None
    shown_in = Fraction(0)
    for part in text.lstrip("-").split():
        shown_in += Fraction(part)
        if "/" in part:
            top, _, bottom = part.partition("/")
            assert Fraction(part) == Fraction(int(top), int(bottom))
            assert Fraction(part).denominator == int(bottom)
            assert int(bottom) in (2, 4, 8, 16) and int(top) < int(bottom)
    off = abs(abs(Fraction(mm)) / INCH - shown_in)
    assert off <= Fraction(1, 32) + Fraction(1, 10**9)
    assert is_shown(mm, INCHES) == (shown_in != 0)


@given(st.floats(0.0, 3000.0))
def test_millimetres_have_one_decimal(mm: float) -> None:
    assert say_length(mm, MILLIMETRES) == f"{mm:.1f} mm"
    assert is_shown(mm, MILLIMETRES) == (f"{mm:.1f}" != "0.0")
