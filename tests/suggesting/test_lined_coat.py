"""A coat with its lining: all that its draft sews is asked about, nothing false is written."""

from __future__ import annotations

import pytest

from propagate.io.garments import known_kinds
from propagate.pattern.answers import Answer
from propagate.suggesting import Proposal, choose
from propagate.suggesting.asking import Asking
from tests.suggesting.lined_coat_draft import lined_coat
from tests.suggesting.oracle import asked_all
from tests.suggesting.roughened import WAYS, kept, layers
from tests.suggesting.suggested import suggested
from tests.suggesting.truth import Case

UNLIKELY = {"marked": 9, "bare": 14}
"""So many questions at most are answered with a no."""


def case(way: str, seed: int) -> Case:
    made = lined_coat()
    bare, names, copies = WAYS[way](made, seed)
    return Case(kept(made, names), bare, names, suggested(bare), copies, layers(made, names))


@pytest.mark.parametrize("way", ["marked", "bare", "coarse"])
def test_nothing_false_is_written_of_a_lined_coat(way: str) -> None:
    """A sleeve and its lining have the same cap, and are not sewn to each other along it."""
    one = case(way, 1)
    taken = choose(one.found).taken
    assert [str(found) for found in taken if not one.is_true(found)] == []
    assert len(taken) >= 10


@pytest.mark.parametrize("way", list(UNLIKELY))
def test_every_seam_of_a_lined_coat_is_asked_about(way: str) -> None:
    one = case(way, 1)
    answers = asked_all(one, Asking.begin(one.bare, kinds=known_kinds())).answers
    joined = {name for answer in answers if answer.joins for name in _names(one, answer)}
    assert joined >= set(one.real.relations.seams)
    assert sum(not answer.joins for answer in answers) <= UNLIKELY[way]


def _names(one: Case, answer: Answer) -> set[str]:
    return one.names_of(Proposal("seam", "", answer.runs, 0.0, relations=answer.relations))
