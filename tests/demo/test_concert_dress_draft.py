"""The drafted princess dress: what its files say, its edits and blends, and redrafts as the judge.

Distances and lengths are shapely's.  Trade facts (corner angles across a seam add to 180
degrees, the two sides of a seam are equally long but for the ease) are common practice, no source.
"""

from __future__ import annotations

import runpy
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import propagate
from demo_sets.concert_dress import draft as drafting
from demo_sets.concert_dress.panels import Panel, draw_facing, draw_panels
from propagate import Amount, Lower, TakeIn
from propagate.engine.edits.level_blend import BlendLevels
from propagate.io.edits_toml import read_edits
from propagate.io.geometry_json import dump_piece
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from tests.shared import demo, demo_in_few

HOME = Path(__file__).resolve().parents[2] / "demo_sets" / "concert_dress"
MEASURES = drafting.measures()
PANELS = ("front", "side_front", "side_back", "back")
NEAR_MM = 0.5
TWICE = 0.1
"""A seam agrees within 0.05 mm, and a notch on it with its mate within as much again."""


def dress() -> PatternSet:
    return demo("concert_dress")


def line(piece: SizedPiece, edge: str) -> shapely.LineString:
    return shapely.LineString(piece.edge(edge).points)


def gap(one: SizedPiece, other: SizedPiece) -> float:
    """The farthest that two pieces are apart, edge by edge, mm."""
    assert one.edge_names == other.edge_names
    return max(
        float(shapely.hausdorff_distance(line(one, name), line(other, name)))
        for name in one.edge_names
    )


def worst(pattern: PatternSet, size: str) -> float:
    walked = propagate.walk(pattern, size=size, cut_lines=False)
    assert walked.sews
    kinds = ("seam", "notches", "band", "derived", "seam_opening")
    return max(abs(check.difference) for check in walked.checks if check.kind in kinds)


def test_the_files_are_what_the_draft_draws() -> None:
    made = runpy.run_path(str(HOME / "draft.py"))["build"]()
    for name, piece in made.items():
        assert (HOME / "geometry" / f"{name}.json").read_text("utf-8") == dump_piece(piece), name


@pytest.mark.parametrize("size", MEASURES)
def test_it_is_as_its_readme_tells(size: str) -> None:
    pattern = dress()
    assert worst(pattern, size) < 0.015
    front, side = pattern.sized("front", size), pattern.sized("side_front", size)
    longer = line(side, "princess").length - line(front, "princess").length
    assert longer == pytest.approx(5.0, abs=0.002)
    back = pattern.sized("back", size)
    centre = line(back, "centre")
    zip_end = centre.project(shapely.Point(back.landmark("zip_end").point))
    assert zip_end == pytest.approx(MEASURES[size].zip, abs=0.001)
    i = pattern.sizes.index(size)
    for level, ease in (("bust", 70.0), ("waist", 50.0), ("hip", 60.0)):
        whole = 0.0
        for name in PANELS:
            piece = pattern.sized(name, size)
            y = piece.levels[level][1]
            across = shapely.LineString([(-2000.0, y), (2000.0, y)])
            whole += shapely.Polygon(piece.outline).intersection(across).length
        assert 2 * whole == pytest.approx(pattern.chart[level][size] + ease, abs=0.02), i


def test_a_review_has_nothing_to_say_of_it() -> None:
    assert propagate.review(dress()) == ()


@pytest.mark.parametrize(
    ("bust", "waist", "hip"),
    [("40", "44", "42"), ("44", "40", "46"), ("36", "36", "40"), ("34", "48", "34")],
)
def test_blends_by_level_sew_notch_by_notch(bust: str, waist: str, hip: str) -> None:
    result = propagate.run(dress(), BlendLevels({"bust": bust, "waist": waist, "hip": hip}))
    assert result.sews
    assert propagate.review(result.pattern) == ()
    assert worst(result.pattern, result.pattern.base) <= TWICE
    walked = propagate.walk(result.pattern)
    for girth, size in zip(walked.of("girth"), (bust, waist, hip), strict=True):
        ease = {"bust": 70.0, "waist": 50.0, "hip": 60.0}[girth.name]
        # Matching the seams moves both sides of six of them by some hundredths at a level.
        assert girth.second == pytest.approx(dress().chart[girth.name][size] + ease, abs=0.3)


