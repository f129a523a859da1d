"""Derived pieces: a facing with its dart closed, a lining, an interfacing, a pocket bag.

The yardsticks are shapely's parallels, rotations and distances, and hand arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import affinity
from shapely.ops import substring

import propagate
from propagate.engine.applying import NamedEdit, apply_edits
from propagate.engine.edits.allow import Allow
from propagate.engine.edits.settle import Settle
from propagate.engine.revise import revise
from propagate.engine.walk import walk
from propagate.errors import EditError
from propagate.geometry.motion import Motion
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.derived import Derived, DerivedEdge
from propagate.pattern.grain import Grain
from propagate.pattern.info import Allowance
from propagate.pattern.model import Dart, Edge, Landmark, Mark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo
from propagate.pattern.validate import find_problems
from tests.examples import examples
from tests.shared import demo

WIDTH, CB, HIP, LONG = 55.0, 12.0, 200.0, 600.0
TILTED = Motion(np.exp(0.7j), 900.0 - 200.0j)
TURNED_OVER = Motion(np.exp(-0.3j), -700.0 + 90.0j, face_down=True)


def curve(*points: tuple[float, float], count: int = 60) -> np.ndarray:
    """A Bezier curve through control points."""
    rows = np.repeat(np.array(points)[None], count + 1, axis=0)
    t = np.linspace(0.0, 1.0, count + 1)[:, None, None]
    while rows.shape[1] > 1:
        rows = (1 - t) * rows[:, :-1] + t * rows[:, 1:]
    found = rows[:, 0]
    found[0], found[-1] = points[0], points[-1]
    return found


def back(waist: float = 185.0, drop: float = 0.0, mouth: float = 26.0) -> SizedPiece:
    """A half back skirt: centre at x = 0, side at the right, a dart in the waist."""
    side_top, hip, foot = (waist, 12.0), (245.0, -HIP), (270.0, -LONG - drop)
    low = (95.0 + mouth / 2, 1.0), (95.0 - mouth / 2, 0.5)
    tip = np.array([94.0, -120.0])
    reach = np.hypot(*(np.array(low[0]) - tip))
    out = np.array(low[1]) - tip
    legs = np.array(low[0]), tip + out * reach / np.hypot(*out)
    cap = (legs[0] + legs[1]) / 2 + (0.5, 6.0)
    right = curve(side_top, (150.0, 2.0), tuple(legs[0]), count=24)
    left = curve(tuple(legs[1]), (50.0, 0.0), (0.0, 0.0), count=24)
    top = np.vstack([right, cap, left])
    edges = (
        Edge("foot", np.array([(0.0, -LONG - drop), foot])),
        Edge("side", np.vstack([foot, curve(hip, (240.0, -90.0), side_top)])),
        Edge("waist", top, (24, 25, 26)),
        Edge("centre", np.array([(0.0, 0.0), (0.0, -LONG - drop)])),
    )
    marks = (
        Landmark("leg_side", "waist", tuple(legs[0]), "dart leg"),
        Landmark("leg_centre", "waist", tuple(legs[1]), "dart leg"),
        Landmark("hip_notch", "side", hip, "notch"),
    )
    dart = Dart("dart", "waist", ("leg_side", "leg_centre"), tuple(tip))
    levels = {"hip": (0.0, -HIP), "waist": (0.0, 0.0)}
    grain = Grain((40.0, -500.0), (40.0, -300.0))
    return SizedPiece(edges, grain, marks, (dart,), (), (Mark("dart_end", tuple(tip)),), levels)


def placed(piece: SizedPiece, motion: Motion) -> SizedPiece:
    """A piece moved; one that is turned over is listed the other way round."""

    def at(point: Sequence[float]) -> tuple[float, float]:
        x, y = motion.apply(np.array(point))
        return (float(x), float(y))

    edges = [Edge(e.name, motion.apply(e.points), e.turns) for e in piece.edges]
    if motion.face_down:
        edges = [
            Edge(e.name, e.points[::-1], tuple(len(e.points) - 1 - t for t in e.turns[::-1]))
            for e in edges[::-1]
        ]
    return replace(
        piece,
        edges=tuple(edges),
        landmarks=tuple(replace(m, point=at(m.point)) for m in piece.landmarks),
        darts=tuple(replace(d, tip=at(d.tip)) for d in piece.darts),
        drills=tuple(replace(d, point=at(d.point)) for d in piece.drills),
        levels={},
        grain=Grain(at(piece.grain.start), at(piece.grain.end)),
    )


def closed_waist(main: SizedPiece) -> tuple[np.ndarray, Callable[[np.ndarray], np.ndarray]]:
    """The waist with its dart closed, and what turns the part at the centre (shapely)."""
    points = main.edge("waist").points
    cap = main.edge("waist").turns[1]
    tip = np.array(main.darts[0].tip)
    legs = [points[cap - 1] - tip, points[cap + 1] - tip]
    angle = np.arctan2(legs[0][1], legs[0][0]) - np.arctan2(legs[1][1], legs[1][0])

    def turn(line: np.ndarray) -> np.ndarray:
        moved = affinity.rotate(shapely.LineString(line), angle, tuple(tip), use_radians=True)
        return shapely.get_coordinates(moved)

    return np.vstack([points[:cap], turn(points[cap + 1 :])[1:]]), turn


def drawn_facing(main: SizedPiece) -> SizedPiece:
    """The facing as a person draws it: dart closed, a parallel at 55 mm, trimmed."""
    top, turn = closed_waist(main)
    side, centre = main.edge("side").points, turn(main.edge("centre").points)
    long = np.vstack(
        [top[0] + 40 * unit(top[0] - (150.0, 2.0)), top, top[-1] + 40 * unit(top[-1] - top[-2])]
    )
    low = shapely.get_coordinates(shapely.LineString(long).offset_curve(WIDTH, join_style="mitre"))
    if np.hypot(*(low[0] - top[0])) > np.hypot(*(low[-1] - top[0])):
        low = low[::-1]
    crossing = [
        shapely.get_coordinates(shapely.LineString(low).intersection(shapely.LineString(line)))[0]
        for line in (side, centre)
    ]
    line = shapely.LineString(low)
    a, b = (line.project(shapely.Point(point)) for point in crossing)
    part = shapely.get_coordinates(substring(line, b, a))
    own = [line_from(side, crossing[0]), top, line_to(centre, crossing[1]), part]
    for i, edge in enumerate(own):
        edge[0] = own[i - 1][-1]
    names = ("side", "waist", "centre", "low")
    edges = tuple(Edge(n, p) for n, p in zip(names, own, strict=True))
    notch = tuple(shapely.get_coordinates(shapely.LineString(top).interpolate(30.0))[0])
    middle = tuple(part[len(part) // 2])
    marks = (Landmark("own_notch", "waist", notch, "notch"), Landmark("low_mark", "low", middle))
    return SizedPiece(edges, Grain((40.0, -40.0), (40.0, -20.0)), marks)


def unit(vector: np.ndarray) -> np.ndarray:
    return vector / np.hypot(*vector)


def line_from(points: np.ndarray, start: np.ndarray) -> np.ndarray:
    line = shapely.LineString(points)
    at = line.project(shapely.Point(start))
    return shapely.get_coordinates(substring(line, at, line.length))


def line_to(points: np.ndarray, end: np.ndarray) -> np.ndarray:
    line = shapely.LineString(points)
    return shapely.get_coordinates(substring(line, 0.0, line.project(shapely.Point(end))))


FACING = Derived(
    "facing",
    "back",
    (
        DerivedEdge("waist", "waist"),
        DerivedEdge("side", "side"),
        DerivedEdge("centre", "centre"),
        DerivedEdge("low", "waist", inside=WIDTH),
    ),
    closed="waist",
)


def the_set(
    piece: SizedPiece, derived: Derived, main: SizedPiece | None = None, **more: SizedPiece
) -> PatternSet:
    pieces = {"back": main or back(), derived.piece: piece, **more}
    return PatternSet(
        name="skirt",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, {"M": one}) for name, one in pieces.items()},
        info={name: PieceInfo(name, allowance=Allowance(10.0)) for name in pieces},
        relations=Relations(derived={derived.piece: derived}),
    )


def changed(pattern: PatternSet, main: SizedPiece) -> propagate.PatternSet:
    return revise(pattern, {"back": Piece("back", {"M": main})}).pattern


def as_laid(after: PatternSet, main: SizedPiece) -> Motion:
    """How a revised piece was laid on the old one: by its notches, here without a turn."""
    x, y = after.sized("back", "M").edge("foot").points[0] - main.edge("foot").points[0]
    return Motion(1.0, complex(x, y))


@pytest.mark.parametrize("motion", [TILTED, TURNED_OVER], ids=["tilted", "turned over"])
def test_a_facing_with_its_dart_closed_follows(motion: Motion) -> None:
    """Against shapely's rotation and parallel, in a frame of its own, face up and down."""
    derived = replace(FACING, face_down=motion.face_down)
    pattern = the_set(placed(drawn_facing(back()), motion), derived)
    assert find_problems(pattern) == ()
    (check,) = walk(pattern, cut_lines=False).of("derived")
    assert check.verdict == "sews" and check.difference < 0.01
    main = back(waist=176.0, mouth=20.0)
    after = changed(pattern, main)
    new = after.sized("facing", "M")
    wanted = placed(drawn_facing(main), motion.after(as_laid(after, main)))
    for edge in wanted.edges:
        gap = shapely.hausdorff_distance(
            shapely.LineString(edge.points), shapely.LineString(new.edge(edge.name).points)
        )
        assert gap < 0.01, edge.name
    assert new.grain == pattern.sized("facing", "M").grain
    (check,) = walk(after, cut_lines=False).of("derived")
    assert check.difference < 0.01
    # As far from the side seam as before: 30 mm, which the main piece knows nothing of.
    assert abs(new.distance("waist", "own_notch") - 30.0) < 0.01 or motion.face_down
    again = changed(pattern, main).sized("facing", "M")
    assert again == new


