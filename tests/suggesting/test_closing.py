"""What is asked last: kept, taken back, turned, read from a file, and written as it was said."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from click.testing import CliRunner, Result

import propagate
from propagate import Blend, blend
from propagate.cli import app
from propagate.demo import demo_names
from propagate.engine.walk import walk
from propagate.pattern.info import Allowance
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Band, PieceInfo, Zone, parse_run
from propagate.pattern.spans import run_length
from propagate.suggesting.blending import find_blendings
from propagate.suggesting.side_seams import sort_ways
from tests import builders
from tests.shared import demo
from tests.suggesting.bare_folders import bare_folder
from tests.suggesting.garment_drafts import marked as with_notches
from tests.suggesting.garment_drafts import strip
from tests.suggesting.test_hip_by_distance import without_hip

AGREES_MM = 0.5
"""Which side leads decides what gives by rounding and fairing, not where the blend goes."""


def bare(real: PatternSet) -> PatternSet:
    """All but what is asked last: joined, with levels, without a plan and allowances."""
    info = {name: replace(one, allowance=Allowance()) for name, one in real.info.items()}
    return replace(real, info=info, relations=replace(real.relations, blend=None))


@pytest.fixture
def skirt(tmp_path: Path) -> Path:
    folder = tmp_path / "skirt"
    propagate.save(bare(builders.tiny_set()), folder)
    return folder


@pytest.fixture
def marked(tmp_path: Path) -> Path:
    """With a pair of notches for the hip, without levels."""
    real = builders.tiny_set()
    pieces = {
        name: replace(
            piece, nest={size: replace(one, levels={}) for size, one in piece.nest.items()}
        )
        for name, piece in real.pieces.items()
    }
    held = real.relations
    seams = {name: replace(one, hold=None) for name, one in held.seams.items()}
    relations = replace(held, blend=None, seams=seams, girths={})
    folder = tmp_path / "skirt"
    propagate.save(bare(replace(real, pieces=pieces, lay_on="", relations=relations)), folder)
    return folder


def run(*args: str, said: str = "") -> Result:
    return CliRunner().invoke(app.cli, ["suggest", *args], input=said)


def ask(folder: Path, *words: str) -> str:
    """Refuse all that could be joined besides, then say these words."""
    done = run(str(folder), "--ask", "--least", "1", said="".join(f"{one}\n" for one in words))
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def kept(folder: Path) -> list[dict[str, object]]:
    file = folder.with_name("skirt.answers.json")
    found: list[dict[str, object]] = json.loads(file.read_text("utf-8"))["answers"]
    return found


def content(folder: Path) -> dict[str, bytes]:
    return {
        one.relative_to(folder).as_posix(): one.read_bytes()
        for one in folder.rglob("*")
        if one.is_file()
    }


def test_a_no_is_kept_and_taken_back_in_a_later_call(marked: Path) -> None:
    before = content(marked)
    first = ask(marked, "n", "s")
    assert first.count("is all of this so?") == 1
    second = ask(marked, "n", "n")
    assert "is all of this so?" not in second
    assert "how far below the waist" in second and "How wide is it" in second
    assert [one["answer"] for one in kept(marked)] == ["no"] * 3
    third = ask(marked)
    assert "No question is left." in third and "is all of this so?" not in third
    assert "no way that was found is so" in third
    fourth = ask(marked, "u", "u", "u", "s")
    assert fourth.count("is all of this so?") == 1
    assert kept(marked) == []
    assert content(marked) == before


def test_nothing_is_written_before_the_end_and_all_of_it_then(marked: Path) -> None:
    before = content(marked)
    ask(marked, "y", "10mm", "s")
    mine = propagate.load(marked)
    assert mine.relations.blend is not None
    assert all(one.allowance.default == 10.0 for one in mine.info.values())
    again = ask(marked)
    assert "is all of this so?" not in again and "How wide" not in again
    # What was written is taken out of all its places, one answer after the other.
    asked_anew = ask(marked, "u", "s")
    assert "How wide is it" in asked_anew
    mine = propagate.load(marked)
    assert mine.relations.blend is not None
    assert all(one.allowance == Allowance() for one in mine.info.values())
    asked_anew = ask(marked, "u", "u", "s")
    assert "is all of this so?" in asked_anew
    assert content(marked) == before and kept(marked) == []


def test_a_yes_is_taken_back_beside_what_was_written_since(marked: Path) -> None:
    before = content(marked)
    ask(marked, "y", "10mm")
    file = marked / "set.toml"
    ends = file.read_bytes().replace(b"\n", b"\r\n")
    note = b"\r\n# my own words\r\n"
    file.write_bytes(ends + note)
    told = ask(marked, "u", "s")  # another program wrote other ends of lines
    assert "'set.toml' was changed since" in told and content(marked)["set.toml"] == ends + note
    file.write_bytes((ends + note).replace(b"\r\n", b"\n"))
    ask(marked, "u", "u", "s")
    after = content(marked)
    assert after["set.toml"] == before["set.toml"] + b"\n# my own words\n"
    geometry = [name for name in before if name.startswith("geometry")]
    assert all(after[name] == before[name] for name in geometry) and len(geometry) == 2


def test_answers_of_format_2_know_not_what_was_there_before(marked: Path) -> None:
    ask(marked, "y", "0")
    file = marked.with_name("skirt.answers.json")
    held = json.loads(file.read_text("utf-8"))
    held["format"] = 2
    for one in held["answers"]:
        one.pop("changes", None)
    held["answers"].pop()  # the blending is the last
    file.write_text(json.dumps(held), "utf-8")
    after = content(marked)
    told = ask(marked, "u", "u", "s")
    assert "it is not known what was there before; take out 'blend' in set.toml by hand" in told
    assert content(marked) == after


def test_a_yes_can_be_taken_back_in_its_sitting(marked: Path) -> None:
    before = content(marked)
    text = ask(marked, "y", "u", "n", "s")
    assert text.count("How wide is it") == 1
    assert [one["answer"] for one in kept(marked)] == ["no"]
    assert content(marked) == before


def test_what_was_taken_out_by_hand_is_asked_again(marked: Path) -> None:
    ask(marked, "y", "10mm")
    mine = propagate.load(marked)
    for file in marked.rglob("*.json"):
        file.unlink()
    (marked / "set.toml").unlink()
    propagate.save(bare(mine), marked, replace=True)
    text = ask(marked, "s")
    assert "2 answered before were changed in set.toml since" in text
    assert "is all of this so?" in text


def test_the_other_side_leads_and_blends_alike(tmp_path: Path) -> None:
    """A blend draws both mains: it goes where it did, whichever of them leads."""
    for name, upper, lower in (("slant_trouser", "42", "48"), ("scoop_skirt", "S", "L")):
        real = demo(name)
        plan = real.relations.blend
        assert plan is not None
        way = find_blendings(bare(real))[0]
        both = []
        for one in (way, way.turn()):
            joined = one.put_on(bare(real))
            made = joined.relations.blend
            assert made is not None
            assert all(walk(joined, size, cut_lines=False).sews for size in joined.sizes)
            sizes = {made.upper: upper, made.lower: lower}
            both.append(blend(joined, Blend(sizes)).pattern)
        first, second = (one.relations.seams[plan.seam] for one in both)
        assert (first.lead, first.follow) == (second.follow, second.lead)
        assert way.turn().turn() == way
        for piece in real.pieces:
            rings = [shapely.LinearRing(one.sized(piece, one.base).outline) for one in both]
            assert shapely.hausdorff_distance(*rings) < AGREES_MM, (name, piece)


def test_a_change_comes_from_the_side_that_leads(marked: Path, tmp_path: Path) -> None:
    text = ask(marked, "o", "0")
    assert "o back leads" in text
    mine = propagate.load(marked)
    plan = mine.relations.blend
    assert plan is not None and plan.mains[0].silhouette == "back"
    seam = mine.relations.seams[plan.seam]
    assert [span.piece for span in (*seam.lead, *seam.follow)] == ["back", "front"]
    assert kept(marked)[0]["answer"] == "turned" and kept(marked)[0]["written"] is True
    out = tmp_path / "out"
    words = ["change", str(marked), "let-out", "edge=back.side", "by=6mm", "-o", str(out)]
    done = CliRunner().invoke(app.cli, words)
    assert done.exit_code == 0, done.output
    changed = propagate.load(out)
    assert all(walk(changed, size, cut_lines=False).sews for size in changed.sizes)


def answers_file(tmp_path: Path, *rows: dict[str, object]) -> str:
    file = tmp_path / "saved.json"
    name = builders.tiny_set().name
    file.write_text(json.dumps({"format": 2, "set": name, "answers": list(rows)}), "utf-8")
    return str(file)


def test_a_file_is_taken_as_what_was_typed(marked: Path, tmp_path: Path) -> None:
    other = tmp_path / "other" / "skirt"
    other.parent.mkdir()
    propagate.save(propagate.load(marked), other)
    ask(other, "y", "5/8in")
    rows = kept(other)
    for row in rows:
        row["written"] = False
    rows[1]["width"] = "5/8in"
    done = run(str(marked), "--answers", answers_file(tmp_path, *rows), "--least", "1")
    assert done.exit_code == 0, done.output
    assert content(marked) == content(other)
    assert kept(marked) == kept(other)
    # Once more changes nothing, whatever unit the width is written in.
    before = content(marked), kept(marked)
    done = run(str(marked), "--answers", answers_file(tmp_path, *rows), "--least", "1")
    assert done.exit_code == 0, done.output
    assert "not taken over" not in done.output
    assert (content(marked), kept(marked)) == before


def test_what_the_set_says_already_is_not_changed_by_a_file(marked: Path, tmp_path: Path) -> None:
    ask(marked, "y", "10mm")
    before = content(marked), kept(marked)
    rows: list[dict[str, object]] = [
        {**WAY, "answer": "turned"},
        {"kind": "hip", "answer": "yes", "width": "150mm"},
        {"kind": "allowance", "answer": "yes", "width": "12mm"},
    ]
    done = run(str(marked), "--answers", answers_file(tmp_path, *rows), "--least", "1")
    assert done.exit_code == 0, done.output
    assert " ".join(done.output.split()).count("was not taken over") == 3
    assert (content(marked), kept(marked)) == before


WAY = {
    "kind": "blending",
    "runs": [
        ["front.waist", "front.side from start to hip_notch"],
        ["back.waist", "back.side from end to hip_notch"],
    ],
    "answer": "yes",
}


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([{"kind": "allowance", "answer": "yes", "width": "60mm"}], "at most 50 mm"),
        ([{"kind": "allowance", "answer": "yes", "width": "-1mm"}], "a length of 0 or more"),
        ([{"kind": "allowance", "answer": "yes", "width": "wide"}], "a length"),
        ([{"kind": "allowance", "answer": "yes"}], "a width with yes"),
        ([{"kind": "allowance", "answer": "turned", "width": 10}], "yes, no or later"),
        ([{"kind": "hip", "answer": "yes", "width": "900mm"}], "a distance of 30 to"),
        ([{**WAY, "runs": []}], "expected 2"),
        ([{**WAY, "text": "[seam.x]"}], "expected none with blending"),
        ([WAY, {**WAY, "answer": "turned"}], "yes to 2 ways"),
        (
            [{**WAY, "runs": [["front.waist", "front.side"], ["back.waist", "back.side"]]}],
            "cannot be blended in the way that was confirmed",
        ),
    ],
)
def test_what_could_not_be_typed_is_refused(
    marked: Path, tmp_path: Path, rows: list[dict[str, object]], words: str
) -> None:
    before = content(marked)
    done = run(str(marked), "--answers", answers_file(tmp_path, *rows))
    assert done.exit_code == 2, done.output
    assert words in " ".join(done.output.split())
    assert content(marked) == before
    assert not marked.with_name("skirt.answers.json").exists()


def test_a_hip_at_a_distance_is_kept_and_taken_back(tmp_path: Path) -> None:
    folder = tmp_path / "skirt"
    propagate.save(without_hip(builders.tiny_set()), folder)
    text = ask(folder, "180mm", "n", "u", "u", "190mm", "s")
    assert "180.0 mm along the side" in text and "190.0 mm along the side" in text
    assert [(one["kind"], one["width"]) for one in kept(folder)] == [("hip", 190.0)]
    assert "190.0 mm along the side" in ask(folder, "l", "l")
    assert propagate.load(folder).relations.blend is None
    ask(folder, "y", "n")
    assert propagate.load(folder).relations.blend is not None


def test_pictures_show_the_last_questions_too(marked: Path, tmp_path: Path) -> None:
    folder = tmp_path / "pictures"
    words = "n\nl\nl\n"
    done = run(str(marked), "--ask", "--least", "1", "--pictures", str(folder), said=words)
    assert done.exit_code == 0, done.output
    first = (folder / "question-01.svg").read_text("utf-8")
    assert all(f">{word}<" in first for word in ("side", "waist", "centre", "hip"))
    assert ">side<" in (folder / "question-02.svg").read_text("utf-8")


def test_a_file_that_is_taken_over_again_takes_nothing_back(tmp_path: Path) -> None:
    """Blending gave the side seam a hold, and another lead: the older answer knows neither."""
    real = demo("scoop_skirt")
    folder = bare_folder("scoop_skirt", tmp_path / "skirt")
    said = "y\n" * 7 + "s\n"
    assert run(str(folder), "--ask", said=said).exit_code == 0
    first = folder.with_name("skirt.answers.json").read_bytes()
    file = tmp_path / "saved.json"
    file.write_bytes(first)
    assert len(kept(folder)) == 7
    done = run(str(folder), "--ask", "--least", "0.9", said="o\n0\n")
    assert done.exit_code == 0, done.output
    plan = propagate.load(folder).relations.blend
    assert plan is not None and plan.mains[0].silhouette != "full_front"
    before = content(folder), kept(folder)
    done = run(str(folder), "--answers", str(file))
    assert done.exit_code == 0, done.output
    assert "set.toml stays as it is" in done.output
    assert (content(folder), kept(folder)) == before
    assert set(propagate.load(folder).sizes) == set(real.sizes)


WAISTS = {
    "slant_trouser": {"front.waist", "back.waist", "facing.waist"},
    "quay_jeans": {"front.waist", "facing.waist", "yoke.waist"},
    "scoop_skirt": {"skirt_front.top", "skirt_back.top", "pocket_facing.top"},
    "lined_skirt": {"front.waist", "back.waist"},
    "workshop_gilet": {"lower_front.waist", "lower_back.waist"},
}
"""The edges at the waist, as the drafts' own `[blend]` names them; other demo sets have none."""


