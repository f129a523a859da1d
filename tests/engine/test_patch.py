"""The place of a patch keeps its shape and its distances: judged by closed forms and shapely."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate import Amount, LetOut, Raise, TakeIn
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.grain import Grain
from propagate.pattern.info import Allowance
from propagate.pattern.model import InternalLine, Mark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo
from propagate.pattern.set_on import Patch
from propagate.pattern.validate import find_problems
from tests.engine.test_corners_that_follow import _piece
from tests.shared import blended, demo

CORNERS = np.array([(0.0, 0.0), (300.0, 0.0), (300.0, 500.0), (0.0, 500.0), (0.0, 0.0)])
NAMES = ("hem", "side", "waist", "centre")
PLACE = np.array([(90.0, 430.0), (95.0, 300.0), (150.0, 285.0), (205.0, 300.0), (210.0, 430.0)])
DRILLS = np.array([(94.0, 426.0), (206.0, 426.0)])


def turned(points: np.ndarray, degrees: float) -> np.ndarray:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.asarray(points) @ np.array([[c, s], [-s, c]]) + [40.0, -25.0]


def front(degrees: float = 0.0) -> SizedPiece:
    corners = turned(CORNERS, degrees)
    piece = _piece(*((name, corners[i : i + 2]) for i, name in enumerate(NAMES)))
    grain = turned(np.array([(150.0, 50.0), (150.0, 250.0)]), degrees)
    drills = zip(("left", "right"), turned(DRILLS, degrees), strict=True)
    return replace(
        piece,
        grain=Grain(tuple(grain[0]), tuple(grain[1])),
        levels={},
        lines=(InternalLine("place", turned(PLACE, degrees)),),
        drills=tuple(Mark(name, (float(x), float(y))) for name, (x, y) in drills),
    )


def the_set(edges: Sequence[str] = ("waist", "centre"), degrees: float = 0.0) -> PatternSet:
    patch = Patch("pocket", "front", ("place",), ("left", "right"), tuple(edges))
    return PatternSet(
        name="apron",
        sizes=("M",),
        base="M",
        lay_on="",
        pieces={"front": Piece("front", {"M": front(degrees)})},
        info={"front": PieceInfo("front", allowance=Allowance(10.0))},
        relations=Relations(patches={"pocket": patch}),
    )


def place_of(pattern: PatternSet) -> np.ndarray:
    piece = pattern.sized("front", pattern.base)
    drills = {mark.name: mark.point for mark in piece.drills}
    (line,) = piece.lines
    return np.vstack([line.points, [drills["left"], drills["right"]]])


def line_of(pattern: PatternSet, edge: str) -> shapely.LineString:
    return shapely.LineString(pattern.sized("front", pattern.base).edge(edge).points)


def assert_rigid(before: np.ndarray, after: np.ndarray) -> None:
    for one, other in ((before, after),):
        gaps = [np.hypot(*(p[:, None] - p[None]).transpose(2, 0, 1)) for p in (one, other)]
        assert np.abs(gaps[0] - gaps[1]).max() < 1e-5


@pytest.mark.parametrize("degrees", [0.0, 37.0, -120.0])
def test_a_waist_that_goes_up_takes_the_pocket_along(degrees: float) -> None:
    pattern = the_set(degrees=degrees)
    way = turned(np.array([(0.0, 20.0), (0.0, 0.0)]), degrees)
    result = propagate.run(pattern, LetOut(edge="front.waist", by=Amount(mm=20.0)))
    assert place_of(result.pattern) == pytest.approx(place_of(pattern) + way[0] - way[1], abs=1e-5)
    (change,) = [c for c in result.record.changes if c.id == "patch pocket"]
    assert change.cause in ("front.waist", "front.centre")


def test_a_waist_that_slopes_turns_the_pocket_by_as_much() -> None:
    pattern = the_set()
    edit = Raise(edge="front.waist", by=Amount(mm=30.0), at="end", to=("start",), taper="straight")
    result = propagate.run(pattern, edit)
    before, after = place_of(pattern), place_of(result.pattern)
    assert_rigid(before, after)
    for i in (0, 4):
        depth = line_of(result.pattern, "waist").distance(shapely.Point(after[i]))
        assert depth == pytest.approx(70.0, abs=1e-5)
    turn = np.degrees(np.arctan2(*(after[4] - after[0])[::-1]))
    assert turn == pytest.approx(-np.degrees(np.arctan(30.0 / 300.0)), abs=1e-5)
    # The point nearest to the centre keeps its distance from it.
    assert line_of(result.pattern, "centre").distance(shapely.Point(after[0])) == pytest.approx(
        90.0, abs=1e-5
    )


def test_with_one_edge_it_keeps_its_distance_from_the_nearer_end() -> None:
    pattern = the_set(("side",))
    result = propagate.run(pattern, TakeIn(edge="front.side", by=Amount(mm=15.0)))
    assert place_of(result.pattern) == pytest.approx(place_of(pattern) - [15.0, 0.0], abs=1e-5)


def test_what_it_is_not_measured_from_leaves_it_where_it_is() -> None:
    pattern = the_set()
    result = propagate.run(pattern, TakeIn(edge="front.side", by=Amount(mm=15.0)))
    before, after = (p.sized("front", "M") for p in (pattern, result.pattern))
    assert after.lines == before.lines and after.drills == before.drills


def test_nothing_said_is_measured_from_the_two_nearest_edges_and_told() -> None:
    pattern = the_set(())
    result = propagate.run(pattern, Raise(edge="front.waist", by=Amount(mm=20.0)))
    assert place_of(result.pattern) == pytest.approx(
        place_of(pattern) + np.array([0.0, 20.0]), abs=1e-5
    )
    (said,) = [n.text for n in result.record.warnings if n.where == "pocket"]
    assert "'waist' and 'centre'" in said or "'waist' and 'side'" in said


def test_a_place_that_comes_nearer_than_an_allowance_or_leaves_is_told() -> None:
    pattern = the_set()
    near = propagate.run(pattern, TakeIn(edge="front.centre", by=Amount(mm=85.0)))
    (said,) = [n.text for n in near.record.warnings if n.where == "pocket"]
    assert "comes within 5.0 mm of edge 'side'" in said and "allowance of 10 mm" in said
    (check,) = propagate.walk(near.pattern).of("patch")
    assert (check.verdict, check.difference) == ("look", pytest.approx(-5.0))
    out = propagate.run(pattern, TakeIn(edge="front.centre", by=Amount(mm=100.0)))
    (said,) = [n.text for n in out.record.warnings if n.where == "pocket"]
    assert "leaves 'front' at edge 'side' by 10.0 mm" in said
    assert propagate.walk(out.pattern).of("patch")[0].verdict == "does not sew"


def test_its_file_is_read_and_written_and_its_names_are_checked() -> None:
    pattern = the_set()
    assert parse_set(render_set(pattern), "set.toml").relations == pattern.relations
    assert not [line for line in find_problems(pattern) if "patch" in line]
    wrong = Patch("pocket", "front", ("plaice",), (), ("waste",))
    found = find_problems(replace(pattern, relations=Relations(patches={"pocket": wrong})))
    assert any("no line 'plaice'" in line and "place" in line for line in found)
    assert any("'waste'" in line and "waist" in line for line in found)


def test_patch_pockets_of_a_blend_have_their_own_size_and_keep_their_distances() -> None:
    jeans = demo("quay_jeans")
    for upper, lower in (("30", "34"), ("38", "32")):
        result = blended("quay_jeans", upper, lower)
        size = result.pattern.base
        back, was = result.pattern.sized("back", size), jeans.sized("back", lower)
        (place,), (drawn,) = ([x.points for x in piece.lines] for piece in (back, was))
        assert_rigid(drawn, place)
        for edge, points in (("top", (0, 4)), ("centre", (4,))):
            for i in points:
                gaps = [
                    shapely.LineString(piece.edge(edge).points).distance(shapely.Point(line[i]))
                    for piece, line in ((back, place), (was, drawn))
                ]
                assert gaps[0] == pytest.approx(gaps[1], abs=1e-4), (edge, i)
