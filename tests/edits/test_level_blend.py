"""Blends by level alone: sets without a blend plan."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import BlendLevels, EditError, UnknownName
from propagate.cli import app
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from tests.builders import HIP, WAIST, tiny_set
from tests.engine.test_corners_that_follow import _piece
from tests.examples import examples
from tests.shared import demo


def without_plan(pattern: PatternSet) -> PatternSet:
    return replace(pattern, relations=replace(pattern.relations, blend=None))


@pytest.fixture(scope="module")
def gilet() -> PatternSet:
    return without_plan(demo("workshop_gilet"))


@pytest.mark.parametrize(("waist", "hip"), list(product(["36", "40"], ["38", "40"])))
def test_girths_are_those_of_the_sizes_and_the_side_follows_smoothly(waist: str, hip: str) -> None:
    skirt = without_plan(tiny_set())
    result = propagate.run(skirt, BlendLevels({"waist": waist, "hip": hip}))
    assert result.sews
    size = result.pattern.base
    front = result.pattern.sized("front", size)
    assert front.edge("waist").points[:, 0].max() == pytest.approx(WAIST[waist], abs=0.01)
    assert front.edge("hem").points[:, 0].max() == pytest.approx(HIP[hip], abs=0.01)
    # no kink: neighbouring chords of the side turn by little (the source's own turn by less)
    chords = np.diff(front.edge("side").points, axis=0)
    turns = np.degrees(np.abs(np.diff(np.unwrap(np.arctan2(chords[:, 1], chords[:, 0])))))
    assert turns.max() < 3.0


@pytest.mark.parametrize(("waist", "hip"), [("36", "40"), ("40", "36")])
def test_a_centre_that_a_band_is_sewn_to_stays_straight(waist: str, hip: str) -> None:
    skirt = without_plan(tiny_set())
    info = {**skirt.info, "front": replace(skirt.info["front"], fold=None)}
    nest = {}
    for size in skirt.sizes:
        high = skirt.sized("front", size).edge("centre").length
        corners = np.array([(0.0, 0.0), (30.0, 0.0), (30.0, high), (0.0, high), (0.0, 0.0)])
        names = ("low", "outer", "top", "sewn")
        nest[size] = _piece(*((n, corners[i : i + 2]) for i, n in enumerate(names)))
    seam = Seam("band", parse_run("front.centre"), parse_run("band.sewn"))
    banded = replace(
        skirt,
        pieces={**skirt.pieces, "band": Piece("band", nest)},
        info={**info, "band": PieceInfo("Band")},
        relations=replace(skirt.relations, seams={**skirt.relations.seams, "band": seam}),
    )
    result = propagate.run(banded, BlendLevels({"waist": waist, "hip": hip}))
    front = result.pattern.sized("front", result.pattern.base)
    assert result.sews
    assert np.ptp(front.edge("centre").points[:, 0]) < 1e-9
    girth = np.ptp(front.edge("waist").points[:, 0]), np.ptp(front.edge("hem").points[:, 0])
    assert girth == pytest.approx((WAIST[waist], HIP[hip]), abs=0.01)


def test_one_size_for_every_level_is_that_size(gilet: PatternSet) -> None:
    result = propagate.run(gilet, BlendLevels({"chest": "102", "waist": "102", "hip": "102"}))
    for name in gilet.pieces:
        assert result.pattern.sized(name, "102") == gilet.sized(name, "102")


def test_beyond_the_outermost_levels_a_piece_is_that_size(gilet: PatternSet) -> None:
    result = propagate.run(gilet, BlendLevels({"chest": "110", "waist": "96", "hip": "90"}))
    size = result.pattern.base
    for name in ("upper_front", "upper_back"):
        new, top = result.pattern.sized(name, size), gilet.sized(name, "110")
        for edge in ("shoulder", "neck"):
            assert new.edge(edge).length == pytest.approx(top.edge(edge).length, abs=1e-3)
    below, hem = result.pattern.sized("lower_front", size), gilet.sized("lower_front", "90")
    assert below.edge("hem") == hem.edge("hem")
    assert "collar" in {piece.piece for piece in result.record.pieces}


@examples(25)
@given(st.permutations(["84", "90", "96", "102", "110"]), st.sampled_from([2, 3]))
def test_any_blend_of_near_sizes_sews(sizes: list[str], count: int) -> None:
    pattern = without_plan(demo("workshop_gilet"))
    levels = dict(zip(["chest", "waist", "hip"][:count], sizes, strict=False))
    result = propagate.run(pattern, BlendLevels(levels))
    worst = max(
        (abs(row.difference) for row in (*result.record.seams, *result.record.bands)), default=0.0
    )
    assert result.sews and worst < 0.05
    girth = next(row for row in result.record.girths if row.girth == "waist")
    assert girth.found_mm == pytest.approx(girth.wanted_mm, abs=0.3)


def test_a_level_may_lie_between_two_sizes(gilet: PatternSet) -> None:
    result = propagate.run(gilet, BlendLevels({"chest": "99", "waist": "93", "hip": "90"}))
    girth = next(row for row in result.record.girths if row.girth == "waist")
    waists = [
        next(
            row.second
            for row in propagate.walk(gilet, size, cut_lines=False).of("girth")
            if row.name == "waist"
        )
        for size in ("90", "96")
    ]
    assert result.sews and girth.found_mm == pytest.approx(sum(waists) / 2, abs=0.3)


def test_what_cannot_be_is_said(gilet: PatternSet) -> None:
    with pytest.raises(UnknownName, match="did you mean 'chest'"):
        propagate.run(gilet, BlendLevels({"chst": "102"}))
    with pytest.raises(UnknownName, match="XXL"):
        propagate.run(gilet, BlendLevels({"chest": "XXL"}))
    with pytest.raises(EditError, match="no level with a size"):
        propagate.run(gilet, BlendLevels({}))
    trousers = without_plan(demo("slant_trouser"))
    with pytest.raises(EditError, match=r"front_pocket.*blend"):
        propagate.run(trousers, BlendLevels({"waist": "42", "hip": "48"}))


def test_the_command_takes_a_set_without_a_plan(gilet: PatternSet, tmp_path) -> None:
    propagate.save(gilet, tmp_path / "gilet")
    words = ["blend", str(tmp_path / "gilet"), "--size", "chest=102", "--size", "hip=90"]
    done = CliRunner().invoke(app.cli, [*words, "-o", str(tmp_path / "out")])
    assert done.exit_code == 0, done.output
    assert propagate.load_result(tmp_path / "out").sews
    refused = CliRunner().invoke(app.cli, [*words, "--rise", "upper"])
    assert refused.exit_code == 2 and "--rise needs the [blend] section" in refused.output


def test_a_piece_with_two_sides_alike_is_laid_by_its_middle() -> None:
    """Both sides of a panel are sewn and neither is its centre: it stays symmetric."""
    nest = {}
    for size, wide in (("S", 100.0), ("M", 140.0)):
        x = wide / 2
        corners = np.array([(-x, 0.0), (x, 0.0), (x, 200.0), (-x, 200.0), (-x, 0.0)])
        names = ("low", "right", "top", "left")
        piece = _piece(*((n, corners[i : i + 2]) for i, n in enumerate(names)))
        nest[size] = replace(piece, levels={"foot": (0.0, 0.0), "mouth": (0.0, 200.0)})
    panel = PatternSet(
        name="panel",
        sizes=("S", "M"),
        base="M",
        lay_on="foot",
        pieces={name: Piece(name, nest) for name in ("front", "back")},
        info={name: PieceInfo(name) for name in ("front", "back")},
        relations=replace(
            tiny_set().relations,
            seams={
                side: Seam(side, parse_run(f"front.{side}"), parse_run(f"back.{side}"))
                for side in ("left", "right")
            },
            girths={},
            blend=None,
        ),
    )
    result = propagate.run(panel, BlendLevels({"foot": "M", "mouth": "S"}))
    for name in ("front", "back"):
        points = result.pattern.sized(name, result.pattern.base).outline
        top = points[points[:, 1] > 199.9]
        assert sorted(top[:, 0]) == pytest.approx([-50.0, 50.0], abs=1e-3)


def test_a_cuff_and_a_collar_go_with_what_has_a_place() -> None:
    """Sewn to nothing that has a level itself: the size of the sleeve, of the stand."""
    shirt = demo("ferry_shirt")
    held = replace(shirt.relations, places={})
    mine, own = (
        propagate.blend(one, BlendLevels({"bust": "41", "waist": "39", "hip": "40"})).pattern
        for one in (replace(shirt, relations=held), shirt)
    )
    for piece in ("cuff", "collar", "stand", "yoke", "sleeve"):
        got, hand = (one.sized(piece, one.base).outline for one in (mine, own))
        assert got.shape == hand.shape and np.abs(got - hand).max() == 0.0, piece
