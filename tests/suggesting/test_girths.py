"""Girths of garments that are known: as the drafts have them, and asked, kept and written."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner

import propagate
from propagate.cli import app
from propagate.engine.levels import girth_length
from propagate.engine.review.rounds import review_rounds
from propagate.engine.walk import walk
from propagate.io.garments import known_kinds
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Girth, PieceInfo
from propagate.recognise.turned_over import turn_over
from propagate.suggesting.girths import FoundGirth, find_girths, put_girths
from propagate.suggesting.nest import measure_nest
from propagate.suggesting.nets import recognise_garments
from tests.shared import demo
from tests.suggesting import garment_drafts as drafts
from tests.suggesting import wardrobe_drafts as wardrobe
from tests.suggesting.roughened import WAYS

OWN = ("slant_trouser", "quay_jeans", "lined_skirt", "workshop_gilet", "ferry_shirt")
OWN += ("concert_dress", "puddle_pinafore")
BELOW_UNDERARM_MM, BELOW_CROTCH_MM = 25.0, 50.0


def without_girths(real: PatternSet) -> PatternSet:
    return replace(real, relations=replace(real.relations, girths={}, blend=None))


def find(pattern: PatternSet) -> dict[str, FoundGirth]:
    garments = recognise_garments(measure_nest(pattern), known_kinds())
    return {one.girth.name: one for one in find_girths(pattern, garments)}


def measure(pattern: PatternSet, girth: Girth) -> list[float]:
    return [girth_length(pattern, girth, size) for size in pattern.sizes]


@pytest.mark.parametrize("name", OWN)
def test_the_girths_that_were_written_by_hand_are_found(name: str) -> None:
    real = demo(name)
    found = find(without_girths(real))
    for own in real.relations.girths.values():
        one = found[own.name]
        assert one.totals == pytest.approx(measure(real, own), abs=0.01)
        assert (one.girth.level, one.girth.chart) == (own.level, own.chart)


@pytest.mark.parametrize("name", OWN)
def test_nothing_complains_about_what_is_written(name: str) -> None:
    bare = without_girths(demo(name))
    joined = put_girths(bare, find(bare).values())
    assert not list(review_rounds(joined))
    for size in joined.sizes:
        told = [one for one in walk(joined, size).checks if one.kind == "girth"]
        assert told and all(one.verdict == "sews" for one in told)


def _width(pattern: PatternSet, piece: str, size: str, below: float, mark: str) -> float:
    """How wide a piece is below a corner, the grain going up: by another library."""
    sized = pattern.sized(piece, size)
    y = sized.landmark(mark).point[1] - below
    across = shapely.LineString([(-2000.0, y), (2000.0, y)])
    return float(shapely.Polygon(sized.outline).intersection(across).length)


def test_a_shirt_without_a_level_is_measured_below_the_underarm() -> None:
    tee = wardrobe.cove_tee()
    found = find(tee)
    assert [*found] == ["bust", "hem", "biceps", "wrist"]
    for k, size in enumerate(tee.sizes):
        front = _width(tee, "front", size, BELOW_UNDERARM_MM, "side.start")
        back = _width(tee, "back", size, BELOW_UNDERARM_MM, "side.end")
        sleeve = _width(tee, "sleeve", size, BELOW_UNDERARM_MM, "cap.start")
        assert found["bust"].totals[k] == pytest.approx(2 * (front + back), abs=0.01)
        assert found["biceps"].totals[k] == pytest.approx(sleeve, abs=0.01)
        hems = [tee.sized(name, size).edge("hem").points for name in ("front", "back")]
        assert found["hem"].totals[k] == pytest.approx(
            2 * np.ptp(hems, axis=1)[:, 0].sum(), abs=0.01
        )


def test_a_leg_is_counted_once_and_a_waist_twice() -> None:
    trouser = drafts.walking_trouser()
    found = find(trouser)
    assert [(name, one.girth.times) for name, one in found.items()] == [
        ("waist", 2),
        ("thigh", 1),
        ("hem", 1),
    ]
    for k, size in enumerate(trouser.sizes):
        front = _width(trouser, "front", size, BELOW_CROTCH_MM, "inseam.end")
        back = _width(trouser, "back", size, BELOW_CROTCH_MM, "inseam.start")
        assert found["thigh"].totals[k] == pytest.approx(front + back, abs=0.01)


def test_the_answer_does_not_depend_on_where_a_piece_is_drawn() -> None:
    """Nor on names, on the first edge or on the direction, which `roughened` changes."""
    tee = wardrobe.cove_tee()
    bare, names, _ = WAYS["bare"](tee, 3)
    seams = {
        name: replace(one, lead=names.run(one.lead), follow=names.run(one.follow), notches=())
        for name, one in tee.relations.seams.items()
    }
    found = find(replace(bare, relations=replace(bare.relations, seams=seams)))
    for name, one in find(tee).items():
        assert found[name].totals == pytest.approx(one.totals, abs=0.1)


def test_what_is_not_sewn_has_no_girth() -> None:
    tee = wardrobe.cove_tee()
    seams = {name: one for name, one in tee.relations.seams.items() if one.lead[0].edge != "side"}
    found = find(replace(tee, relations=replace(tee.relations, seams=seams)))
    assert "biceps" in found


def test_a_front_with_an_overlap_has_no_bust() -> None:
    """What lies beyond the centre lies on the other half, and is no part of the round."""
    assert {"bust", "hem"}.isdisjoint(find(drafts.harbour_shirt()))


def test_what_a_cuff_tells_the_sleeve_does_not() -> None:
    """The sleeve is pleated into its cuff there, and no hand goes through its own edge."""
    assert "wrist" in find(wardrobe.cove_tee())
    assert "wrist" not in find(drafts.harbour_shirt())


def test_halves_that_are_both_drawn_are_left_to_be_told_by_hand() -> None:
    """A left front of its own beside the right one: twice the one is no round."""
    tee = wardrobe.cove_tee()
    assert {"bust", "hem"} <= find(tee).keys()
    pieces = {
        **tee.pieces,
        "left_front": replace(turn_over(tee.pieces["front"]), name="left_front"),
    }
    info = {**tee.info, "left_front": PieceInfo("left_front")}
    found = find(replace(tee, pieces=pieces, info=info))
    assert {"bust", "hem"}.isdisjoint(found) and "biceps" in found


def test_a_set_that_tells_its_girths_is_not_asked() -> None:
    assert not find(replace(demo("concert_dress"), name="dress"))


def test_a_smaller_garment_is_not_compared_with_the_chart() -> None:
    tee = wardrobe.cove_tee()
    for body, told in ((900.0, "bust"), (1500.0, None)):
        chart = {"bust": dict.fromkeys(tee.sizes, body)}
        assert find(replace(tee, chart=chart))["bust"].girth.chart == told


def test_halves_that_count_once_are_still_told() -> None:
    """Once is right of a leg alone: at the centre the round goes on."""
    bare = without_girths(demo("slant_trouser"))
    found = find(bare)
    for name, expected in (("thigh", 0), ("hip", 1), ("waist", 1)):
        once = replace(found[name], girth=replace(found[name].girth, times=1))
        assert len(list(review_rounds(put_girths(bare, [once])))) == expected


# ------------------------------------------------------------------------------- asking


@pytest.fixture
def tee(tmp_path: Path) -> Path:
    folder = tmp_path / "tee"
    propagate.save(wardrobe.cove_tee(), folder)
    return folder


NO_LEVELS = "n\n" * 3
"""To the waist, to bust and hem alone, and to the hip, which are asked before."""


def run(folder: Path, *more: str, said: str = "") -> str:
    done = CliRunner().invoke(app.cli, ["suggest", str(folder), "--least", "1", *more], input=said)
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def test_girths_are_asked_once_and_written_on_a_yes(tee: Path) -> None:
    text = run(tee, "--ask", said=f"{NO_LEVELS}y\n10mm\n")
    assert text.count("would be told with every change") == 1
    assert "biceps across sleeve, 25.0 mm below the underarm: " in text
    assert "how far below the waist" not in text  # its sides end at the armhole
    mine = propagate.load(tee)
    assert [*mine.relations.girths] == ["bust", "hem", "biceps", "wrist"]
    assert mine.lay_on in mine.sized("front", mine.base).levels
    assert "would be told" not in run(tee, "--ask", said="s\n")


def test_a_no_is_kept_and_nothing_is_written(tee: Path) -> None:
    before = {file: file.read_bytes() for file in tee.rglob("*") if file.is_file()}
    run(tee, "--ask", said=f"{NO_LEVELS}n\ns\n")
    assert "would be told" not in run(tee, "--ask", said="s\n")
    assert {file: file.read_bytes() for file in tee.rglob("*") if file.is_file()} == before
    run(tee, "--ask", said="s\n")


def test_a_file_of_answers_and_the_page_say_the_same(tee: Path, tmp_path: Path) -> None:
    other = tmp_path / "other" / "tee"
    other.parent.mkdir()
    propagate.save(propagate.load(tee), other)
    page = tmp_path / "page.html"
    run(tee, "--ask", said=f"{NO_LEVELS}s\n")
    run(tee, "--html", str(page))
    told = page.read_text("utf-8")
    assert "about girths and the allowance" in told and "below the underarm" in told
    run(tee, "--ask", said="y\ns\n")
    rows = [{"kind": "girths", "runs": [], "answer": "yes"}]
    file = tmp_path / "answers.json"
    file.write_text(json.dumps({"format": 3, "set": "cove tee", "answers": rows}), "utf-8")
    run(other, "--answers", str(file))
    assert (other / "set.toml").read_bytes() == (tee / "set.toml").read_bytes()
    assert "not taken over" not in run(other, "--answers", str(file))