@pytest.mark.parametrize("name", demo_names())
def test_no_hem_neck_or_shoulder_is_taken_for_the_waist_first(name: str) -> None:
    real = bare(demo(name))
    ways = sort_ways(real)
    if name not in WAISTS:
        named = {way.seam.name for way in ways}
        # Both fronts of the shirt are sewn to bands that have a hem, too.
        assert named <= ({"left_band", "right_band"} if name == "ferry_shirt" else set())
        return
    first = ways[0]
    for side in first.sides:
        parts = side.silhouette.segments[first.across(side)]
        assert {part.span.key for part in parts} <= WAISTS[name]


def test_what_follows_a_piece_that_is_taken_as_drawn_is_taken_with_it() -> None:
    """Above the gilet's waist seam nothing is carried: the draft takes its back by place, too."""
    real = bare(demo("workshop_gilet"))
    way = find_blendings(replace(real, relations=replace(real.relations, places={})))[0]
    placed = {one.piece for one in way.places}
    assert real.relations.places["upper_back"].level == "waist"
    assert {"upper_front", "upper_back"} <= placed
    assert {"lower_front", "lower_back"}.isdisjoint(placed)


def test_a_band_on_a_neck_that_is_taken_as_drawn_is_taken_with_it() -> None:
    """A collar on the gilet: above its waist seam nothing is carried, so it is that size's own."""
    real = bare(demo("workshop_gilet"))
    runs = {"back": parse_run(["upper_back.neck"]), "front": parse_run(["upper_front.neck"])}
    nest = {}
    for size in real.sizes:
        back, front = (run_length(real.in_size(size), run) for run in runs.values())
        nest[size] = with_notches(strip(back + front, 60.0), [("shoulder", "sewn", (back, 0.0))])
    zones = (
        Zone("back", "start", "shoulder", runs["back"]),
        Zone("front", "shoulder", "end", runs["front"]),
    )
    band = Band("collar", "collar", "sewn", "far", zones)
    collared = replace(
        real,
        pieces={**real.pieces, "collar": Piece("collar", nest)},
        info={**real.info, "collar": PieceInfo("collar")},
        relations=replace(real.relations, places={}, bands={"collar": band}),
    )
    joined = find_blendings(collared)[0].put_on(collared)
    assert joined.relations.places["collar"].level == "waist"
    got = blend(joined, Blend({"waist": "90", "hip": "102"})).pattern
    assert walk(got, got.base).sews
    assert (got.sized("collar", got.base).outline == nest["90"].outline).all()
