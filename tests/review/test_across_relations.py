"""Mistakes across relations, each made by hand in a demo set, and what must be silent.

What each case expects was worked out from the set's own file: which edge is sewn to which,
which allowance stands beside which.  Nothing is asked of the rules but their answer.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from propagate.engine.review.finding import Finding
from propagate.engine.review.run import review
from propagate.engine.review.taken import free_spans
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Allowance, LegPlan, PieceInfo, Place, Seam, parse_run
from propagate.pattern.tape import Tape
from propagate.pattern.validate import find_problems
from tests.effort import calls_of
from tests.engine import altered
from tests.review.changes import (
    Change,
    add,
    allow,
    in_turn,
    layer,
    leave_out,
    main,
    plan,
    relate,
    say,
    turn_up,
    zone,
)
from tests.review.judge import DEMOS, Demo, demo, words_of
from tests.review.redrawing import level_moved, redraw
from tests.shared import demo as shared_demo

T: Demo = "slant_trouser"
S: Demo = "scoop_skirt"
G: Demo = "workshop_gilet"
A: Demo = "garden_apron"


def seam(name: str, **values: object) -> Change:
    return relate("seams", name, **values)


def with_tape(pattern: PatternSet) -> PatternSet:
    """The apron with a tape along its side, so that something of it is joined."""
    tape = Tape("side_tape", parse_run(["apron.side"]))
    return replace(pattern, relations=replace(pattern.relations, tapes={tape.name: tape}))


CASES: dict[str, tuple[Demo, Change, str, tuple[str, ...]]] = {
    "one side without an allowance": (
        T, allow("back", inseam=0.0), "allowances differ", ("inseam", "0 mm", "10 mm"),
    ),
    "hem 150 for 40": (
        T, allow("back", hem=150.0), "allowances differ", ("front.hem", "back.hem", "150"),
    ),
    "allowance in centimetres on one edge": (
        G, allow("collar", rim=0.8), "allowance too narrow", ("collar", "0.8", "8 mm"),
    ),
    "binding: one armhole turned in": (
        G, allow("upper_front", armhole=10.0), "allowances differ", ("armhole_binding_fit",),
    ),
    "side turned up": (G, turn_up("lower_back", "side"), "turned edge is sewn", ("side_seam",)),
    "fold on the neck": (
        G, say("upper_back", fold="neck"), "fold on the wrong edge", ("curved", "collar_fit"),
    ),
    "fold and pair": (G, say("upper_back", pair=True), "fold and pair", ("upper_back",)),
    "allowance on the fold": (
        G, allow("lower_back", centre=15.0), "allowance on a fold", ("15 mm",),
    ),
    "odd pair": (S, say("belt", cut=1), "odd number of a pair", ("belt", "cut = 1")),
    "back not a pair": (
        T, say("back", pair=False), "pair forgotten", ("back", "pair = true"),
    ),
    "yoke cut once, fronts twice": (
        G, say("upper_back", fold=None), "pair forgotten", ("upper_back",),
    ),
    "fabric spelt in two ways": (
        T, say("welt", fabric="main fabrik"), "fabric spelt in two ways", ("main fabric", "welt"),
    ),
    "seam to itself": (
        G, seam("shoulder_seam", follow=parse_run("upper_front.shoulder"), check=True,
                crossing={}),
        "sewn to itself", ("upper_front.shoulder", "mirror = true"),
    ),
    "seam doubled, sides exchanged": (
        T, add("seams", Seam("second", parse_run("back.inseam reversed"),
                             parse_run("front.inseam"), check=True)),
        "sewn twice", ("inseam", "second"),
    ),
    "shoulder on the armhole": (
        G, seam("shoulder_seam", follow=parse_run("upper_back.neck"), crossing={}),
        "lengths do not agree", ("shoulder_seam", "upper_back.shoulder", "did you mean"),
    ),
    "facing sewn beyond the pocket": (
        T, seam("side_seam", lead=parse_run(["facing.side", "front.side"])),
        "lengths do not agree", ("facing.side from start to mouth_low", "did you mean"),
    ),
    "ease with the wrong sign": (
        S, zone("belt_fit", "right_back", ease=-3.0), "lengths do not agree", ("wrong sign",),
    ),
    "front waist seam backwards": (
        G, seam("front_waist_seam", lead=parse_run("upper_front.waist")),
        "seam written backwards", ("front_waist_seam",),
    ),
    "bag seam backwards, its notches not said": (
        T, seam("pocket_bag", follow=parse_run("top_bag.bag"), notches=()),
        "seam written backwards", ("pocket_bag",),
    ),
    "inseam backwards": (
        T, seam("inseam", follow=parse_run("back.inseam"), crossing={}),
        "seam written backwards", ("inseam", "reversed"),
    ),
    "a zone of the collar backwards": (
        G, zone("collar_fit", "front", run=parse_run("upper_front.neck")),
        "zone written backwards", ("collar_fit", "front"),
    ),
    "notches crossed": (
        T, seam("side_seam", notches=(
            ("front.hip_notch", "back.knee_notch_side"),
            ("front.knee_notch_side", "back.hip_notch"),
        )),
        "notch pairs cross", ("front.hip_notch", "back.hip_notch"),
    ),
    "notch paired with the wrong one of the same edge": (
        T, seam("side_seam", notches=(("front.hip_notch", "back.knee_notch_side"),)),
        "notch of another pair", ("back.hip_notch", "did you mean"),
    ),
    "notches not paired": (
        G, seam("side_seam", notches=()), "notches not paired", ("hip_notch",),
    ),
    "hip of the back 40 mm lower": (
        T, redraw("back", level_moved("hip", 0.0, -40.0)), "levels do not meet",
        ("hip", "side_seam", "'back'"),
    ),
    "waist of the lower front through its hem": (
        G, redraw("lower_front", level_moved("waist", 0.0, -298.0)), "levels do not meet",
        ("waist", "lower_front", "lower_back"),
    ),
    "third size begins below where it is reached": (
        T, plan(leg=LegPlan("thigh", "knee", ("side", "inseam"))), "leg upside down",
        ("thigh", "knee", "exchange"),
    ),
    "mates of the shoulder in two sizes": (
        G, add("places", Place("upper_back", "hip")), "mates in two sizes",
        ("upper_front", "upper_back", "upper_side_seam"),
    ),
    "top bag put the wrong way round and up": (
        T, layer("front_pocket_layers", "top_bag", face_down=False, put=(
            ("mouth.start", "mouth.start"), ("mouth.end", "mouth.end"),
        )),
        "layer laid wrongly", ("top_bag", "put", "face_down"),
    ),
    "under bag face down": (
        T, layer("front_pocket_layers", "under_bag", face_down=True),
        "layer laid wrongly", ("under_bag", "left over"),
    ),
    "facing put the wrong way round": (
        T, layer("front_pocket_layers", "facing", put=(
            ("mouth_low", "mouth.start"), ("mouth_top", "mouth.end"),
        )),
        "layer laid wrongly", ("facing", "exchange the two ends"),
    ),
    "riding edges exchanged": (
        S, layer("scoop_pocket_layers", "bag_front", ride={"top": "flank", "flank": "top"}),
        "layer laid wrongly", ("bag_front", "ride"),
    ),
    "bag clear of the waist": (
        T, relate("stacks", "front_pocket_layers", clear_of=("waist",)),
        "bag cannot stay clear", ("waist",),
    ),
    "mouth not said": (
        T, layer("front_pocket_layers", "top_bag", mouth=None),
        "opening line not said", ("top_bag.mouth",),
    ),
    "centre and side exchanged": (
        S, main("skirt_back", centre="flank", side="cb"), "side of a main",
        ("skirt_back", "exchange"),
    ),
    "waist counted once": (
        G, relate("girths", "waist", times=1), "girth counts wrongly", ("times = 1", "waist"),
    ),
    "hip without the back": (
        G, relate("girths", "hip", silhouettes=("lower_front",)), "girth without a part",
        ("lower_back",),
    ),
    "waist without the facing": (
        T, relate("girths", "waist", runs=(parse_run("front.waist"), parse_run("back.waist"))),
        "girth without a part", ("facing",),
    ),
    "side seam of the gilet left out": (
        G, leave_out("seams", "upper_side_seam"), "seam left out",
        ("upper_front.side", "upper_back.side"),
    ),
    "facing of the apron joined to nothing": (
        A, in_turn(with_tape, leave_out("seams", "scoop_seam"), leave_out("seams", "top_seam")),
        "piece joined to nothing", ("facing",),
    ),
}  # fmt: skip


def test_a_set_of_which_nothing_is_joined_yet_has_forgotten_nothing() -> None:
    """As it is after `begin`, before anything was asked."""
    pattern = demo(A)
    bare = replace(pattern, relations=Relations())
    assert not [one for one in review(bare) if "left out" in one.text]


@pytest.mark.parametrize("case", CASES)
def test_a_mistake_is_told_with_its_names_and_figures(case: str) -> None:
    name, change, rule, words = CASES[case]
    harmed = change(demo(name))
    assert find_problems(harmed) == ()
    found = review(harmed)
    told = [words_of(one) for one in found if one.rule == rule]
    assert any(all(word in text for word in words) for text in told), [*map(words_of, found)]
    rest = [one for one in found if not {*one.pieces} & _concerned(found, rule)]
    assert rest == []


def _concerned(found: tuple[Finding, ...], rule: str) -> set[str]:
    return {piece for one in found if one.rule == rule for piece in one.pieces}


@pytest.mark.parametrize("name", DEMOS)
def test_nothing_is_told_in_other_orders_and_frames(name: Demo) -> None:
    """Names stay, but pieces, sizes' frames and relations come in another order."""
    pattern = demo(name)
    rng = np.random.default_rng(5)
    frames = {
        (piece, size): (float(rng.uniform(-3, 3)), *map(float, rng.uniform(-900, 900, 2)))
        for piece in pattern.pieces
        for size in pattern.sizes
    }
    moved = altered.in_other_frames(altered.in_other_order(pattern, rng), frames)
    assert [words_of(finding) for finding in review(moved)] == []


