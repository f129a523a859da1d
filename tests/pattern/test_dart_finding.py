"""Darts in a drawing without names: three marks that the trade draws for a dart."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from propagate.pattern.dart_finding import find_darts
from propagate.pattern.model import Array, Edge, Grain, Landmark, Mark, SizedPiece

Point = tuple[float, float]


def drawn(
    corners: list[Point], notches: list[Point], drills: list[Point], start: int = 0
) -> SizedPiece:
    """A piece of straight edges, from a list of corners, counter-clockwise."""
    ring = [*corners[start:], *corners[:start]]
    edges = tuple(
        Edge(f"edge_{i + 1}", np.array([a, b], dtype=float))
        for i, (a, b) in enumerate(zip(ring, [*ring[1:], ring[0]], strict=True))
    )
    marks = tuple(
        Landmark(f"notch_{i + 1}", _edge_at(edges, point), point, "notch")
        for i, point in enumerate(notches)
    )
    return SizedPiece(
        edges=edges,
        grain=Grain((50.0, 10.0), (50.0, 150.0)),
        landmarks=marks,
        drills=tuple(Mark(f"drill_{i + 1}", point) for i, point in enumerate(drills)),
    )


def _edge_at(edges: tuple[Edge, ...], point: Point) -> str:
    near = [shapely.LineString(edge.points).distance(shapely.Point(point)) for edge in edges]
    return edges[int(np.argmin(near))].name


def skirt(
    width: float = 20.0, deep: float = 90.0, start: int = 0, more: bool = False
) -> SizedPiece:
    """A skirt back, 200 mm wide; its waist at y = 600 has a dart, or two."""
    top: list[Point] = [(200.0, 600.0)]
    drills: list[Point] = []
    for middle in (140.0, 60.0) if more else (140.0,):
        top += [(middle + width / 2, 600.0), (middle - width / 2, 600.0)]
        drills.append((middle, 600.0 - deep))
    corners = [(0.0, 0.0), (200.0, 0.0), *top, (0.0, 600.0)]
    return drawn(corners, top[1:], drills, start)


def _ring(piece: SizedPiece) -> Array:
    return np.concatenate([edge.points[:-1] for edge in piece.edges])


@settings(max_examples=30, deadline=None, derandomize=True)
@given(start=st.integers(0, 7), more=st.booleans(), width=st.floats(8.0, 40.0))
def test_the_waist_becomes_one_edge_wherever_the_outline_begins(
    start: int, more: bool, width: float
) -> None:
    old = skirt(width, start=start % (8 if more else 6), more=more)
    nest, found, names = find_darts({"S": old, "M": old}, "S")
    new = nest["M"]
    assert len(found) == 1 + more
    assert len(new.edges) == 4  # hem, side, waist, centre
    waist = next(edge for edge in new.edges if edge.points[:, 1].min() == 600.0)
    assert waist.length == pytest.approx(200.0)
    assert {dart.edge for dart in new.darts} == {waist.name}
    assert not new.drills
    legs = {mark.name: mark for mark in new.landmarks}
    for dart in new.darts:
        mouth = np.subtract(legs[dart.legs[0]].point, legs[dart.legs[1]].point)
        assert np.hypot(*mouth) == pytest.approx(width)
        assert mouth[0] > 0  # the first leg comes first along the edge
        assert {legs[leg].kind for leg in dart.legs} == {"dart leg"}
    assert {waist.points[turn][1] for turn in waist.turns} == {600.0}
    assert len(waist.turns) == 2 + 2 * more
    assert shapely.Polygon(_ring(new)).equals(shapely.Polygon(_ring(old)))
    assert set(names) == set(old.edge_names)
    assert set(names.values()) == set(new.edge_names)


def test_a_dart_of_no_leg_length_in_common_is_none() -> None:
    """The legs of a dart are sewn to each other and have one length (common practice)."""
    piece = skirt()
    off = replace(piece, drills=(Mark("drill_1", (150.0, 510.0)),))
    assert find_darts({"M": off}, "M")[1] == ()


@pytest.mark.parametrize(
    ("piece", "why"),
    [
        (skirt(width=81.0, deep=200.0), "a mouth of 81 mm"),
        (skirt(deep=15.0), "legs shorter than the mouth is wide"),
        (skirt(deep=-90.0), "the mark outside of the piece"),
        (replace(skirt(), drills=()), "no mark at the tip"),
        (replace(skirt(), landmarks=skirt().landmarks[:1]), "one notch"),
    ],
)
def test_what_is_no_dart_stays_as_it_was(piece: SizedPiece, why: str) -> None:
    nest, found, names = find_darts({"M": piece}, "M")
    assert found == (), why
    assert nest["M"] is piece
    assert names == {name: name for name in piece.edge_names}


def test_a_dart_must_show_in_every_size() -> None:
    nest, found, _ = find_darts({"S": skirt(), "M": skirt(deep=15.0)}, "S")
    assert not found
    assert len(nest["S"].edges) == 6


def test_sizes_that_differ_in_their_marks_are_left_alone() -> None:
    other = replace(skirt(), drills=())
    nest, found, _ = find_darts({"S": skirt(), "M": other}, "S")
    assert not found
    assert nest["M"] is other
