"""Derived pieces that lie on lines inside their main piece, and widths by size.

The yardstick is shapely: the main piece is cut along its lines, the part between is the piece.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.ops import polygonize, unary_union

import propagate
from propagate.engine.applying import NamedEdit, apply_edits
from propagate.engine.revise import revise
from propagate.engine.walk import walk
from propagate.errors import EditError, PropagateError
from propagate.geometry.motion import IDENTITY, Motion
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.amount import Amount
from propagate.pattern.derived import Derived, DerivedEdge
from propagate.pattern.grain import Grain
from propagate.pattern.info import Allowance, PieceInfo
from propagate.pattern.model import Dart, Edge, InternalLine, Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.validate import find_problems
from tests.engine.test_derived import TILTED, TURNED_OVER, curve, placed
from tests.examples import examples

MOTIONS = pytest.mark.parametrize(
    "motion", [IDENTITY, TILTED, TURNED_OVER], ids=["as it is", "tilted", "turned over"]
)


def panel(top: float = 180.0, sink: float = 0.0, back_to_front: bool = False) -> SizedPiece:
    """A panel with a curved side and two lines from the side to the centre."""
    side = curve((260.0, -600.0), (250.0, -200.0), (240.0, -90.0), (top, 10.0))
    edges = (
        Edge("hem", np.array([(0.0, -600.0), side[0]])),
        Edge("side", side),
        Edge("waist", curve(tuple(side[-1]), (100.0, -5.0), (0.0, 0.0))),
        Edge("centre", np.array([(0.0, 0.0), (0.0, -600.0)])),
    )
    outline = shapely.LineString(side)

    def across(low: float, bow: float) -> np.ndarray:
        points = curve((0.0, low), (120.0, low + bow), (400.0, low - 10.0))
        (x, y), *_ = shapely.get_coordinates(shapely.LineString(points).intersection(outline))
        inside = points[points[:, 0] < x - 0.01]
        return np.vstack([inside, [(x, y)]])

    lines = [across(-140.0 - sink, 30.0), across(-330.0, -20.0)]
    if back_to_front:
        lines = [line[::-1] for line in lines]
    named = zip(("yoke_line", "low_line"), lines, strict=True)
    inner = tuple(InternalLine(name, points) for name, points in named)
    return SizedPiece(edges, Grain((60.0, -500.0), (60.0, -300.0)), lines=inner)


def between_lines(main: SizedPiece, out: tuple[float, float] = (0.0, 0.0)) -> shapely.Polygon:
    """The part of a panel between its two lines, each moved out of it, cut out by shapely."""
    lines = {line.name: line.points for line in main.lines}
    cuts = []
    for name, sign, by in (("yoke_line", 1.0, out[0]), ("low_line", -1.0, out[1])):
        points = lines[name] if lines[name][0, 0] < lines[name][-1, 0] else lines[name][::-1]
        ends = points[0] - points[1], points[-1] - points[-2]
        ahead = [40.0 * step / np.hypot(*step) for step in ends]
        long = np.vstack([points[0] + ahead[0], points, points[-1] + ahead[1]])
        line = shapely.LineString(long)
        cuts.append(line.offset_curve(sign * by, join_style="mitre", mitre_limit=20.0))
    ring = shapely.LinearRing(main.outline)
    parts = list(polygonize(unary_union([ring, *cuts])))
    y = np.mean([shapely.get_coordinates(cut)[:, 1].mean() for cut in cuts])
    return next(part for part in parts if part.contains(shapely.Point(80.0, float(y))))


LINING = Derived(
    "lining",
    "panel",
    (
        DerivedEdge("low", line="low_line"),
        DerivedEdge("side", "side"),
        DerivedEdge("top", line="yoke_line"),
        DerivedEdge("centre", "centre"),
    ),
)


def drawn_lining(main: SizedPiece, out: tuple[float, float] = (0.0, 0.0)) -> SizedPiece:
    """The lining as shapely cuts it out, its four edges by where its points lie."""
    points = shapely.get_coordinates(shapely.orient_polygons(between_lines(main, out)).exterior)
    points = points[:-1]
    centre = np.flatnonzero(points[:, 0] < 1e-6)
    low = centre[int(np.argmin(points[centre, 1]))]
    points = np.roll(points, -low, axis=0)
    side = shapely.LineString(main.edge("side").points)
    on_side = np.flatnonzero(shapely.distance(shapely.points(points), side) < 1e-6)
    top_left = len(points) - 1
    ring = np.vstack([points, points[:1]])
    cuts = [0, on_side.min(), on_side.max(), top_left, len(points)]
    names = ("low", "side", "top", "centre")
    edges = [Edge(n, ring[a : b + 1]) for n, a, b in zip(names, cuts, cuts[1:], strict=False)]
    return SizedPiece(tuple(edges), Grain((60.0, -250.0), (60.0, -200.0)))


def the_set(
    derived: Derived, motion: Motion, nest: dict[str, SizedPiece], drawn: dict[str, SizedPiece]
) -> PatternSet:
    pieces = {
        "panel": Piece("panel", nest),
        "lining": Piece("lining", {size: placed(one, motion) for size, one in drawn.items()}),
    }
    return PatternSet(
        name="panels",
        sizes=tuple(nest),
        base=next(iter(nest)),
        lay_on="hip",
        pieces=pieces,
        info={name: PieceInfo(name, allowance=Allowance(10.0)) for name in pieces},
        relations=Relations(derived={"lining": derived}),
    )


def in_main_frame(piece: SizedPiece, motion: Motion) -> shapely.Polygon:
    return shapely.Polygon(motion.inverse().apply(piece.outline))


def same(found: shapely.Polygon, wanted: shapely.Polygon) -> bool:
    """Whether two regions are one: their outlines, vertices aside, lie on each other."""
    there = shapely.hausdorff_distance(found.exterior, wanted.exterior, densify=0.05)
    return bool(there < 0.01)


@MOTIONS
@pytest.mark.parametrize("back_to_front", [False, True])
@pytest.mark.parametrize("out", [(0.0, 0.0), (6.0, -9.0)], ids=["on", "beside"])
def test_a_lining_between_two_lines_follows(
    motion: Motion, back_to_front: bool, out: tuple[float, float]
) -> None:
    """A revised panel shows its own lines; whichever way they are drawn, out is away from it."""
    rows = {"top": out[0], "low": out[1]}
    edges = tuple(
        replace(one, out=max(by, 0.0), inside=max(-by, 0.0))
        for one in LINING.edges
        for by in [rows.get(one.edge, 0.0)]
    )
    derived = replace(LINING, edges=edges, face_down=motion.face_down)
    main = panel(back_to_front=back_to_front)
    pattern = the_set(derived, motion, {"M": main}, {"M": drawn_lining(main, out)})
    assert find_problems(pattern) == ()
    (check,) = walk(pattern, cut_lines=False).of("derived")
    assert check.difference < 0.01
    new = panel(top=170.0, sink=12.0, back_to_front=back_to_front)
    after = revise(pattern, {"panel": Piece("panel", {"M": new})}).pattern
    wanted = between_lines(after.sized("panel", "M"), out)
    assert same(in_main_frame(after.sized("lining", "M"), motion), wanted)
    assert after.sized("lining", "M").grain == pattern.sized("lining", "M").grain


def test_a_line_alone_that_is_drawn_anew_is_followed() -> None:
    """The outline stays, one line sinks by 12 mm; the walk of the record has the piece."""
    main = panel()
    pattern = the_set(LINING, TILTED, {"M": main}, {"M": drawn_lining(main)})
    sunk = replace(main, lines=panel(sink=12.0).lines)
    done = revise(pattern, {"panel": Piece("panel", {"M": sunk})})
    after = done.pattern
    assert same(in_main_frame(after.sized("lining", "M"), TILTED), between_lines(sunk))
    again = revise(after, {"panel": Piece("panel", {"M": sunk})}).pattern
    assert again.sized("lining", "M") == after.sized("lining", "M")
    side, low = after.sized("lining", "M").edge("side"), after.sized("lining", "M").edge("low")
    assert low == pattern.sized("lining", "M").edge("low")
    assert side.length < pattern.sized("lining", "M").edge("side").length - 10.0


@examples(4)
@given(by=st.floats(2.0, 12.0), out=st.booleans())
def test_lines_that_follow_an_edit_take_the_piece_with_them(by: float, out: bool) -> None:
    """The side is let out or taken in: the lines still end on it, the lining lies between them."""
    main = panel()
    pattern = the_set(LINING, TILTED, {"M": main}, {"M": drawn_lining(main)})
    kind = propagate.LetOut if out else propagate.TakeIn
    edit = kind(edge="panel.side", by=Amount(by))
    after = apply_edits(pattern, [NamedEdit("side", edit)]).pattern
    new = after.sized("panel", "M")
    for line in new.lines:
        gap = shapely.distance(
            shapely.LineString(new.edge("side").points), shapely.Point(line.points[-1])
        )
        assert gap < 0.01
    assert same(in_main_frame(after.sized("lining", "M"), TILTED), between_lines(new))
    (check,) = walk(after, cut_lines=False).of("derived")
    assert check.difference < 0.01


def test_a_line_that_ends_short_of_the_edge_is_run_on() -> None:
    main = panel()
    lines = tuple(InternalLine(one.name, one.points[2:-2]) for one in main.lines)
    short = replace(main, lines=lines)
    pattern = the_set(LINING, TILTED, {"M": short}, {"M": drawn_lining(main)})
    (check,) = walk(pattern, cut_lines=False).of("derived")
    assert check.difference < 0.5  # the curve is run on straight


# ------------------------------------------------------------------------------------- widths


FACING = Derived(
    "lining",
    "panel",
    (
        DerivedEdge("low", "hem", inside=Amount(sizes=(("S", 200.0), ("M", 210.0), ("L", 230.0)))),
        DerivedEdge("side", "side"),
        DerivedEdge("waist", "waist"),
        DerivedEdge("centre", "centre"),
    ),
)
TOPS = {"S": 170.0, "M": 180.0, "L": 190.0}


def above(main: SizedPiece, height: float) -> SizedPiece:
    """What lies above a line so high over the hem (hand arithmetic: the hem lies at -600)."""
    side = main.edge("side").points
    level = shapely.LineString([(-10.0, height - 600.0), (400.0, height - 600.0)])
    (x, y), *_ = shapely.get_coordinates(shapely.LineString(side).intersection(level))
    up = np.vstack([[(x, y)], side[side[:, 1] > y + 1e-6]])
    edges = (
        Edge("low", np.array([(0.0, y), (x, y)])),
        Edge("side", up),
        main.edge("waist"),
        Edge("centre", np.array([(0.0, 0.0), (0.0, y)])),
    )
    return SizedPiece(edges, Grain((60.0, -250.0), (60.0, -200.0)))


def graded() -> PatternSet:
    wide = {"S": 200.0, "M": 210.0, "L": 230.0}
    nest = {size: replace(panel(top), lines=()) for size, top in TOPS.items()}
    drawn = {size: above(nest[size], wide[size]) for size in nest}
    return replace(the_set(FACING, TILTED, nest, drawn), base="M")


def test_a_width_for_each_size_holds_in_each() -> None:
    pattern = graded()
    assert find_problems(pattern) == ()
    for size in pattern.sizes:
        assert walk(pattern, size, cut_lines=False).of("derived")[0].difference < 0.01
    edit = propagate.TakeIn(edge="panel.side", by=Amount(5.0))
    after = apply_edits(pattern, [NamedEdit("in", edit)]).pattern
    for size, high in (("S", 200.0), ("M", 210.0), ("L", 230.0)):
        low = in_main_frame(after.sized("lining", size), TILTED).bounds[1]
        assert low == pytest.approx(high - 600.0, abs=0.001)
        assert walk(after, size, cut_lines=False).of("derived")[0].difference < 0.01


def test_a_size_between_has_the_width_between() -> None:
    """Four tenths of the way from M to L: 210 + 0.4 * 20 = 218 mm."""
    edit = propagate.TakeIn(edge="panel.side", by=Amount(5.0))
    after = apply_edits(graded(), [NamedEdit("in", edit)], sizes=["M+0.4"]).pattern
    low = in_main_frame(after.sized("lining", "M+0.4"), TILTED).bounds[1]
    assert low == pytest.approx(218.0 - 600.0, abs=0.001)
    assert walk(after, "M+0.4", cut_lines=False).of("derived")[0].difference < 0.01


def test_both_go_through_a_file() -> None:
    text = render_set(graded())
    assert 'on = "hem", in = { S = 200, M = 210, L = 230 }' in text
    assert parse_set(text, "set.toml").relations == graded().relations
    main = panel()
    pattern = the_set(LINING, TILTED, {"M": main}, {"M": drawn_lining(main)})
    text = render_set(pattern)
    assert '{ edge = "low", line = "low_line" }' in text
    assert parse_set(text, "set.toml").relations == pattern.relations


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ('in = "5%"', "a length of 0 or more"),
        ("in = -5", "a length of 0 or more"),
        ("in = { S = 5, M = true }", "a length of 0 or more"),
        ("in = {}", "a length of 0 or more"),
        ('line = "low_line"', "expected either 'on', or 'line'"),
    ],
)
def test_what_is_no_width_is_told(said: str, words: str) -> None:
    text = render_set(graded()).replace("in = { S = 200, M = 210, L = 230 }", said)
    with pytest.raises(PropagateError) as told:
        parse_set(text, "set.toml")
    assert words in str(told.value)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (DerivedEdge("low", line="low_lime"), "did you mean 'low_line'"),
        (DerivedEdge("low", line="low_line", from_cut=True), "which has no allowance"),
        (DerivedEdge("low"), "expected either 'on', or 'line'"),
        (DerivedEdge("low", "hem", line="low_line"), "expected either 'on', or 'line'"),
        (DerivedEdge("low", "hem", inside=Amount(sizes=(("L", 3.0),))), "no width for size 'M'"),
        (DerivedEdge("low", "hem", out=Amount(sizes=(("Q", 3.0),))), "size 'Q'"),
    ],
)
def test_what_a_set_says_amiss_is_told(row: DerivedEdge, words: str) -> None:
    main = panel()
    derived = replace(LINING, edges=(row, *LINING.edges[1:]))
    lines = find_problems(the_set(derived, TILTED, {"M": main}, {"M": drawn_lining(main)}))
    assert any(words in line for line in lines), lines


# ------------------------------------------------------------------- darts closed on two edges


def bodice(darts: float = 24.0) -> SizedPiece:
    """A bodice top with a dart in the neck and one in the shoulder; straight lines."""
    neck, shoulder = [(120.0, 300.0), (20.0, 260.0)], [(300.0, 250.0), (120.0, 300.0)]
    tips = {"neck": np.array([90.0, 170.0]), "shoulder": np.array([190.0, 180.0])}
    edges, marks, found = [], [], []
    for name, (a, b) in (("shoulder", shoulder), ("neck", neck)):
        start, step = np.array(a), (np.array(b) - a) / np.hypot(*np.subtract(b, a))
        middle = (start + b) / 2.0
        foot = start + step * float((tips[name] - start) @ step)
        legs = foot - step * darts / 2.0, foot + step * darts / 2.0
        cap = foot + 4.0 * (foot - tips[name]) / np.hypot(*(foot - tips[name]))
        edges.append(Edge(name, np.array([start, legs[0], cap, legs[1], b]), (1, 2, 3)))
        for leg, point in zip("ab", legs, strict=True):
            place = (float(point[0]), float(point[1]))
            marks.append(Landmark(f"{name}_{leg}", name, place, "dart leg"))
        tip = (float(tips[name][0]), float(tips[name][1]))
        found.append(Dart(f"{name}_dart", name, (f"{name}_a", f"{name}_b"), tip))
        assert middle[0] > 0.0
    rest = (
        Edge("low", np.array([(0.0, 0.0), (320.0, 0.0)])),
        Edge("armhole", np.array([(320.0, 0.0), (300.0, 250.0)])),
        *edges,
        Edge("centre", np.array([(20.0, 260.0), (0.0, 0.0)])),
    )
    grain = Grain((60.0, 20.0), (60.0, 100.0))
    return SizedPiece(rest, grain, tuple(marks), tuple(found))


def folded_top(main: SizedPiece) -> np.ndarray:
    """Shoulder and neck with their darts closed, then the centre, turned by shapely."""
    turns: list[tuple[float, tuple[float, float]]] = []

    def put(points: np.ndarray) -> np.ndarray:
        line = shapely.LineString(points)
        for angle, tip in reversed(turns):
            line = affinity.rotate(line, angle, tip, use_radians=True)
        return shapely.get_coordinates(line)

    rows = [main.edge("armhole").points]
    for name in ("shoulder", "neck"):
        points = main.edge(name).points
        rows.append(put(points[:2]))
        dart = next(dart for dart in main.darts if dart.edge == name)
        legs = [points[k] - np.array(dart.tip) for k in (1, 3)]
        angles = [float(np.arctan2(leg[1], leg[0])) for leg in legs]
        turns.append((angles[0] - angles[1], dart.tip))
        rows.append(put(points[3:]))
    rows.append(put(main.edge("centre").points))
    return np.vstack([rows[0], *(row[1:] for row in rows[1:])])


TOP_FACING = Derived(
    "lining",
    "panel",
    (
        DerivedEdge("armhole", "armhole"),
        DerivedEdge("shoulder", "shoulder"),
        DerivedEdge("neck", "neck"),
        DerivedEdge("centre", "centre"),
    ),
    closed=("shoulder", "neck"),
)


def top_facing(main: SizedPiece) -> SizedPiece:
    """All of the top with both darts closed; its low edge is its own and joins the two ends."""
    line = folded_top(main)
    cuts = [0, 1, 3, 5, 6]
    named = zip(("armhole", "shoulder", "neck", "centre"), cuts, cuts[1:], strict=False)
    edges = [Edge(name, line[a : b + 1]) for name, a, b in named]
    edges.append(Edge("low", np.vstack([line[-1], line[0]])))
    return SizedPiece(tuple(edges), Grain((60.0, 20.0), (60.0, 100.0)))


@MOTIONS
@pytest.mark.parametrize("closed", [("shoulder", "neck"), ("neck", "shoulder")])
def test_darts_are_closed_on_two_edges_in_any_order(
    motion: Motion, closed: tuple[str, ...]
) -> None:
    derived = replace(TOP_FACING, closed=closed, face_down=motion.face_down)
    pattern = the_set(derived, motion, {"M": bodice()}, {"M": top_facing(bodice())})
    assert find_problems(pattern) == ()
    (check,) = walk(pattern, cut_lines=False).of("derived")
    assert check.difference < 0.01
    revised = bodice(darts=18.0)
    after = revise(pattern, {"panel": Piece("panel", {"M": revised})}).pattern
    new, wanted = after.sized("lining", "M"), top_facing(after.sized("panel", "M"))
    for edge in wanted.edges:
        found = new.edge(edge.name)
        assert abs(found.length - edge.length) < 0.01, edge.name
        chord = [float(np.hypot(*(e.points[-1] - e.points[0]))) for e in (found, edge)]
        assert abs(chord[0] - chord[1]) < 0.01, edge.name
    assert walk(after, cut_lines=False).of("derived")[0].difference < 0.01
    text = render_set(pattern)
    assert f'closed = ["{closed[0]}", "{closed[1]}"]' in text
    assert parse_set(text, "set.toml").relations == pattern.relations


def test_what_would_tear_between_two_closed_edges_is_refused() -> None:
    main = bodice()
    low = DerivedEdge("low", "low")
    derived = replace(TOP_FACING, edges=(*TOP_FACING.edges, low))
    pattern = the_set(derived, IDENTITY, {"M": main}, {"M": top_facing(main)})
    with pytest.raises(EditError, match="'shoulder' and 'neck' would tear"):
        walk(pattern, cut_lines=False)
    across = InternalLine("across", np.array([(5.0, 200.0), (310.0, 205.0)]))
    crossing = replace(TOP_FACING, edges=(*TOP_FACING.edges, DerivedEdge("low", line="across")))
    lined = {"M": replace(main, lines=(across,))}
    with pytest.raises(EditError, match="line 'across' crosses a dart that is closed"):
        walk(the_set(crossing, IDENTITY, lined, {"M": top_facing(main)}), cut_lines=False)
    wrong = replace(TOP_FACING, closed=("shoulder", "nek"))
    lines = find_problems(the_set(wrong, IDENTITY, {"M": main}, {"M": top_facing(main)}))
    assert any("did you mean 'neck'" in line for line in lines), lines


def test_lines_that_cross_or_do_not_meet_are_refused() -> None:
    main = panel()
    pattern = the_set(LINING, TILTED, {"M": main}, {"M": drawn_lining(main)})
    high = replace(main.lines[1], points=main.lines[1].points + np.array([0.0, 230.0]))
    crossed = replace(main, lines=(main.lines[0], high))
    with pytest.raises(EditError, match=r"two parts|empty"):
        revise(pattern, {"panel": Piece("panel", {"M": crossed})})
    far = InternalLine("low_line", np.array([(60.0, -330.0), (120.0, -330.0)]))
    apart = replace(main, lines=(main.lines[0], far))
    pieces = {**pattern.pieces, "panel": Piece("panel", {"M": apart})}
    with pytest.raises(EditError, match=r"'low' and 'side'|'centre' and 'low'"):
        walk(replace(pattern, pieces=pieces))
