"""The drafted pinafore: bindings cut shorter by a share, edits and blends, redrafts as the judge.

Lengths and distances are shapely's.  Shares by which bindings are cut shorter are common
practice, no source.
"""

from __future__ import annotations

import runpy
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import propagate
from demo_sets.puddle_pinafore import draft as drafting
from propagate import Amount, Lower, NamedEdit
from propagate.engine.edits.level_blend import BlendLevels
from propagate.io.edits_toml import read_edits
from propagate.io.geometry_json import dump_piece
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet

HOME = Path(__file__).resolve().parents[2] / "demo_sets" / "puddle_pinafore"
MEASURES = drafting.measures()
BOUND = {"neck_binding": ("neck", 0.96), "armhole_binding": ("armhole", 0.97)}


@pytest.fixture(scope="module")
def pinafore() -> PatternSet:
    return propagate.load(HOME)


def line(piece: SizedPiece, edge: str) -> shapely.LineString:
    return shapely.LineString(piece.edge(edge).points)


def gap(one: SizedPiece, other: SizedPiece) -> float:
    return max(
        float(shapely.hausdorff_distance(line(one, name), line(other, name)))
        for name in one.edge_names
    )


def check_bindings(pattern: PatternSet, size: str) -> None:
    """Each zone of each binding is its share of the curve that it goes round."""
    for name, (edge, share) in BOUND.items():
        front, back = (line(pattern.sized(main, size), edge).length for main in ("front", "back"))
        binding = pattern.sized(name, size)
        at = binding.distance("sewn", "shoulder")
        whole = line(binding, "sewn").length
        assert at == pytest.approx(share * front, abs=0.1), (name, size)
        assert whole - at == pytest.approx(share * back, abs=0.1), (name, size)
        rim = line(binding, "rim")
        wide = shapely.distance(rim, shapely.points(binding.edge("sewn").points))
        assert wide == pytest.approx(26.0, abs=0.01)


def worst(pattern: PatternSet, size: str) -> float:
    walked = propagate.walk(pattern, size=size, cut_lines=False)
    assert walked.sews
    kinds = ("seam", "notches")
    return max(abs(check.difference) for check in walked.checks if check.kind in kinds)


def test_the_files_are_what_the_draft_draws() -> None:
    made = runpy.run_path(str(HOME / "draft.py"))["build"]()
    for name, piece in made.items():
        assert (HOME / "geometry" / f"{name}.json").read_text("utf-8") == dump_piece(piece), name


@pytest.mark.parametrize("size", MEASURES)
def test_it_is_as_its_readme_tells(pinafore: PatternSet, size: str) -> None:
    assert worst(pinafore, size) < 0.01
    check_bindings(pinafore, size)
    marks = {mark.name: np.array(mark.point) for mark in pinafore.sized("front", size).drills}
    apart = np.hypot(*(marks["pocket_out"] - marks["pocket_in"]))
    assert apart == pytest.approx(line(pinafore.sized("pocket", size), "top").length - 28.0)


def test_a_review_has_nothing_to_say_of_it(pinafore: PatternSet) -> None:
    assert propagate.review(pinafore) == ()


def test_the_edit_file_runs_on_the_whole_nest(pinafore: PatternSet) -> None:
    found = propagate.apply_edits(pinafore, read_edits(HOME / "edits.toml").edits)
    assert found.sews
    assert propagate.review(found.pattern) == ()
    for size in MEASURES:
        assert worst(found.pattern, size) <= 0.1, size
        check_bindings(found.pattern, size)
        assert found.pattern.sized("pocket", size) == pinafore.sized("pocket", size)
        old, new = (p.sized("front", size) for p in (pinafore, found.pattern))
        assert new.drills == old.drills
        longer = line(new, "centre").length - line(old, "centre").length
        assert longer == pytest.approx(20.0, abs=0.01)  # 30 below, 10 off at the neck


@pytest.mark.parametrize("size", ["92", "110", "128"])
def test_a_lower_hem_is_as_drafted_longer(pinafore: PatternSet, size: str) -> None:
    """The amount is measured along the edge that is met: at the side that leans by 8 degrees."""
    edit = NamedEdit("longer", Lower(edge="front.hem", by=Amount(mm=40.0)))
    result = propagate.apply_edits(pinafore, [edit], sizes=(size,))
    by = 40.0 * np.cos(np.radians(drafting.FLARE))
    wanted = drafting.draw(replace(MEASURES[size], long=MEASURES[size].long + by))
    for name, piece in wanted.items():
        assert gap(result.pattern.sized(name, size), piece) < 0.5, name


@pytest.mark.parametrize(("chest", "hem"), [("104", "122"), ("110", "104"), ("92", "128")])
def test_blends_by_level_sew(pinafore: PatternSet, chest: str, hem: str) -> None:
    result = propagate.run(pinafore, BlendLevels({"chest": chest, "hem": hem}))
    assert worst(result.pattern, result.pattern.base) <= 0.1
    check_bindings(result.pattern, result.pattern.base)
