"""Rings among open lines: judged by shapely's own joining of lines and by how they were cut."""

from __future__ import annotations

import random

import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st

from propagate.io.rings import border_rings, follow_lines, gather_ends
from propagate.pattern.model import Array
from tests.examples import examples


def cut_up(sides: int, rng: random.Random) -> tuple[list[Array], shapely.Polygon]:
    """A polygon about the origin and its sides, in any order and direction."""
    angles = 2 * np.pi * (np.arange(sides) + rng.random() / 2) / sides
    radii = np.array([rng.uniform(40.0, 90.0) for _ in range(sides)])
    corners = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
    lines = [np.array([a, b]) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    lines = [line[::-1] if rng.random() < 0.5 else line for line in lines]
    rng.shuffle(lines)
    return lines, shapely.Polygon(corners)


@examples(40)
@given(st.integers(3, 24), st.integers(0, 10_000))
def test_sides_in_any_order_come_back_as_one_ring(sides: int, seed: int) -> None:
    rng = random.Random(seed)
    lines, polygon = cut_up(sides, rng)
    loose = np.array([[300.0, 0.0], [340.0, 10.0]])
    (ring,) = border_rings([*lines, loose], 0.1)
    assert sorted(number for number, _ in ring) == list(range(sides))
    assert ring[0] == (0, False)
    points = np.array([(lines[i][::-1] if turned else lines[i])[0] for i, turned in ring])
    assert shapely.Polygon(points).equals(polygon)


@examples(40)
@given(st.integers(5, 24), st.integers(0, 10_000))
def test_a_line_across_leaves_the_outer_border(sides: int, seed: int) -> None:
    lines, polygon = cut_up(sides, random.Random(seed))
    corners = shapely.get_coordinates(polygon)[:-1]
    across = np.array([corners[0], [0.0, 0.0], corners[sides // 2]])
    (ring,) = border_rings([across, *lines], 0.1)
    assert sorted(number for number, _ in ring) == list(range(1, sides + 1))
    assert (
        shapely.polygonize([shapely.LineString(lines[i - 1]) for i, _ in ring])
        .geoms[0]
        .equals(polygon)
    )


def test_of_several_that_go_on_the_first_drawn_is_taken() -> None:
    fork = [
        np.array([[0.0, 0.0], [10.0, 0.0]]),
        np.array([[20.0, 5.0], [10.0, 0.0]]),
        np.array([[10.0, 0.0], [20.0, -5.0]]),
    ]
    chains = list(follow_lines(gather_ends(fork, 0.05), range(3)))
    assert chains == [[(0, False, True), (1, True, True)], [(2, False, True)]]