def test_what_does_not_reach_it_leaves_every_digit() -> None:
    pattern = the_set(placed(drawn_facing(back()), TILTED), FACING)
    after = changed(pattern, back(drop=40.0))
    assert after.sized("facing", "M") == pattern.sized("facing", "M")


def lining(main: SizedPiece) -> SizedPiece:
    """Centre 15 mm out for a pleat, side 2 mm out, foot 25 mm shorter; hand arithmetic.

    All but the side are straight at the corners, or square.
    """
    top = main.edge("waist").points
    foot = main.edge("foot").points[0][1] + 25.0
    side = shapely.LineString(main.edge("side").points).offset_curve(-2.0, join_style="mitre")
    over = shapely.LineString(top[::-1])
    long = shapely.get_coordinates(side)
    # Bezier curves leave their ends along the first leg of their control polygon.
    long = np.vstack([long, long[-1] + 10 * unit(top[0] - (240.0, -90.0))])
    start = np.array([top[0] + 10 * unit(top[0] - (150.0, 2.0))])
    over = shapely.LineString(np.vstack([start, top, [(-15.0, 0.0)]]))
    corner = shapely.get_coordinates(over.intersection(shapely.LineString(long)))[0]
    low = shapely.LineString([(-20.0, foot), (400.0, foot)])
    end = shapely.get_coordinates(low.intersection(shapely.LineString(long)))[0]
    up = line_to(line_from(long, end), corner)
    waist = line_from(shapely.get_coordinates(over), corner)
    rows = [
        ("foot", np.array([(-15.0, foot), end])),
        ("side", up),
        ("waist", waist),
        ("centre", np.array([waist[-1], (-15.0, foot)])),
    ]
    for i, (_, points) in enumerate(rows):
        points[0] = rows[i - 1][1][-1]
    marks = [replace(m, kind="notch") for m in main.landmarks if m.edge == "waist"]
    marks.append(Landmark("pleat", "waist", (0.0, 0.0), "notch"))
    edges = tuple(Edge(n, p) for n, p in rows)
    return SizedPiece(edges, main.grain, tuple(marks), drills=main.drills)


