"""What is told of a name that is not there."""

from __future__ import annotations

import pytest

from propagate.errors import nearest_names

SIZES = ("36", "38", "40", "42", "44", "46", "48")


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("43", "'42' or '44'"),
        ("43.5", "'42' or '44'"),
        ("30", "'36'"),
        ("100", "'48'"),
        ("042", "'42'"),
        ("4Z", ""),
    ],
)
def test_a_number_is_answered_by_the_numbers_on_either_side(asked: str, told: str) -> None:
    for known in (SIZES, SIZES[::-1]):
        assert nearest_names(asked, known) == told


def test_a_word_is_answered_by_those_that_share_more_than_half_its_letters() -> None:
    assert nearest_names("side", ("shoulder", "neck", "armhole")) == ""
    assert nearest_names("sid", ("side", "shoulder")) == "'side'"
    assert nearest_names("waist", ("natural_waist", "hip")) == "'natural_waist'"
    assert nearest_names("7", ()) == ""
