"""Marks as they are drawn on sheets: each is put on a front whose outline is known."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from propagate.io.chain import Chain, Point
from propagate.io.drawn_lines import DrawnLine
from propagate.pattern.model import SizedPiece
from tests.io.sheet.fronts import (
    FILLED,
    SIZES,
    TITLES,
    arrow,
    box,
    edges,
    head,
    high,
    layered,
    line,
    nest,
    read,
    text,
    wide,
)
from tests.io.sheet.sheets import circle


def side_at(size: str, y: float) -> Point:
    """A point on the side seam."""
    share = (y - 100.0) / high(size)
    return 100.0 + wide(size) - 10.0 * share, y


def notch(kind: str, at: Point) -> list[Chain]:
    """A notch on the side seam in one of the ways that it is drawn."""
    x, y = at
    drop = 10.0 / 500.0 * 3.0  # the side leans by this over 3 mm
    low, top = (x + drop, y - 3.0), (x - drop, y + 3.0)
    triangle = Chain(low, (((x - 5.0, y),), (top,), (low,)), closed=True)
    points = [(x - 4.0, y), (x, y - 4.0), (x + 4.0, y), (x, y + 4.0), (x - 4.0, y)]
    return {
        "inward": [line((x, y), (x - 6.0, y))],
        "outward": [line((x, y), (x + 6.0, y))],
        "across": [line((x - 4.0, y), (x + 4.0, y))],
        "V": [line(low, (x - 5.0, y), top)],
        "V of two lines": [line(low, (x - 5.0, y)), line((x - 5.0, y), top)],
        "V outward": [line(low, (x + 5.0, y)), line((x + 5.0, y), top)],
        "T": [line((x, y), (x - 6.0, y)), line((x - 6.0, y - 2.0), (x - 6.0, y + 2.0))],
        "triangle": [triangle],
        "diamond": [Chain(points[0], tuple((p,) for p in points[1:]), closed=True)],
        "diamond of four lines": [line(a, b) for a, b in pairwise(points)],
    }[kind]


def front(lines: list[DrawnLine], texts=TITLES) -> tuple[dict[str, SizedPiece], list[str]]:
    """The one piece that is read, by size, and what was told."""
    pattern, told = read(lines, texts)
    (piece,) = pattern.pieces.values()
    assert tuple(pattern.sizes) == SIZES
    return dict(piece.nest), [str(item) for item in told]


KINDS = (
    "inward", "outward", "across", "V", "V of two lines", "V outward", "T", "triangle", "diamond",
    "diamond of four lines",
)  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("shared", [False, True])
def test_a_notch_is_found_however_it_is_drawn(kind: str, shared: bool) -> None:
    """In the layer of its size, or all of them in a layer of their own."""
    drawn = nest()
    for size in SIZES:
        drawn += layered(None if shared else size, notch(kind, side_at(size, 350.0)))
    nested, _ = front(drawn)
    for size, piece in nested.items():
        (mark,) = piece.landmarks
        assert mark.kind == "notch"
        assert math.dist(mark.point, side_at(size, 350.0)) <= 0.35  # half of a foot's drop
        assert len(piece.edges) == 4
        assert not piece.lines
        assert not piece.drills


def test_a_notch_that_a_size_lacks_takes_no_other_with_it() -> None:
    """Three on the side; the base size has one more below them, which is left out and told."""
    drawn = nest()
    for size in SIZES:
        for y in (200.0, 350.0, 450.0) + ((150.0,) if size == "38" else ()):
            drawn += layered(size, notch("inward", side_at(size, y)))
    nested, told = front(drawn)
    for size, piece in nested.items():
        assert [
            math.dist(m.point, side_at(size, y)) <= 0.02
            for m, y in zip(piece.landmarks, (200.0, 350.0, 450.0), strict=True)
        ] == [True] * 3
    names = {tuple(m.name for m in piece.landmarks) for piece in nested.values()}
    assert len(names) == 1
    assert any("not drawn in every size" in line and "size '38'" in line for line in told)


def test_a_filled_triangle_on_the_outline_is_a_notch() -> None:
    drawn = nest()
    for size in SIZES:
        drawn += layered(size, notch("triangle", side_at(size, 350.0)), FILLED)
    nested, _ = front(drawn)
    assert [len(piece.landmarks) for piece in nested.values()] == [1, 1, 1]


@pytest.mark.parametrize("heads", ["lines", "triangles"])
@pytest.mark.parametrize("both", [True, False])
def test_a_line_with_an_arrow_head_is_the_grain(heads: str, both: bool) -> None:
    drawn = [one for size in SIZES for one in layered(size, edges(size))]
    lines = arrow((150.0, 180.0), (260.0, 470.0), heads=heads, both=both)
    drawn += [DrawnLine(c, FILLED if c.closed else drawn[0].look) for c in lines]
    nested, _ = front(drawn)
    for piece in nested.values():
        assert {piece.grain.start, piece.grain.end} == {(150.0, 180.0), (260.0, 470.0)}
        assert not piece.lines
        assert not piece.drills


@pytest.mark.parametrize("heads", ["lines", "triangles", "none"])
def test_a_bracket_puts_the_edge_it_points_to_on_the_fold(heads: str) -> None:
    drawn = nest()
    arms = [line((101.0, 200.0), (118.0, 200.0)), line((101.0, 450.0), (118.0, 450.0))]
    drawn += layered(None, [*arms, line((118.0, 200.0), (118.0, 450.0))])
    if heads != "none":
        for arm in arms:
            for part in head(arm.start, arm.end, heads):
                drawn += layered(None, [part], FILLED if part.closed else drawn[0].look)
    texts = (*TITLES, text("Place on fold", (128.0, 280.0), angle=90.0))
    pattern, told = read(drawn, texts if heads == "none" else TITLES)
    (info,) = pattern.info.values()
    (piece,) = pattern.pieces.values()
    assert info.fold == "centre"
    for size, sized in piece.nest.items():
        assert sized.edge("centre").length == pytest.approx(high(size) - 12.0)
    assert any("fold" in str(item) for item in told)


@pytest.mark.parametrize("how", ["one line", "two lines", "a triangle"])
def test_two_lines_from_the_outline_to_a_point_are_a_dart(how: str) -> None:
    drawn = nest()
    for size in SIZES:
        x = 160.0
        legs = [line((x, 100.0), (x + 12.0, 220.0)), line((x + 12.0, 220.0), (x + 24.0, 100.0))]
        whole = line((x, 100.0), (x + 12.0, 220.0), (x + 24.0, 100.0))
        closed = Chain(whole.start, (*whole.segments, ((x, 100.0),)), closed=True)
        drawn += layered(
            size, {"one line": [whole], "two lines": legs, "a triangle": [closed]}[how]
        )
    nested, told = front(drawn)
    for piece in nested.values():
        (dart,) = piece.darts
        assert dart.tip == (172.0, 220.0)
        assert {piece.landmark(leg).point for leg in dart.legs} == {(160.0, 100.0), (184.0, 100.0)}
    assert any("are a dart, in every size" in line for line in told)


def test_a_line_from_edge_to_edge_stays_a_line_inside() -> None:
    """Both its ends are on the outline, all between is not."""
    drawn = nest()
    for size in SIZES:
        drawn += layered(size, [line((100.0, 300.0), side_at(size, 300.0))])
    nested, _ = front(drawn)
    for piece in nested.values():
        (across,) = piece.lines
        assert len(across.points) == 2
        assert not piece.landmarks


def test_a_small_circle_on_the_outline_is_a_mark_on_its_edge() -> None:
    drawn = nest()
    for size in SIZES:
        drawn += layered(size, [circle(side_at(size, 300.0), 1.5)])
    nested, _ = front(drawn)
    for size, piece in nested.items():
        (mark,) = piece.landmarks
        assert mark.kind == "mark"
        assert math.dist(mark.point, side_at(size, 300.0)) <= 0.02
        assert not piece.drills


@pytest.mark.parametrize("how", ["circle", "cross", "both"])
def test_a_small_circle_or_cross_is_a_drill_mark(how: str) -> None:
    drawn = nest()
    for size in SIZES:
        x, y = 160.0, 400.0 + 2.0 * SIZES.index(size)
        cross = [line((x - 3.0, y), (x + 3.0, y)), line((x, y - 3.0), (x, y + 3.0))]
        drawn += layered(size, cross if how != "circle" else [])
        drawn += layered(size, [circle((x, y), 3.0)] if how != "cross" else [])
    nested, _ = front(drawn)
    for size, piece in nested.items():
        (drill,) = piece.drills
        assert drill.point == pytest.approx((160.0, 400.0 + 2.0 * SIZES.index(size)), abs=1e-6)
        assert not piece.lines


def test_a_stroke_with_two_bars_is_one_line_for_a_buttonhole() -> None:
    drawn = nest()
    for size in SIZES:
        drawn += layered(size, [
            line((120.0, 300.0), (138.0, 300.0)),
            line((120.0, 298.0), (120.0, 302.0)),
            line((138.0, 298.0), (138.0, 302.0)),
        ])  # fmt: skip
    nested, _ = front(drawn)
    for piece in nested.values():
        (hole,) = piece.lines
        assert hole.name == "buttonhole"
        assert sorted(map(tuple, hole.points.tolist())) == [(120.0, 300.0), (138.0, 300.0)]


@pytest.mark.parametrize(
    ("words", "cut", "pair", "fabric"),
    [
        ("Cut 2 main fabric", 2, True, "main"),
        ("CUT 1 PAIR", 2, True, ""),
        ("3 x cut lining", 3, False, "lining"),
        ("cut 4 (2 pairs) interfacing", 4, True, "interfacing"),
        ("Cut one", 1, False, ""),
    ],
)
def test_texts_say_how_a_piece_is_cut(words: str, cut: int, pair: bool, fabric: str) -> None:
    pattern, _ = read(nest(), (text("Skirt Front", (150.0, 350.0), h=8.0), text(words)))
    (info,) = pattern.info.values()
    assert (info.title, info.cut, info.pair, info.fabric) == ("Skirt Front", cut, pair, fabric)


def test_two_of_what_is_no_mirror_image_of_itself_are_a_pair() -> None:
    """Cloth lies double when two are cut at once (common practice, no source)."""
    title = text("Waistband", (150.0, 130.0), h=8.0)
    words = (title, text("cut 2", (150.0, 115.0)))
    strip = [one for size in SIZES for one in layered(size, [box(100.0, 100.0, 400.0, 160.0)])]
    ends = [line((100.0, 100.0), (400.0, 100.0)), line((400.0, 100.0), (370.0, 160.0))]
    ends += [line((370.0, 160.0), (100.0, 160.0)), line((100.0, 160.0), (100.0, 100.0))]
    slanted = [one for size in SIZES for one in layered(size, ends)]
    for drawn, pair in ((strip, False), (slanted, True)):
        pattern, told = read([*drawn, *layered(None, arrow((200.0, 110.0), (300.0, 110.0)))], words)
        (info,) = pattern.info.values()
        assert (info.cut, info.pair) == (2, pair)
        assert any("mirrored pairs" in line.text for line in told) is pair


@pytest.mark.parametrize(
    "words",
    [
        "A seam allowance of 1.5 cm is included",
        "Alle Nahtzugaben sind mit 1,5 cm enthalten",
        "Marges de couture de 1,5 cm comprises",
    ],
)
def test_words_of_allowances_speak_against_seam_lines(words: str) -> None:
    _, told = read(nest(), (*TITLES, text("Allowances: see page 2"), text(words, (700.0, 50.0))))
    (line,) = (one for one in told if one.kind == "warning" and words in one.text)
    assert line.option is not None and "--boundary cut" in line.option
    _, quiet = read(nest(), (*TITLES, text("Join the seam to 1.5 cm")))
    assert not any("it is written" in one.text for one in quiet)


def test_a_closed_line_around_two_areas_is_no_fault() -> None:
    """A line of no size around two boxes, along a hair from one to the other and back."""
    corners = [(700.0, 100.0), (700.0, 150.0), (800.0, 150.0), (800.0, 100.0), (900.0, 100.0)]
    corners += [(900.0, 200.0), (800.0, 200.0), (800.0, 150.0), (700.0, 150.0), (700.0, 200.0)]
    boxes = Chain((600.0, 100.0), tuple((c,) for c in (*corners, (600.0, 200.0))), closed=True)
    pattern, _ = read([*nest(), *layered(None, [boxes])], TITLES)
    assert tuple(pattern.sizes) == SIZES
