"""Corners and names of bare outlines, judged by drawings whose corners are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.demo import demo_names
from propagate.errors import FormatError
from propagate.recognise.corners import BareOutline, common_corners, find_corners, missed_corners
from propagate.recognise.edge_names import (
    carry_names,
    cut_ring,
    name_edges,
    name_outlines,
    turn_upright,
)
from propagate.recognise.folds import find_run_along
from tests.examples import examples
from tests.shared import demo

UP = np.array([0.0, 1.0])
SKIRT = np.array([(0.0, 0.0), (180.0, 0.0), (150.0, 380.0), (0.0, 370.0)])


def turned(points: np.ndarray, degrees: float) -> np.ndarray:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return points @ np.array([[c, s], [-s, c]])


def arc(centre: tuple[float, float], radius: float, begin: float, end: float, step: float):
    count = max(2, math.ceil(abs(math.radians(end - begin)) * radius / step))
    angles = np.radians(np.linspace(begin, end, count + 1))
    return np.column_stack([np.cos(angles), np.sin(angles)]) * radius + centre


@pytest.mark.parametrize("step", [0.5, 2.0, 8.0])
def test_a_round_corner_is_no_corner(step: float) -> None:
    ring = np.concatenate(
        [[(0.0, 0.0)], arc((70.0, 30.0), 30.0, -90.0, 0.0, step), [(100.0, 200.0), (0.0, 200.0)]]
    )
    found = find_corners(BareOutline(ring, UP))
    assert [tuple(ring[i]) for i in found] == [(0.0, 0.0), (100.0, 200.0), (0.0, 200.0)]


def test_a_tiny_chord_beside_a_corner_hides_nothing() -> None:
    ring = np.array(
        [(0, 0), (100, 0), (100.004, 0.003), (100, 200), (99.998, 200), (0, 200)], float
    )
    assert len(find_corners(BareOutline(ring, UP))) == 4


def test_a_flat_corner_is_told_and_a_curve_is_not() -> None:
    """The corner between two straight lines turns by 15 degrees, by the points' own angles."""
    t = math.tan(math.radians(15.0))
    flat = np.array([(0, 0), (200, 0), (200, 200), (200 - 200 * t, 400), (0, 400)], float)
    ((index, turn),) = missed_corners(BareOutline(flat, UP))
    assert index == 2
    assert turn == pytest.approx(15.0, abs=0.01)
    assert not missed_corners(BareOutline(flat, UP), 15.0 - 1e-6)
    for step in (1.0, 4.0, 9.0):  # with 9 mm a vertex turns by 17 degrees, as its neighbours do
        ring = np.concatenate(
            [[(0.0, 0.0)], arc((70.0, 30.0), 30.0, -90.0, 0.0, step), [(100, 200.0), (0, 200.0)]]
        )
        assert not missed_corners(BareOutline(ring, UP))


def test_only_candidates_become_corners() -> None:
    assert find_corners(BareOutline(SKIRT, UP, candidates=(0, 2)), 10.0) == (0, 2)


@pytest.mark.parametrize("name", demo_names())
def test_the_corners_of_the_demo_sets_are_found(name: str) -> None:
    """Those of the drafts that turn by more than 30 degrees, in every size alike."""
    pattern = demo(name)
    for piece in pattern.pieces:
        outlines = {
            size: BareOutline(
                pattern.sized(piece, size).outline,
                turn_upright(pattern.sized(piece, size).grain.direction),
            )
            for size in pattern.sizes
        }
        found, names = name_outlines(piece, outlines, pattern.base)
        starts = found.at
        assert len(set(names)) == len(names)
        for size in pattern.sizes:
            drawn = pattern.sized(piece, size)
            at = {tuple(drawn.outline[i]) for i in starts[size]}
            true = {tuple(edge.points[0]) for edge in drawn.edges}
            assert at <= true
            missed = true - at
            for edge, after in zip(drawn.edges, (*drawn.edges[1:], drawn.edges[0]), strict=True):
                if tuple(after.points[0]) in missed:
                    a = edge.points[-1] - edge.points[-2]
                    b = after.points[1] - after.points[0]
                    turn = math.degrees(abs(math.atan2(a[0] * b[1] - a[1] * b[0], a @ b)))
                    assert turn < 30.0


def test_a_corner_that_a_size_lacks_is_named() -> None:
    rounded = np.concatenate([SKIRT[:2], arc((110.0, 340.0), 40.0, 0.0, 90.0, 1.0), [(0.0, 380.0)]])
    outlines = {"38": BareOutline(SKIRT, UP), "40": BareOutline(rounded, UP)}
    with pytest.raises(FormatError, match=r"piece 'front', size '40'.*corner.*--corner-angle"):
        common_corners("front", outlines, "38")


def bent(degrees: float) -> np.ndarray:
    """A skirt front whose side turns by an angle half way up, exactly."""
    across = 200.0 - 60.0 * np.tan(np.radians(degrees))
    return np.array([(0.0, 0.0), (200.0, 0.0), (200.0, 200.0), (across, 260.0), (0.0, 260.0)])


