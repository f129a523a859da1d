"""What lies inside a piece follows it: judged by shapely, closed forms, and the way back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

import propagate
from propagate import (
    Amount,
    DrawEdge,
    Lengthen,
    LetOut,
    Lower,
    MoveMark,
    PatternSet,
    Raise,
    Spread,
    TakeIn,
)
from propagate.engine.revise import revise
from propagate.engine.run import settle
from propagate.pattern.model import InternalLine, Mark, Piece, SizedPiece, frozen_points
from tests.engine.inside.draft import SIZES, named, parallel, the_set, turned

ON_MM = 1e-3


def mm(value: float) -> Amount:
    return Amount(mm=value)


EDITS = {
    "lower hem": Lower(edge="front.hem", by=mm(20.0)),
    "raise hem": Raise(edge="front.hem", by=mm(30.0)),
    "sloping hem": Lower(edge="front.hem", by=mm(25.0), at="end", to=("start",)),
    "take in side": TakeIn(edge="front.side", by=mm(12.0)),
    "let out side": LetOut(edge="front.side", by=mm(12.0), at="end", to=("start",)),
    "deeper armhole": TakeIn(edge="front.armhole", by=mm(8.0)),
    "lower neck": Lower(edge="front.neck", by=mm(15.0)),
    "drawn hem": DrawEdge(edge="front.hem", through=("35%:14mm", "70%:10mm")),
    "hollow centre": DrawEdge(edge="front.centre", through=("50%:-9mm",)),
    "longer": Lengthen(level="waist", by=mm(25.0)),
    "spread": Spread(
        piece="skirt", first="hem", second="waist", by=mm(30.0), at=("180mm",), to_at=("50mm",)
    ),
    "lower waist": Lower(edge="skirt.waist", by=mm(18.0)),
    "skirt side": TakeIn(edge="skirt.side", by=mm(10.0), at="end", to=("skirt.hip_notch",)),
    "skirt hem": Raise(edge="skirt.hem", by=mm(60.0)),
}


def line_of(piece: SizedPiece, name: str) -> np.ndarray:
    return next(line.points for line in piece.lines if line.name == name)


def drill_of(piece: SizedPiece, name: str) -> np.ndarray:
    return np.array(next(mark.point for mark in piece.drills if mark.name == name))


def ring(piece: SizedPiece) -> shapely.LinearRing:
    return shapely.LinearRing(piece.outline)


def gaps(piece: SizedPiece, name: str) -> np.ndarray:
    """How far both ends of a line lie off the outline."""
    ends = shapely.points(line_of(piece, name)[[0, -1]])
    return np.asarray(shapely.distance(ring(piece), ends))


def edited(pattern: PatternSet, edit, size: str = "M") -> propagate.Result:
    return propagate.run(pattern, edit.for_size(size, "same", "length"))


def pair(pattern: PatternSet, result: propagate.Result, name: str, size: str = "M"):
    return pattern.sized(name, size), result.pattern.sized(name, result.pattern.base)


def apart(one: np.ndarray, other: np.ndarray) -> float:
    return float(
        shapely.hausdorff_distance(shapely.LineString(one), shapely.LineString(other), densify=0.02)
    )


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", EDITS)
def test_lines_end_on_the_outline_where_they_did(name: str, size: str) -> None:
    pattern = the_set()
    result = edited(pattern, EDITS[name], size)
    for piece in pattern.pieces:
        was, now = pair(pattern, result, piece, size)
        for line in was.lines:
            on = gaps(was, line.name) <= ON_MM
            assert (gaps(now, line.name)[on] <= ON_MM).all(), (piece, line.name)
            assert (
                shapely.Polygon(now.outline)
                .buffer(0.02)
                .covers(shapely.LineString(line_of(now, line.name)))
            ), (piece, line.name)
    assert not [n.text for n in result.record.warnings if "now ends" in n.text]


@pytest.mark.parametrize("name", EDITS)
def test_a_parallel_stays_at_its_distance(name: str) -> None:
    """Offset by shapely: the line lies in a strip of 0.02 mm about it."""
    pattern = the_set()
    result = edited(pattern, EDITS[name])
    for piece in ("front", "back"):
        _, now = pair(pattern, result, piece)
        for line, edge, width in (("topstitch", "hem", 25.0), ("facing", "neck", 50.0)):
            drawn = shapely.LineString(line_of(now, line)).segmentize(3.0)
            beside = shapely.LineString(now.edge(edge).points)
            away = shapely.distance(beside, shapely.points(np.array(drawn.coords)))
            # 'parallel' in the draft goes by central differences, 0.01 mm off at the ends
            assert np.abs(away - width).max() <= 0.05, (piece, line)


def test_a_slit_keeps_its_length_and_its_mark_goes_with_it() -> None:
    pattern = the_set()
    for edit in (EDITS["lower hem"], EDITS["raise hem"], EDITS["drawn hem"]):
        _, now = pair(pattern, edited(pattern, edit), "front")
        slit = line_of(now, "vent")
        assert np.hypot(*(slit[1] - slit[0])) == pytest.approx(90.0, abs=1e-5)
        assert slit[0][0] == pytest.approx(slit[1][0], abs=1e-5)
        assert drill_of(now, "vent_end") == pytest.approx(slit[1], abs=1e-5)


def test_a_mark_that_is_graded_with_the_hem_keeps_its_distance() -> None:
    pattern = the_set()
    for name in ("lower hem", "raise hem", "sloping hem", "drawn hem"):
        result = edited(pattern, EDITS[name])
        for piece in ("front", "back"):
            old, new = pair(pattern, result, piece)
            depth = [
                shapely.LineString(p.edge("hem").points).distance(
                    shapely.Point(drill_of(p, "pocket"))
                )
                for p in (old, new)
            ]
            assert depth[1] == pytest.approx(depth[0], abs=1e-4), (name, piece)
        old, new = pair(pattern, result, "front")
        assert drill_of(new, "apex") == pytest.approx(drill_of(old, "apex"), abs=0.0), name


def test_a_pocket_below_the_waist_goes_down_with_it() -> None:
    pattern = the_set()
    result = edited(pattern, EDITS["lower waist"])
    old, new = pair(pattern, result, "skirt")
    depth = shapely.LineString(new.edge("waist").points).distance(
        shapely.Point(drill_of(new, "pocket_top"))
    )
    assert depth == pytest.approx(75.0, abs=0.02)
    (said,) = [n.text for n in result.record.warnings if "pocket_top" in n.text]
    assert "measured from" in said and "'waist'" in said
    assert line_of(new, "pleat")[1] == pytest.approx(line_of(old, "pleat")[1], abs=0.0)


def test_a_pleat_stays_on_the_grain() -> None:
    pattern = the_set()
    for name in ("lower waist", "skirt side", "skirt hem"):
        old, new = pair(pattern, edited(pattern, EDITS[name]), "skirt")
        was, now = line_of(old, "pleat"), line_of(new, "pleat")
        assert len(now) == 2 and now[0][0] == pytest.approx(was[0][0], abs=1e-6)


def test_a_line_goes_with_its_notch_and_what_ends_on_it_too() -> None:
    pattern = the_set()
    edit = MoveMark(mark="skirt.hip_notch", by=mm(24.0))
    _, now = pair(pattern, edited(pattern, edit), "skirt")
    hip = line_of(now, "hip")
    assert hip[1] == pytest.approx(np.array(now.landmark("hip_notch").point), abs=1e-6)
    assert hip[0] == pytest.approx([0.0, 392.0], abs=0.0)
    end = shapely.Point(line_of(now, "dart_line")[1])
    assert shapely.LineString(hip).distance(end) <= ON_MM


def test_what_did_not_move_keeps_its_digits() -> None:
    pattern = the_set()
    result = settle(pattern)
    for name in pattern.pieces:
        was, now = pair(pattern, result, name)
        assert now.lines == was.lines and now.drills == was.drills
    was, now = pair(pattern, edited(pattern, EDITS["lower neck"]), "front")
    for name in ("style", "yoke", "topstitch", "vent"):
        assert line_of(now, name).tobytes() == line_of(was, name).tobytes()
    assert now.drills == was.drills
    was, now = pair(pattern, edited(pattern, EDITS["lower hem"]), "front")
    style = line_of(now, "style")
    assert style[:41].tobytes() == line_of(was, "style").tobytes()


BACK = {
    "hem up and down": (
        Raise(edge="front.hem", by=mm(20.0)),
        Lower(edge="front.hem", by=mm(20.0)),
    ),
    "hem down and up": (
        Lower(edge="front.hem", by=mm(20.0)),
        Raise(edge="front.hem", by=mm(20.0)),
    ),
    "side": (
        TakeIn(edge="front.side", by=mm(12.0)),
        LetOut(edge="front.side", by=mm(12.0)),
    ),
    "waist": (
        Raise(edge="skirt.waist", by=mm(15.0)),
        Lower(edge="skirt.waist", by=mm(15.0)),
    ),
}


@pytest.mark.parametrize("name", BACK)
def test_there_and_back_again(name: str) -> None:
    """What the outline itself is off by after both edits is allowed on top."""
    pattern = the_set()
    there, back = BACK[name]
    once = propagate.apply_edits(pattern, [propagate.NamedEdit("there", there)])
    twice = propagate.apply_edits(once.pattern, [propagate.NamedEdit("back", back)])
    for piece in pattern.pieces:
        for size in SIZES:
            was, now = (p.sized(piece, size) for p in (pattern, twice.pattern))
            slack = 0.05 + float(shapely.hausdorff_distance(ring(was), ring(now), densify=0.02))
            for line in was.lines:
                assert apart(line.points, line_of(now, line.name)) <= slack, (piece, line.name)
            for mark in was.drills:
                off = np.hypot(*(drill_of(now, mark.name) - mark.point))
                assert off <= slack, (piece, size, mark.name)


def test_twice_is_once() -> None:
    for name in ("lower hem", "deeper armhole", "skirt side"):
        result = edited(the_set(), EDITS[name])
        again = settle(result.pattern)
        for piece in result.pattern.pieces:
            was, now = (p.sized(piece, p.base) for p in (result.pattern, again.pattern))
            assert now.lines == was.lines and now.drills == was.drills


@pytest.mark.parametrize("name", ["lower hem", "deeper armhole", "skirt side", "drawn hem"])
def test_the_frame_does_not_matter(name: str) -> None:
    plain = edited(the_set(), EDITS[name]).pattern
    other = edited(the_set(37.0), EDITS[name]).pattern
    for piece in ("front", "skirt"):
        one, two = (p.sized(piece, p.base) for p in (plain, other))
        for line in one.lines:
            assert apart(turned(line.points, 37.0), line_of(two, line.name)) <= 1e-3
        for mark in one.drills:
            there = turned(np.array([mark.point]), 37.0)[0]
            assert drill_of(two, mark.name) == pytest.approx(there, abs=1e-4)


def test_names_do_not_matter() -> None:
    pattern = the_set()

    def renamed(piece: SizedPiece) -> SizedPiece:
        lines = tuple(InternalLine(f"z{9 - i}", x.points) for i, x in enumerate(piece.lines))
        drills = tuple(Mark(f"q{9 - i}", x.point) for i, x in enumerate(piece.drills))
        return replace(piece, lines=lines, drills=drills)

    pieces = {
        name: Piece(name, {size: renamed(piece.at(size)) for size in SIZES})
        for name, piece in pattern.pieces.items()
    }
    for name in ("raise hem", "skirt side"):
        one = edited(pattern, EDITS[name]).pattern
        two = edited(replace(pattern, pieces=pieces), EDITS[name]).pattern
        for piece in pattern.pieces:
            a, b = (p.sized(piece, p.base) for p in (one, two))
            assert [x.points.tobytes() for x in a.lines] == [x.points.tobytes() for x in b.lines]
            assert [x.point for x in a.drills] == [x.point for x in b.drills]


def sent(pattern: PatternSet, drop: float, **changes) -> propagate.Revised:
    """The front sent as a drawing with its hem let down straight."""
    old = pattern.sized("front", "M")
    shift = np.array([0.0, -drop])
    points = {edge.name: edge.points.copy() for edge in old.edges}
    points["hem"] = points["hem"] + shift
    points["side"][0] += shift
    points["centre"][-1] += shift
    edges = tuple(named(name, line) for name, line in points.items())
    drawn = replace(old, edges=edges, **changes)
    return revise(pattern, {"front": Piece("front", {"M": drawn})})


def test_lines_of_a_drawing_that_was_sent_end_on_its_outline_in_every_size() -> None:
    pattern = the_set()
    result = sent(pattern, 20.0)
    for size in SIZES:
        was, now = (p.sized("front", size) for p in (pattern, result.pattern))
        for name in ("style", "vent"):
            on = gaps(was, name) <= ON_MM
            assert (gaps(now, name)[on] <= ON_MM).all()
        # What the drawing shows where it was stays: it says so itself.
        assert line_of(now, "topstitch").tobytes() == line_of(was, "topstitch").tobytes()
        assert drill_of(now, "pocket") == pytest.approx(drill_of(was, "pocket"), abs=0.0)


def test_what_a_drawing_does_not_show_follows() -> None:
    pattern = the_set()
    result = sent(pattern, 20.0, lines=(), drills=())
    for size in SIZES:
        was, now = (p.sized("front", size) for p in (pattern, result.pattern))
        beside = shapely.LineString(now.edge("hem").points)
        line = shapely.points(line_of(now, "topstitch"))
        assert np.abs(shapely.distance(beside, line) - 25.0).max() <= 0.05
        moved = drill_of(now, "pocket") - drill_of(was, "pocket")
        assert moved == pytest.approx([0.0, -20.0], abs=0.05)


def test_what_a_drawing_moved_lies_where_it_shows_it() -> None:
    pattern = the_set()
    old = pattern.sized("front", "M")
    short = frozen_points(line_of(old, "style")[:-6])
    lines = tuple(InternalLine(x.name, short[:]) if x.name == "style" else x for x in old.lines)
    padded = np.vstack([short, np.linspace(short[-1], short[-1] - np.array([0.0, 3.0]), 7)[1:]])
    lines = tuple(InternalLine("style", padded) if x.name == "style" else x for x in lines)
    result = sent(pattern, 20.0, lines=lines)
    now = result.pattern.sized("front", "M")
    assert line_of(now, "style") == pytest.approx(padded, abs=1e-6)
    told = [n.text for n in result.records["M"].warnings if "'style'" in n.text]
    assert any("ended on the outline and now ends" in text for text in told)


def test_a_line_beside_the_corner_is_cut_off_by_the_next_edge_and_told() -> None:
    pattern = the_set()
    pieces = {}
    for size in SIZES:
        piece = pattern.sized("skirt", size)
        x = piece.edge("waist").points[0][0] - 4.0
        top = float(np.interp(x, *piece.edge("waist").points[::-1].T))
        line = InternalLine("seam_line", frozen_points([(x, top), (x - 20.0, 200.0)]))
        pieces[size] = replace(piece, lines=(*piece.lines, line))
    pattern = replace(pattern, pieces={**pattern.pieces, "skirt": Piece("skirt", pieces)})
    result = edited(pattern, EDITS["skirt side"])
    _, now = pair(pattern, result, "skirt")
    assert gaps(now, "seam_line")[0] <= ON_MM
    area = shapely.Polygon(now.outline).buffer(1e-3)
    assert area.covers(shapely.LineString(line_of(now, "seam_line")))
    (said,) = [n.text for n in result.record.warnings if "seam_line" in n.text]
    assert "'waist'" in said and "'side'" in said


def test_a_mark_that_nothing_measures_goes_with_a_piece_that_moved_around_it() -> None:
    """Two corners of three go the same way: a small patch of which only one edge was held."""
    from propagate.engine.inside.measured import moved_around
    from propagate.engine.inside.outline_move import OutlineMove

    was = the_set().sized("skirt", "M")
    shift = np.array([7.0, -3.0])
    whole = replace(
        was, edges=tuple(named(e.name, e.points + shift) for e in was.edges), landmarks=()
    )
    move = OutlineMove(replace(was, landmarks=()), whole)
    for point in ([100.0, 300.0], [10.0, 590.0]):
        assert moved_around(move, np.array(point)) == pytest.approx(shift, abs=1e-6)
    hem = was.edge("hem").points + np.array([0.0, -20.0])
    low = replace(
        was,
        landmarks=(),
        edges=tuple(named(e.name, hem) if e.name == "hem" else e for e in was.edges),
    )
    move = OutlineMove(replace(was, landmarks=()), low)
    assert moved_around(move, np.array([100.0, 300.0])).tolist() == [0.0, 0.0]


def test_what_was_taken_for_granted_is_told_once() -> None:
    pattern = the_set()
    result = propagate.apply_edits(pattern, [propagate.NamedEdit("hem", EDITS["lower hem"])])
    texts = {
        size: sorted(n.text for n in record.warnings if "taken as measured" in n.text)
        for size, record in result.records.items()
    }
    assert texts["S"] == texts["M"] == texts["L"]
    assert len(set(texts["M"])) == 2, texts["M"]


def test_the_draft_is_parallel() -> None:
    """The draft's own parallels, against shapely's offset."""
    for piece in (the_set().sized("front", size) for size in SIZES):
        beside = shapely.LineString(parallel(piece.edge("hem").points, 25.0))
        assert beside.distance(shapely.LineString(line_of(piece, "topstitch"))) <= 1e-9


def test_a_mark_that_came_to_lie_outside_of_the_edited_piece_is_told() -> None:
    """The hem is raised past the mark, which is measured from the waist; shapely tells how far."""
    pattern = the_set()
    old = pattern.sized("skirt", "M")
    low = drill_of(old, "pocket_top")[1]
    hem = float(old.edge("hem").points[:, 1].max())
    ground = shapely.Point(drill_of(old, "pocket_top"))
    assert shapely.Polygon(old.outline).contains(ground)
    edit = Raise(edge="skirt.hem", by=mm(low - hem + 12.0))
    result = edited(pattern, edit)
    new = result.pattern.sized("skirt", "M")
    out = shapely.Polygon(new.outline).distance(shapely.Point(drill_of(new, "pocket_top")))
    assert out > 1.0
    (said,) = [
        n.text for n in result.record.warnings if "outside of" in n.text and "pocket_top" in n.text
    ]
    assert f"{out:.1f} mm" in said
    calm = edited(pattern, EDITS["lower hem"])
    assert not [n for n in calm.record.warnings if "outside of" in n.text]
