"""The least movement that meets lengths, against closed forms and scipy's general solver."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from propagate.engine.following.lengths import Length, Line, LineLengths
from propagate.engine.newton import solve_problem, would_take
from tests.examples import examples


def line(points, unknowns, slopes) -> Line:
    """A line whose vertex i moves by `slopes[i]` times the unknown pairs."""
    slope = np.zeros((len(points), 2, len(unknowns)))
    for i, row in enumerate(slopes):
        for k, share in enumerate(row):
            slope[i, :, 2 * k : 2 * k + 2] = share * np.eye(2)
    return Line(np.array(points, dtype=float), np.array(unknowns), slope)


def test_a_straight_line_gets_longer_along_itself() -> None:
    """A straight edge of 100 mm whose one end may move: the least way is straight on."""
    one = line([(0, 0), (60, 80)], [0, 1], [(0,), (1,)])
    answer = solve_problem(LineLengths([one], [Length([(0, 0, 1, 1.0)], 110.0)], 2))
    assert answer.q == pytest.approx([6.0, 8.0], abs=1e-9)
    assert answer.miss == pytest.approx([0.0], abs=1e-9)


def test_two_lines_from_a_common_corner_meet_where_two_circles_cross() -> None:
    """Two straight edges with far ends held: the corner is where two circles cross."""
    left = line([(0, 0), (30, 40)], [0, 1], [(0,), (1,)])
    right = line([(60, 0), (30, 40)], [0, 1], [(0,), (1,)])
    problem = LineLengths(
        [left, right], [Length([(0, 0, 1, 1.0)], 52.0), Length([(1, 0, 1, 1.0)], 51.0)], 2
    )
    corner = np.array([30.0, 40.0]) + solve_problem(problem).q
    x = (52.0**2 - 51.0**2 + 60.0**2) / (2 * 60.0)
    assert corner == pytest.approx([x, np.sqrt(52.0**2 - x**2)], abs=1e-8)


def test_what_contradicts_itself_is_shared_and_told() -> None:
    """One edge asked for two lengths: neither is met, and each is missed by half."""
    one = line([(0, 0), (100, 0)], [0, 1], [(0,), (1,)])
    answer = solve_problem(
        LineLengths([one], [Length([(0, 0, 1, 1.0)], w) for w in (101.0, 103.0)], 2)
    )
    assert answer.miss == pytest.approx([1.0, -1.0], abs=1e-6)
    assert np.abs(answer.against) == pytest.approx(np.full((1, 2), np.sqrt(0.5)))


def test_what_a_contradiction_would_take() -> None:
    """One edge asked for 101 and 103 mm: either of the two would have to be the other's."""
    one = line([(0, 0), (100, 0)], [0, 1], [(0,), (1,)])
    lengths = [Length([(0, 0, 1, 1.0)], w, f"{w:g}") for w in (101.0, 103.0)]
    taken = would_take(LineLengths([one], lengths, 2), ["101", "103"], 1e-6)
    assert taken == pytest.approx({"101": 2.0, "103": -2.0})


def test_letting_go_of_what_is_met_does_not_help() -> None:
    """Two edges, one of them held: only its own length would have to be another."""
    held = Line(
        np.array([(0.0, 0.0), (50.0, 0.0)]), np.zeros(0, dtype=np.intp), np.zeros((2, 2, 0))
    )
    one = line([(0, 0), (100, 0)], [0, 1], [(0,), (1,)])
    lengths = [Length([(0, 0, 1, 1.0)], 52.0, "held"), Length([(1, 0, 1, 1.0)], 103.0, "free")]
    taken = would_take(LineLengths([held, one], lengths, 2), ["held", "free"], 1e-6)
    assert taken == pytest.approx({"held": -2.0})


def test_a_held_line_gives_nothing() -> None:
    """Moved across itself a straight line has no first effect on its length."""
    one = Line(
        np.array([(0.0, 0.0), (100.0, 0.0)]),
        np.array([0]),
        np.array([[[0.0], [0.0]], [[0.0], [1.0]]]),
    )
    answer = solve_problem(LineLengths([one], [Length([(0, 0, 1, 1.0)], 101.0)], 1))
    assert answer.miss == pytest.approx([-1.0]) and answer.q == pytest.approx([0.0])
    assert np.abs(answer.against) == pytest.approx(np.array([[1.0]]))


def chain(draw) -> tuple[LineLengths, np.ndarray]:
    """A ring of curved edges with free corners, some of them asked for other lengths."""
    count = draw(st.integers(3, 6))
    radius = draw(st.floats(80.0, 300.0))
    turn = 2 * np.pi * np.arange(count) / count
    corners = radius * np.column_stack([np.cos(turn), np.sin(turn)])
    lines, lengths = [], []
    for i in range(count):
        a, b = corners[i], corners[(i + 1) % count]
        t = np.linspace(0, 1, 15)[:, None]
        bow = draw(st.floats(-0.25, 0.25)) * np.array([-(b - a)[1], (b - a)[0]])
        points = (1 - t) * a + t * b + np.sin(np.pi * t) * bow
        slope = np.zeros((15, 2, 4))
        slope[:, 0, 0] = slope[:, 1, 1] = 1 - t[:, 0]
        slope[:, 0, 2] = slope[:, 1, 3] = t[:, 0]
        j = (i + 1) % count
        lines.append(Line(points, np.array([2 * i, 2 * i + 1, 2 * j, 2 * j + 1]), slope))
    for i in range(draw(st.integers(1, count - 1))):
        size = float(np.hypot(*np.diff(lines[i].points, axis=0).T).sum())
        lengths.append(Length([(i, 0, 14, 1.0)], size * draw(st.floats(0.93, 1.07))))
    return LineLengths(lines, lengths, 2 * count), corners


def movement(problem: LineLengths, q: np.ndarray) -> float:
    """Mean square of the movement along the lines, by the trapezoid rule."""
    total = size = 0.0
    for one in problem.lines:
        move = one.slope @ q[one.unknowns]
        square = (move**2).sum(axis=1)
        chord = np.hypot(*np.diff(one.points, axis=0).T)
        total += float(((square[1:] + square[:-1]) / 2 * chord).sum())
        size += float(chord.sum())
    return total / size


def lengths_of(problem: LineLengths, q: np.ndarray) -> np.ndarray:
    found = []
    for condition in problem.lengths:
        index = condition.stretches[0][0]
        points = (
            problem.lines[index].points
            + problem.lines[index].slope @ q[problem.lines[index].unknowns]
        )
        found.append(np.hypot(*np.diff(points, axis=0).T).sum() - condition.wanted)
    return np.array(found)


@examples(12)
@given(st.data())
def test_random_rings_move_no_more_than_scipy_finds_is_needed(data) -> None:
    """scipy's SLSQP, a general solver, finds no smaller movement (within 2 %)."""
    problem, _ = chain(data.draw)
    answer = solve_problem(problem)
    assert np.abs(lengths_of(problem, answer.q)).max() < 1e-6
    ours = movement(problem, answer.q)
    general = minimize(
        lambda q: movement(problem, q),
        np.zeros(problem.count),
        method="SLSQP",
        constraints=[{"type": "eq", "fun": lambda q: lengths_of(problem, q)}],
        options={"maxiter": 200, "ftol": 1e-12},
    )
    if (
        general.success
        and np.abs(
            general.constr_violation
            if hasattr(general, "constr_violation")
            else lengths_of(problem, general.x)
        ).max()
        < 1e-4
    ):
        assert ours <= general.fun * 1.02 + 1e-9
