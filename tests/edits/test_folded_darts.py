"""An edge with darts that is moved: drawn across the folded dart, both legs end at one point."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.ops import substring

import propagate
from propagate import Amount, EditError, Lower, NamedEdit, Raise
from propagate.engine.darts.folding import DartMouth, folded_places
from propagate.engine.edits.moving import Node, move_edge
from propagate.pattern.model import Edge
from tests.examples import examples
from tests.shared import demo


def legs_mm(pattern, piece: str, size: str) -> list[float]:
    sized = pattern.sized(piece, size)
    return [
        float(np.hypot(*np.subtract(sized.landmark(leg).point, dart.tip)))
        for dart in sized.darts
        for leg in dart.legs
    ]


def test_a_dart_in_the_middle_grows_as_the_closed_form_says() -> None:
    """Moved by m square to the edge; the leg lies at half the dart's angle to the movement."""
    half, depth, by = 15.0, 100.0, 20.0
    corners = np.array([[0, 0], [400, 0], [400, 400], [215, 400], [185, 400], [0, 400]], float)
    edges = (
        Edge("hem", corners[[0, 1]]),
        Edge("side", corners[[1, 2]]),
        Edge("top", corners[[2, 3, 4, 5]], (1, 2)),
        Edge("centre", corners[[5, 0]]),
    )
    tip = np.array([200.0, 400.0 - depth])
    mouth = DartMouth(185.0, 215.0, tip, "end", False)
    moved = move_edge(edges, "top", [Node(0, -by), Node(400, -by)], "here", mouths=[mouth])
    top = moved.edges["top"]
    legs = top.points[[1, 2]]
    wanted = np.hypot(half, depth) + by * depth / np.hypot(half, depth)
    assert np.hypot(*(legs - tip).T) == pytest.approx([wanted, wanted], abs=1e-5)
    assert legs[:, 0] - 200.0 == pytest.approx(half / depth * (legs[:, 1] - tip[1]) * [1, -1])
    assert folded_places(np.array([100.0, 200.0, 300.0]), [mouth]).tolist() == [100, 185, 270]


@pytest.mark.parametrize(
    ("edit", "piece"),
    [
        (
            Raise(edge="back.waist", by=Amount(mm=15), at="end", to=("start",), taper="straight"),
            "back",
        ),
        (Raise(edge="back.waist", by=Amount(mm=15), at="start", to=("end",)), "back"),
        (Lower(edge="skirt_back.top", by=Amount(mm=25), at="end", to=("start",)), "skirt_back"),
        (Raise(edge="skirt_back.top", by=Amount(mm=12)), "skirt_back"),
    ],
)
def test_legs_are_alike_and_lie_on_their_old_lines(edit, piece: str) -> None:
    name = "slant_trouser" if piece == "back" else "scoop_skirt"
    old = demo(name)
    sizes = (old.sizes[0], old.base, old.sizes[-1])
    found = propagate.apply_edits(old, [NamedEdit("it", edit)], sizes=sizes)
    assert not [row for row in propagate.review(found.pattern) if "dart" in row.rule + row.where]
    for size in sizes:
        was, now = (p.sized(piece, size) for p in (old, found.pattern))
        legs = legs_mm(found.pattern, piece, size)
        assert legs[0] == pytest.approx(legs[1], abs=0.01)
        assert abs(legs[0] - legs_mm(old, piece, size)[0]) > 1.0
        for leg in was.darts[0].legs:
            line = np.array([was.darts[0].tip, was.landmark(leg).point])
            line[1] = line[0] + 2 * (line[1] - line[0])
            gap = shapely.LineString(line).distance(shapely.Point(now.landmark(leg).point))
            assert gap < 0.01
            edge = shapely.LineString(now.edge(was.darts[0].edge).points)
            assert edge.distance(shapely.Point(now.landmark(leg).point)) < 1e-6


def test_the_line_runs_on_over_the_fold_as_it_did() -> None:
    """Turned about the tip until the legs meet, the edge bends there no more than before."""
    old = demo("slant_trouser")
    edit = Raise(edge="back.waist", by=Amount(mm=15), at="end", to=("start",))
    new = propagate.run(old, edit).pattern

    def bend(pattern) -> float:
        piece = pattern.sized("back", "42")
        dart, edge = piece.darts[0], piece.edge("waist")
        low, high = sorted(piece.distance("waist", leg) for leg in dart.legs)
        line = shapely.LineString(edge.points)
        tip = complex(*dart.tip)
        at = [complex(*line.interpolate(x).coords[0]) for x in (low - 2, low, high, high + 2)]
        turn = (at[1] - tip) / (at[2] - tip)
        ahead = (at[3] - at[2]) * turn / abs(turn)
        return float(np.degrees(np.angle(ahead / (at[1] - at[0]))))

    assert abs(bend(new) - bend(old)) < 1.0


def test_a_dart_beside_what_moves_keeps_every_digit() -> None:
    old = demo("slant_trouser")
    edit = Raise(edge="back.waist", by=Amount(mm=8), at="end", to=("dart_out",))
    new = propagate.run(old, edit).pattern.sized("back", "42")
    for leg in ("dart_in", "dart_out"):
        assert new.landmark(leg) == old.sized("back", "42").landmark(leg)


def test_a_line_below_the_tip_is_refused() -> None:
    old = demo("slant_trouser")
    with pytest.raises(EditError, match="tip of a dart"):
        propagate.run(old, Lower(edge="back.waist", by=Amount(mm=110)))


def line_before(piece) -> shapely.LineString:
    return substring(shapely.LineString(piece.edge("top").points), 0.0, min(mouth(piece)))


def line_after(piece) -> shapely.LineString:
    line = shapely.LineString(piece.edge("top").points)
    return substring(line, max(mouth(piece)), line.length)


def mouth(piece) -> list[float]:
    return [piece.distance("top", leg) for leg in piece.darts[0].legs]


@examples(8)
@given(st.floats(1.0, 10.0), st.sampled_from(["start", "end"]))
def test_up_and_down_again_is_where_it_was(mm: float, at: str) -> None:
    old = demo("scoop_skirt")
    to = ("end",) if at == "start" else ("start",)
    up = Raise(edge="skirt_back.top", by=Amount(mm=mm), at=at, to=to, taper="straight")
    down = Lower(edge="skirt_back.top", by=Amount(mm=mm), at=at, to=to, taper="straight")
    found = propagate.run(propagate.run(old, up).pattern, down).pattern
    was, now = (p.sized("skirt_back", "M") for p in (old, found))
    for place in (line_before, line_after):  # the cap between is cut anew
        assert place(was).hausdorff_distance(place(now)) < 0.05
