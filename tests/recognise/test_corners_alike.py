"""Corners that some sizes have and others do not: one row of corners for all sizes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from propagate.pattern.model import Array
from propagate.recognise.corners import BareOutline
from propagate.recognise.corners_alike import (
    AlikeCorners,
    MarkedOutline,
    make_corners_alike,
)
from tests.examples import examples

SIZES = ("S", "M", "L", "XL")
SHAPE = ((0.0, 0.0), (200.0, 0.0), (210.0, 150.0), (150.0, 310.0), (20.0, 300.0))
"""A piece with five corners; it grows by a tenth in each size."""


def outline(step: int, lacking: tuple[int, ...] = (), notches: object = ()) -> MarkedOutline:
    """A piece whose straight edges have points inside, without some of its corners."""
    corners = np.array(SHAPE) * (1.0 + 0.1 * step)
    shares = np.array([0.0, 0.31, 0.77])[:, None]
    points = np.concatenate(
        [a + shares * (b - a) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    )
    marked = tuple(3 * k for k in range(len(SHAPE)) if k not in lacking)
    return MarkedOutline(
        BareOutline(points, np.array([0.0, 1.0])), marked, np.array(notches).reshape(-1, 2)
    )


def places(found: AlikeCorners | None, size: str) -> Array:
    assert found is not None
    return found.points[size][list(found.corners[size])]


@pytest.mark.parametrize("lacking", range(5))
@pytest.mark.parametrize("size", range(4))
def test_a_corner_that_one_size_lacks_is_put_in_at_its_vertex(lacking: int, size: int) -> None:
    drawn = {name: outline(k, (lacking,) if k == size else ()) for k, name in enumerate(SIZES)}
    found = make_corners_alike(drawn, alone=True)
    for k, name in enumerate(SIZES):
        assert places(found, name).tolist() == (np.array(SHAPE) * (1.0 + 0.1 * k)).tolist()
    assert found is not None
    (odd,) = found.odd
    assert (odd.lacking, odd.taken, odd.inward) == ((SIZES[size],), True, False)


@examples(20)
@given(
    turned=st.floats(0.0, 6.28), starts=st.lists(st.integers(0, 14), min_size=4, max_size=4),
    lacking=st.integers(0, 4), size=st.integers(0, 3),
)  # fmt: skip
def test_neither_frame_nor_where_the_drawing_begins_matters(
    turned: float, starts: list[int], lacking: int, size: int
) -> None:
    turn = np.array([[np.cos(turned), np.sin(turned)], [-np.sin(turned), np.cos(turned)]])
    drawn = {}
    for k, name in enumerate(SIZES):
        own = outline(k, (lacking,) if k == size else ())
        count, start = len(own.outline.points), starts[k]
        drawn[name] = MarkedOutline(
            BareOutline(np.roll(own.outline.points, start, axis=0) @ turn, own.outline.up @ turn),
            tuple(sorted((corner + start) % count for corner in own.corners)),
            own.notches,
        )
    found = make_corners_alike(drawn, alone=False)
    for k, name in enumerate(SIZES):
        wanted = np.array(SHAPE) * (1.0 + 0.1 * k) @ turn
        gaps = np.hypot(*(places(found, name)[:, None] - wanted[None]).transpose(2, 0, 1))
        assert gaps.min(axis=0).max() <= 1e-9
        assert len(gaps) == len(SHAPE)


def test_a_corner_of_one_size_alone_is_none() -> None:
    drawn = {name: outline(k) for k, name in enumerate(SIZES)}
    odd = drawn["L"]
    drawn["L"] = MarkedOutline(odd.outline, tuple(sorted((*odd.corners, 4))), odd.notches)
    found = make_corners_alike(drawn, alone=False)
    assert found is not None
    assert [len(found.corners[name]) for name in SIZES] == [5, 5, 5, 5]
    assert [(one.having, one.taken) for one in found.odd] == [(("L",), False)]


def test_where_nothing_turns_a_corner_goes_to_its_share_or_to_the_notch() -> None:
    """A turn point in the middle of a straight edge, marked in three of four sizes."""
    drawn = {}
    for k, name in enumerate(SIZES):
        own = outline(k)
        middle = own.outline.points[0] + np.array([0.31, 0.0]) * 200.0 * (1.0 + 0.1 * k)
        assert np.allclose(own.outline.points[1], middle)
        drawn[name] = MarkedOutline(own.outline, tuple(sorted((*own.corners, 1))), own.notches)
    lacking = outline(2)
    bare = np.delete(lacking.outline.points, 1, axis=0)
    corners = tuple(corner - (corner > 1) for corner in lacking.corners)
    wanted = lacking.outline.points[1]
    drawn["L"] = MarkedOutline(BareOutline(bare, lacking.outline.up), corners, np.empty((0, 2)))
    found = make_corners_alike(drawn, alone=True)
    assert np.hypot(*(places(found, "L") - wanted).T).min() <= 1e-9
    assert found is not None
    assert len(found.points["L"]) == len(bare) + 1
    # With notches on the corners the one of this size counts.
    for name in SIZES:
        own = drawn[name]
        notch = own.outline.points[[1]] if name != "L" else wanted[None] + [[1.25, 0.0]]
        drawn[name] = MarkedOutline(own.outline, own.corners, notch)
    found = make_corners_alike(drawn, alone=True)
    assert np.hypot(*(places(found, "L") - wanted - [1.25, 0.0]).T).min() == 0.0


def test_a_hollow_that_laps_in_the_large_sizes_is_no_corner() -> None:
    """Its turn grows from 4 to 28 degrees, inwards; a real inward corner turns in every size."""
    for least, taken in ((4.0, False), (40.0, True)):
        drawn = {}
        for k, name in enumerate(SIZES):
            deep = 50.0 * np.tan(np.radians((least + 8.0 * k) / 2.0))
            points = np.array(
                [[0, 0], [100, 0], [100, 80], [50, 80 - deep], [0, 80]], dtype=np.float64
            )
            corners = (0, 1, 2, 3, 4) if k else (0, 1, 2, 4)
            drawn[name] = MarkedOutline(
                BareOutline(points, np.array([0.0, 1.0])), corners, np.empty((0, 2))
            )
        found = make_corners_alike(drawn, alone=True)
        assert found is not None
        assert {len(corners) for corners in found.corners.values()} == {5 if taken else 4}
        assert [odd.taken for odd in found.odd] == [taken]


def test_drawings_of_other_pieces_are_left_alone() -> None:
    drawn = {"S": outline(0), "M": outline(1, (0, 2, 4))}
    assert make_corners_alike(drawn, alone=False) is None
    assert make_corners_alike({"S": outline(0), "M": outline(1, (0, 1, 2, 3))}, alone=True) is None
