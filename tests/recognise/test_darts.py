"""Darts in a drawing without names: the three ways in which the trade draws a dart."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.pattern.grain import Grain
from propagate.pattern.model import Array, Edge, InternalLine, Landmark, Mark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import Girth, PieceInfo, Span
from propagate.pattern.spans import span_length
from propagate.pattern.validate import find_problems
from propagate.recognise.darts import FoundDarts, clear_of_mouths, find_darts
from tests.effort import calls_of
from tests.examples import examples

Point = tuple[float, float]


def drawn(
    corners: list[Point], notches: list[Point], drills: list[Point], start: int = 0
) -> SizedPiece:
    """A piece of straight edges, from a list of corners, counter-clockwise."""
    ring = [*corners[start:], *corners[:start]]
    edges = tuple(
        Edge(f"edge_{i + 1}", np.array([a, b], dtype=float))
        for i, (a, b) in enumerate(zip(ring, [*ring[1:], ring[0]], strict=True))
    )
    marks = tuple(
        Landmark(f"notch_{i + 1}", _edge_at(edges, point), point, "notch")
        for i, point in enumerate(notches)
    )
    return SizedPiece(
        edges=edges,
        grain=Grain((50.0, 10.0), (50.0, 150.0)),
        landmarks=marks,
        drills=tuple(Mark(f"drill_{i + 1}", point) for i, point in enumerate(drills)),
    )


def _edge_at(edges: tuple[Edge, ...], point: Point) -> str:
    near = [shapely.LineString(edge.points).distance(shapely.Point(point)) for edge in edges]
    return edges[int(np.argmin(near))].name


def skirt(
    width: float = 20.0, deep: float = 90.0, start: int = 0, more: bool = False
) -> SizedPiece:
    """A skirt back, 200 mm wide; its waist at y = 600 has a dart, or two."""
    top: list[Point] = [(200.0, 600.0)]
    drills: list[Point] = []
    for middle in (140.0, 60.0) if more else (140.0,):
        top += [(middle + width / 2, 600.0), (middle - width / 2, 600.0)]
        drills.append((middle, 600.0 - deep))
    corners = [(0.0, 0.0), (200.0, 0.0), *top, (0.0, 600.0)]
    return drawn(corners, top[1:], drills, start)


def _ring(piece: SizedPiece) -> Array:
    return np.concatenate([edge.points[:-1] for edge in piece.edges])


@examples(30)
@given(start=st.integers(0, 7), more=st.booleans(), width=st.floats(8.0, 40.0))
def test_the_waist_becomes_one_edge_wherever_the_outline_begins(
    start: int, more: bool, width: float
) -> None:
    old = skirt(width, start=start % (8 if more else 6), more=more)
    darts = find_darts({"S": old, "M": old}, "S")
    new, found, names = darts.nest["M"], darts.found, darts.names
    assert len(found) == 1 + more
    assert len(new.edges) == 4  # hem, side, waist, centre
    waist = next(edge for edge in new.edges if edge.points[:, 1].min() == 600.0)
    assert waist.length == pytest.approx(200.0)
    assert {dart.edge for dart in new.darts} == {waist.name}
    assert not new.drills
    legs = {mark.name: mark for mark in new.landmarks}
    for dart in new.darts:
        mouth = np.subtract(legs[dart.legs[0]].point, legs[dart.legs[1]].point)
        assert np.hypot(*mouth) == pytest.approx(width)
        assert mouth[0] > 0  # the first leg comes first along the edge
        assert {legs[leg].kind for leg in dart.legs} == {"dart leg"}
    assert {waist.points[turn][1] for turn in waist.turns} == {600.0}
    assert len(waist.turns) == 2 + 2 * more
    assert shapely.Polygon(_ring(new)).equals(shapely.Polygon(_ring(old)))
    assert set(names) == set(old.edge_names)
    assert set(names.values()) == set(new.edge_names)


def shaped(peak: float, aside: float = 0.0, start: int = 0) -> SizedPiece:
    """A skirt back whose mouth is shaped as it is folded: it rises by `peak` to its middle."""
    mouth = [(150.0, 600.0), (140.0 + aside, 600.0 + peak), (130.0, 600.0)]
    corners = [(0.0, 0.0), (200.0, 0.0), (200.0, 600.0), *mouth, (0.0, 600.0)]
    return drawn(corners, [mouth[0], mouth[2]], [(140.0, 510.0)], start)


@examples(20)
@given(start=st.integers(0, 6), peak=st.floats(0.5, 9.0))
def test_a_mouth_with_a_peak_is_a_dart_too(start: int, peak: float) -> None:
    """What a folded dart has when it is cut along the seam line; common practice, no source."""
    old = shaped(peak, start=start)
    darts = find_darts({"S": old, "M": old}, "S")
    new = darts.nest["M"]
    (found,) = darts.found
    assert "the four edges there for one" in found.words
    assert len(new.edges) == 4
    (dart,) = new.darts
    waist = new.edge(dart.edge)
    assert waist.length == pytest.approx(180.0 + 2 * np.hypot(10.0, peak))
    assert [new.landmark(leg).point for leg in dart.legs] == [(150.0, 600.0), (130.0, 600.0)]
    assert shapely.Polygon(_ring(new)).equals(shapely.Polygon(_ring(old)))


@pytest.mark.parametrize("first", [0, 1])
def test_of_two_marks_on_the_axis_the_tip_is_the_farther(first: int) -> None:
    """The hole is drilled some 12 mm short of the tip; common practice, no source."""
    piece = shaped(4.0)
    drills = (Mark("tip", (140.0, 510.0)), Mark("hole", (140.0, 522.0)))
    darts = find_darts({"M": replace(piece, drills=(drills[first], drills[1 - first]))}, "M")
    (dart,) = darts.nest["M"].darts
    assert dart.tip == (140.0, 510.0)
    assert [mark.name for mark in darts.nest["M"].drills] == ["hole"]


def folded_mouth(slope: float, deep: float | None, width: float = 30.0) -> list[Point]:
    """The mouth of a fold in an edge that falls to the left, cut along the seam line when folded.

    Paper is folded in the middle of the mouth and laid to the right, along lines that meet `deep`
    below it, or that run parallel; what lies there is the edge to the right, seen in the fold line.
    """
    half = width / 2.0
    lean = 0.0 if deep is None else np.arctan2(half, deep)
    rise = np.tan(np.radians(slope) + 2.0 * lean)
    return [(150.0 + half, 600.0), (150.0, 600.0 + half * rise), (150.0 - half, 600.0)]


def sloped(slope: float, deep: float | None, width: float = 30.0) -> SizedPiece:
    """A lining whose upper edge slopes, with a dart or a pleat; its mark lies 90 mm below."""
    mouth = folded_mouth(slope, deep, width)
    lean = 0.0 if deep is None else np.arctan2(width / 2.0, deep)
    right = 600.0 + np.tan(np.radians(slope)) * (300.0 - mouth[0][0])
    # Closed, the edge to the left runs on from that to the right: turned by the dart, or moved.
    left = 600.0 - np.tan(np.radians(slope) + 2.0 * lean) * mouth[2][0]
    corners = [(0.0, 0.0), (300.0, 0.0), (300.0, right), *mouth, (0.0, left)]
    return drawn(corners, [mouth[0], mouth[2]], [(150.0, 510.0)])


@pytest.mark.parametrize("slope", [-30.0, -20.0, -12.0, 12.0, 20.0, 30.0])
@pytest.mark.parametrize("width", [16.0, 30.0, 40.0])
def test_a_pleat_with_a_peak_is_no_dart(slope: float, width: float) -> None:
    """A pleat is folded on parallel lines, a dart on lines that meet (common practice)."""
    pleat = sloped(slope, None, width)
    assert find_darts({"S": pleat, "M": pleat}, "S").found == ()
    dart = sloped(slope, 90.0, width)
    assert len(find_darts({"S": dart, "M": dart}, "S").found) == 1


@pytest.mark.parametrize("meet", [False, True])
def test_lines_that_run_parallel_from_the_notches_are_those_of_a_pleat(meet: bool) -> None:
    """Fold lines of a pleat are drawn parallel, legs of a dart to its tip (common practice)."""
    piece = marked()
    ends = [np.array(mark.point) for mark in piece.landmarks]
    tip = np.array(piece.drills[0].point)
    middle = (ends[0] + ends[1]) / 2.0
    to = [tip, tip] if meet else [end + tip - middle for end in ends]
    lines = tuple(
        InternalLine(f"line_{k}", np.array([end, there]))
        for k, (end, there) in enumerate(zip(ends, to, strict=True))
    )
    found = find_darts({"M": replace(piece, lines=lines)}, "M")
    assert len(found.found) == meet
    assert meet or "run parallel from the notches" in found.passed[0]


def test_a_point_that_a_piece_ends_with_is_no_mouth() -> None:
    """A pointed tab with two notches and a mark for its button."""
    corners = [(0.0, 0.0), (30.0, 0.0), (30.0, 100.0), (15.0, 115.0), (0.0, 100.0), (-5.0, 50.0)]
    tab = drawn(corners, [(30.0, 100.0), (0.0, 100.0)], [(15.0, 60.0)])
    assert not find_darts({"M": tab}, "M").found
    assert not find_darts({"M": shaped(5.0, aside=2.0)}, "M").found  # its halves differ


def test_a_dart_of_no_leg_length_in_common_is_none() -> None:
    """The legs of a dart are sewn to each other and have one length (common practice)."""
    piece = skirt()
    off = replace(piece, drills=(Mark("drill_1", (150.0, 510.0)),))
    assert find_darts({"M": off}, "M").found == ()


@pytest.mark.parametrize(
    ("piece", "why"),
    [
        (skirt(width=81.0, deep=200.0), "a mouth of 81 mm"),
        (skirt(deep=15.0), "legs shorter than the mouth is wide"),
        (skirt(deep=-90.0), "the mark outside of the piece"),
        (replace(skirt(), drills=()), "no mark at the tip"),
        (replace(skirt(), landmarks=skirt().landmarks[:1]), "one notch"),
    ],
)
def test_what_is_no_dart_stays_as_it_was(piece: SizedPiece, why: str) -> None:
    darts = find_darts({"M": piece}, "M")
    assert darts.found == (), why
    assert darts.nest["M"] is piece
    assert darts.names == {name: name for name in piece.edge_names}


def test_a_dart_must_show_in_every_size() -> None:
    darts = find_darts({"S": skirt(), "M": skirt(deep=15.0)}, "S")
    assert not darts.found
    assert len(darts.nest["S"].edges) == 6


def test_sizes_that_differ_in_their_marks_are_left_alone() -> None:
    other = replace(skirt(), drills=())
    darts = find_darts({"S": skirt(), "M": other}, "S")
    assert not darts.found
    assert darts.nest["M"] is other


# ------------------------------------------------------- two notches and a mark on one edge


def marked(
    width: float = 20.0,
    deep: float = 90.0,
    beside: float = 0.0,
    more: tuple[Point, ...] = (),
    drills: tuple[Point, ...] = (),
) -> SizedPiece:
    """The same skirt back, its waist one edge with two notches; the mark may lie beside."""
    corners = [(0.0, 0.0), (200.0, 0.0), (200.0, 600.0), (0.0, 600.0)]
    notches = [(140.0 + width / 2, 600.0), (140.0 - width / 2, 600.0), *more]
    return drawn(corners, notches, [(140.0 + beside, 600.0 - deep), *drills])


@pytest.mark.parametrize("width", [8.0, 20.0, 40.0])
def test_notches_and_a_mark_on_one_edge_are_a_dart(width: float) -> None:
    nest = {"S": marked(width), "M": marked(width + 2.0, 95.0)}
    darts = find_darts(nest, "S")
    (found,) = darts.found
    assert found.edges == ("edge_3",)
    leg = np.hypot(width / 2, 90.0)
    assert found.words.startswith(
        f"notches 'notch_1' and 'notch_2', {width:.1f} mm apart, and drill mark 'drill_1' are "
        f"taken for a dart, 'dart_1', with legs of {leg:.1f} and {leg:.1f} mm"
    )
    for size, piece in darts.nest.items():
        (dart,) = piece.darts
        assert dart.tip == nest[size].drills[0].point
        assert [piece.landmark(leg).kind for leg in dart.legs] == ["dart leg"] * 2
        assert not piece.drills
        assert piece.edge_names == nest[size].edge_names
        assert span_length(piece, Span("skirt", "edge_3")) == pytest.approx(
            200.0 - np.hypot(*np.subtract(*(piece.landmark(leg).point for leg in dart.legs)))
        )
    assert not darts.passed


def test_a_notch_in_the_middle_of_the_mouth_does_not_hide_the_dart() -> None:
    darts = find_darts({"M": marked(24.0, more=((140.0, 600.0),))}, "M")
    assert [one.dart.legs for one in darts.found] == [("notch_1", "notch_2")]


@pytest.mark.parametrize(
    ("nest", "why"),
    [
        ({"M": marked(beside=6.0)}, "the mark lies 6.0 mm beside the middle"),
        ({"M": marked(3.0)}, "the notches are 3.0 mm apart, as double notches are"),
        ({"M": marked(30.0, deep=20.0)}, "its legs are shorter than its mouth is wide"),
        ({"M": marked(), "L": marked(beside=5.0)}, "5.0 mm beside the middle in size L"),
        ({"M": marked(drills=((140.0, 540.0),))}, "drill mark 'drill_2' fits as well"),
        ({"M": marked(more=((165.0, 600.0), (115.0, 600.0)))}, "fit as well"),
    ],
)
def test_a_mark_by_two_notches_that_is_no_dart_is_told(
    nest: dict[str, SizedPiece], why: str
) -> None:
    darts = find_darts(nest, "M")
    assert darts.found == ()
    assert darts.nest["M"] is nest["M"]
    assert any("drill mark 'drill_1' by notches" in text and why in text for text in darts.passed)


@pytest.mark.parametrize(
    "piece", [marked(deep=-90.0), marked(deep=400.0), marked(beside=60.0), marked(90.0, 200.0)]
)
def test_a_mark_far_from_notches_is_not_spoken_of(piece: SizedPiece) -> None:
    darts = find_darts({"M": piece}, "M")
    assert darts.found == darts.passed == ()


# ------------------------------------------------------------- the outline runs around a dart


def around(
    width: float = 24.0,
    deep: float = 110.0,
    lean: float = 0.0,
    start: int = 0,
    notches: bool = True,
    more: bool = False,
    corners_at: str = "all",
) -> SizedPiece:
    """The skirt back with one or two darts that its outline runs around, the waist bent.

    `corners_at` tells which vertices of the dart are corners: all, the tip, the mouth, none.
    """
    ring: list[tuple[Point, bool]] = [((0.0, 0.0), True), ((200.0, 0.0), True)]
    ring.append(((200.0, 600.0), True))
    ends: list[Point] = []
    for middle in (140.0, 60.0) if more else (140.0,):
        legs = (middle + width / 2, 600.0 - 3.0), (middle - width / 2, 600.0 - 4.0)
        ring += [((middle + 30.0, 598.0), False)]
        ring += [(legs[0], corners_at in ("all", "mouth"))]
        # On the perpendicular through the middle of the mouth the legs are equally long.
        across = np.subtract(legs[1], legs[0]) / np.hypot(*np.subtract(legs[1], legs[0]))
        tip = np.mean(legs, axis=0) + deep * np.array([-across[1], across[0]]) + lean * across
        ring += [((float(tip[0]), float(tip[1])), corners_at in ("all", "tip"))]
        ring += [(legs[1], corners_at in ("all", "mouth")), ((middle - 30.0, 597.0), False)]
        ends += list(legs)
    ring.append(((0.0, 600.0), True))
    places = [k for k, (_, corner) in enumerate(ring) if corner]
    places = [*places[start:], *places[:start]]
    edges = []
    for number, (a, b) in enumerate(zip(places, [*places[1:], places[0]], strict=True)):
        steps = (b - a) % len(ring)
        points = [ring[(a + k) % len(ring)][0] for k in range(steps + 1)]
        edges.append(Edge(f"edge_{number + 1}", np.array(points)))
    marks = tuple(
        Landmark(f"notch_{i + 1}", _edge_at(tuple(edges), point), point, "notch")
        for i, point in enumerate(ends if notches else [])
    )
    return SizedPiece(tuple(edges), Grain((50.0, 10.0), (50.0, 150.0)), landmarks=marks)


@examples(40)
@given(
    start=st.integers(0, 3),
    corners_at=st.sampled_from(["all", "tip", "mouth", "none"]),
    more=st.booleans(),
    notches=st.booleans(),
    width=st.floats(6.0, 40.0),
)
def test_the_edge_runs_over_the_mouth_of_a_dart_in_the_outline(
    start: int, corners_at: str, more: bool, notches: bool, width: float
) -> None:
    def one(wider: float) -> SizedPiece:
        return around(width + wider, start=start, notches=notches, more=more, corners_at=corners_at)

    nest = {"S": one(0.0), "M": one(1.0)}
    darts = find_darts(nest, "S")
    assert len(darts.found) == 1 + more
    assert not darts.doubts
    for size, piece in darts.nest.items():
        old = shapely.Polygon(_ring(nest[size]))
        new = shapely.Polygon(_ring(piece))
        assert len(piece.edges) == 4
        assert new.is_valid
        assert shapely.covers(new.buffer(1e-9), old)
        for dart in piece.darts:
            legs = np.array([piece.landmark(leg).point for leg in dart.legs])
            assert shapely.Polygon([*legs, dart.tip]).difference(new.buffer(1e-6)).area < 1e-6
            assert np.ptp(np.hypot(*(legs - dart.tip).T)) < 1e-9
            assert {piece.landmark(leg).kind for leg in dart.legs} == {"dart leg"}
            assert all(leg.startswith("notch") is notches for leg in dart.legs)
        cones = [(*(piece.landmark(leg).point for leg in d.legs), d.tip) for d in piece.darts]
        filled = sum(shapely.Polygon(cone).area for cone in cones)
        assert new.area == pytest.approx(old.area + filled)
        # What is left of the edge is as long as what was drawn beside the darts.
        beside = old.exterior.length - 600.0 - 200.0 - 600.0
        beside -= sum(float(np.hypot(*np.subtract(c[k], c[2]))) for c in cones for k in (0, 1))
        waist = piece.darts[0].edge
        assert span_length(piece, Span("skirt", waist)) == pytest.approx(beside)
    assert set(darts.names) == set(nest["S"].edge_names)
    assert set(darts.names.values()) == set(darts.nest["S"].edge_names)


def test_the_words_have_the_numbers() -> None:
    darts = find_darts({"S": around(), "M": around(lean=0.4)}, "S")
    (found,) = darts.found
    mouth = np.hypot(24.0, 1.0)
    leg = np.hypot(mouth / 2, 110.0)
    assert f"its legs of {leg:.1f} and {leg:.1f} mm" in found.words
    legs = [np.hypot(mouth / 2 + off, 110.0) for off in (0.4, -0.4)]
    assert f"(in every size equal within {abs(legs[0] - legs[1]):.2f} mm)" in found.words
    assert f"over its mouth of {mouth:.1f} mm" in found.words


@pytest.mark.parametrize(
    ("nest", "why"),
    [
        ({"M": around(lean=9.0)}, "its legs differ by 1.9 mm in size M"),
        ({"M": around(), "L": around(lean=9.0)}, "its legs differ by 1.9 mm in size L"),
        ({"M": around(2.0)}, "as a slash is"),
    ],
)
def test_what_the_outline_runs_around_and_is_no_dart_is_told(
    nest: dict[str, SizedPiece], why: str
) -> None:
    darts = find_darts(nest, "M")
    assert not darts.found
    assert darts.nest["M"] is nest["M"]
    assert len(darts.doubts) == 1
    assert why in darts.doubts[0]
    tip = next(p for p in nest["M"].outline if 400.0 < p[1] < 550.0)
    assert f"in to ({tip[0]:.1f}, {tip[1]:.1f}) mm" in darts.doubts[0]


def test_edges_that_the_drawing_names_stay() -> None:
    piece = around()
    darts = find_darts({"M": piece}, "M", keep={piece.edge_names[3]})
    assert darts.nest["M"] is piece
    assert "names" in darts.doubts[0]


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (200, 0), (200, 600), (150, 600), (100, 350), (50, 600), (0, 600)],  # a neckline
        [(0, 0), (200, 0), (200, 600), (110, 600), (200, 500), (0, 600)],  # beside a corner
        [(0, 0), (300, 0), (30, 20), (20, 200)],  # a spike of the piece itself
        [(0, 0), (200, 0), (200, 600), (105, 600), (101, 588), (97, 600), (0, 600)],  # a notch
    ],
)
def test_what_is_wider_or_lies_at_a_corner_is_no_dart(corners: list[Point]) -> None:
    piece = drawn(corners, [], [])
    darts = find_darts({"M": piece}, "M")
    assert darts.nest["M"] is piece
    assert len(darts.doubts) <= 1


def test_a_pinked_edge_is_not_spoken_of() -> None:
    teeth = [(200.0 - 4.0 * k, 600.0 if k % 2 == 0 else 590.0) for k in range(1, 50)]
    piece = drawn([(0.0, 0.0), (200.0, 0.0), *teeth, (0.0, 600.0)], [], [])
    darts = find_darts({"M": piece}, "M")
    assert darts.nest["M"] is piece
    assert not darts.doubts


def saw(count: int) -> SizedPiece:
    """A piece whose upper edge has so many teeth, side by side."""
    wide = 12.0 * count
    teeth = [(wide - 12.0 * k, 600.0 if k % 2 == 0 else 550.0) for k in range(1, count)]
    return drawn([(0.0, 0.0), (wide, 0.0), *teeth, (0.0, 600.0)], [], [])


def test_a_saw_is_told_in_one_line_and_its_work_goes_with_its_teeth() -> None:
    piece = saw(2000)
    darts = find_darts({"M": piece}, "M")
    work = [calls_of(partial(find_darts, {"M": saw(count)}, "M")) for count in (1000, 2000)]
    assert work[1] < 2.5 * work[0]
    assert darts.nest["M"] is piece
    assert len(darts.doubts) == 1
    assert "runs in and back" in darts.doubts[0]


def test_the_work_of_many_notches_and_marks_goes_with_their_count() -> None:
    """As many as are read of a drawing (300 in all), in twenty sizes."""

    def find(count: int) -> None:
        places = [(199.0 - 0.7 * k, 600.0) for k in range(count)]
        drills = [(10.0 + 9.0 * k, 550.0) for k in range(20)]
        piece = drawn([(0.0, 0.0), (200.0, 0.0), (200.0, 600.0), (0.0, 600.0)], places, drills)
        assert not find_darts({str(k): piece for k in range(20)}, "0").found

    work = [calls_of(partial(find, count)) for count in (140, 280)]
    assert work[1] < 3 * work[0]


def test_a_notch_on_a_leg_stays_as_a_mark_inside() -> None:
    piece = around()
    tip = next(p for p in piece.outline if 400.0 < p[1] < 550.0)
    leg = np.array(piece.landmark("notch_1").point)
    middle = (float((tip + leg)[0] / 2), float((tip + leg)[1] / 2))
    on_leg = Landmark("notch_9", _edge_at(piece.edges, middle), middle, "notch")
    darts: FoundDarts = find_darts({"M": replace(piece, landmarks=(*piece.landmarks, on_leg))}, "M")
    assert darts.found
    assert darts.nest["M"].drills == (Mark("notch_9", middle),)


def test_an_allowance_is_measured_beside_the_mouth() -> None:
    piece = find_darts({"M": around()}, "M").nest["M"]
    (dart,) = piece.darts
    stretch = clear_of_mouths(piece, dart.edge)
    legs = [np.array(piece.landmark(leg).point) for leg in dart.legs]
    assert stretch[0] == pytest.approx(legs[1])
    assert stretch[-1] == pytest.approx((0.0, 600.0))
    assert clear_of_mouths(piece, "edge_1") is piece.edge("edge_1").points


def test_a_run_across_a_dart_that_is_left_as_drawn_is_refused_with_the_cure() -> None:
    piece = around()
    into, out = piece.edge_names[2], piece.edge_names[5]
    pattern = PatternSet(
        "skirt",
        ("M",),
        "M",
        "none",
        {"skirt": Piece("skirt", {"M": piece})},
        {"skirt": PieceInfo("skirt")},
        Relations(girths={"waist": Girth("waist", ((Span("skirt", into), Span("skirt", out)),))}),
    )
    (found,) = [text for text in find_problems(pattern) if "gap" in text]
    tip = next(p for p in piece.outline if 400.0 < p[1] < 550.0)
    assert f"around a dart, in to ({tip[0]:.1f}, {tip[1]:.1f}) mm" in found
    assert "darts=join" in found
