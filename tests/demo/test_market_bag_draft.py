"""The drafted bag, which is no garment: a gusset round three edges, copies, edits against redrafts.

What is a rectangle is judged by its sides; volumes are width by height by depth.
"""

from __future__ import annotations

import runpy
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import propagate
from demo_sets.market_bag import draft as drafting
from propagate.engine.edits.level_blend import BlendLevels
from propagate.io.edits_toml import read_edits
from propagate.io.geometry_json import dump_piece
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet

HOME = Path(__file__).resolve().parents[2] / "demo_sets" / "market_bag"
KINDS = ("seam", "notches", "band", "derived")


@pytest.fixture(scope="module")
def bag() -> PatternSet:
    return propagate.load(HOME)


@pytest.fixture(scope="module")
def changed(bag: PatternSet) -> PatternSet:
    result = propagate.apply_edits(bag, read_edits(HOME / "edits.toml").edits)
    assert result.sews
    return result.pattern


def worst(pattern: PatternSet, size: str) -> float:
    walked = propagate.walk(pattern, size=size, cut_lines=False)
    assert walked.sews
    return max(abs(check.difference) for check in walked.checks if check.kind in KINDS)


def apart(one: SizedPiece, other: SizedPiece) -> float:
    """The farthest that two pieces are apart, edge by edge, their lower left corners laid on."""
    shift = other.outline.min(axis=0) - one.outline.min(axis=0)
    return max(
        float(
            shapely.hausdorff_distance(
                shapely.LineString(one.edge(name).points + shift),
                shapely.LineString(other.edge(name).points),
            )
        )
        for name in one.edge_names
    )


def test_the_files_are_what_the_draft_draws() -> None:
    made = runpy.run_path(str(HOME / "draft.py"))["build"]()
    for name, piece in made.items():
        assert (HOME / "geometry" / f"{name}.json").read_text("utf-8") == dump_piece(piece), name


@pytest.mark.parametrize("size", drafting.BOXES)
def test_it_is_as_its_readme_tells(bag: PatternSet, size: str) -> None:
    assert worst(bag, size) < 0.001
    box = drafting.BOXES[size]
    litres = box.wide * box.high * box.deep / 1e6
    assert litres == pytest.approx(float(size), rel=0.02)
    gusset, facing = bag.sized("gusset", size), bag.sized("facing", size)
    assert gusset.edge("front_side").length == pytest.approx(2 * box.high + box.wide)
    assert facing.edge("sewn").length == pytest.approx(2 * (box.wide + box.deep))


def test_a_review_has_nothing_to_say_of_it(bag: PatternSet) -> None:
    assert propagate.review(bag) == ()


@pytest.mark.parametrize("size", drafting.BOXES)
def test_the_edit_file_gives_the_redraft(changed: PatternSet, size: str) -> None:
    """20 mm wider, 40 higher, 15 deeper, drafted anew; handles stay where they were marked."""
    assert worst(changed, size) < 0.05
    box = drafting.BOXES[size]
    wanted = replace(box, wide=box.wide + 20.0, high=box.high + 40.0, deep=box.deep + 15.0)
    for name, piece in drafting.draw(wanted).items():
        new = changed.sized(name, size)
        assert apart(new, piece) < 0.5, name
        assert len(new.outline) == 4, name  # what is straight needs no more points
    for name in ("gusset", "facing"):
        new, piece = changed.sized(name, size), drafting.draw(wanted)[name]
        for mark in piece.landmarks:
            far = piece.distance(mark.edge, mark.name)
            assert new.distance(mark.edge, mark.name) == pytest.approx(far, abs=0.05)
    assert propagate.review(changed) == ()


def test_the_copy_is_the_front_digit_for_digit_but_for_its_place(changed: PatternSet) -> None:
    front, back = (changed.sized(name, "16") for name in ("front", "back"))
    for a, b in zip(front.edges, back.edges, strict=True):
        assert np.abs(b.points - a.points - (460.0, 0.0)).max() < 1e-6


@pytest.mark.parametrize(("foot", "mouth"), [("16", "13"), ("13", "16"), ("10", "13")])
def test_a_blend_of_two_volumes_leans_alike_on_both_sides(
    bag: PatternSet, foot: str, mouth: str
) -> None:
    result = propagate.run(bag, BlendLevels({"foot": foot, "mouth": mouth}))
    assert worst(result.pattern, result.pattern.base) <= 0.1
    front = result.pattern.sized("front", result.pattern.base)
    left, right = front.edge("left").points, front.edge("right").points[::-1]
    middle = (left[0, 0] + right[0, 0]) / 2
    assert left[:, 0] - middle == pytest.approx(middle - right[:, 0], abs=1e-3)
    wide = {"bottom": drafting.BOXES[foot].wide, "top": drafting.BOXES[mouth].wide}
    for edge, mm in wide.items():
        assert front.edge(edge).length == pytest.approx(mm, abs=0.05)


def test_what_a_far_blend_cannot_keep_is_told(bag: PatternSet) -> None:
    result = propagate.run(bag, BlendLevels({"foot": "25", "mouth": "6"}))
    walked = propagate.walk(result.pattern)
    off = [check.name for check in walked.checks if check.verdict not in ("sews", "told", "look")]
    assert off == ["lining_round"]
    assert not result.sews
