"""Policies for the place of a mark on a line, by closed forms, and that no others are made."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.engine.marks_on_lines import (
    End,
    follow_line,
    followed_place,
    kept_or_share,
    kept_place,
    make_mark,
    nearest_place,
    put_mark,
    put_mark_at,
    share_place,
    slid_place,
    walked_place,
    with_marks,
)
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Landmark, SizedPiece
from tests.examples import examples

ENGINE = Path(__file__).resolve().parent.parent.parent / "propagate" / "engine"

Array = npt.NDArray[np.float64]

RADIUS, STEPS = 200.0, 2000
CHORD = 2 * RADIUS * np.sin(np.pi / 4 / STEPS)
"""Of a quarter circle drawn in so many steps; its length is STEPS times that."""
UP = Grain((10.0, 10.0), (10.0, 20.0))


def straight(length: float, height: float = 0.0) -> Edge:
    return Edge("waist", np.array([[0.0, height], [length, height]]))


def arc(radius: float = RADIUS) -> Edge:
    """A quarter circle about the origin, from (radius, 0) to (0, radius)."""
    turn = np.linspace(0.0, np.pi / 2, STEPS + 1)
    return Edge("waist", radius * np.column_stack([np.cos(turn), np.sin(turn)]))


def on_circle(degrees: float, radius: float = RADIUS) -> Array:
    return radius * np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))])


def notch(point: npt.ArrayLike) -> Landmark:
    x, y = np.asarray(point, dtype=np.float64).tolist()
    return Landmark("n", "waist", (x, y), "notch")


def piece(edge: Edge, *marks: Landmark) -> SizedPiece:
    back = Edge("rest", np.array([edge.points[-1], [50.0, 900.0], edge.points[0]]))
    return SizedPiece((edge, back), UP, marks)


def test_kept_where_the_line_still_is() -> None:
    line = straight(100.0)
    assert kept_place(line, notch((30.0, 0.0))) == pytest.approx(30.0)
    assert kept_place(line, notch((30.0, 0.02))) is None
    assert kept_place(line, notch((30.0, 0.02)), within=0.03) == pytest.approx(30.0)
    assert kept_place(line, notch((130.0, 0.0))) is None


def test_nearest_on_an_arc_is_on_the_radius() -> None:
    for degrees in (0.0, 22.5, 45.0, 90.0):
        outside = on_circle(degrees, RADIUS + 35.0)
        assert nearest_place(arc(), outside) == pytest.approx(
            np.radians(degrees) * RADIUS, abs=1e-3
        )


def test_the_share_of_an_arc_is_the_angle() -> None:
    """The same share of a quarter circle of another radius is the same angle."""
    mark = notch(on_circle(27.0))
    old = piece(arc(), mark)
    put = put_mark(mark, arc(320.0), share_place(old, arc(320.0), mark))
    assert put.point == pytest.approx(on_circle(27.0, 320.0), abs=1e-4)


@pytest.mark.parametrize(
    ("end", "degrees"),
    [("start", np.degrees(50.0 / 320.0)), ("end", 90 - np.degrees(50.0 / 320.0))],
)
def test_walked_from_an_end_of_an_arc(end: End, degrees: float) -> None:
    """50 mm along a circle of 320 mm are 50/320 of a radian, from whichever end one walks."""
    line = arc(320.0)
    put = put_mark(notch((0.0, 0.0)), line, walked_place(line, 50.0, end))
    assert put.point == pytest.approx(on_circle(degrees, 320.0), abs=1e-3)


def test_slid_along_an_arc() -> None:
    mark = notch(on_circle(30.0))
    place = slid_place(piece(arc(), mark), mark, -RADIUS * np.radians(12.0))
    assert put_mark(mark, arc(), place).point == pytest.approx(on_circle(18.0), abs=1e-3)


def test_kept_or_by_its_share() -> None:
    mark = notch((30.0, 0.0))
    old = piece(straight(100.0), mark)
    assert kept_or_share(old, straight(150.0), mark) == pytest.approx(30.0)
    assert kept_or_share(old, straight(150.0, height=0.02), mark) == pytest.approx(30.0)
    assert kept_or_share(old, straight(150.0, height=1.0), mark) == pytest.approx(45.0)
    off = notch((30.0, 0.005))
    assert kept_or_share(piece(old.edge("waist"), off), old.edge("waist"), off) == 30.0


@pytest.mark.parametrize(
    ("length", "height", "place"),
    [
        (150.0, 0.0, 30.0),  # it was lengthened at its end: the mark stays
        (150.0, 8.0, 30.0),  # it sank as well: beside it
        (150.0, 49.0, 30.0),
        (150.0, 51.0, 45.0),  # it went far: by its share
        (20.0, 0.0, 6.0),  # the mark would be at the corner: by its share
    ],
)
def test_followed(length: float, height: float, place: float) -> None:
    mark = notch((30.0, 0.0))
    old, new = piece(straight(100.0), mark), piece(straight(length, height))
    assert followed_place(old, new.edge("waist"), mark) == pytest.approx(place)
    put = follow_line(new, old, mark)
    assert put.point == pytest.approx((place, height))
    assert (put is mark) == (place == 30.0 and height == 0.0)


def test_what_was_at_the_corner_follows_to_the_corner() -> None:
    mark = notch((100.0, 0.0))
    old = piece(straight(100.0), mark)
    assert follow_line(piece(straight(80.0)), old, mark).point == (80.0, 0.0)


def test_a_mark_on_an_edge_that_nobody_touched_keeps_every_digit() -> None:
    """Also one that was drawn a little off its edge."""
    mark = notch((30.123456789, 0.005))
    old = piece(straight(100.0), mark)
    assert follow_line(old, old, mark) is mark


def test_put_there_already() -> None:
    mark = notch((30.0000004, 0.0))
    assert put_mark(mark, straight(100.0), 30.0) is mark
    assert put_mark(mark, straight(100.0), 30.5).point == (30.5, 0.0)
    assert put_mark(mark, straight(100.0), 30.0005, rests=1e-3) is mark
    other = Edge("hem", straight(100.0).points)
    assert put_mark(mark, other, 30.0).edge == "hem"


def test_beyond_the_line_is_at_its_end() -> None:
    assert put_mark(notch((3.0, 0.0)), straight(100.0), 104.0).point == (100.0, 0.0)
    assert put_mark(notch((3.0, 0.0)), straight(100.0), -4.0).point == (0.0, 0.0)


def test_a_known_point_is_taken_digit_for_digit() -> None:
    mark = notch((1.0, 2.0))
    assert put_mark_at(mark, np.array([1.00000000012, 2.0])).point == (1.00000000012, 2.0)
    assert put_mark_at(mark, np.array([1.0, 2.0])) is mark


def test_made_and_exchanged() -> None:
    leg = make_mark("a", "dart leg", straight(100.0), 12.0)
    assert leg == Landmark("a", "waist", (12.0, 0.0), "dart leg")
    old = piece(straight(100.0), notch((3.0, 0.0)), leg)
    new = with_marks(old, {"a": put_mark(leg, old.edge("waist"), 20.0)})
    assert [mark.point for mark in new.landmarks] == [(3.0, 0.0), (20.0, 0.0)]


@examples(10)
@given(st.floats(0.0, 1.0), st.floats(0.0, 90.0), st.floats(50.0, 900.0))
def test_twice_is_once(share: float, degrees: float, radius: float) -> None:
    """Whatever the policy, a mark that was put is where it is to be."""
    mark, line = notch(on_circle(degrees)), arc(radius)
    for place in (share * line.length, nearest_place(line, mark.point)):
        put = put_mark(mark, line, place)
        assert put_mark(put, line, place) is put
        assert put_mark(put, line, nearest_place(line, put.point)) is put
        assert follow_line(piece(line, put), piece(line, put), put) is put


# ------------------------------------------------------------------------- nobody else does


def _calls(path: Path) -> list[tuple[str, ast.Call]]:
    """Every call of a plain name."""
    return [
        (node.func.id, node)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    ]


def _named_in(nodes: list[ast.expr]) -> set[str]:
    return {n.id for node in nodes for n in ast.walk(node) if isinstance(n, ast.Name)}


def test_no_other_module_makes_or_moves_a_landmark() -> None:
    modules = [path for path in ENGINE.rglob("*.py") if path.name != "marks_on_lines.py"]
    assert len(modules) > 100
    for path in modules:
        text = path.read_text(encoding="utf-8")
        if any(word in text for word in ("Landmark(", "point=", "put_mark", "make_mark")):
            _hold(path)


def _hold(path: Path) -> None:
    """Drill marks and labels are made with their point; a `point` is replaced in one module.

    And what finds a place on a line is one of the policies, not a search of the caller's own.
    """
    calls = _calls(path)
    moved = [
        call.lineno
        for name, call in calls
        if name == "Landmark"
        or (name == "replace" and "point" in {given.arg for given in call.keywords})
    ]
    assert not moved, f"{path}: lines {moved}: put the mark by a policy of marks_on_lines"
    own = [
        call.lineno
        for name, call in calls
        if name in ("put_mark", "put_mark_at", "make_mark")
        and {"locate", "nearest_point", "points_at"} & _named_in(call.args)
    ]
    assert not own, f"{path}: lines {own}: choose a policy of marks_on_lines"


def test_the_rule_sees_what_it_is_to_see(tmp_path: Path) -> None:
    module = tmp_path / "own.py"
    module.write_text("replace(mark, point=p)\nput_mark(mark, edge, locate(edge.points, p)[0])\n")
    with pytest.raises(AssertionError, match=r"lines \[1\]"):
        _hold(module)
    module.write_text("put_mark(mark, edge, locate(edge.points, p)[0])\n")
    with pytest.raises(AssertionError, match=r"lines \[1\]: choose"):
        _hold(module)
