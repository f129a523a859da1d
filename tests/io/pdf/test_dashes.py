"""Dashed lines that are drawn stroke by stroke, or as narrow areas, are one line each."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely.ops import substring

from propagate.io.chain import Chain, tidy_chain
from propagate.io.drawn_lines import DrawnLine, Look
from propagate.io.pdf.dashes import dashed_lines
from propagate.io.pdf.strips import middle_of_strip, strips_as_lines

LOOK = Look((0.8, 0.0, 0.0), 0.4)


def line_of(points: np.ndarray, look: Look = LOOK, closed: bool = False) -> DrawnLine:
    start, *rest = [(float(x), float(y)) for x, y in points]
    chain = tidy_chain(start, [(p,) for p in rest], closed)
    assert chain is not None
    return DrawnLine(chain, look)


def strokes_of(points: np.ndarray, dash: tuple[float, ...], phase: float = 0.0) -> list[DrawnLine]:
    """What a dash pattern leaves of a line, each stroke by itself (shapely cuts it)."""
    whole, at, found, i = shapely.LineString(points), -phase, [], 0
    while at < whole.length:
        upto = at + dash[i % len(dash)]
        if i % 2 == 0 and upto > 0 and min(upto, whole.length) - max(at, 0.0) > 1e-3:
            part = substring(whole, max(at, 0.0), min(upto, whole.length))
            found.append(line_of(shapely.get_coordinates(part)))
        at, i = upto, i + 1
    return found


ANGLES = np.linspace(0.2, 3.0, 400)
ARC = np.column_stack([80 * np.cos(ANGLES), 60 * np.sin(ANGLES)])
STRAIGHT = np.array([(0.0, 0.0), (150.0, 40.0)])
BENT = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 70.0), (30.0, 90.0)])


@pytest.mark.parametrize("dash", [(6.0, 3.0), (2.0, 2.0), (8.0, 2.0, 1.0, 2.0), (1.0, 2.0)])
@pytest.mark.parametrize("points", [ARC, STRAIGHT, BENT], ids=["arc", "straight", "bent"])
@pytest.mark.parametrize("phase", [0.0, 0.7, 3.3])
def test_strokes_become_one_line_with_their_dash(
    dash: tuple[float, ...], points: np.ndarray, phase: float
) -> None:
    strokes = strokes_of(points, dash, phase)
    order = np.random.default_rng(3).permutation(len(strokes))
    shuffled = [strokes[i] for i in order]
    found, count = dashed_lines(shuffled)
    assert count == len(found) == 1
    whole, line = shapely.LineString(points), shapely.LineString(found[0].chain.points)
    drawn = shapely.MultiLineString([stroke.chain.points for stroke in strokes])
    assert whole.buffer(0.03).covers(line)
    assert line.buffer(0.03).covers(drawn)
    # nothing tells how far a line runs on in a gap at its end
    assert whole.length - line.length <= 2 * max(dash[1::2]) + 0.1
    look = found[0].look
    assert sorted(look.dash) == pytest.approx(sorted(dash), abs=0.06)


def test_a_ring_is_closed() -> None:
    around = np.linspace(0, 2 * math.pi, 721)
    circle = 50 * np.column_stack([np.cos(around), np.sin(around)])
    length = shapely.LineString(circle).length
    step = length / 40
    found, _ = dashed_lines(strokes_of(circle, (0.6 * step, 0.4 * step)))
    assert [line.closed for line in found] == [True]
    assert shapely.Polygon(found[0].chain.points).area == pytest.approx(math.pi * 2500, rel=2e-4)


def test_what_is_not_dashed_stays() -> None:
    """Edges that meet, a row of notches, a hatching, strokes of two looks."""
    square = np.array([(0.0, 0), (20, 0), (20, 20), (0, 20), (0, 0)])
    edges = [line_of(square[i : i + 2]) for i in range(4)]
    notches = [line_of(np.array([(x, 50.0), (x, 55.0)])) for x in np.arange(0, 60, 5.0)]
    other = Look((0.0, 0.0, 0.8), 0.4)
    mixed = [
        line_of(np.array([(x, 80.0), (x + 5.0, 80.0)]), LOOK if i % 2 else other)
        for i, x in enumerate(np.arange(0, 60, 20.0))
    ]
    lines = [*edges, *notches, *mixed]
    assert dashed_lines(lines) == (lines, 0)


def test_two_dashed_lines_that_cross_stay_two() -> None:
    one, other = (np.array([(0.0, 0.0), (100.0, 0.0)]), np.array([(47.0, -40.0), (47.0, 60.0)]))
    found, count = dashed_lines([*strokes_of(one, (6, 3)), *strokes_of(other, (6, 3))])
    assert count == len(found) == 2


def test_strips() -> None:
    """A line with mitred corners, widened by shapely, is found again along its middle."""
    line = np.array([(0.0, 0.0), (4.0, 0.3), (6.0, 1.4), (6.5, 4.0)])
    area = shapely.LineString(line).buffer(0.25, cap_style="flat", join_style="mitre")
    corners = [(float(x), float(y)) for x, y in shapely.get_coordinates(area)[:-1]]
    found = middle_of_strip(corners)
    assert found is not None and found[1] == pytest.approx(0.5, abs=1e-6)
    assert shapely.LineString(found[0]).hausdorff_distance(shapely.LineString(line)) < 1e-6


def test_areas_that_are_no_strips_stay() -> None:
    fill = Look((0.0, 0.0, 0.0), filled=True)
    arrow = line_of(np.array([(0.0, 0), (3, 6), (6, 0)]), fill, closed=True)
    patch = line_of(np.array([(0.0, 0), (30, 0), (30, 5), (0, 5)]), fill, closed=True)
    assert strips_as_lines([arrow, patch]) == ([arrow, patch], 0)


def test_a_curve_drawn_piece_by_piece_is_no_dashed_line() -> None:
    """Every stroke of a ring of 90 begins where another one ends: none is taken for a gap."""
    turns = np.radians(np.arange(0, 361, 4))
    points = [(60 * math.cos(turn), 60 * math.sin(turn)) for turn in turns]
    strokes = [
        DrawnLine(Chain(a, ((b,),)), Look((0.0, 0.0, 0.0), 0.4)) for a, b in pairwise(points)
    ]
    found, made = dashed_lines(strokes)
    assert made == 0
    assert found == strokes