LINING = Derived(
    "lining",
    "back",
    (
        DerivedEdge("waist", "waist"),
        DerivedEdge("side", "side", out=2.0),
        DerivedEdge("centre", "centre", out=15.0),
        DerivedEdge("foot", "foot", inside=25.0),
    ),
)


def test_a_lining_with_ease_a_pleat_and_a_shorter_hem_follows() -> None:
    pattern = the_set(placed(lining(back()), TILTED), LINING)
    assert find_problems(pattern) == ()
    assert walk(pattern, cut_lines=False).of("derived")[0].difference < 0.01
    main = back(waist=178.0, drop=30.0, mouth=20.0)
    after = changed(pattern, main)
    new = after.sized("lining", "M")
    wanted = placed(lining(main), TILTED.after(as_laid(after, main)))
    for edge in wanted.edges:
        gap = shapely.hausdorff_distance(
            shapely.LineString(edge.points), shapely.LineString(new.edge(edge.name).points)
        )
        assert gap < 0.01, edge.name
    for mark in wanted.landmarks:  # the dart is a pleat of the same width; the pleat's fold
        assert np.hypot(*np.subtract(mark.point, new.landmark(mark.name).point)) < 0.01, mark.name
    assert np.hypot(*np.subtract(wanted.drills[0].point, new.drills[0].point)) < 0.01


