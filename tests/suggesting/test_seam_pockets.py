"""Pockets in seams: found by their notches, asked about, written, and blended by.

Judged by the relations that the drafts were written with, and by the walk of what was written.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

import propagate
from propagate.cli import app
from propagate.engine.walk import walk
from propagate.geometry.polyline import locate, point_at
from propagate.io.garments import known_kinds
from propagate.pattern.model import Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.validate import find_problems
from propagate.suggesting import Proposal, choose
from propagate.suggesting.asking import Asking
from propagate.suggesting.blending import find_blendings
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.nets import recognise_garments
from propagate.suggesting.side_seams import find_side_seam
from tests.bench.suggest import case, drawn, relations_of
from tests.suggesting.oracle import answer_of, asked_all
from tests.suggesting.pocket_drafts import ford_trouser
from tests.suggesting.suggested import suggested

POCKETED = ("ford_trouser", "heron_skirt", "linden_dress", "lined_skirt")


def bare_of(made: PatternSet) -> PatternSet:
    return replace(made, relations=Relations())


def pockets_of(made: PatternSet) -> list[Proposal]:
    return [one for one in suggested(made).proposals if one.kind == "pocket"]


@pytest.mark.parametrize("seed", [0, 1, 2, 3])
@pytest.mark.parametrize("name", POCKETED)
def test_the_bag_is_sewn_between_the_notches_that_meet(name: str, seed: int) -> None:
    """Right side up, to both sides of the seam; written, and there is no other pocket."""
    one = case(name, "marked", seed)
    (pocket,) = (found for found in one.found.proposals if found.kind == "pocket")
    assert one.is_true(pocket)
    assert pocket in choose(one.found).taken


@pytest.mark.parametrize("name", POCKETED[:3])
def test_a_person_is_asked_once_about_a_pocket(name: str) -> None:
    """What comes of the answers has all of the draft's relations, and sews in every size."""
    one = case(name, "marked", 1)
    garments = recognise_garments(measure_nest(one.bare), known_kinds())
    done = asked_all(one, Asking(one.bare, garments=garments))
    assert [answer.kind for answer in done.answers if answer.joins].count("pocket") == 1
    made = set().union(*(one.names_of(_said(answer)) for answer in done.answers if answer.joins))
    assert made >= relations_of(one) - {"bag_waist"}
    assert find_problems(done.joined) == ()
    assert all(walk(done.joined, size, cut_lines=False).sews for size in done.joined.sizes)


def _said(answer: object) -> Proposal:
    return Proposal("seam", "", answer.runs, 0.0, relations=answer.relations)  # type: ignore[attr-defined]


def test_a_bag_that_is_said_to_lie_the_other_way_round_is_turned() -> None:
    made = bare_of(ford_trouser())
    asking = Asking(made)
    (pocket,) = (one for one in asking.found.proposals if one.kind == "pocket")
    turned = asking.answer(pocket, "turned")
    upper, lower = pocket.runs[2][0].begin, pocket.runs[2][0].end
    assert (turned.relations[0].follow[0].begin, turned.relations[0].follow[0].end) == (  # type: ignore[union-attr]
        lower,
        upper,
    )


def test_the_side_seam_is_asked_whatever_was_said_first() -> None:
    """A bag takes a part of the side, and the whole side is sewn to the back all the same."""
    one = case("linden_dress", "marked", 0)
    asking = Asking(one.bare)
    (pocket,) = (found for found in asking.found.proposals if found.kind == "pocket")
    asking = asking.told([asking.answer(pocket, "yes")])
    left = set().union(*(one.names_of(found) for found in asking.open))
    assert {"side", "front_princess", "back_princess"} <= left
    assert not any(found.kind == "pocket" for found in asking.open)


def with_marks(made: PatternSet, moved: Mapping[str, float]) -> PatternSet:
    """The lower notch of a piece so much further down the side for every size."""
    pieces = dict(made.pieces)
    for name, by in moved.items():
        nest = {}
        for k, size in enumerate(made.sizes):
            sized = made.sized(name, size)
            nest[size] = _slide(sized, "low" if name == "bag" else "mouth_low", by * k)
        pieces[name] = Piece(name, nest)
    return replace(made, pieces=pieces)


def _slide(sized: SizedPiece, name: str, by: float) -> SizedPiece:
    mark = sized.landmark(name)
    x, y = mark.point
    edge = sized.edge(mark.edge)
    way = by if edge.points[0][1] > edge.points[-1][1] else -by
    at = locate(edge.points, (x, y))[0] + way
    put = Landmark(mark.name, mark.edge, tuple(map(float, point_at(edge.points, at))), mark.kind)
    return replace(
        sized, landmarks=tuple(put if one.name == name else one for one in sized.landmarks)
    )


