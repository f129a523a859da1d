"""Asking a person who knows: what is confirmed, how often, and what undoing leaves.

Judged by the relations that people wrote in the demo sets' own set.toml.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.engine.walk import walk
from propagate.errors import EditError
from propagate.io.answers import read_answers, render_answers
from propagate.io.garments import known_kinds
from propagate.pattern.answers import WORDS, Word, question_of, reverse_run
from propagate.pattern.relations import Seam
from propagate.pattern.validate import find_problems
from propagate.suggesting import suggest
from propagate.suggesting.asking import Asking, other_way
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.nets import recognise_garments
from propagate.suggesting.settled import NOTHING
from tests import shared
from tests.examples import examples
from tests.suggesting.drafts import case_of, in_place_of_the_drafts
from tests.suggesting.oracle import answer_of, asked_all
from tests.suggesting.strangers import seam_key
from tests.suggesting.test_demo_sets import Case, case

QUESTIONS = {"slant_trouser": (12, 9), "scoop_skirt": (9, 7), "workshop_gilet": (16, 8)}
"""How many are asked at most, and how many of them are confirmed; the skirt's zip is asked too."""
AGREES_MM = 0.2


@cache
def told(demo: str, seed: int, told: bool, redrawn: bool) -> tuple[Case, Asking]:
    known = case(demo, seed, told, redrawn)
    return known, asked_all(known, Asking(known.bare))


@cache
def kept_names(demo: str) -> tuple[Case, Asking]:
    known = case_of(shared.demo(demo))
    return known, asked_all(known, Asking(known.bare))


def assert_joined(known: Case, asking: Asking) -> None:
    """All is joined that the draft joins; a band whose zones are all sewn may be a seam as well."""
    found, own = asking.joined.relations, known.real.relations
    sewn = {seam_key(seam) for seam in found.seams.values()}
    true = {seam_key(seam) for seam in known.true_seams().values()}
    assert true <= sewn <= true | {seam_key(seam) for seam in known.whole_bands()}
    assert len(found.seams) + len(found.bands) == len(own.seams) + len(own.bands)


@pytest.mark.parametrize("redrawn", [False, True])
@pytest.mark.parametrize("demo", QUESTIONS)
def test_few_questions_join_all_that_the_draft_joins(demo: str, redrawn: bool) -> None:
    known, asking = told(demo, 1, True, redrawn)
    most, confirmed = QUESTIONS[demo]
    assert len(asking.answers) <= most
    assert sum(one.joins for one in asking.answers) == confirmed
    found = asking.joined.relations
    assert_joined(known, asking)
    own = known.real.relations
    for kept in ("assemblies", "openings", "stacks"):
        assert len(getattr(found, kept)) == len(getattr(own, kept)), kept


@pytest.mark.parametrize("demo", QUESTIONS)
def test_what_was_confirmed_sews(demo: str) -> None:
    _, asking = told(demo, 1, True, False)
    assert find_problems(asking.joined) == ()
    assert all(walk(asking.joined, size, cut_lines=False).sews for size in asking.joined.sizes)


@pytest.mark.parametrize(
    ("demo", "upper", "lower"),
    [("slant_trouser", "42", "48"), ("slant_trouser", "48", "42"), ("scoop_skirt", "S", "L")],
)
def test_blends_are_those_of_the_drafts_own_set(demo: str, upper: str, lower: str) -> None:
    known, asking = kept_names(demo)
    made = in_place_of_the_drafts(known.real, asking.joined)
    assert find_problems(made) == ()
    own = shared.blended(demo, upper, lower).pattern
    got = shared.blend_of(made, upper, lower, follow="shape").pattern
    moved = 0.0
    for name in own.pieces:
        a, b, source = (
            shapely.LinearRing(one.outline)
            for one in (
                own.sized(name, own.base),
                got.sized(name, got.base),
                known.real.sized(name, upper),
            )
        )
        assert shapely.hausdorff_distance(a, b) < AGREES_MM, name
        moved = max(moved, float(shapely.hausdorff_distance(a, source)))
    assert moved > 5.0


@pytest.mark.parametrize("demo", QUESTIONS)
def test_what_was_refused_is_never_asked_again(demo: str) -> None:
    known, asking = told(demo, 1, True, False)
    questions = [one.question for one in asking.answers]
    assert len(set(questions)) == len(questions)
    refused = Asking(known.bare)
    asked = set()
    while refused.question is not None:
        asks = question_of(refused.question.kind, refused.question.runs)
        assert asks not in asked
        asked.add(asks)
        refused = refused.answered("no")
    assert refused.joined is known.bare


def test_a_run_that_is_taken_is_not_asked_about_in_parts() -> None:
    _, asking = told("slant_trouser", 1, True, False)
    first = Asking(asking.pattern, asking.answers[:1])
    (side,) = asking.answers[0].relations
    assert isinstance(side, Seam)
    sewn = {span.key for span in side.follow}
    before = [p for p in Asking(asking.pattern).found.of_edge(min(sewn)) if p.kind == "seam"]
    assert len(before) > 1
    for one in first.found.of_edge(min(sewn)):
        # The very same run may be a third layer's, which is told.
        assert any("sewn to another already" in text for text in one.against), one


def test_an_answer_in_the_set_is_as_good_as_one_that_was_given() -> None:
    _, asking = told("slant_trouser", 1, True, False)
    half = Asking(asking.pattern, asking.answers[:5])
    read = Asking(half.joined)
    refused = [one for one in half.answers if one.word == "no"]
    assert refused == []
    assert [one.name for one in read.open] == [one.name for one in half.open]


