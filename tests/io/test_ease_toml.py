"""Every way to say an ease, read, written, and allowed by the schema; and what is refused."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import jsonschema
import pytest

from propagate.errors import FormatError
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.ease import Ease
from propagate.pattern.validate import find_problems
from tests.builders import TINY_TOML, tiny_set
from tests.io.test_schema import validator

SAID = {
    "6": 6.0,
    "-2.5": -2.5,
    '"1cm"': 10.0,
    "{ share = 0.03 }": Ease(share=0.03),
    "{ from = 15, to = 25 }": Ease(between=(15.0, 25.0)),
    '{ 36 = 5, 38 = "6mm", 40 = { share = 0.01 } }': Ease(
        sizes=(("36", 5.0), ("38", 6.0), ("40", Ease(share=0.01)))
    ),
    '[{ to = "front.hip_notch", ease = 0 }, { to = "end", ease = { from = 1, to = 2 } }]': Ease(
        zones=(("front.hip_notch", 0.0), ("end", Ease(between=(1.0, 2.0))))
    ),
}


def with_ease(said: str) -> str:
    head = 'name = "side_seam"\n'
    assert TINY_TOML.count(head) == 1
    return TINY_TOML.replace(head, f"{head}ease = {said}\n")


@pytest.mark.parametrize("said", SAID)
def test_each_way_is_read_written_and_allowed(said: str) -> None:
    text = with_ease(said)
    validator("set").validate(tomllib.loads(text))
    head = parse_set(text, "set.toml")
    assert head.relations.seams["side_seam"].ease == SAID[said]
    pattern = replace(tiny_set(), relations=head.relations)
    assert find_problems(pattern) == ()
    again = render_set(pattern)
    assert parse_set(again, "again").relations == head.relations
    validator("set").validate(tomllib.loads(again))


def test_a_plain_number_stays_a_plain_number() -> None:
    pattern = replace(tiny_set(), relations=parse_set(with_ease("6"), "a").relations)
    assert "\nease = 6\n" in render_set(pattern)
    assert "ease" not in render_set(tiny_set())


@pytest.mark.parametrize(
    ("said", "word"),
    [
        ('"6 feet"', "share = 0.03"),
        ("true", "share = 0.03"),
        ("{}", "an empty table"),
        ("{ share = 30 }", "a share of the lead's length"),
        ("{ share = true }", "a share of the lead's length"),
        ("{ share = 0.03, from = 2 }", "'share', 'from'"),
        ("{ from = 3 }", "'from'"),
        ("{ from = 25, to = 15 }", "the smaller one first"),
        ("{ 36 = { 36 = 5 } }", "'36'"),
        ("[]", 'the last with to = "end"'),
        ('[{ to = "front.hip_notch", ease = 1 }]', 'the last with to = "end"'),
        ('[{ to = "end", eases = 1 }]', "unknown key 'eases'"),
        ('[{ to = "end", ease = [] }]', "an ease: mm or text"),
    ],
)
def test_what_is_no_ease_is_refused_with_what_was_expected(said: str, word: str) -> None:
    with pytest.raises(FormatError) as caught:
        parse_set(with_ease(said), "set.toml")
    assert "seam 'side_seam'" in str(caught.value) and word in str(caught.value)
    # The order of two numbers, and which zone is the last, no schema tells.
    if "first" not in word and not (said.startswith("[{") and "the last" in word):
        with pytest.raises(jsonschema.ValidationError):
            validator("set").validate(tomllib.loads(with_ease(said)))


@pytest.mark.parametrize(
    ("said", "word"),
    [
        ("{ 36 = 5, 38 = 6 }", "no ease for size '40'"),
        ("{ 36 = 5, 38 = 6, 40 = 6, 42 = 7 }", "'42'"),
        ('[{ to = "front.hipnotch" }, { to = "end", ease = 1 }]', "'hip_notch'"),
        ('[{ to = "back.hip_notch" }, { to = "end", ease = 1 }]', "is not on it"),
        (
            '[{ to = "front.hip_notch" }, { to = "front.hip_notch", ease = 2 }, { to = "end" }]',
            "expected the zones in order",
        ),
    ],
)
def test_an_ease_that_does_not_fit_its_set_is_told(said: str, word: str) -> None:
    head = parse_set(with_ease(said), "set.toml")
    found = find_problems(replace(tiny_set(), relations=head.relations))
    assert found and all("seam 'side_seam', ease" in line for line in found)
    assert word in found[0]
