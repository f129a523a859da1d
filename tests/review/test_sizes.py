"""Sizes that jump out of the line of their neighbours, and grading that is only uneven."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from propagate.engine.review.line import expected_beside, out_of_line
from propagate.engine.review.sizes import review_sizes
from propagate.engine.review.units import unit_of_ratio
from propagate.pattern.grain import Grain
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Opening, PieceInfo, Seam, parse_run
from propagate.pattern.validate import find_problems
from tests.builders import edge, with_sized
from tests.review.strips import moved, only, rules, scaled, strip, strip_set, turned, widths

PATIENT = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
UNEVEN = [
    (200.0, 240.0, 280.0, 330.0, 380.0, 440.0),  # steps 40 40 50 50 60
    (200.0, 240.0, 280.0, 340.0, 400.0),  # one break size: 40 40 60 60
    (150.0, 150.0, 160.0, 160.0, 170.0),  # graded in pairs of sizes
    (150.0, 154.0, 158.0, 158.0, 164.0, 164.0),
    (300.0, 340.0, 370.0),
    (300.0, 340.0, 360.0, 365.0, 366.0),  # less and less
    (300.0, 320.0, 340.0, 360.0, 400.0),  # a double step to the largest
    (200.0, 200.0, 200.0, 200.0),
    (200.0, 240.0, 280.0, 280.0),  # the largest shares a size
]


@pytest.mark.parametrize("row", UNEVEN)
def test_uneven_grading_is_no_mistake(row: tuple[float, ...]) -> None:
    assert not out_of_line(np.array([row]), 2.0).any()


@PATIENT
@given(st.lists(st.floats(0.0, 80.0), min_size=2, max_size=12), st.booleans())
def test_steps_that_only_grow_are_silent(steps: list[float], turn: bool) -> None:
    """However uneven: any row whose steps never go down again (or never up) is in line."""
    row = np.cumsum([500.0, *sorted(steps, reverse=turn)])
    inner = out_of_line(row[None], 2.0)[0, 1:-1]
    assert not inner.any()


@PATIENT
@given(st.integers(5, 12), st.floats(0.0, 60.0), st.floats(20.0, 200.0), st.data(), st.booleans())
def test_one_value_off_is_found_wherever_it_stands(
    count: int, step: float, off: float, data: st.DataObject, less: bool
) -> None:
    """By more than a quarter of the step, inside the row: that one, and no other."""
    at = data.draw(st.integers(1, count - 2))
    row = 500.0 + step * np.arange(count)
    row[at] += -off if less else off
    assert np.flatnonzero(out_of_line(row[None], 2.0)[0]).tolist() == [at]
    assert expected_beside(row, at) == pytest.approx(500.0 + step * at)


@pytest.mark.parametrize(
    ("row", "mark", "off"),
    [
        ((100.0, 130.0, 110.0), False, [1]),  # there and back
        ((100.0, 128.0, 130.0), False, []),
        ((100.0, 100.0, 130.0), False, [2]),  # a quarter more than two that are alike
        ((100.0, 100.0, 112.0), False, []),  # a size of its own for the largest
        ((100.0, 100.0, 112.0), True, [2]),  # of a mark
        ((480.0, 540.0, 560.0), True, [0]),
        ((480.0, 520.0, 560.0), True, []),
    ],
)
def test_of_three_sizes_two_speak_against_the_third(
    row: tuple[float, ...], mark: bool, off: list[int]
) -> None:
    assert np.flatnonzero(out_of_line(np.array([row]), 2.0, mark)[0]).tolist() == off


def test_two_sizes_have_no_neighbours() -> None:
    assert rules(widths(200.0, 800.0)) == []


def test_an_edge_that_jumps_is_told_with_figures() -> None:
    sizes = [strip(w) for w in (200.0, 240.0, 280.0, 330.0, 380.0)]
    corner = sizes[2].edges
    low = replace(corner[0], points=np.array([[0.0, 0.0], [310.0, 0.0]]))
    right = replace(corner[1], points=np.array([[310.0, 0.0], [280.0, 100.0]]))
    sizes[2] = replace(sizes[2], edges=(low, right, *corner[2:]))
    found = only(strip_set(sizes))
    assert (found.rule, found.sews) == ("size out of line", True)
    assert found.where == "piece 'strip', size 'S2'"
    # between 240 and 330 lie 285
    assert "edge 'low' 310.0 mm long instead of about 285.0 (+25.0)" in found.text
    assert "'S1' and 'S3'" in found.text
    assert found.pieces == ("strip",)


@pytest.mark.parametrize("at", [0, 2, 4])
def test_a_notch_that_jumps(at: int) -> None:
    """At 40 mm from one end in every size, and at 52 in one."""
    sizes = [strip(200.0 + 10.0 * i, notch=52.0 if i == at else 40.0) for i in range(5)]
    found = only(strip_set(sizes))
    assert found.where == f"piece 'strip', size 'S{at}'"
    assert "mark 'notch' on edge 'low' 52.0 mm from its start" in found.text


def test_a_notch_that_keeps_to_an_end_or_its_share_is_in_line() -> None:
    of_width = [200.0, 215.0, 260.0, 270.0, 300.0]
    for place in (lambda w: w * 0 + 40.0, lambda w: w - 40.0, lambda w: w / 3):
        assert rules(strip_set([strip(w, notch=place(w)) for w in of_width])) == []


def test_a_level_and_a_drill_mark_that_jump() -> None:
    level = [strip(200.0, level=90.0 if i == 1 else 60.0) for i in range(4)]
    assert "level 'hip' 90.0 mm" in only(strip_set(level)).text
    drill = [strip(200.0, drill=(30.0, 45.0) if i == 2 else (30.0, 30.0)) for i in range(4)]
    assert "drill mark 'hole' 45.0 mm" in only(strip_set(drill)).text


def test_an_opening_never_has_a_size_of_its_own() -> None:
    """Of an edge the last size alone may be another; not of the mouth of a pocket."""
    pattern = widths(200.0, 200.0, 200.0, 200.0, 212.0)
    assert "size out of line" not in rules(pattern)
    mouth = Opening("mouth", "strip", "strip", "low", "start", "end", "left", "right")
    relations = replace(pattern.relations, openings={"mouth": mouth})
    found = only(replace(pattern, relations=relations))
    assert found.where == "piece 'strip', size 'S4'"
    assert "edge 'low' 212.0 mm long instead of about 200.0" in found.text


@pytest.mark.parametrize("at", [0, 2, 4])
@pytest.mark.parametrize(("by", "words"), [(1 / 25.4, "in inches"), (0.1, "in centimetres")])
def test_one_size_in_another_unit(at: int, by: float, words: str) -> None:
    sizes = [strip(200.0 + 20.0 * i) for i in range(5)]
    sizes[at] = scaled(sizes[at], by)
    found = only(strip_set(sizes))
    assert found.rule == "size in another unit"
    assert words in found.text


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (10.0, "in millimetres, read as centimetres"),
        (2.54, "in centimetres, read as inches"),
        (1.3, None),
        (0.0, None),
        (float("inf"), None),
    ],
)
def test_ratios_of_units(ratio: float, words: str | None) -> None:
    assert unit_of_ratio(ratio) == words


@pytest.mark.parametrize("at", [0, 1, 3])
@pytest.mark.parametrize("degrees", [15.0, -15.0, 90.0])
def test_one_size_off_the_grain(at: int, degrees: float) -> None:
    sizes = [strip(200.0 + 20.0 * i) for i in range(4)]
    sizes[at] = turned(sizes[at], degrees, with_grain=False)
    found = only(strip_set(sizes))
    assert (found.rule, found.where) == ("size off the grain", f"piece 'strip', size 'S{at}'")
    assert f"turned by {abs(degrees):.0f}°" in found.text


def test_a_grain_line_from_the_other_end() -> None:
    sizes = [strip(200.0 + 20.0 * i) for i in range(4)]
    sizes[2] = replace(sizes[2], grain=Grain(sizes[2].grain.end, sizes[2].grain.start))
    assert "against nap or print" in only(strip_set(sizes)).text


def test_each_size_may_lie_in_a_frame_of_its_own() -> None:
    sizes = [turned(strip(200.0 + 20.0 * i), 47.0 * i, with_grain=True) for i in range(5)]
    assert rules(strip_set(sizes)) == []


def sewn_to(mate: tuple[float, ...], *own: float) -> PatternSet:
    """Return strips whose low edge is sewn to that of other strips."""
    pattern, other = widths(*own), widths(*mate)
    seam = Seam("hem", parse_run("other.low"), parse_run("strip.low"))
    return replace(
        pattern,
        pieces={**pattern.pieces, "other": Piece("other", other.pieces["strip"].nest)},
        info={**pattern.info, "other": pattern.info["strip"]},
        relations=replace(pattern.relations, seams={"hem": seam}),
    )


@pytest.mark.parametrize(
    ("own", "place"),
    [
        ((200.0, 220.0, 240.0, 240.0, 280.0), "'S2' and 'S3'"),
        ((200.0, 220.0, 240.0, 260.0, 260.0), "'S3' and 'S4'"),
    ],
)
def test_a_size_that_was_not_graded(own: tuple[float, ...], place: str) -> None:
    pattern = sewn_to((200.0, 220.0, 240.0, 260.0, 280.0), *own)
    (found,) = review_sizes(pattern)
    assert (found.rule, found.where) == ("size not graded", f"piece 'strip', sizes {place}")


def test_sizes_that_share_a_piece_on_purpose() -> None:
    """Two alike at every other step, or one pair that what it is sewn to shares too."""
    shared = (200.0, 200.0, 240.0, 240.0, 280.0)
    grown = (200.0, 220.0, 240.0, 260.0, 280.0)
    assert list(review_sizes(sewn_to(grown, *shared))) == []
    last = (200.0, 220.0, 240.0, 260.0, 260.0)
    assert list(review_sizes(sewn_to(last, *last))) == []
    assert rules(widths(*last)) == []


def test_two_sizes_of_a_piece_exchanged() -> None:
    pattern = widths(200.0, 220.0, 260.0, 240.0, 280.0)
    other = widths(300.0, 320.0, 340.0, 360.0, 380.0)
    both = replace(
        pattern,
        pieces={**pattern.pieces, "other": Piece("other", other.pieces["strip"].nest)},
        info={**pattern.info, "other": PieceInfo("other")},
    )
    found = only(both)
    assert (found.rule, found.where) == ("sizes exchanged", "piece 'strip', size 'S2' and 'S3'")


@pytest.mark.parametrize("order", [(0, 1, 3, 2, 4), (4, 3, 2, 1, 0), (0, 3, 2, 1, 4)])
def test_sizes_listed_out_of_order(order: tuple[int, ...]) -> None:
    pattern = widths(200.0, 220.0, 240.0, 260.0, 280.0)
    found = only(replace(pattern, sizes=tuple(f"S{i}" for i in order)))
    assert found.rule == "sizes out of order"
    assert "S0, S1, S2, S3, S4" in found.text


def test_a_mirrored_size_whose_edges_were_named_anew() -> None:
    """A wedge: low 200, right 60, top as it comes, left 120; mirrored, left and right change."""

    def wedge(width: float, right: float, left: float) -> SizedPiece:
        return SizedPiece(
            edges=(
                edge("low", (0.0, 0.0), (width, 0.0)),
                edge("right", (width, 0.0), (width, right)),
                edge("top", (width, right), (0.0, left)),
                edge("left", (0.0, left), (0.0, 0.0)),
            ),
            grain=Grain((10.0, 10.0), (10.0, 40.0)),
        )

    sizes = [wedge(200.0 + 10.0 * i, 60.0, 120.0) for i in range(5)]
    sizes[3] = wedge(230.0, 120.0, 60.0)
    found = only(replace(strip_set(sizes), lay_on=""))
    assert "drawn mirrored" in found.text


def test_nothing_depends_on_names_or_the_order_of_pieces() -> None:
    pattern = widths(200.0, 220.0, 250.0, 260.0, 280.0)
    again = with_sized(pattern, "strip", "S2", turned(strip(250.0), 30.0, with_grain=True))
    assert [f.where for f in map(only, (pattern, again))] == ["piece 'strip', size 'S2'"] * 2


def test_a_size_drawn_the_other_side_up_is_refused_in_words_that_say_so() -> None:
    sizes = [strip(200.0 + 20.0 * i) for i in range(4)]
    over = moved(sizes[1], np.diag([-1.0, 1.0]), with_grain=True)
    edges = tuple(replace(e, points=e.points[::-1]) for e in over.edges[::-1])
    sizes[1] = replace(over, edges=edges)
    (found,) = find_problems(strip_set(sizes))
    assert "piece 'strip', size 'S1'" in found
    assert "this size is drawn mirrored" in found
