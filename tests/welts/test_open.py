"""The edit `open` on a welt opening: its line by closed forms, its parts by their lengths."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import propagate
from propagate import Amount, ChangeOpening, Conflict, EditError, NamedEdit, UnknownName
from propagate.pattern.patternset import PatternSet
from tests.builders import SIZES
from tests.examples import examples
from tests.welts.plain import LINE, LONG, angle, away, front, line_of, long, plain_set, turned
from tests.welts.skirt import LONG as GRADED
from tests.welts.skirt import welt_skirt

AHEAD = (LINE[1] - LINE[0]) / LONG
DOWN = np.array([-AHEAD[1], AHEAD[0]])
SHIFT = np.array([40.0, -25.0])


def mm(value: float) -> Amount:
    return Amount(mm=value)


def opened(pattern: PatternSet, **said: object) -> PatternSet:
    edit = ChangeOpening(opening="pocket", **said)  # type: ignore[arg-type]
    result = propagate.run(pattern, edit)
    assert result.sews
    return result.pattern


@examples(12)
@given(st.floats(60.0, 140.0))
def test_a_longer_one_keeps_its_end_near_the_side_and_its_parts_go_along(to: float) -> None:
    new = opened(plain_set(), to=mm(to))
    ends = line_of(new)
    assert ends == pytest.approx(np.array([LINE[0], LINE[0] + to * AHEAD]) + SHIFT, abs=1e-5)
    assert new.sized("welt", "M").edge("long").length == pytest.approx(to, abs=1e-3)
    assert new.sized("bag", "M").edge("long").length == pytest.approx(to + 20.0, abs=1e-3)
    for name, high in (("welt", 24.0), ("bag", 150.0)):  # a rectangle stays one
        piece = new.sized(name, "M")
        area = shapely.Polygon(piece.outline)
        assert area.area == pytest.approx(piece.edge("long").length * high, rel=1e-6)
    # The drill mark keeps its place at the end that stayed.
    assert new.sized("front", "M").drills[0].point == pytest.approx(
        LINE[0] + np.array([3.0, 2.0]) + SHIFT, abs=1e-5
    )


@pytest.mark.parametrize("turn", [6.0, -4.0])
@pytest.mark.parametrize("back", [False, True])
def test_turned_its_far_end_goes_down_whichever_way_it_was_drawn(turn: float, back: bool) -> None:
    new = opened(plain_set(piece=front(back=back), parts=()), turn=turn)
    ends = line_of(new)[:: -1 if back else 1]
    assert ends[0] == pytest.approx(LINE[0] + SHIFT, abs=1e-5)
    assert long(ends) == pytest.approx(LONG, abs=1e-5)
    swung = angle(ends) - angle(LINE)
    assert (swung + 180.0) % 360.0 - 180.0 == pytest.approx(turn, abs=1e-5)
    assert (ends[1] - SHIFT - LINE[1]) @ DOWN * turn > 0.0  # DOWN: away from the waist


@pytest.mark.parametrize("degrees", [0.0, 123.0])
def test_moved_along_and_down_in_any_frame(degrees: float) -> None:
    new = opened(plain_set(piece=front(degrees)), along=mm(-8.0), down=mm(5.0))
    wanted = turned(LINE - 8.0 * AHEAD + 5.0 * DOWN, degrees)
    assert line_of(new) == pytest.approx(wanted, abs=1e-5)


def test_from_a_dart_it_grows_from_its_middle() -> None:
    new = opened(plain_set(("dart",), front(dart=True)), to=mm(LONG - 20.0))
    ends = line_of(new)
    assert ends.mean(axis=0) == pytest.approx(LINE.mean(axis=0) + SHIFT, abs=1e-5)
    assert long(ends) == pytest.approx(LONG - 20.0, abs=1e-5)


def test_there_and_back_is_home() -> None:
    old = plain_set()
    new = opened(opened(old, to=mm(95.0), turn=5.0), to=mm(LONG), turn=-5.0)
    assert np.abs(line_of(new) - line_of(old)).max() < 0.05
    for name in ("welt", "bag"):
        one, other = (p.sized(name, "M").outline for p in (old, new))
        assert np.abs(one - other).max() < 1e-4


def test_a_bag_with_rounded_corners_keeps_them_and_comes_home() -> None:
    old = welt_skirt()
    new = propagate.run(old, ChangeOpening(opening="back_pocket", to=mm(125.0))).pattern
    was, now = old.sized("bag", "38"), new.sized("bag", "38")
    half = 7.5
    corner = np.array([p for p in was.edge("foot").points if p[0] < 20.0])
    assert now.edge("foot").points[: len(corner)] == pytest.approx(corner - [half, 0.0], abs=1e-5)
    assert np.subtract(now.landmark("middle").point, was.landmark("middle").point) == pytest.approx(
        [0.0, 0.0], abs=1e-5
    )
    again = propagate.run(new, ChangeOpening(opening="back_pocket", to=mm(110.0))).pattern
    home = again.sized("bag", "38")
    line = shapely.LineString(home.edge("foot").points)
    assert line.hausdorff_distance(shapely.LineString(was.edge("foot").points)) < 0.05
    for mark in was.landmarks:
        assert home.landmark(mark.name).point == pytest.approx(mark.point, abs=1e-4)


@pytest.mark.parametrize("some", [SIZES, ("38",), ("36", "40")])
def test_in_every_size_the_set_says_the_new_length(some: tuple[str, ...]) -> None:
    old = welt_skirt()
    edit = ChangeOpening(opening="back_pocket", to=Amount(share=1.1))
    found = propagate.apply_edits(old, [NamedEdit("longer", edit)], sizes=some)
    assert found.sews
    said = dict(found.pattern.relations.welt_openings["back_pocket"].length.sizes)
    for size in SIZES:
        wanted = GRADED[size] * (1.1 if size in some else 1.0)
        lines = found.pattern.sized("back", size).lines
        ends = next(line.points for line in lines if line.name == "welt")
        assert long(ends) == pytest.approx(wanted, abs=1e-5)
        assert said[size] == pytest.approx(wanted, abs=1e-9)
        rows = propagate.walk(found.pattern, size).of("welt_opening")
        assert all(abs(row.difference) < 0.01 for row in rows if row.part != "room")


def test_one_edge_away_it_stays_clear_by_shapely() -> None:
    new = opened(plain_set(), down=mm(10.0))
    gaps = [away(new, "waist", end) for end in line_of(new)]
    turn = 10.0 * AHEAD[0] * -1.0
    assert gaps == pytest.approx([80.0 + turn, 90.0 + turn], abs=1e-5)


@pytest.mark.parametrize(
    ("said", "text"),
    [
        ({}, "expected one of 'to', 'along', 'down' and 'turn'"),
        ({"to": mm(3.0)}, "found a length of 3 mm, expected at least 5 mm"),
        ({"to": mm(float("nan"))}, "not a number"),
        ({"turn": float("nan")}, "not a number"),
        ({"along": mm(float("inf"))}, "not a number"),
        (
            {"to": mm(400.0)},
            r"would cross edge 'centre' of 'front'; the nearest possible is to = 2",
        ),
        ({"down": mm(-200.0)}, r"cross edge 'waist' of 'front'; the nearest possible is down = -"),
        ({"along": mm(-90.0)}, r"cross edge 'side' of 'front'; the nearest possible is along = -"),
    ],
)
def test_bad_input_is_refused_with_the_nearest_that_is_possible(
    said: dict[str, object], text: str
) -> None:
    with pytest.raises(EditError, match=text):
        propagate.run(plain_set(), ChangeOpening(opening="pocket", **said))  # type: ignore[arg-type]


def test_the_nearest_that_is_told_is_possible_and_names_are_known() -> None:
    # In from the side 230 mm of 300: the line may be as long as reaches the centre.
    most = 230.0 / -AHEAD[0]
    opened(plain_set(parts=()), to=mm(most - 0.5))
    with pytest.raises(EditError):
        propagate.run(plain_set(parts=()), ChangeOpening(opening="pocket", to=mm(most + 0.5)))
    # The mouth of its bag goes 10 mm further.
    with pytest.raises(Conflict, match="the mouth of bag 'bag' would leave 'front' by 9"):
        propagate.run(plain_set(), ChangeOpening(opening="pocket", to=mm(most - 0.5)))
    with pytest.raises(UnknownName, match="'pocket'"):
        propagate.run(plain_set(), ChangeOpening(opening="pockett", to=mm(100.0)))


def test_a_mouth_on_the_outline_is_not_moved_down() -> None:
    trousers = propagate.load(propagate.demo_path("slant_trouser"))
    with pytest.raises(EditError, match="found 'down', which is for openings on an inner line"):
        propagate.run(trousers, ChangeOpening(opening="front_pocket", down=mm(5.0)))


def test_moved_by_its_mark_what_goes_with_it_comes_along() -> None:
    old = plain_set()
    edit = propagate.MoveMark(mark="front.welt", by=mm(-6.0))
    new = propagate.run(old, edit).pattern
    assert line_of(new) == pytest.approx(line_of(old) + np.array([0.0, -6.0]), abs=1e-5)
    drills = [np.array(p.sized("front", "M").drills[0].point) for p in (old, new)]
    assert drills[1] - drills[0] == pytest.approx([0.0, -6.0], abs=1e-5)
    # And from there it keeps the distances that it has now.
    later = propagate.run(new, propagate.LetOut(edge="front.waist", by=mm(4.0))).pattern
    assert line_of(later) == pytest.approx(line_of(old) + np.array([0.0, -2.0]), abs=1e-5)


def test_parts_that_are_drawn_off_are_not_silently_mended() -> None:
    old = plain_set()
    piece = old.sized("welt", "M")
    off = replace(piece, edges=tuple(_wider(e, 0.4) for e in piece.edges))
    drawn = replace(old, pieces={**old.pieces, "welt": propagate.Piece("welt", {"M": off})})
    new = opened(drawn, to=mm(LONG + 5.0))
    (row,) = [c for c in propagate.walk(new).of("welt_opening") if c.part == "welt"]
    assert row.difference == pytest.approx(0.4, abs=1e-3)


def _wider(edge: propagate.Edge, by: float) -> propagate.Edge:
    points = edge.points.copy()
    points[points[:, 0] > 1.0, 0] += by
    return propagate.Edge(edge.name, points)