def test_an_interfacing_lies_inside_the_cut_line() -> None:
    """Allowance 10, 3 mm less: parallel at 7 mm, the corners mitred (shapely's buffer)."""
    straight = replace(
        back(), edges=tuple(
            Edge(n, np.array(p, dtype=float)) for n, p in (
                ("foot", [(0, 0), (200, 0)]), ("side", [(200, 0), (180, 90)]),
                ("waist", [(180, 90), (0, 80)]), ("centre", [(0, 80), (0, 0)]),
            )
        ), landmarks=(), darts=(), levels={"hip": (0.0, 40.0)}, drills=(),
        grain=Grain((50.0, 20.0), (50.0, 60.0)),
    )  # fmt: skip

    def inner(main: SizedPiece) -> SizedPiece:
        ring = shapely.Polygon(main.outline).buffer(7.0, join_style="mitre", mitre_limit=20.0)
        points = shapely.get_coordinates(ring.exterior)[:-1]
        start = int(np.argmin(np.hypot(*(points - main.outline[0]).T)))
        ccw = shapely.LinearRing(points).is_ccw
        points = (
            np.roll(points, -start, axis=0) if ccw else np.roll(points[::-1], start + 1, axis=0)
        )
        edges = [
            Edge(e.name, np.array([points[i], points[(i + 1) % 4]]))
            for i, e in enumerate(main.edges)
        ]
        return replace(main, edges=tuple(edges), levels={})

    derived = Derived(
        "fusible",
        "back",
        tuple(DerivedEdge(n, n, inside=3.0, from_cut=True) for n in straight.edge_names),
    )
    pattern = the_set(inner(straight), derived, straight)
    assert walk(pattern, cut_lines=False).of("derived")[0].difference < 0.01
    wider = replace(
        straight,
        edges=tuple(
            Edge(e.name, np.where(e.points == 180.0, 171.0, e.points)) for e in straight.edges
        ),
    )
    new = changed(pattern, wider).sized("fusible", "M")
    ring = shapely.Polygon(inner(wider).outline)
    assert ring.symmetric_difference(shapely.Polygon(new.outline)).area < 0.5
    assert shapely.hausdorff_distance(ring, shapely.Polygon(new.outline)) < 0.01


