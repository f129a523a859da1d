"""The least movement that meets conditions on lengths: Newton's method on the Lagrangian.

Unknowns ``q`` move the vertices of some lines linearly.  Asked is the smallest movement,
measured as the mean square along whole edges, for which every run has its length.  With
the curvature of the lengths in the system four to seven steps are enough (Nocedal and
Wright, *Numerical Optimization*, 2nd edition, section 18.1: the equality-constrained case).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Answer", "Length", "Line", "Problem", "solve"]

Array = npt.NDArray[np.float64]

STEPS = 30
MET_MM = 1e-9
GIVES = 0.25
"""mm of length for a mm of movement below which a condition is not met by moving."""
_TINY_MM = 1e-12


@dataclass(frozen=True, eq=False)
class Line:
    """A polyline whose vertices hang on unknowns.

    Attributes
    ----------
    points : (n, 2) array
        Before anything moved.
    unknowns : (k,) array of int
        Which unknowns move it.
    slope : (n, 2, k) array
        Movement of each vertex by each of them.
    """

    points: Array
    unknowns: npt.NDArray[np.intp]
    slope: Array

    def moved(self, q: Array) -> Array:
        """(n, 2) vertices for the values of all unknowns."""
        return np.asarray(self.points + self.slope @ q[self.unknowns])


@dataclass(frozen=True)
class Length:
    """A condition: the lengths of stretches of lines add up to `wanted`, mm.

    Attributes
    ----------
    stretches : sequence of (line, first vertex, last vertex, sign)
        A sign of -1 counts a stretch as that of a lead which moves as well.
    wanted : float
    name : str
        What asks for it.
    """

    stretches: Sequence[tuple[int, int, int, float]]
    wanted: float
    name: str = ""


@dataclass(frozen=True)
class Problem:
    """Lines, the conditions on them, and the number of unknowns."""

    lines: Sequence[Line]
    lengths: Sequence[Length]
    count: int


@dataclass(frozen=True)
class Answer:
    """Values of the unknowns, and by how many mm each condition is missed.

    Attributes
    ----------
    q : (n,) array
    miss : (m,) array
        Length found less length wanted.
    against : (w, m) array
        Combinations of conditions that nothing can give: what is asked in such a one is
        shared, and never met by moving something far.
    steps : int
    """

    q: Array
    miss: Array
    against: Array
    steps: int


def solve(problem: Problem) -> Answer:
    """Meet the conditions by the least movement, or as nearly as it goes.

    Where conditions contradict each other their misses are shared by least squares.
    """
    weight = _movement(problem)
    q = np.zeros(problem.count)
    miss, jacobian, _ = _lengths(problem, q, None)
    mixed, against = _combinations(jacobian, weight)
    multipliers = np.zeros(len(mixed))
    best = (_worst(mixed @ miss), q)
    step = 0
    for step in range(1, STEPS + 1):  # noqa: B007
        miss, jacobian, bend = _lengths(problem, q, multipliers @ mixed)
        change, multipliers = _step(weight, bend, mixed @ jacobian, q, mixed @ miss)
        q = q + _damped(problem, mixed, q, change, mixed @ miss)
        found = _worst(mixed @ _lengths(problem, q, None)[0])
        if found < best[0]:
            best = (found, q)
        if found < MET_MM and float(np.abs(change).max(initial=0.0)) < 1e-8:
            break
    if _worst(mixed @ _lengths(problem, q, None)[0]) > max(best[0], MET_MM):
        q = best[1]
    return Answer(q, _lengths(problem, q, None)[0], against, step)


def _combinations(jacobian: Array, weight: Array) -> tuple[Array, Array]:
    """Rows that mix the conditions: those that can be met by moving, and those that cannot.

    The singular values of the slopes, scaled by the movement, are mm of length for a mm of
    movement.
    """
    if not jacobian.size:
        return np.zeros((0, len(jacobian))), np.eye(len(jacobian))
    root = np.linalg.cholesky(weight)
    left, sizes, _ = np.linalg.svd(np.linalg.solve(root, jacobian.T).T)
    gives = np.zeros(len(jacobian))
    gives[: len(sizes)] = sizes
    strong = gives >= GIVES
    if strong.all():
        return np.eye(len(jacobian)), np.zeros((0, len(jacobian)))
    return left[:, strong].T, left[:, ~strong].T


def _worst(miss: Array) -> float:
    return float(np.abs(miss).max(initial=0.0))


def _movement(problem: Problem) -> Array:
    """(n, n) matrix of the movement: its mean square along the lines, in mm^2 a mm."""
    weight = np.zeros((problem.count, problem.count))
    total = 0.0
    for line in problem.lines:
        chords = np.hypot(*np.diff(line.points, axis=0).T)
        share = np.zeros(len(line.points))
        share[:-1] += chords / 2
        share[1:] += chords / 2
        total += float(chords.sum())
        if not len(line.unknowns):
            continue
        flat = (line.slope * np.sqrt(share)[:, None, None]).reshape(-1, len(line.unknowns))
        weight[np.ix_(line.unknowns, line.unknowns)] += flat.T @ flat
    weight /= max(total, _TINY_MM)
    # A corner between two edges of no length would else be free to run away.
    return np.asarray(weight + 1e-9 * np.eye(problem.count))


def _lengths(problem: Problem, q: Array, multipliers: Array | None) -> tuple[Array, Array, Array]:
    """Misses (m,), their slopes (m, n), and the curvature (n, n) weighed by multipliers."""
    count = problem.count
    miss = np.empty(len(problem.lengths))
    slopes = np.zeros((len(problem.lengths), count))
    bend = np.zeros((count, count))
    moved: dict[int, Array] = {}
    for row, condition in enumerate(problem.lengths):
        total = -condition.wanted
        for index, first, last, sign in condition.stretches:
            line = problem.lines[index]
            if index not in moved:
                moved[index] = line.moved(q)
            delta = np.diff(moved[index][first : last + 1], axis=0)
            size = np.maximum(np.hypot(delta[:, 0], delta[:, 1]), _TINY_MM)
            total += sign * float(size.sum())
            if not len(line.unknowns):
                continue
            along = delta / size[:, None]
            by = line.slope[first + 1 : last + 1] - line.slope[first:last]
            slopes[row, line.unknowns] += sign * np.einsum("ij,ijk->k", along, by)
            if multipliers is not None:
                across = along[:, ::-1] * (-1.0, 1.0)
                turn = np.einsum("ij,ijk->ik", across, by)
                part = sign * multipliers[row] * (turn.T / size) @ turn
                bend[np.ix_(line.unknowns, line.unknowns)] += part
        miss[row] = total
    return miss, slopes, bend


def _step(
    weight: Array, bend: Array, jacobian: Array, q: Array, miss: Array
) -> tuple[Array, Array]:
    """The Newton step and the multipliers; without curvature where that has no least value."""
    count, held = len(q), len(miss)
    for curved in (weight + bend, weight):
        if curved is not weight and not _has_least(curved, jacobian):
            continue
        system = np.zeros((count + held, count + held))
        system[:count, :count] = curved
        system[:count, count:] = jacobian.T
        system[count:, :count] = jacobian
        try:
            found = np.linalg.solve(system, np.concatenate([-weight @ q, -miss]))
        except np.linalg.LinAlgError:
            continue
        if np.isfinite(found).all():
            return found[:count], found[count:]
    # Conditions that contradict each other: the nearest, by least squares.
    root = np.linalg.cholesky(weight)
    scaled = np.linalg.solve(root, jacobian.T).T
    whole = np.linalg.lstsq(scaled, jacobian @ q - miss, rcond=1e-6)[0]
    return np.asarray(np.linalg.solve(root.T, whole) - q), np.zeros(held)


def _has_least(curved: Array, jacobian: Array) -> bool:
    """Whether a quadratic has a least value among the steps that keep the conditions."""
    free = np.linalg.qr(jacobian.T, mode="complete")[0][:, len(jacobian) :]
    try:
        np.linalg.cholesky(free.T @ curved @ free)
    except np.linalg.LinAlgError:
        return False
    return True


def _damped(problem: Problem, mixed: Array, q: Array, change: Array, miss: Array) -> Array:
    """A whole step, or the part of it that does not make the conditions worse."""
    start = _worst(miss)
    for share in (1.0, 0.5, 0.25, 0.1):
        found = _worst(mixed @ _lengths(problem, q + share * change, None)[0])
        if found <= max(start, 1e-6) * 1.5:
            break
    return np.asarray(share * change)