def test_a_corner_is_one_of_all_sizes_by_the_turn_of_most() -> None:
    """Turns of 20 to 40 degrees around the limit of 25, in whatever size is the base."""
    for turns, taken in (((20.0, 28.0, 35.0, 40.0), True), ((15.0, 18.0, 20.0, 35.0), False)):
        outlines = {str(i): BareOutline(bent(turn), UP) for i, turn in enumerate(turns)}
        for base in outlines:
            found = common_corners("front", outlines, base)
            assert {len(at) for at in found.at.values()} == {5 if taken else 4}
            (uneven,) = found.uneven
            assert uneven.taken is taken
            assert (uneven.least, uneven.most) == pytest.approx((turns[0], turns[-1]))
            assert uneven.point == (200.0, 200.0)


def test_the_ends_of_a_fold_are_corners_of_all_sizes() -> None:
    """A centre that goes straight on above the fold: the vertex between has no turn."""
    rings = {
        str(h): np.array([(0.0, 0.0), (200.0, 0.0), (200.0, h + 50.0), (0.0, h + 50.0), (0.0, h)])
        for h in (300.0, 320.0, 350.0)
    }
    outlines = {size: BareOutline(ring, UP) for size, ring in rings.items()}
    folds = {}
    for size, ring in rings.items():
        found = find_run_along(ring, np.array((0.0, 5.0)), ring[4] + (0.0, 0.2))
        assert found == [4, 0]  # from the vertex at which the line ends, down to the hem
        folds[size] = found[0], found[-1]
    corners, names = name_outlines("front", outlines, "320.0", folds=folds)
    assert {len(at) for at in corners.at.values()} == {5}
    assert names[corners.at["320.0"].index(4)] == "centre"


@pytest.mark.parametrize("turn", [0.0, 33.0, 90.0])
def test_a_fold_line_lies_on_a_run_whatever_its_length_and_direction(turn: float) -> None:
    ring = turned(
        np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 300.0), (50.0, 300.0), (0.0, 250.0)]), turn
    )
    ends = turned(np.array([(0.1, 40.0), (0.1, 200.0)]), turn)
    assert find_run_along(ring, *ends) == find_run_along(ring, *ends[::-1]) == [4, 0]
    aside = turned(np.array([(20.0, 40.0), (20.0, 200.0)]), turn)
    assert find_run_along(ring, *aside) is None


# -------------------------------------------------------------------------------- names


def names_of(ring: np.ndarray, up: np.ndarray = UP, fold: int | None = None) -> tuple[str, ...]:
    return name_edges(cut_ring(ring, range(len(ring))), up, fold)


def test_names_by_place_and_role() -> None:
    assert names_of(SKIRT) == ("hem", "side", "top", "centre")
    mirrored = (SKIRT * [-1, 1])[::-1]
    assert names_of(mirrored) == ("top", "side", "hem", "centre")
    rectangle = np.array([(0, 0), (100, 0), (100, 300), (0, 300)], float)
    assert names_of(rectangle) == ("hem", "right", "top", "left")
    assert names_of(rectangle, fold=1) == ("hem", "centre", "top", "side")


def test_what_is_not_evident_is_numbered_clockwise_from_the_top() -> None:
    # A bodice: neck, shoulder, armhole, side, waist, centre.
    ring = np.array(
        [(0, 0), (200, 0), (220, 200), (170, 300), (190, 360), (70, 390), (0, 330)], float
    )
    names = names_of(ring)
    assert names[0] == "hem"
    assert names[-1] == "centre"
    rest = [int(name.removeprefix("edge_")) for name in names[1:-1] if name.startswith("edge_")]
    assert rest == sorted(rest, reverse=True)


@examples(60)
@given(
    angle=st.floats(-180, 180),
    shift=st.integers(0, 3),
    move=st.tuples(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4)),
    wobble=st.lists(st.floats(-4.0, 4.0), min_size=8, max_size=8),
)
def test_names_survive_motion_start_and_a_small_edit(
    angle: float, shift: int, move: tuple[float, float], wobble: list[float]
) -> None:
    edited = SKIRT + np.reshape(wobble, (4, 2)) * [[1, 1], [1, 1], [1, 1], [0, 1]]
    edited[3, 0] = edited[0, 0]  # the centre stays straight along the grain
    placed = np.roll(turned(edited, angle) + move, shift, axis=0)
    names = names_of(placed, turned(UP[None], angle)[0])
    expected = ("hem", "side", "top", "centre")
    assert tuple(np.roll(names, -shift)) == expected


def test_names_are_carried_by_place() -> None:
    old = list(zip(("a", "b", "c", "d"), cut_ring(SKIRT, range(4)), strict=True))
    new = np.insert(
        np.roll(SKIRT + np.array([700.0, -90.0]), 1, axis=0), 2, [(880.0, -60.0)], axis=0
    )
    new[2] = (885.0, -30.0)
    carried = carry_names(old, UP, cut_ring(new, range(5)), UP)
    assert sorted(name for name in carried if name) == ["a", "b", "c", "d"]
    assert carried.count(None) == 1


@pytest.mark.parametrize("angle", [0.0, 90.0, 180.0, 270.0, 33.0, 213.0])
def test_upright_points_up_or_to_the_right(angle: float) -> None:
    up = turn_upright(turned(UP[None], angle)[0])
    assert up[1] > 1e-6 or (abs(up[1]) <= 1e-6 and up[0] > 0)
