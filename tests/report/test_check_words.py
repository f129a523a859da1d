"""Every kind of check has its words, and every report tells it by them."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import pytest

from propagate.demo import demo_names
from propagate.engine.kinds import WORK
from propagate.engine.rows import Check
from propagate.engine.walk import Kind, Walk, walk
from propagate.report.check_words import CHECKS, CheckWords, degrees_over, words_of
from propagate.report.units import INCHES, MILLIMETRES
from propagate.report.walk_text import walk_lines, walks_lines
from tests.shared import demo


def test_no_kind_that_is_walked_was_forgotten() -> None:
    walked = {key for key, work in WORK.items() if work.walk is not None} | {*get_args(Kind)}
    assert walked == set(CHECKS), "give each kind of check one line in report/check_words.py"


def test_every_kind_on_a_work_sheet_has_its_title() -> None:
    assert [key for key, words in CHECKS.items() if not words.on_paper] == []


@pytest.mark.parametrize("words", CHECKS.values(), ids=list(CHECKS))
def test_its_words_are_whole(words: CheckWords) -> None:
    assert words.one and words.several and words.title and all(words.sides)
    assert words.one != words.several
    # no word of the set's files, in which blanks are underscores
    assert "_" not in f"{words.one}{words.several}{words.title}"


def one_of(kind: str) -> Check:
    sides = ("front.side", "back.side")
    return Check(kind, "a name", "one | other", 90.0, 85.0, 0.0, -5.0, 1.0, "look", sides=sides)


@pytest.mark.parametrize("kind", [*CHECKS, "elastic"])
def test_a_walk_tells_it_by_its_words(kind: str) -> None:
    """An angle is told in degrees in whatever unit, a length in that unit."""
    words, walk = words_of(kind), Walk("a set", "38", (one_of(kind),))
    for unit in (MILLIMETRES, INCHES):
        lines = walk_lines(walk, unit)
        title = words.title if words.degrees else f"{words.title} ({unit.name})"
        assert title in lines
        heads = lines[lines.index(title) + 1 :]
        shown = next(line for line in heads if line.strip() and not set(line) <= set("-= "))
        assert all(side in shown for side in (() if words.degrees else words.sides))
    if not words.of_body:
        assert any(words.called(one_of(kind)) in line for line in walks_lines([walk]))
        off = " ".join(walk_lines(walk)[:6])
        assert ("°" in off) == words.degrees


def test_a_kind_without_a_line_goes_by_its_word() -> None:
    assert replace(words_of("elastic"), called=words_of("seam").called) == replace(
        words_of("seam"),
        one="elastic",
        title="Elastic",
        on_paper="",
        both_lines=False,
        to_do="change one of the two sides so that they agree",
    )


def test_a_corner_has_one_sign_in_figures_and_in_print() -> None:
    """More than 180 degrees is a dip, with a plus, also as it is written and read again."""
    corners = [c for n in demo_names() for c in walk(demo(n)).checks if c.kind == "corner"]
    assert corners
    for corner in corners:
        assert corner.difference == corner.first - 180.0
        told = float(degrees_over(corner))
        assert told == 0.0 or told * corner.difference > 0.0