def test_a_finding_does_not_depend_on_frames() -> None:
    name, change, _, _ = CASES["bag seam backwards, its notches not said"]
    harmed = change(demo(name))
    frames = {
        (piece, size): (0.7, 400.0, -250.0) for piece in harmed.pieces for size in harmed.sizes
    }
    assert review(altered.in_other_frames(harmed, frames)) == review(harmed)


def test_a_piece_without_allowances_is_not_compared() -> None:
    """A lining of which nothing is said yet: no allowances, one cut, no pair."""
    pattern = demo(G)
    info = {**pattern.info, "collar": PieceInfo("Collar", fold="first_end", allowance=Allowance())}
    assert review(replace(pattern, info=info)) == ()


def test_what_is_free_is_what_no_relation_takes() -> None:
    """Worked out by hand from the set's file: hem and the centre below the fly."""
    free = free_spans(demo(T))
    assert [str(span) for span in free["front"]] == [
        "front.hem", "front.centre from start to fly_notch",
    ]  # fmt: skip
    assert [str(span) for span in free["back"]] == ["back.hem"]
    assert [str(span) for span in free["waistband"]] == [
        "waistband.front_left", "waistband.upper", "waistband.extension",
    ]  # fmt: skip
    assert "under_bag" not in free


def test_no_other_edge_of_the_mate_is_offered_in_the_place_of_an_edge() -> None:
    """The rim of the binding is as long as its sewn edge: it would be sewn to itself."""
    sides = seam("side_seam", follow=parse_run("neck_binding.sewn"), crossing={})
    pinafore = sides(shared_demo("puddle_pinafore"))
    (found,) = (
        one
        for one in review(pinafore)
        if one.rule == "lengths do not agree" and "side_seam" in one.where
    )
    assert "'back.side' in the place of 'neck_binding.sewn': did you mean that?" in found.text
    assert "neck_binding.rim" not in found.text


def test_the_review_is_quick() -> None:
    """A few hundred calls for each of eleven pieces in nine sizes."""
    pattern: PatternSet = demo(T)
    review(pattern)
    assert calls_of(lambda: review(pattern)) < 150_000


@pytest.mark.parametrize(
    ("name", "change", "words"),
    [
        (
            G,
            seam("shoulder_seam", follow=parse_run("upper_front.shoulder"), crossing={}),
            ("shoulder_seam", "on both sides", "mirror = true"),
        ),
        (
            T,
            add(
                "seams",
                Seam("second", parse_run("back.inseam reversed"), parse_run("front.inseam")),
            ),
            ("inseam", "second", "twice"),
        ),
    ],
)
def test_a_cycle_of_leads_names_the_slip_that_made_it(
    name: Demo, change: Change, words: tuple[str, ...]
) -> None:
    (line,) = find_problems(change(demo(name)))
    assert all(word in line for word in words), line