def test_an_allowance_that_it_is_counted_from_moves_it() -> None:
    pattern = demo("lined_skirt")
    edit = Allow(edge="facing_back.low", to=propagate.Amount(6.0))
    done = apply_edits(pattern, [NamedEdit("narrow", edit)]).pattern
    for size in pattern.sizes:
        wide = []
        for one in (pattern, done):
            piece = one.sized("fusible_back", size)
            top = shapely.LineString(piece.edge("waist").points)
            low = piece.edge("low").points
            wide.append(shapely.distance(top, shapely.Point(low[len(low) // 2])))
        assert wide == pytest.approx([69.0, 65.0], abs=0.01)
        (check,) = (c for c in walk(done, size).of("derived") if c.name == "fusible_back")
        assert check.difference < 0.01
        assert done.sized("facing_back", size) == pattern.sized("facing_back", size)


def bag(main: SizedPiece) -> SizedPiece:
    """A bag sewn to 150 mm of the side, from the hip notch up; its own curve is free."""
    side = main.edge("side")
    low = main.distance("side", "hip_notch")
    line = shapely.LineString(side.points)
    mouth = shapely.get_coordinates(substring(line, low, low + 150.0))
    own = curve(tuple(mouth[-1]), (60.0, -40.0), (70.0, -300.0), tuple(mouth[0]))
    edges = (Edge("mouth", mouth), Edge("curve", own))
    mark = Landmark("bag_notch", "curve", tuple(own[30]), "notch")
    return SizedPiece(edges, Grain((180.0, -200.0), (180.0, -100.0)), (mark,))


def test_a_free_edge_keeps_its_shape_between_its_corners() -> None:
    def with_top(main: SizedPiece) -> SizedPiece:
        along = main.distance("side", "hip_notch") + 150.0
        place = shapely.get_coordinates(
            shapely.LineString(main.edge("side").points).interpolate(along)
        )[0]
        mark = Landmark("mouth_top", "side", tuple(place), "notch")
        return replace(main, landmarks=(*main.landmarks, mark))

    derived = Derived(
        "bag", "back", (DerivedEdge("mouth", "side", start="hip_notch", end="mouth_top"),)
    )
    pattern = the_set(bag(back()), derived, with_top(back()))
    assert find_problems(pattern) == ()
    main = with_top(back(waist=170.0))
    after = changed(pattern, main)
    new, wanted = after.sized("bag", "M"), bag(main)
    gap = shapely.hausdorff_distance(
        shapely.LineString(wanted.edge("mouth").points),
        shapely.LineString(new.edge("mouth").points),
    )
    assert gap < 0.01
    old = pattern.sized("bag", "M").edge("curve")
    # Turned with its ends: all distances from the middle of the chord are as they were.
    chords = [np.hypot(*(e.points[-1] - e.points[0])) for e in (old, new.edge("curve"))]
    middles = [e.points[[0, -1]].mean(axis=0) for e in (old, new.edge("curve"))]
    assert abs(chords[1] - chords[0]) < 1.0
    far = [
        np.hypot(*(e.points - m).T) for e, m in zip((old, new.edge("curve")), middles, strict=True)
    ]
    assert np.abs(far[1] - far[0]).max() < abs(chords[1] - chords[0]) + 1e-5
    assert abs(new.distance("curve", "bag_notch") / new.edge("curve").length - 0.5) < 0.05


@pytest.mark.parametrize(
    ("edges", "closed", "said"),
    [
        ({"low": 700.0}, "waist", "do not meet"),
        ({}, "", None),
    ],
)
def test_what_cannot_be_is_refused(edges: dict[str, float], closed: str, said: str | None) -> None:
    rows = tuple(replace(e, inside=edges.get(e.edge, e.inside)) for e in FACING.edges)
    pattern = the_set(drawn_facing(back()), replace(FACING, edges=rows, closed=closed))
    if said is None:  # the dart left open: it is drawn otherwise, and the walk says so
        assert walk(pattern, cut_lines=False).of("derived")[0].verdict == "does not sew"
        return
    with pytest.raises(EditError, match=said):
        walk(pattern, cut_lines=False)


def test_a_lining_cannot_have_its_dart_closed() -> None:
    pattern = the_set(lining(back()), replace(LINING, closed="waist"))
    with pytest.raises(EditError, match="would tear centre and foot and side"):
        walk(pattern, cut_lines=False)


def test_a_region_in_two_parts_is_refused() -> None:
    """A main that became 20 mm narrow: 55 mm inside its side there is nothing there."""
    rows = (LINING.edges[0], DerivedEdge("side", "side", inside=55.0), *LINING.edges[2:])
    pattern = the_set(lining(back()), replace(LINING, edges=rows))
    side = [back().edge("side").points[0], (20.0, -300.0), *back().edge("side").points[1:]]
    edges = tuple(
        Edge("side", np.array(side), (1, 2)) if e.name == "side" else e for e in back().edges
    )
    with pytest.raises(EditError, match="two parts"):
        changed(pattern, replace(back(), edges=edges))


def test_its_file_is_written_and_read() -> None:
    pattern = the_set(bag(back()), replace(FACING, piece="bag"))
    again = parse_set(render_set(pattern), "set.toml")
    assert again.relations == pattern.relations
    assert '{ edge = "low", on = "waist", in = 55 }' in render_set(pattern)


def test_names_are_checked() -> None:
    wrong = Derived(
        "facing", "back", (DerivedEdge("waist", "waste"), DerivedEdge("sides", "side")), "wais"
    )
    lines = "\n".join(find_problems(the_set(drawn_facing(back()), wrong)))
    for name in ("'waste'", "'sides'", "'wais'"):
        assert name in lines


@pytest.mark.parametrize(
    ("edit", "edges"),
    [
        (propagate.DivideDart(dart="back.dart", apart=propagate.Amount(40.0)), ["waist", "waist"]),
        (propagate.SwingDart(dart="back.dart", into="hem", at="120mm"), ["hem"]),
        (propagate.SwingDart(dart="back.dart", into="side", at="150mm"), ["side"]),
    ],
    ids=["divided", "into the hem", "into the side"],
)
def test_darts_come_and_go_with_those_of_the_main_piece(
    edit: propagate.DivideDart | propagate.SwingDart, edges: list[str]
) -> None:
    """The lining has them as darts, the facing closed; tips where the main's are, by distances."""
    pattern = demo("lined_skirt")
    result = propagate.run(pattern, edit)
    size = result.pattern.base
    back, lining, facing = (
        result.pattern.sized(name, size) for name in ("back", "lining_back", "facing_back")
    )
    assert [dart.edge for dart in back.darts] == [dart.edge for dart in lining.darts] == edges
    for own, main in zip(lining.darts, back.darts, strict=True):
        legs = [[p.landmark(n).point for n in d.legs] for p, d in ((lining, own), (back, main))]
        for d, pair in ((own, legs[0]), (main, legs[1])):
            long = [float(np.hypot(*np.subtract(leg, d.tip))) for leg in pair]
            assert abs(long[0] - long[1]) < 0.5
        out = {"waist": 0.0, "hem": -25.0, "side": 2.0}[own.edge]
        longer = [
            float(np.hypot(*np.subtract(pair[0], d.tip)))
            for d, pair in ((own, legs[0]), (main, legs[1]))
        ]
        # A leg that runs aslant to the edge is longer by more than the lines are apart.
        differ = (longer[0] - longer[1]) * (-1.0 if out < 0.0 else 1.0)
        assert abs(out) - 0.01 <= differ <= 3.0 * abs(out) + 0.01
    assert facing.darts == () and result.pattern.sized("lining_front", size).darts == ()
    walked = walk(result.pattern)
    assert walked.sews and max(c.difference for c in walked.of("derived")) < 0.01
    assert any(check.name == "lining_waist_back" for check in walked.checks)


@examples(2)
@given(
    by=st.floats(-12.0, 12.0),
    top=st.floats(-10.0, 10.0),
    first=st.sampled_from(["side", "waist"]),
)
def test_after_any_two_edits_pieces_are_as_their_definitions(
    by: float, top: float, first: str
) -> None:
    """The side let out or taken in, the waist raised or lowered, in either order; twice is once."""
    assume(abs(by) > 0.1 and abs(top) > 0.1)
    side = propagate.TakeIn if by > 0.0 else propagate.LetOut
    waist = propagate.Raise if top > 0.0 else propagate.Lower
    edits = {
        "side": side(
            edge="front.side",
            by=propagate.Amount(abs(by)),
            at="waist",
            to=("hip",),
            both=True,
        ),
        "waist": waist(edge="back.waist", by=propagate.Amount(abs(top))),
    }
    order = [first, *(name for name in edits if name != first)]
    pattern = demo("lined_skirt")
    done = apply_edits(pattern, [NamedEdit(n, edits[n]) for n in order], sizes=["12"]).pattern
    walked = walk(done, "12")
    assert all(check.difference < 0.01 for check in walked.of("derived"))
    assert all(abs(check.difference) < 0.05 for check in walked.of("seam_opening"))
    for name in pattern.relations.derived:
        assert shapely.Polygon(done.sized(name, "12").outline).is_valid, name
        assert done.sized(name, "12").grain == pattern.sized(name, "12").grain
        assert done.sized(name, "14") == pattern.sized(name, "14")
    settled = propagate.run(done, Settle(size="12")).pattern
    for name, one in pattern.relations.derived.items():
        if settled.sized(one.of, settled.base) == done.sized(one.of, "12"):
            assert settled.sized(name, settled.base) == done.sized(name, "12"), name
