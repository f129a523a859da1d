"""A welt opening keeps length, angle and distances: judged by closed forms, atan2 and shapely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import (
    Amount,
    Blend,
    Conflict,
    Lengthen,
    LetOut,
    Lower,
    MoveDart,
    MoveMark,
    NamedEdit,
    Raise,
    Shorten,
    Spread,
    SwingDart,
    TakeIn,
    WidenDart,
)
from propagate.engine.edits.sized import SizedEdit
from propagate.engine.revise import revise
from propagate.engine.run import settle
from propagate.pattern.model import Edge, Piece
from propagate.pattern.patternset import PatternSet
from tests.builders import SIZES
from tests.examples import examples
from tests.welts.plain import LINE, LONG, angle, away, front, line_of, long, plain_set, turned
from tests.welts.skirt import LONG as GRADED
from tests.welts.skirt import OPENING, welt_skirt


def mm(value: float) -> Amount:
    return Amount(mm=value)


# ------------------------------------------------------------------ closed forms on a rectangle


@pytest.mark.parametrize("degrees", [0.0, 37.0, -120.0])
def test_a_waist_that_goes_up_takes_it_along(degrees: float) -> None:
    pattern = plain_set(piece=front(degrees))
    way = turned(np.array([(0.0, 12.0), (0.0, 0.0)]), degrees)
    result = propagate.run(pattern, LetOut(edge="front.waist", by=mm(12.0)))
    assert line_of(result.pattern) == pytest.approx(line_of(pattern) + way[0] - way[1], abs=1e-5)
    drills = [p.sized("front", "M").drills[0].point for p in (pattern, result.pattern)]
    assert np.subtract(drills[1], drills[0]) == pytest.approx(way[0] - way[1], abs=1e-5)
    (change,) = [c for c in result.record.changes if c.id == "welt opening pocket"]
    assert change.cause in ("front.waist", "front.side", "front.centre")


def test_a_side_taken_in_takes_it_along_and_one_that_it_is_not_measured_from_does_not() -> None:
    pattern = plain_set()
    moved = propagate.run(pattern, TakeIn(edge="front.side", by=mm(15.0)))
    assert line_of(moved.pattern) == pytest.approx(LINE + turned_by(-15.0, 0.0), abs=1e-5)
    still = propagate.run(pattern, TakeIn(edge="front.centre", by=mm(15.0)))
    assert still.pattern.sized("front", "M").lines == pattern.sized("front", "M").lines


def turned_by(x: float, y: float) -> np.ndarray:
    """The shift of a frame that is not turned, and what moved in it."""
    return np.array([40.0 + x, -25.0 + y])


def test_a_waist_that_slopes_turns_it_by_as_much_or_not_at_all() -> None:
    edit = Raise(edge="front.waist", by=mm(20.0), at="end", to=("start",), taper="straight")
    slope = np.degrees(np.arctan(20.0 / 300.0))
    for kept, turn in (("edge", -slope), ("grain", 0.0)):
        pattern = plain_set(angle=kept)
        result = propagate.run(pattern, edit)
        before, after = line_of(pattern), line_of(result.pattern)
        assert (angle(after) - angle(before) + 180.0) % 360.0 - 180.0 == pytest.approx(
            turn, abs=1e-6
        )
        assert long(after) == pytest.approx(LONG, abs=1e-5)
        # In from the side: its end near the side. Down from the waist: by its ends or its middle.
        assert away(result.pattern, "side", after[0]) == pytest.approx(70.0, abs=1e-5)
        down = [(after[0], 80.0), (after[1], 90.0)]
        for point, depth in down if kept == "edge" else [(after.mean(axis=0), None)]:
            depth = 85.0 if depth is None else depth
            assert away(result.pattern, "waist", point) == pytest.approx(depth, abs=1e-5)


def test_from_a_dart_it_goes_with_the_tip_and_keeps_its_angle_to_the_grain() -> None:
    pattern = plain_set(("dart",), front(dart=True))
    result = propagate.run(pattern, MoveDart(dart="front.dart", by=mm(20.0), towards="end"))
    tips = [np.array(p.sized("front", "M").darts[0].tip) for p in (pattern, result.pattern)]
    assert np.hypot(*(tips[1] - tips[0])) > 5.0
    assert line_of(result.pattern) == pytest.approx(line_of(pattern) + tips[1] - tips[0], abs=1e-5)


@pytest.mark.parametrize(
    ("anchors", "edit", "shift"),
    [
        (("hip", "side"), Raise(edge="front.waist", by=mm(9.0)), (0.0, 0.0)),
        (("hip", "side"), TakeIn(edge="front.side", by=mm(9.0)), (-9.0, 0.0)),
        (("waist.end", "centre"), LetOut(edge="front.waist", by=mm(9.0)), (0.0, 9.0)),
        (("waist", "side.start"), Raise(edge="front.waist", by=mm(9.0)), (-0.75, 9.0)),
        (("waist",), LetOut(edge="front.waist", by=mm(9.0)), (0.0, 9.0)),
        (("side",), TakeIn(edge="front.side", by=mm(9.0)), (-9.0, 0.0)),
    ],
)
def test_levels_landmarks_and_one_edge_alone(
    anchors: tuple[str, ...], edit: SizedEdit, shift: tuple[float, float]
) -> None:
    result = propagate.run(plain_set(anchors, angle="grain"), edit)
    assert line_of(result.pattern) == pytest.approx(LINE + turned_by(*shift), abs=1e-4)


def test_nothing_said_is_measured_from_the_two_nearest_edges_and_told() -> None:
    result = propagate.run(plain_set(()), TakeIn(edge="front.side", by=mm(5.0)))
    (said,) = [n for n in result.record.warnings if n.where == "pocket"]
    assert "'side' and 'waist'" in said.text and 'from = ["side", "waist"]' in said.typed
    assert line_of(result.pattern) == pytest.approx(LINE + turned_by(-5.0, 0.0), abs=1e-5)


# ----------------------------------------------------------------- told, and refused with words


def test_near_a_seam_or_a_dart_it_is_told_by_how_much_in_record_and_walk() -> None:
    # In from the centre: the side comes to it.
    pattern = plain_set(("waist", "centre"), parts=())
    result = propagate.run(pattern, TakeIn(edge="front.side", by=mm(62.0)))
    (said,) = [n.text for n in result.record.warnings if n.where == "pocket"]
    assert "comes within 8.0 mm of edge 'side' of 'front', 7.0 mm nearer than the 15 mm" in said
    (row,) = [c for c in propagate.walk(result.pattern).of("welt_opening") if c.part == "room"]
    assert (row.verdict, row.difference) == ("look", pytest.approx(-7.0))
    assert [c.verdict for c in result.record.seams if c.name == row.name] == ["look"]


def test_an_opening_that_would_cross_the_outline_is_a_conflict() -> None:
    pattern = plain_set(("waist", "centre"), parts=())
    with pytest.raises(Conflict, match=r"'pocket' would cross edge 'side' of 'front' with 10\.0"):
        propagate.run(pattern, TakeIn(edge="front.side", by=mm(80.0)))


def test_an_opening_that_would_cross_a_dart_is_a_conflict() -> None:
    pattern = plain_set(("hip", "side"), front(dart=True))
    piece = pattern.sized("front", "M")
    tip = tuple(turned_by(170.0, 400.0).tolist())  # made deeper in a drawing
    deep = _nudged(replace(piece, darts=(replace(piece.darts[0], tip=tip),)))
    with pytest.raises(Conflict, match=r"'pocket' would cross dart 'dart' of 'front' with \d"):
        revise(pattern, {"front": Piece("front", {"M": deep})})


def _nudged(piece: propagate.SizedPiece) -> propagate.SizedPiece:
    """The piece with its hem 1 mm lower: a drawing in which an edge differs."""
    points = {e.name: e.points.copy() for e in piece.edges}
    points["hem"][:, 1] -= 1.0
    points["side"][0] = points["hem"][-1]
    points["centre"][-1] = points["hem"][0]
    edges = tuple(Edge(name, line) for name, line in points.items())
    return replace(piece, edges=edges)


def test_a_bag_whose_mouth_leaves_is_a_conflict_and_one_that_sticks_out_is_told() -> None:
    pattern = plain_set(("waist", "centre"))
    # Its mouth goes 10 mm beyond the opening at each end, which lies 70 mm from the side.
    with pytest.raises(Conflict, match=r"mouth of bag 'bag' would leave 'front' by 4\.\d mm"):
        propagate.run(pattern, TakeIn(edge="front.side", by=mm(64.0)))
    result = propagate.run(pattern, Raise(edge="front.hem", by=mm(275.0)))
    said = [n.text for n in result.record.warnings if n.where == "pocket"]
    assert any("its bag 'bag' sticks out of 'front' by" in text for text in said)
    (row,) = [c for c in propagate.walk(result.pattern).of("welt_opening") if "out" in c.name]
    # By shapely: the bag is 150 mm deep, its lower corner below the hem at 275 mm.
    corners = LINE[1] + np.array([-10.0, -10.0 * 10.0 / 120.0]) + np.array([0.0, 0.0])
    down = np.array([LINE[0] - LINE[1]]) @ np.array([[0.0, -1.0], [1.0, 0.0]]) / LONG
    lowest = corners + 150.0 * down[0] if down[0][1] < 0 else corners - 150.0 * down[0]
    assert row.second == pytest.approx(275.0 - lowest[1], abs=0.1) and row.verdict == "look"


# ----------------------------------------------------------- every edit, in every size, on a skirt

EDITS: dict[str, SizedEdit] = {
    "take-in": TakeIn(edge="back.side", by=mm(6.0)),
    "let-out": LetOut(edge="back.side", by=mm(6.0), at="waist", to=("hip",)),
    "raise": Raise(edge="back.waist", by=mm(8.0), at="end", to=("start",), taper="straight"),
    "lower": Lower(edge="back.waist", by=mm(8.0)),
    "lengthen": Lengthen(level="hip", by=mm(15.0)),
    "shorten": Shorten(level="hip", by=mm(15.0)),
    "move-dart": MoveDart(dart="back.dart", by=mm(8.0), towards="start"),
    "widen-dart": WidenDart(dart="back.dart", by=mm(3.0)),
    "swing-dart": SwingDart(dart="back.dart", into="side", at="40mm"),
    "spread": Spread(
        piece="back", first="hem", second="waist", by=mm(20.0), at=("20mm",), to_at=("30mm",)
    ),
    "move-mark": MoveMark(mark="back.hook", by=mm(-4.0)),
}


@pytest.mark.parametrize("word", EDITS)
def test_every_edit_keeps_length_angle_and_distances_in_every_size(word: str) -> None:
    for kept in ("edge", "grain"):
        old = welt_skirt(replace(OPENING, angle=kept))
        result = propagate.apply_edits(old, [NamedEdit("it", EDITS[word])])
        for size in SIZES:
            check(old, size, result.pattern, size, kept)


def check(old: PatternSet, was: str, new: PatternSet, now: str, kept: str) -> None:
    """By atan2 and shapely: length, angle, and the distances from waist and side."""
    pieces = old.sized("back", was), new.sized("back", now)
    ends = [next(x.points for x in p.lines if x.name == "welt") for p in pieces]
    assert long(ends[1]) == pytest.approx(GRADED[was], abs=5e-6)
    if kept == "grain":
        angles = [angle(e) - angle(np.array([p.grain.start, p.grain.end]))
                  for e, p in zip(ends, pieces, strict=True)]  # fmt: skip
        assert (angles[1] - angles[0] + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=2e-6)
    waists, sides = ([shapely.LineString(p.edge(n).points) for p in pieces] for n in EDGES)
    measured = [e if kept == "edge" else e.mean(axis=0)[None] for e in ends]
    for one, other in zip(*measured, strict=True):
        gaps = [w.distance(shapely.Point(x)) for w, x in zip(waists, (one, other), strict=True)]
        assert gaps[1] == pytest.approx(gaps[0], abs=2e-5)
    gaps = [s.distance(shapely.Point(e[0])) for s, e in zip(sides, ends, strict=True)]
    assert gaps[1] == pytest.approx(gaps[0], abs=2e-5)


EDGES = ("waist", "side")


@pytest.mark.parametrize("waist", SIZES)
@pytest.mark.parametrize("hip", SIZES)
def test_every_blend_has_the_opening_of_its_waist(waist: str, hip: str) -> None:
    if waist == hip:
        return
    old = welt_skirt()
    result = propagate.run(old, Blend({"waist": waist, "hip": hip}))
    assert result.sews
    size = result.pattern.base
    check(old, waist, result.pattern, size, "edge")
    (said,) = result.pattern.relations.welt_openings.values()
    assert said.length == Amount(mm=GRADED[waist])
    for name in ("welt", "facing", "bag"):
        assert result.pattern.sized(name, size) == old.sized(name, waist)


def test_parts_without_a_place_are_made_as_long_as_the_opening_of_the_waist() -> None:
    skirt = welt_skirt()
    old = replace(skirt, relations=replace(skirt.relations, places={}))
    result = propagate.run(old, Blend({"waist": "36", "hip": "40"}))
    size = result.pattern.base
    rows = {c.part: c for c in propagate.walk(result.pattern).of("welt_opening")}
    assert long(line_of(result.pattern, "back")) == pytest.approx(GRADED["36"], abs=1e-5)
    assert rows["welt"].second == pytest.approx(104.0, abs=1e-3) and result.sews
    assert result.pattern.sized("facing", size).edge("long").length == pytest.approx(
        134.0, abs=1e-3
    )


# -------------------------------------------------------------------------------- properties


def test_a_drawing_that_moves_the_line_says_where_it_is_and_one_that_does_not_takes_it_along() -> (
    None
):
    pattern = plain_set()
    piece = pattern.sized("front", "M")
    high = {e.name: e.points.copy() for e in piece.edges}
    for name, rows in (("waist", (0, 1)), ("side", (1,)), ("centre", (0,))):
        high[name][list(rows), 1] += 10.0
    raised = replace(
        piece,
        edges=tuple(Edge(name, line) for name, line in high.items()),
        landmarks=tuple(replace(m, point=(m.point[0], m.point[1] + 10.0)) for m in piece.landmarks),
    )
    along = revise(pattern, {"front": Piece("front", {"M": raised})})
    assert line_of(along.pattern) == pytest.approx(
        line_of(pattern) + np.array([0.0, 10.0]), abs=1e-4
    )
    moved = replace(piece.lines[0], points=piece.lines[0].points + np.array([0.0, 3.0]))
    meant = replace(raised, lines=(moved,))
    kept = revise(pattern, {"front": Piece("front", {"M": meant})})
    assert line_of(kept.pattern) == pytest.approx(line_of(pattern) + np.array([0.0, 3.0]), abs=1e-6)


@examples(12)
@given(st.floats(1.0, 15.0), st.floats(2.0, 15.0), st.sampled_from(["edge", "grain"]))
def test_frame_mirror_direction_and_name_do_not_matter(by: float, side: float, kept: str) -> None:
    """The same set in other frames: what comes out is the same in them."""
    edits = [Raise(edge="front.waist", by=mm(by), at="end", to=("start",)),
             TakeIn(edge="front.side", by=mm(side))]  # fmt: skip
    found = []
    for degrees, mirrored, back in ((0.0, False, False), (71.0, False, True), (-40.0, True, False)):
        piece = front(degrees, mirrored=mirrored, back=back)
        pattern = plain_set(piece=piece, angle=kept, parts=())
        for edit in edits:
            swap = replace(edit, at="start", to=("end",)) if mirrored and edit.at == "end" else edit
            pattern = propagate.run(pattern, swap).pattern
        ends = line_of(pattern)[:: -1 if back else 1]
        home = turned(np.eye(2), degrees, mirrored=mirrored) - [40.0, -25.0]
        found.append((ends - [40.0, -25.0]) @ np.linalg.inv(home))
    for other in found[1:]:
        assert other == pytest.approx(found[0], abs=1e-4)


@pytest.mark.parametrize("word", ["take-in", "raise", "lower", "widen-dart"])
def test_twice_is_once_and_nothing_else_moves(word: str) -> None:
    edited = propagate.run(welt_skirt(), EDITS[word])
    result = settle(edited.pattern)  # the front's side, which leads, was not changed with it
    again = settle(result.pattern)
    for name in result.pattern.pieces:
        size = result.pattern.base
        assert again.pattern.sized(name, size) == result.pattern.sized(name, size)
    untouched = propagate.run(welt_skirt(), Raise(edge="front.hem", by=mm(5.0)))
    assert untouched.pattern.sized("back", "38").lines == welt_skirt().sized("back", "38").lines


@pytest.mark.parametrize(
    ("there", "back"),
    [
        (TakeIn(edge="back.side", by=mm(7.0)), LetOut(edge="back.side", by=mm(7.0))),
        (Raise(edge="back.waist", by=mm(6.0)), Lower(edge="back.waist", by=mm(6.0))),
        (Lengthen(level="hip", by=mm(9.0)), Shorten(level="hip", by=mm(9.0))),
    ],
)
def test_the_way_back_brings_it_home(there: SizedEdit, back: SizedEdit) -> None:
    old = welt_skirt()
    new = propagate.run(propagate.run(old, there).pattern, back).pattern
    assert np.abs(line_of(new, "back") - line_of_size(old)).max() < 0.05


def line_of_size(pattern: PatternSet) -> np.ndarray:
    lines = pattern.sized("back", pattern.base).lines
    return next(line.points for line in lines if line.name == "welt")
