"""Garments that are recognised: nothing false is written, whatever the drawing comes from.

Judged by the relations that the drafts of the sets were written with; two of the garments were
drafted for it by formula before anything recognised them.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

import propagate
from propagate.cli import app
from propagate.engine.walk import walk
from propagate.errors import FormatError
from propagate.io import set_toml
from propagate.io.folder import save
from propagate.io.garments import known_kinds, read_kind
from propagate.pattern.validate import find_problems
from propagate.recognise.matched import give_roles
from propagate.recognise.pieces_matched import match_pieces
from propagate.suggesting import accepted, choose, suggest
from propagate.suggesting.like import kind_of
from tests.bench.suggest import SETS, case, drawn, relations_of, written
from tests.examples import part_of
from tests.suggesting import garment_drafts as drafts
from tests.suggesting.roughened import WAYS, kept, layers
from tests.suggesting.suggested import suggested
from tests.suggesting.truth import Case

LEAST = {
    "slant_trouser": 2,
    "workshop_gilet": 5,
    "quay_jeans": 3,
    "ferry_shirt": 4,
    "concert_dress": 8,
    "lined_skirt": 3,
    "puddle_pinafore": 2,
    "walking_trouser": 2,
    "harbour_shirt": 4,
    "pantry_apron": 0,
}
"""Relations that are written of bare seam lines, at least; the rest is proposed and not certain."""
CASES = [(name, way, seed) for name in SETS for way in WAYS for seed in (1, 3)]


@pytest.mark.parametrize(("name", "way", "seed"), part_of(CASES, 3))
def test_nothing_false_is_written(name: str, way: str, seed: int) -> None:
    told, false = written(case(name, way, seed))
    assert not false, [str(one) for one in false]
    if way != "marked":
        assert len(told) >= LEAST.get(name, 0)


@pytest.mark.parametrize("make", [drafts.walking_trouser, drafts.harbour_shirt])
def test_garments_of_other_drafts_are_recognised(make: object) -> None:
    pattern = make()  # type: ignore[operator]
    bare = replace(pattern, relations=type(pattern.relations)())
    found = suggested(bare)
    for garment in found.garments[:1]:
        assert {role: cast.piece for role, cast in garment.cast.items()}["front"] == "front"
        assert {role: cast.piece for role, cast in garment.cast.items()}["back"] == "back"
    assert found.garments
    head = set_toml.parse_set(set_toml.render_set(bare) + "\n" + accepted(found), "set.toml")
    full = replace(bare, relations=head.relations)
    assert find_problems(full) == ()
    assert len(full.relations.seams) >= 2
    for size in full.sizes:
        assert walk(full, size, cut_lines=False).sews


def test_without_kinds_only_lengths_speak() -> None:
    pattern = drafts.harbour_shirt()
    bare = replace(pattern, relations=type(pattern.relations)())
    assert suggest(bare).garments == ()
    assert len(choose(suggest(bare)).taken) < len(choose(suggested(bare)).taken)


def test_it_says_which_pieces_are_drawn_twice_and_which_are_sewn_to_nothing() -> None:
    one = case("harbour_shirt", "twice")
    assert len(one.found.copies) == 1
    jeans = case("quay_jeans", "bare")
    inverse = {new: old for old, new in jeans.names.pieces.items()}
    assert {"belt_loop", "coin_pocket"} <= {inverse[piece] for piece in jeans.found.alone}
    assert relations_of(jeans)


@pytest.mark.parametrize("name", SETS)
def test_a_set_that_is_there_tells_how_one_like_it_is_sewn(name: str) -> None:
    """The set itself, stripped and turned, is as like it as can be."""
    pattern = drawn(name)
    bare, names, copies = WAYS["bare"](pattern, 1)
    found = suggest(bare, kinds=(kind_of(pattern), *known_kinds()))
    one = Case(kept(pattern, names), bare, names, found, copies, layers(pattern, names))
    told, false = written(one)
    assert not false, [str(proposal) for proposal in false]
    assert len(told) >= LEAST.get(name, 1)
    assert found.garments[0].kind.origin == "set"


# Of these less was written by the looser look of roles alone; the figures are those it had.
@pytest.mark.parametrize(
    ("name", "more_than"), [("alder_pants", 7), ("harbour_shirt", 4), ("willow_trouser", 4)]
)
def test_pieces_that_are_those_of_a_set_leave_less_to_ask(name: str, more_than: int) -> None:
    """Which piece is which is told before any length is compared."""
    pattern = drawn(name)
    bare, names, copies = WAYS["bare"](pattern, 1)
    known = give_roles(match_pieces(bare, pattern))
    assert {role: names.pieces[role] for role in known} == {r: k.piece for r, k in known.items()}
    found = suggest(bare, kinds=(kind_of(pattern, known), *known_kinds()))
    one = Case(kept(pattern, names), bare, names, found, copies, layers(pattern, names))
    told, false = written(one)
    assert not false
    assert len(told) > more_than


def test_the_command_takes_a_set_to_be_like(tmp_path: Path) -> None:
    bare, _, _ = WAYS["bare"](drawn("scoop_skirt"), 1)
    save(bare, tmp_path / "new")
    old = str(propagate.demo_path("scoop_skirt"))
    done = CliRunner().invoke(app.cli, ["suggest", str(tmp_path / "new"), "--like", old])
    assert done.exit_code == 0, done.output
    assert "those of the set 'scoop skirt'" in " ".join(done.output.split())


def test_a_garment_that_names_what_it_does_not_have_is_refused() -> None:
    kinds = known_kinds()
    assert len(kinds) >= 5
    text = 'name = "a bag"\n[[piece]]\nrole = "side"\noutlines = ["a b c"]\n'
    assert read_kind(text, "bag.toml").roles[0].outlines == (("a", "b", "c"),)
    wrong = '[[seam]]\nname = "s"\nlead = ["side.a"]\nfollow = ["side.d"]\n'
    with pytest.raises(FormatError, match=r"found no edge 'side\.d'"):
        read_kind(text + wrong, "bag.toml")