def test_notches_that_are_elsewhere_are_no_pocket() -> None:
    """Of one piece alone the notch lies 3 mm lower in each size: nothing is as long as another."""
    made = bare_of(ford_trouser())
    assert len(pockets_of(made)) == 1
    for piece in ("front", "back", "bag"):
        assert pockets_of(with_marks(made, {piece: 3.0})) == []


def test_a_mouth_that_is_graded_is_not_written() -> None:
    """It may be: a person is asked."""
    made = with_marks(bare_of(ford_trouser()), {"front": 4.0, "back": 4.0, "bag": 4.0})
    (pocket,) = pockets_of(made)
    assert 0.3 < pocket.score < 0.9
    assert any("a mouth seldom is" in words for words in pocket.against)


def test_it_is_written_once_and_keeps_the_mouth(tmp_path: Path) -> None:
    """The command, from bare pieces to a set that walks; called again it adds nothing."""
    propagate.save(bare_of(drawn("ford_trouser")), tmp_path / "trouser")
    for said in ("Added", "Nothing was added"):
        done = CliRunner().invoke(
            app.cli, ["suggest", str(tmp_path / "trouser"), "--accept", "0.9"]
        )
        assert done.exit_code == 0, done.output
        assert said in done.output
    joined = propagate.load(tmp_path / "trouser")
    (mouth,) = joined.relations.seam_openings.values()
    assert {str(side[0]) for side in mouth.sides} == {
        "front.side from mouth_top to mouth_low",
        "back.side from mouth_top to mouth_low",
    }
    assert all(walk(joined, size, cut_lines=False).sews for size in joined.sizes)


def test_the_question_says_what_lies_on_what(tmp_path: Path) -> None:
    one = case("ford_trouser", "marked", 0)
    assert answer_of(one, next(p for p in one.found.proposals if p.kind == "pocket")) == "yes"
    propagate.save(bare_of(drawn("ford_trouser")), tmp_path / "trouser")
    done = CliRunner().invoke(
        app.cli,
        ["suggest", str(tmp_path / "trouser"), "--ask", "--pictures", str(tmp_path / "drawn")],
        input="y\ny\ny\n",
    )
    said = " ".join(done.output.split())
    assert "Is this a pocket in the seam of A and B, with bag C sewn to both?" in said
    assert "mouth top of front meets mouth top of back and top of bag" in said
    assert len(list((tmp_path / "drawn").iterdir())) >= 3


def test_the_hip_is_not_taken_at_the_mouth_of_a_pocket() -> None:
    """The mouth's lower notch is 13 mm nearer to where the hip mostly is than the hip's own."""
    asking = Asking(bare_of(ford_trouser()))
    for _ in range(3):  # side, inseam and pocket
        asking = asking.answered("yes")
    hips = [{mark for mark, _ in way.hip.values()} for way in find_blendings(asking.joined)]
    assert hips[0] == {"hip"}
    assert not any({"mouth_low", "mouth_top"} & marks for marks in hips)


def test_no_hip_is_asked_for_above_a_step() -> None:
    """The side is in two there, and the upper part of 34 to 38 mm has no hip."""
    joined = drawn("willow_trouser")
    assert find_side_seam(joined) is None
    assert find_side_seam(ford_without_marks()) is not None


def ford_without_marks() -> PatternSet:
    made = ford_trouser()
    seams = {name: made.relations.seams[name] for name in ("side", "inseam")}
    return replace(made, relations=Relations(seams=seams))


def test_many_marks_are_no_pocket() -> None:
    """A side with 40 marks, as for a row of ties, and a strip with as many: nothing is compared."""
    made = bare_of(ford_trouser())
    pieces = dict(made.pieces)
    for name, step in (("front", 20.0), ("back", 20.0), ("bag", 5.0)):
        nest = {}
        for size in made.sizes:
            sized = made.sized(name, size)
            points = sized.edge("side").points
            down = points if points[0][1] > points[-1][1] else points[::-1]
            marks = tuple(
                Landmark(f"m{k}", "side", tuple(map(float, point_at(down, 5 + k * step))), "notch")
                for k in range(40)
            )
            nest[size] = replace(sized, landmarks=marks)
        pieces[name] = Piece(name, nest)
    assert pockets_of(replace(made, pieces=pieces)) == []
