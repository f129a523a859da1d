"""The levels of tops and dresses: where the formulas of a draft have them, asked and written."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.affinity
from click.testing import CliRunner

import propagate
from propagate import BlendLevels, blend
from propagate.cli import app
from propagate.engine.walk import walk
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.turning import turned_seam
from propagate.suggesting.tops import Leveling, Told, find_top
from propagate.suggesting.underarms import find_underarms
from tests.shared import demo
from tests.suggesting import garment_drafts, gusset_drafts, tailored_drafts, wardrobe_drafts
from tests.suggesting.blouse_drafts import (
    BUST_BELOW_MM,
    DART_MM,
    LEGS,
    larch_blouse,
    side_x,
    underarm_of,
    waist_of,
)

AGREES_MM = 0.2
HIP = Told(True, 200.0)
UNTOLD = Told()


def without_levels(real: PatternSet) -> PatternSet:
    """Joined, but with nothing that tells a level: no place, girth or hold, and no plan."""
    pieces = {
        name: Piece(name, {size: replace(one, levels={}) for size, one in piece.nest.items()})
        for name, piece in real.pieces.items()
    }
    held = real.relations
    seams = {name: replace(one, hold=None) for name, one in held.seams.items()}
    bare = replace(held, blend=None, places={}, girths={}, seams=seams)
    return replace(real, pieces=pieces, lay_on="", relations=bare)


def find(pattern: PatternSet, waist: Told = UNTOLD, hip: Told = UNTOLD) -> Leveling:
    top = find_top(pattern)
    assert top is not None
    return top.list_levelings(waist, hip)[0]


def with_levels_by_hand() -> PatternSet:
    """The blouse with its levels by the formulas that it was drafted by."""
    bare = larch_blouse()
    pieces = dict(bare.pieces)
    for name, raised in (("front", DART_MM), ("back", 0.0)):
        nest = {
            size: replace(
                sized,
                levels={
                    "bust": (0.0, underarm_of(k) - BUST_BELOW_MM + raised),
                    "waist": (0.0, waist_of(k)),
                    "hip": (0.0, 0.0),
                },
            )
            for k, (size, sized) in enumerate(bare.pieces[name].nest.items())
        }
        pieces[name] = Piece(name, nest)
    return replace(bare, pieces=pieces, lay_on="waist")


def apart(one: PatternSet, other: PatternSet, piece: str) -> float:
    """How far two drawings of a piece lie apart, wherever they were put."""
    rings = [shapely.LinearRing(got.sized(piece, got.base).outline) for got in (one, other)]
    a, b = (shapely.Polygon(ring).centroid for ring in rings)
    return shapely.hausdorff_distance(
        rings[0], shapely.affinity.translate(rings[1], a.x - b.x, a.y - b.y)
    )


def test_bust_waist_and_hem_lie_where_the_formulas_have_them() -> None:
    found = find(larch_blouse())
    assert [(one.level, one.how) for one in found.places] == [
        ("bust", "underarm"),
        ("waist", "narrowest"),
        ("hip", "hem"),
    ]
    assert found.crossed == ("front", "back") and found.lay_on == "waist"
    for k, size in enumerate(larch_blouse().sizes):
        for name, sign, raised in (("front", -1.0, DART_MM), ("back", 1.0, 0.0)):
            x, y = found.levels["waist"][name][size]
            assert sign * x == pytest.approx(float(side_x(k, waist_of(k))), abs=0.01)
            assert y == pytest.approx(waist_of(k), abs=0.01)
            _, y = found.levels["bust"][name][size]
            assert y == pytest.approx(underarm_of(k) - BUST_BELOW_MM + raised, abs=1e-6)
            assert found.levels["hip"][name][size][1] == 0.0


@pytest.mark.parametrize(
    "sizes",
    [
        {"bust": "4", "waist": "3", "hip": "2"},
        {"bust": "2", "hip": "4"},
        {"bust": "3", "waist": "5"},
    ],
)
def test_blends_are_those_of_the_blouse_with_levels_by_hand(sizes: dict[str, str]) -> None:
    bare = larch_blouse()
    mine = find(bare).put_on(bare)
    got, own = (blend(one, BlendLevels(sizes)) for one in (mine, with_levels_by_hand()))
    assert walk(got.pattern, got.pattern.base).sews
    front = got.pattern.sized("front", got.pattern.base)  # between two sizes its dart closes too
    legs = [np.hypot(*np.subtract(front.landmark(leg).point, front.darts[0].tip)) for leg in LEGS]
    assert legs[0] == pytest.approx(legs[1], abs=0.01)
    for piece in bare.pieces:
        assert apart(got.pattern, own.pattern, piece) < AGREES_MM, piece


@pytest.mark.parametrize(
    ("name", "hip", "sizes"),
    [
        ("concert_dress", UNTOLD, {"bust": "38", "waist": "42", "hip": "40"}),
        ("concert_dress", UNTOLD, {"bust": "48", "waist": "42", "hip": "36"}),
        ("ferry_shirt", HIP, {"bust": "41", "waist": "38", "hip": "40"}),
        ("ferry_shirt", HIP, {"bust": "38", "hip": "42"}),
    ],
)
def test_blends_are_those_of_the_demo_sets_own_levels(
    name: str, hip: Told, sizes: dict[str, str]
) -> None:
    """The dress's go through notches from piece to piece; the shirt's hip is 200 mm down there."""
    real = demo(name)
    bare = without_levels(real)
    mine = find(bare, hip=hip).put_on(bare)
    held = mine.relations.seams  # without the holds, which are no level's
    hand = replace(real, relations=replace(real.relations, seams=held))
    got, own = (blend(one, BlendLevels(sizes)) for one in (mine, hand))
    assert walk(got.pattern, got.pattern.base).sews
    for piece in real.pieces:
        assert apart(got.pattern, own.pattern, piece) < AGREES_MM, piece


def test_without_notches_a_level_lies_as_far_along_a_princess_seam() -> None:
    bare = without_levels(demo("concert_dress"))
    seams = {
        name: replace(one, notches=(), ease=0.0) if "princess" in name else one
        for name, one in bare.relations.seams.items()
    }
    plain = replace(bare, relations=replace(bare.relations, seams=seams))
    found = find(plain)
    assert set(found.crossed) == {"front", "side_front", "side_back", "back"}
    size = plain.base
    for near, far in (("side_front", "front"), ("side_back", "back")):
        lines = {
            piece: shapely.LineString(plain.sized(piece, size).edge("princess").points)
            for piece in (near, far)
        }
        # From the hem up on both: the edge of the side front is drawn downwards.
        if near == "side_front":
            lines[near] = shapely.reverse(lines[near])
        for level, on in found.levels.items():
            y = on[near][size][1]
            across = shapely.LineString([(-1e4, y), (1e4, y)])
            share = lines[near].project(lines[near].intersection(across), normalized=True)
            wanted = lines[far].interpolate(share, normalized=True)
            assert on[far][size] == pytest.approx((wanted.x, wanted.y), abs=0.01), level


def test_which_side_is_written_first_makes_no_difference() -> None:
    bare = without_levels(demo("concert_dress"))
    other = {
        name: seam if seam.mirror or name == "front_princess" else turned_seam(seam)
        for name, seam in reversed(bare.relations.seams.items())
    }
    turned = replace(bare, relations=replace(bare.relations, seams=other))
    one, two = find(bare), find(turned)
    assert one.levels == two.levels and one.question == two.question


@pytest.mark.parametrize(
    "garment",
    [
        garment_drafts.walking_trouser,
        wardrobe_drafts.attic_pyjama,
        wardrobe_drafts.hop_dungarees,
        wardrobe_drafts.pantry_apron,
        wardrobe_drafts.creel_bag,
        wardrobe_drafts.weir_panels,
        tailored_drafts.lagoon_culottes,
    ],
)
def test_no_inseam_and_no_skirt_has_an_underarm(garment: object) -> None:
    assert callable(garment)
    assert find_underarms(without_levels(garment())) == []


def test_of_pieces_that_are_known_for_a_legging_none_has_an_underarm() -> None:
    leggings = gusset_drafts.reed_leggings()
    assert find_underarms(leggings, frozenset(leggings.pieces)) == []


@pytest.mark.parametrize(
    "garment",
    [
        wardrobe_drafts.cove_tee,
        wardrobe_drafts.tarn_raglan,
        wardrobe_drafts.mill_waistcoat,
        tailored_drafts.heath_coat,
    ],
)
def test_tops_are_found_and_no_seam_of_a_sleeve(garment: object) -> None:
    assert callable(garment)
    found = find_underarms(without_levels(garment()))
    assert [way.seam.name for way in found] == ["side"]


# ------------------------------------------------------------------------------- asked


@pytest.fixture
def blouse(tmp_path: Path) -> Path:
    folder = tmp_path / "blouse"
    propagate.save(larch_blouse(), folder)
    return folder


def run(*words: str, said: str = "") -> str:
    done = CliRunner().invoke(app.cli, list(words), input=said)
    assert done.exit_code == 0, done.output
    return " ".join(done.output.split())


def ask(folder: Path, *words: str) -> str:
    said = "".join(f"{word}\n" for word in words)
    return run("suggest", str(folder), "--ask", "--least", "1", said=said)


def content(folder: Path) -> dict[str, bytes]:
    return {str(one): one.read_bytes() for one in sorted(folder.rglob("*")) if one.is_file()}


def test_a_yes_draws_the_levels_and_girths_follow(blouse: Path) -> None:
    before = content(blouse)
    text = ask(blouse, "s")
    assert "25.0 mm below the underarm, where side and armhole meet" in text
    assert "where the side is narrowest" in text and content(blouse) == before
    text = ask(blouse, "y", "y", "10mm", "s")
    assert "bust across front and back, on the level bust" in text
    base = larch_blouse().base
    hem = 4.0 * float(side_x(larch_blouse().sizes.index(base), 0.0))
    assert text.count(f"= {hem:.1f} mm in size {base}") == 2  # of the hip, which lies on it, too
    assert "The levels are drawn; propagate blend takes a size for each of them now." in text
    mine = propagate.load(blouse)
    assert {"bust", "waist", "hip"} <= mine.relations.girths.keys()
    assert mine.lay_on == "waist" and mine.relations.blend is None
    assert "blending sizes by level" not in ask(blouse, "s")
    run("blend", str(blouse), "--size", "bust=4", "--size", "hip=2", "-o", f"{blouse}_4_2")
    assert "everything sews together (" in run("walk", f"{blouse}_4_2")
    ask(blouse, "u", "u", "u", "s")
    assert content(blouse) == before


def test_what_is_not_so_is_asked_by_a_length(blouse: Path) -> None:
    text = ask(blouse, "n", "900mm", "190mm", "n", "n", "y", "n", "s")
    assert text.count("how far below the underarm, along the side, is the waist taken") == 1
    assert "expected a distance of 85 to" in text
    assert "how far below the waist, along the side, is the hip taken" in text
    mine = propagate.load(blouse)
    levels = mine.sized("back", mine.base).levels
    assert [*levels] == ["bust", "waist"]
    side = shapely.LineString(mine.sized("back", mine.base).edge("side").points[::-1])
    assert side.project(shapely.Point(levels["waist"])) == pytest.approx(190.0, abs=0.01)
    file = json.loads(blouse.with_name("blouse.answers.json").read_text("utf-8"))
    kinds = [one["kind"] for one in file["answers"]]
    assert kinds == ["levels", "waist", "levels", "hip", "levels", "girths"]


def test_the_page_asks_the_same_and_its_answers_are_taken_over(
    blouse: Path, tmp_path: Path
) -> None:
    page = tmp_path / "page.html"
    run("suggest", str(blouse), "--html", str(page), "--least", "1")
    text = page.read_text("utf-8")
    assert "where the side is narrowest" in text and '"kind":"levels"' in text
    assert '"kind":"girths"' not in text  # with the levels that there are then
    data = json.loads(text.split('id="data">')[1].split("</script>")[0])
    levels = next(one for one in data["questions"] if one["kind"] == "levels")
    row = {"kind": "levels", "runs": levels["runs"], "answer": "yes"}
    file = tmp_path / "answers.json"
    file.write_text(json.dumps({"format": data["format"], "set": data["set"], "answers": [row]}))
    run("suggest", str(blouse), "--answers", str(file), "--least", "1")
    mine = propagate.load(blouse)
    own = with_levels_by_hand()
    for piece in ("front", "back"):
        got, hand = (one.sized(piece, one.base).levels for one in (mine, own))
        assert [*got] == [*hand]
        for level, at in hand.items():
            assert got[level][1] == pytest.approx(at[1], abs=0.01)


def test_a_length_that_leaves_the_side_is_refused(blouse: Path, tmp_path: Path) -> None:
    row = {"kind": "waist", "runs": [], "answer": "yes", "width": 700.0}
    file = tmp_path / "answers.json"
    told = {"format": 4, "set": "larch blouse", "answers": [row]}
    file.write_text(json.dumps(told))
    words = ["suggest", str(blouse), "--answers", str(file)]
    done = CliRunner().invoke(app.cli, words)
    assert done.exit_code != 0
    assert "found a waist 700 mm below the underarm, expected" in " ".join(done.output.split())