# --- edits, judged by drafting anew -------------------------------------------


def test_the_edit_file_runs_on_the_whole_nest() -> None:
    few = demo_in_few("concert_dress")
    fitted = propagate.apply_edits(few, read_edits(HOME / "edits.toml").edits)
    assert fitted.sews
    assert propagate.review(fitted.pattern) == ()
    for size in few.sizes:
        assert worst(fitted.pattern, size) <= TWICE, size
        for name in PANELS:
            new, old = (p.sized(name, size) for p in (fitted.pattern, dress()))
            by = {"front": 4.0, "side_front": 4.0, "side_back": 3.0, "back": 3.0}[name]
            y = old.levels["waist"][1]
            across = shapely.LineString([(-2000.0, y), (2000.0, y)])
            wide = [shapely.Polygon(p.outline).intersection(across).length for p in (old, new)]
            assert wide[0] - wide[1] == pytest.approx(by, abs=0.05), (size, name)
        old, new = (p.sized("front", size).edge("centre_front") for p in (dress(), fitted.pattern))
        assert new.length - old.length == pytest.approx(15.0, abs=0.01)
        zip_now = fitted.pattern.sized("back", size).distance("centre", "zip_end")
        assert zip_now == pytest.approx(MEASURES[size].zip, abs=0.01)


@pytest.mark.parametrize("size", ["34", "40", "48"])
def test_a_lower_hem_is_as_drafted_longer(size: str) -> None:
    """30 mm lower at the front: every panel as in the set drafted 30 mm longer."""
    edit = propagate.NamedEdit("lower", Lower(edge="front.hem", by=Amount(mm=30.0)))
    result = propagate.apply_edits(dress(), [edit], sizes=(size,))
    m = replace(MEASURES[size], long=MEASURES[size].long + 30.0)
    for name, wanted in drafting.pieces(m, draw_panels(m)).items():
        assert gap(result.pattern.sized(name, size), wanted) < NEAR_MM, name


def test_a_lower_neck_takes_its_facing_along_as_drafted() -> None:
    """The facing drawn anew by the draft's own ruler on the front that was changed."""
    edit = Lower(edge="front.neck", by=Amount(mm=15.0), at="end", to=("start",))
    result = propagate.run(dress(), edit)
    front = result.pattern.sized("front", "40")
    drawn = draw_facing(Panel({e.name: e.points for e in front.edges}), "centre_front")
    facing = result.pattern.sized("front_facing", "40")
    shift = np.subtract(facing.landmark("neck.end").point, drawn["neck"][-1])
    for name, points in drawn.items():
        apart = shapely.hausdorff_distance(shapely.LineString(points + shift), line(facing, name))
        assert apart < 0.05, name
    assert gap(facing, dress().sized("front_facing", "40")) > 10.0
    for name in ("side_front", "side_back", "back", "back_facing", "armhole_binding"):
        assert result.pattern.sized(name, "40") == dress().sized(name, "40")


def test_taken_in_on_both_sides_of_a_princess_seam_the_panels_keep_their_other_lines() -> None:
    edit = TakeIn(
        edge="front.princess", by=Amount(mm=4.0), at="waist", to=("hip", "bust_low"), both=True
    )
    result = propagate.run(dress(), edit)
    for name in ("front", "side_front"):
        new, old = (p.sized(name, "40") for p in (result.pattern, dress()))
        for edge in set(old.edge_names) - {"princess", "hem"}:
            off = shapely.hausdorff_distance(line(new, edge), line(old, edge))
            assert off < NEAR_MM, (name, edge)  # the longer line lowers a corner of the hem
    assert result.pattern.sized("front_facing", "40") == dress().sized("front_facing", "40")
