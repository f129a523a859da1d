"""Pieces that lie on another one: found as the drafts' own sets have them, asked, and followed."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from click.testing import CliRunner

import propagate
from propagate.cli import app
from propagate.demo import demo_names
from propagate.engine.walk import walk
from propagate.io.answers import render_answers
from propagate.pattern.answers import Answer
from propagate.pattern.derived import Derived
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.suggesting.blending import find_blendings
from propagate.suggesting.tracing import find_tracings
from tests.shared import demo
from tests.suggesting.strangers import _redrawn

DERIVED = {
    "concert_dress": {"front_facing", "back_facing"},
    "market_bag": {"pocket"},
}
"""Of the demo sets those pieces that have no ease, no closed darts and no cloth of their own."""


def without_derived(real: PatternSet) -> PatternSet:
    """Its seams are matched again, as somebody says them who knows nothing of derived pieces."""
    held = real.relations
    seams = {
        name: replace(one, check=False)
        if {span.piece for span in one.follow} & held.derived.keys()
        else one
        for name, one in held.seams.items()
    }
    return replace(real, relations=replace(held, derived={}, seams=seams))


def save_dress(folder: Path, pattern: PatternSet) -> None:
    """Save a set of which it is answered that nothing blends it."""
    propagate.save(pattern, folder)
    ways = [Answer("blending", way.runs, "no") for way in find_blendings(pattern)]
    answers = [*ways, Answer("hip", (), "no")]
    file = folder.with_name(f"{folder.name}.answers.json")
    file.write_bytes(render_answers(pattern.name, answers))


def ask(folder: Path, *words: str, least: str = "1") -> str:
    """Refuse all that could be joined besides, then say these words."""
    said = "".join(f"{word}\n" for word in words)
    args = ["suggest", str(folder), "--ask", "--least", least]
    done = CliRunner().invoke(app.cli, args, input=said)
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def content(folder: Path) -> dict[str, bytes]:
    return {
        one.relative_to(folder).as_posix(): one.read_bytes()
        for one in folder.rglob("*")
        if one.is_file()
    }


def kept(folder: Path) -> list[dict[str, object]]:
    file = folder.with_name(f"{folder.name}.answers.json")
    found: list[dict[str, object]] = json.loads(file.read_text("utf-8"))["answers"]
    return [one for one in found if one["kind"] == "derived"]


def edges_of(derived: Derived) -> set[tuple[str, str, float]]:
    return {(one.edge, one.on, float(str(one.inside))) for one in derived.edges}


@pytest.mark.parametrize("name", demo_names())
def test_the_drafts_own_derived_pieces_are_found_and_no_others(name: str) -> None:
    real = demo(name)
    found = {one.derived.piece: one.derived for one in find_tracings(without_derived(real))}
    assert found.keys() == DERIVED.get(name, set())
    for piece, derived in found.items():
        own = real.relations.derived[piece]
        assert (derived.of, derived.face_down) == (own.of, own.face_down)
        assert edges_of(derived) == edges_of(own)


@pytest.mark.parametrize(("angle", "first"), [(0.7, 1), (math.pi / 2, 2), (-2.0, 3)])
def test_however_a_piece_is_turned_and_whichever_edge_is_first(angle: float, first: int) -> None:
    real = demo("concert_dress")
    pieces = dict(real.pieces)
    for name in ("front_facing", "back", "front"):
        nest = real.pieces[name].nest
        pieces[name] = Piece(
            name, {size: _redrawn(one, angle, (310.0, -95.0), first) for size, one in nest.items()}
        )
    turned = replace(without_derived(real), pieces=pieces)
    for one in find_tracings(turned):
        own = real.relations.derived[one.derived.piece]
        assert edges_of(one.derived) == edges_of(own)
        assert all(walk(one.put_on(turned), size).sews for size in turned.sizes)


def test_what_lies_askew_in_one_size_is_not_traced() -> None:
    """The neck of the front facing in the largest size 1 mm deeper: it is a shape of its own."""
    real = demo("concert_dress")
    last = real.sizes[-1]
    nest = dict(real.pieces["front_facing"].nest)
    edges = []
    for edge in nest[last].edges:
        points = edge.points.copy()
        points[1:-1] -= (0.0, 1.0)
        edges.append(replace(edge, points=points, path=None) if edge.name == "neck" else edge)
    nest[last] = replace(nest[last], edges=tuple(edges))
    pieces = {**real.pieces, "front_facing": Piece("front_facing", nest)}
    bent = replace(without_derived(real), pieces=pieces)
    assert "front_facing" not in {one.derived.piece for one in find_tracings(bent)}


def test_a_yes_is_written_and_changes_follow_as_in_the_drafts_own_set(tmp_path: Path) -> None:
    own, mine = tmp_path / "own", tmp_path / "mine"
    propagate.save(demo("concert_dress"), own)
    save_dress(mine, without_derived(demo("concert_dress")))
    text = ask(mine, "perhaps", "y", "y")
    assert "Front neck facing: is it traced from front, so that it follows" in text
    assert "inner edge, 45.0 mm inside of neck" in text
    assert "face down" in text
    joined = propagate.load(mine)
    assert all(walk(joined, size).sews for size in joined.sizes)
    assert find_tracings(joined) == ()
    results = []
    for folder in (own, mine):
        out = f"{folder}_changed"
        words = ["draw-edge", "edge=front.neck", "through=50%:-36mm", "-o", out]
        done = CliRunner().invoke(app.cli, ["change", str(folder), *words])
        assert done.exit_code == 0, done.output
        results.append(propagate.load(out))
    drafted, got = results
    for piece in drafted.pieces:
        for size in drafted.sizes:
            rings = [shapely.LinearRing(x.sized(piece, size).outline) for x in (drafted, got)]
            assert shapely.hausdorff_distance(*rings) < 0.2, (piece, size)
    before = demo("concert_dress").sized("front_facing", drafted.base).outline
    after = got.sized("front_facing", got.base).outline
    assert shapely.hausdorff_distance(*map(shapely.LinearRing, (before, after))) > 5.0


def test_a_no_is_kept_and_not_asked_again(tmp_path: Path) -> None:
    folder = tmp_path / "dress"
    save_dress(folder, without_derived(demo("concert_dress")))
    before = content(folder)
    assert ask(folder, "n", "l").count("is it traced from") == 2
    again = ask(folder, "s")  # what was put off comes again, what was refused does not
    assert again.count("is it traced from") == 1 and "Back neck facing: is it" in again
    assert [(one["kind"], one["answer"]) for one in kept(folder)] == [("derived", "no")]
    assert "is it traced from" not in ask(folder, "n").partition("No, it")[2]
    assert "No question is left" in ask(folder)
    assert content(folder) == before
    ask(folder, "u", "u", "s")
    assert kept(folder) == []


def test_a_yes_is_taken_back_letter_by_letter(tmp_path: Path) -> None:
    folder = tmp_path / "dress"
    save_dress(folder, without_derived(demo("concert_dress")))
    before = content(folder)
    ask(folder, "y", "n")
    assert len(propagate.load(folder).relations.derived) == 1
    told = ask(folder, "u", "u", "s")
    assert content(folder) == before
    assert told.count("is it traced from") == 2  # of both pieces again
    # Where somebody wrote something else into the set since, that stays.
    ask(folder, "y", "y")
    file = folder / "set.toml"
    note = "\n# My own words: the facing is cut of silk.\n"
    file.write_text(file.read_text("utf-8") + note, "utf-8")
    ask(folder, "u", "u", "s")
    assert file.read_bytes() == before["set.toml"] + note.encode()


def test_a_yes_that_was_changed_by_hand_is_not_taken_back(tmp_path: Path) -> None:
    folder = tmp_path / "dress"
    save_dress(folder, without_derived(demo("concert_dress")))
    ask(folder, "y", "s")
    file = folder / "set.toml"
    text = file.read_text("utf-8")
    changed = text.replace("in = 45 }", "in = 45.5 }")
    assert changed != text
    file.write_text(changed, "utf-8")
    told = ask(folder, "u", "u", "s")
    assert "cannot be taken back" in told and "'derived' in set.toml by hand" in told
    assert file.read_text("utf-8") == changed
    assert [one["answer"] for one in kept(folder)] == ["yes"]


def test_what_was_answered_of_a_seam_holds_when_its_follower_is_derived(tmp_path: Path) -> None:
    """The seam is walked alone from then on; that is no change by hand."""
    folder = tmp_path / "dress"
    real = without_derived(demo("concert_dress"))
    seams = {name: one for name, one in real.relations.seams.items() if name != "front_neck"}
    save_dress(folder, replace(real, relations=replace(real.relations, seams=seams)))
    text = ask(folder, "y", "s", least="0.3")
    assert "1 confirmed" in text
    before = content(folder)
    ask(folder, "y", "y")
    pattern = propagate.load(folder)
    assert pattern.relations.derived.keys() == {"front_facing", "back_facing"}
    again = ask(folder, "s")
    assert "changed in set.toml since" not in again
    assert "1 confirmed" in again
    again = ask(folder, "u", "u", "s")
    assert "1 confirmed" in again
    assert content(folder) == before
