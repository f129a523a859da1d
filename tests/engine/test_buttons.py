"""Rows of buttons: spaced anew with the length of their band, and buttons with their holes.

The yardstick is the spacing by hand: so many gaps as the room between the first and the last,
divided by the largest spacing and rounded up, all alike (dividing a length evenly, closed form).
That the buttons lie on their holes is common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.engine.review.run import review
from propagate.engine.revise import revise
from propagate.engine.walk import walk
from propagate.errors import Conflict
from propagate.io.set_toml import parse_set, render_set
from propagate.pattern.buttons import Buttons
from propagate.pattern.model import InternalLine, Mark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations
from propagate.pattern.relations import PieceInfo, Seam, parse_run
from propagate.pattern.validate import find_problems
from propagate.report.set_text import set_lines
from tests.engine.test_corners_that_follow import _piece
from tests.examples import examples

ROW = Buttons(
    "front",
    (parse_run("holes.sewn"), parse_run("buttons.sewn reversed")),
    ("hole", "button"),
    start=150.0,
    end=60.0,
    spacing=90.0,
)


def band(high: float, sewn_right: bool) -> SizedPiece:
    """A band 30 mm wide; `sewn` goes up at its right, or down at its left."""
    corners = np.array([(0.0, 0.0), (30.0, 0.0), (30.0, high), (0.0, high), (0.0, 0.0)])
    names = ("hem", "sewn", "neck", "outer") if sewn_right else ("hem", "outer", "neck", "sewn")
    return _piece(*((name, corners[i : i + 2]) for i, name in enumerate(names)))


def by_hand(high: float) -> np.ndarray:
    room = high - 150.0 - 60.0
    gaps = math.ceil(room / 90.0)
    return np.array([150.0 + room * k / gaps for k in range(gaps + 1)])


def front(high: float) -> SizedPiece:
    corners = np.array([(0.0, 0.0), (200.0, 0.0), (200.0, high), (0.0, high), (0.0, 0.0)])
    return _piece(*((n, corners[i : i + 2]) for i, n in enumerate(("hem", "side", "neck", "edge"))))


def the_set(high: float = 700.0) -> PatternSet:
    """A front to which both bands are sewn; slanted holes on one, buttons on the other."""
    holes = tuple(
        InternalLine(f"hole_{k}", np.array([(12.0, y - 8.0), (18.0, y + 8.0)]))
        for k, y in enumerate(by_hand(high), 1)
    )
    drills = tuple(Mark(f"button_{k}", (15.0, float(y))) for k, y in enumerate(by_hand(high), 1))
    pieces = {
        "front": front(high),
        "holes": replace(band(high, True), lines=holes),
        "buttons": replace(band(high, False), drills=(*drills, Mark("other", (20.0, 30.0)))),
    }
    seams = {
        "left": Seam("left", parse_run("front.edge reversed"), parse_run("holes.sewn")),
        "right": Seam(
            "right", parse_run("front.edge reversed"), parse_run("buttons.sewn reversed")
        ),
    }
    return PatternSet(
        name="shirt",
        sizes=("M",),
        base="M",
        lay_on="hip",
        pieces={name: Piece(name, {"M": piece}) for name, piece in pieces.items()},
        info={
            name: PieceInfo(name, strip=None if name == "front" else ("sewn", "outer"))
            for name in pieces
        },
        relations=Relations(seams=seams, buttons={"front": ROW}),
    )


def heights(pattern: PatternSet) -> tuple[list[float], list[float]]:
    """Of the middles of the holes and of the buttons over the hem, by shapely."""
    holes, buttons = pattern.sized("holes", "M"), pattern.sized("buttons", "M")
    low = [shapely.LineString(piece.edge("hem").points) for piece in (holes, buttons)]
    return (
        [low[0].distance(shapely.LineString(line.points).centroid) for line in holes.lines],
        [low[1].distance(shapely.Point(m.point)) for m in buttons.drills if m.name != "other"],
    )


@examples(25)
@given(st.floats(-300.0, 300.0))
def test_they_are_spaced_as_by_hand_whatever_the_length_becomes(by: float) -> None:
    pattern = the_set()
    assert walk(pattern).sews and find_problems(pattern) == ()
    result = revise(pattern, {"front": Piece("front", {"M": front(700.0 + by)})}).pattern
    on_holes, on_buttons = heights(result)
    assert on_holes == pytest.approx(by_hand(700.0 + by), abs=0.06)
    assert on_buttons == pytest.approx(on_holes, abs=0.06)
    assert {c.verdict for c in walk(result).of("buttons")} == {"sews"}


@pytest.mark.parametrize(("by", "count"), [(40.0, 7), (60.0, 8), (-60.0, 6)])
def test_holes_keep_their_length_and_slant_and_other_marks_stay(by: float, count: int) -> None:
    """490 mm of room have 6 gaps, up to 540; 550 have 7, 430 have 5."""
    result = revise(the_set(), {"front": Piece("front", {"M": front(700.0 + by)})})
    holes = result.pattern.sized("holes", "M")
    assert [line.name for line in holes.lines] == [f"hole_{k + 1}" for k in range(count)]
    spans = np.array([line.points[1] - line.points[0] for line in holes.lines])
    assert spans == pytest.approx(np.tile([6.0, 16.0], (count, 1)), abs=1e-5)
    buttons = result.pattern.sized("buttons", "M")
    other = next(mark for mark in buttons.drills if mark.name == "other")
    low = shapely.LineString(buttons.edge("hem").points).distance(shapely.Point(other.point))
    assert low == pytest.approx(30.0 * (700.0 + by) / 700.0, abs=0.01)  # it goes with the cloth
    changed = {c.id: c.what for c in result.records["M"].changes}
    words = f"of 'hole' before, now {count}" if count != 7 else "7 of 'hole' spaced 88.3 mm apart"
    assert words in changed["holes.sewn"]


def test_what_nothing_reaches_keeps_every_digit_and_twice_is_once() -> None:
    pattern = the_set()
    wider = front(700.0)
    wider = replace(wider, drills=(Mark("pocket", (90.0, 500.0)),))
    same = revise(pattern, {"front": Piece("front", {"M": wider})}).pattern
    for name in ("holes", "buttons"):
        assert same.sized(name, "M") == pattern.sized(name, "M")
    sent = {"front": Piece("front", {"M": front(730.0)})}
    once = revise(pattern, sent).pattern
    twice = revise(once, sent).pattern
    assert twice.sized("holes", "M") == once.sized("holes", "M")


def test_a_button_that_lies_off_and_one_that_is_missing_are_walked() -> None:
    pattern = the_set()
    piece = pattern.sized("buttons", "M")
    drills = [
        replace(m, point=(15.0, m.point[1] + 12.0 * (m.name == "button_3"))) for m in piece.drills
    ]
    off = {
        **pattern.pieces,
        "buttons": Piece("buttons", {"M": replace(piece, drills=tuple(drills))}),
    }
    holes, buttons = walk(replace(pattern, pieces=off)).of("buttons")
    assert holes.verdict == "sews" and buttons.verdict == "does not sew"
    assert buttons.difference == pytest.approx(12.0)
    few = replace(piece, drills=tuple(m for m in piece.drills if m.name != "button_7"))
    missing = {**pattern.pieces, "buttons": Piece("buttons", {"M": few})}
    row = walk(replace(pattern, pieces=missing)).of("buttons")[1]
    assert row.verdict == "does not sew" and "6 of buttons.button, 7 expected" in row.what


def test_a_band_without_room_is_a_conflict_that_names_both() -> None:
    with pytest.raises(Conflict, match=r"buttons 'front'.*200\.0 mm.*210\.0 mm"):
        revise(the_set(), {"front": Piece("front", {"M": front(200.0)})})


def test_it_is_written_read_and_checked() -> None:
    pattern = the_set()
    assert parse_set(render_set(pattern), "set.toml").relations == pattern.relations
    for wrong, words in (
        (replace(ROW, marks=("hole",)), "2 sides and 1 names"),
        (replace(ROW, marks=("hole", "buton")), "no inner line 'buton_1' on 'buttons'"),
        (replace(ROW, spacing=0.0), "a spacing of 0"),
    ):
        relations = replace(pattern.relations, buttons={"front": wrong})
        assert any(words in line for line in find_problems(replace(pattern, relations=relations)))


def test_a_longer_size_has_more_of_them_and_none_is_taken_for_forgotten() -> None:
    short, long = the_set(700.0), the_set(760.0)
    pieces = {
        name: Piece(name, {"M": short.sized(name, "M"), "L": long.sized(name, "M")})
        for name in short.pieces
    }
    pattern = replace(short, sizes=("M", "L"), pieces=pieces)
    assert walk(pattern, "M").sews and walk(pattern, "L").sews
    rules = {finding.rule for finding in review(pattern)}
    assert not rules & {"line forgotten", "drill mark forgotten"}
    plain = replace(pattern, relations=replace(pattern.relations, buttons={}))
    assert {"line forgotten", "drill mark forgotten"} <= {f.rule for f in review(plain)}


def test_a_set_is_shown_with_its_rows() -> None:
    lines = " ".join(" ".join(set_lines(the_set())).split())
    said = "'hole' along holes.sewn | 'button' along buttons.sewn reversed: 150.0 mm from the start"
    assert said in lines and "at most 90.0 mm apart" in lines
