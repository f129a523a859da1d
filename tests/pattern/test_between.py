"""How sizes between those of a nest are called, by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from propagate.errors import EditError, UnknownName
from propagate.pattern.between import BetweenSize, relations_with_size, size_asked
from propagate.pattern.ease import Ease, ease_in_size
from tests.builders import tiny_set

NUMBERS = ("36", "38", "42", "44")
LETTERS = ("S", "M", "L")


@pytest.mark.parametrize(
    ("sizes", "text", "name", "ends", "share"),
    [
        (NUMBERS, "37", "37", ("36", "38"), 0.5),
        (NUMBERS, "39", "39", ("38", "42"), 0.25),  # the steps of a nest need not be alike
        (NUMBERS, "38+0.25", "39", ("38", "42"), 0.25),
        (NUMBERS, "42-.75", "39", ("38", "42"), 0.25),
        (NUMBERS, "43.50", "43.5", ("42", "44"), 0.75),
        (NUMBERS, "35", "35", ("36", "38"), -0.5),
        (NUMBERS, "46", "46", ("42", "44"), 2.0),
        (LETTERS, "S+0.4", "S+0.4", ("S", "M"), 0.4),
        (LETTERS, "M-0.6", "S+0.4", ("S", "M"), 0.4),
        (LETTERS, "S+1.4", "M+0.4", ("M", "L"), 0.4),
        (LETTERS, "L+1", "L+1", ("M", "L"), 2.0),
        (LETTERS, "S-0.5", "S-0.5", ("S", "M"), -0.5),
        (("S", "S+", "M"), "S++0.5", "S++0.5", ("S+", "M"), 0.5),
        (("6", "8+", "10"), "8++0.5", "8++0.5", ("8+", "10"), 0.5),
    ],
)
def test_where_a_size_lies(
    sizes: tuple[str, ...], text: str, name: str, ends: tuple[str, str], share: float
) -> None:
    found = size_asked(sizes, text, "set 'x'")
    assert isinstance(found, BetweenSize)
    assert (found.name, (found.first, found.second)) == (name, ends)
    assert abs(found.share - share) < 1e-12
    again = size_asked(sizes, found.name, "set 'x'")
    assert again == found  # it lies where its name says


@pytest.mark.parametrize(
    ("sizes", "text", "size"),
    [
        (NUMBERS, "38", "38"),
        (NUMBERS, "38.0", "38"),
        (NUMBERS, "36+1", "38"),
        (NUMBERS, "38-1.0", "36"),
        (LETTERS, "S+2", "L"),
        (("42", "42-44", "44"), "42-44", "42-44"),  # a size is what it is called first
    ],
)
def test_a_size_that_is_drawn_is_that_size(sizes: tuple[str, ...], text: str, size: str) -> None:
    assert size_asked(sizes, text, "set 'x'") == size


@pytest.mark.parametrize(
    ("sizes", "text", "nearest"),
    [
        (NUMBERS, "47", "'46'"),
        (NUMBERS, "33.9", "'34'"),
        (LETTERS, "L+1.01", "'L+1'"),
        (LETTERS, "S-7", "'S-1'"),
    ],
)
def test_too_far_beyond_the_nest(sizes: tuple[str, ...], text: str, nearest: str) -> None:
    with pytest.raises(EditError) as caught:
        size_asked(sizes, text, "set 'x'")
    assert f"found size '{text}'" in str(caught.value)
    assert f"the nearest that can be is {nearest}" in str(caught.value)


@pytest.mark.parametrize(
    ("sizes", "text"),
    [(LETTERS, "43"), (LETTERS, "XS+0.5"), (NUMBERS, "42+"), (NUMBERS, "nan"), (("42",), "42.5")],
)
def test_what_is_no_size(sizes: tuple[str, ...], text: str) -> None:
    with pytest.raises(UnknownName, match="no size"):
        size_asked(sizes, text, "set 'x'")


def test_a_name_that_is_taken_is_refused() -> None:
    with pytest.raises(EditError, match="as one that is drawn"):
        size_asked(("S", "S+0.5", "M"), "M-1.5", "set 'x'")


def _eased(first: object, second: object):
    source = tiny_set().relations
    ease = Ease(sizes=(("36", first), ("38", second), ("40", 9.0)))
    return replace(source, seams={"side_seam": replace(source.seams["side_seam"], ease=ease)})


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        (4.0, 8.0, 5.0),
        (Ease(share=0.02), Ease(share=0.06), Ease(share=0.03)),
        (Ease(between=(10, 20)), Ease(between=(14, 28)), Ease(between=(11, 22))),
    ],
)
def test_an_ease_for_each_size_lies_between_too(
    first: object, second: object, expected: object
) -> None:
    size = BetweenSize("36.5", "36", "38", 0.25)
    found = relations_with_size(_eased(first, second), size).seams["side_seam"].ease
    assert ease_in_size(found, "36.5") == expected
    assert ease_in_size(found, "38") == second


def test_eases_of_two_forms_have_nothing_between_them() -> None:
    with pytest.raises(EditError, match=r"side_seam.*one form in both"):
        relations_with_size(_eased(4.0, Ease(share=0.1)), BetweenSize("37", "36", "38", 0.5))