def test_the_other_way_round_has_the_notches_that_meet_then() -> None:
    known = case("slant_trouser", 1, True, False)
    asking = Asking(known.bare)
    assert asking.question is not None
    one = asking.question
    turned = other_way(known.bare, one, NOTHING)
    assert turned.runs == (one.runs[0], reverse_run(one.runs[1]))
    seam = asking.answered("turned").answers[0].relations[0]
    assert isinstance(seam, Seam)
    assert seam_key(seam) != seam_key(one.relations[0])  # type: ignore[arg-type]
    assert seam.notches != one.relations[0].notches  # type: ignore[union-attr]
    assert answer_of(known, turned) == "turned"


def test_all_other_ways_at_once_are_those_one_by_one() -> None:
    asking = Asking(case("slant_trouser", 1, True, False).bare)
    seams = [one for one in asking.open if one.kind == "seam"]
    assert len(seams) > 5
    for one in seams:
        other = asking.turned[question_of(one.kind, one.runs)]
        assert asking.said(other, "turned") == asking.answer(one, "turned"), one


def test_what_has_no_other_way_round_is_refused() -> None:
    known = case("slant_trouser", 1, True, False)
    mirrored = next(p for p in suggest(known.bare).proposals if p.kind == "mirror seam")
    with pytest.raises(EditError, match="no other way round"):
        Asking(known.bare).answer(mirrored, "turned")


def test_nothing_is_asked_when_nothing_is_left() -> None:
    _, asking = told("scoop_skirt", 1, True, False)
    assert asking.question is None
    with pytest.raises(EditError, match="no question left"):
        asking.answered("yes")


def test_what_is_put_off_comes_last_and_comes_again() -> None:
    known = case("scoop_skirt", 1, True, False)
    asking = Asking(known.bare)
    first = asking.question
    asking = asking.answered("later")
    assert asking.question != first and first in asking.open
    while not asking.all_put_off:
        asking = asking.answered("no")
    assert asking.question is not None and first is not None
    assert asking.question.runs == first.runs


# -------------------------------------------------------------------- answers and undoing

STEPS = st.lists(st.sampled_from([*WORDS, "undo"]), max_size=10)


def steps_taken(asking: Asking, steps: list[str]) -> Asking:
    for step in steps:
        if step == "undo":
            asking = asking.undone()
        elif asking.question is not None:
            word: Word = next(one for one in WORDS if one == step)
            if word == "turned" and asking.question.kind != "seam":
                word = "no"
            asking = asking.answered(word)
    return asking


@examples(15)
@given(steps=STEPS)
def test_answers_that_were_taken_back_leave_nothing(steps: list[str]) -> None:
    start = Asking(case("scoop_skirt", 1, True, False).bare)
    asking, kept = start, list[str]()
    for step in steps:
        asked = asking.question is not None
        asking = steps_taken(asking, [step])
        if step == "undo":
            kept = kept[:-1]
        elif asked:
            kept.append(step)
    assert steps_taken(start, kept).answers == asking.answers
    again = replace(start, answers=asking.answers)
    assert again.open == asking.open
    assert again.free == asking.free
    assert find_problems(asking.joined) == ()


@examples(15)
@given(steps=STEPS)
def test_answers_come_back_from_their_file(
    steps: list[str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    asking = steps_taken(Asking(case("scoop_skirt", 1, True, False).bare), steps)
    file = tmp_path_factory.mktemp("answers") / "set.answers.json"
    content = render_answers(asking.pattern.name, asking.answers)
    file.write_bytes(content)
    found = read_answers(file, asking.pattern.name)
    assert found == asking.answers
    assert render_answers(asking.pattern.name, found) == content
    assert [one.text for one in found] == [one.text for one in asking.answers]


@pytest.mark.parametrize("demo", ["slant_trouser", "scoop_skirt"])
def test_the_order_of_pieces_asks_the_same(demo: str) -> None:
    known = case(demo, 7, True, False)
    pieces = dict(reversed(known.bare.pieces.items()))
    first = asked_all(known, Asking(known.bare))
    other = asked_all(known, Asking(replace(known.bare, pieces=pieces)))
    assert {one.question for one in first.answers} == {one.question for one in other.answers}
    assert np.isclose(
        [p.score for p in first.found.proposals], [p.score for p in other.found.proposals]
    ).all()


GARMENTS = {"ferry_shirt": (20, 9), "lined_skirt": (26, 8), "concert_dress": (17, 10)}
"""Questions at most, and the draft's seams, all of them found once the garment is recognised.

Which way a binding goes round the armhole of the dress no length tells: its notch does, which lies
at the shoulder, for its ends meet under the arm.
"""


@pytest.mark.parametrize("demo", GARMENTS)
def test_what_a_kind_of_garment_knows_is_asked_once_and_found(demo: str) -> None:
    known = case_of(shared.demo(demo))
    garments = recognise_garments(measure_nest(known.bare), known_kinds())
    asking = asked_all(known, Asking(known.bare, garments=garments))
    most, seams = GARMENTS[demo]
    asked = [question_of(one.kind, one.runs) for one in asking.answers]
    assert len(asked) == len(set(asked)) <= most
    found = asking.joined.relations
    assert len(found.seams) == seams
    true = {seam_key(seam) for seam in known.true_seams().values()}
    whole = {seam_key(seam) for seam in known.whole_bands()}
    assert true <= {seam_key(seam) for seam in found.seams.values()} <= true | whole
