"""The judge of the review: are mistakes told in words that name them, is what is sound left alone.

``python -m tests.review`` says which mistakes are not told, with all that is.
"""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

import propagate
from propagate.demo import MAIN_JOBS
from propagate.engine.review.run import review
from propagate.pattern.validate import find_problems
from tests.review.drafts import DRAFTS
from tests.review.further import FURTHER
from tests.review.judge import (
    DEMOS,
    Demo,
    Told,
    demo,
    does_not_sew,
    is_told,
    told_about,
    words_of,
    wrongly,
)
from tests.review.mistakes import MISTAKES
from tests.shared import blend_edit

ENOUGH = 95
"""Of a hundred mistakes so many are told in words that name them."""


@cache
def _told() -> tuple[Told, ...]:
    return tuple(told_about(mistake) for mistake in MISTAKES)


def test_there_are_a_hundred_mistakes_of_many_kinds() -> None:
    assert len(MISTAKES) == 100
    assert len({mistake.name for mistake in MISTAKES}) == 100
    assert set(Counter(mistake.demo for mistake in MISTAKES)) == set(DEMOS)


def test_no_mistake_is_told_of_a_sound_set() -> None:
    """The judge itself: its words must not be found where nothing is wrong."""
    sound = {name: Told((), review(demo(name)), demo(name)) for name in DEMOS}
    assert [m.name for m in MISTAKES if is_told(m, sound[m.demo])] == []


def test_mistakes_are_told_in_words_that_name_them() -> None:
    untold = [
        f"{mistake.demo}: {mistake.name}"
        for mistake, told in zip(MISTAKES, _told(), strict=True)
        if not is_told(mistake, told)
    ]
    assert len(MISTAKES) - len(untold) >= ENOUGH, "\n".join(untold)


def test_mistakes_that_no_rule_was_written_for_are_told() -> None:
    untold = [mistake.name for mistake in FURTHER if not is_told(mistake, told_about(mistake))]
    assert len(untold) <= 0.1 * len(FURTHER), "\n".join(untold)


def test_no_mistake_is_told_as_another() -> None:
    wrong = [
        f"{mistake.name}: {text}"
        for mistake, told in zip(MISTAKES, _told(), strict=True)
        for text in wrongly(mistake, told)
    ]
    assert wrong == []


@pytest.mark.parametrize("name", DEMOS)
def test_nothing_strikes_in_a_demo_set(name: Demo) -> None:
    assert [words_of(finding) for finding in review(demo(name))] == []


@pytest.mark.parametrize(
    ("name", "levels"),
    [
        *MAIN_JOBS.items(),
        ("slant_trouser", {"waist": "50", "hip": "44"}),
        ("scoop_skirt", {"natural_waist": "XL", "seat": "M"}),
        ("workshop_gilet", {"waist": "110", "hip": "90"}),
    ],
)
def test_nothing_strikes_in_a_blend(name: Demo, levels: dict[str, str]) -> None:
    blended = propagate.run(demo(name), blend_edit(demo(name), levels)).pattern
    assert [words_of(finding) for finding in review(blended)] == []


@pytest.mark.parametrize("name", DRAFTS)
def test_a_sound_draft_is_left_alone(name: str) -> None:
    draft = DRAFTS[name]()
    assert find_problems(draft) == ()
    assert does_not_sew(draft) == ()
    assert [words_of(finding) for finding in review(draft)] == []
