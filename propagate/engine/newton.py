"""The least that meets conditions: Newton's method on the Lagrangian.

One solver for everything that is asked for lengths and corners: the mains that an edit
draws (`propagate.engine.corners`) and the followers that answer (`propagate.engine.following`).
Each states itself as a `Problem`: unknowns ``q``, a quadratic ``q' W q / 2`` that is to be
least, and conditions whose misses are to be nothing.  With the curvature of the conditions in
the system four to seven steps are enough (Nocedal and Wright, *Numerical Optimization*, 2nd
edition, section 18.1: the equality-constrained case).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
import numpy.typing as npt

from propagate.values import dataclass

__all__ = ["Answer", "Point", "Problem", "solve_problem", "would_take"]

Array = npt.NDArray[np.float64]

STEPS = 30
MET_MM = 1e-9
GIVES = 0.25
"""mm of a condition for a mm of movement below which it is not met by moving."""


class Point(Protocol):
    """The conditions at some values of the unknowns."""

    @property
    def miss(self) -> Array:
        """(m,) what is found less what is wanted, mm."""

    @property
    def slopes(self) -> Array:
        """(m, n) derivatives of the misses."""

    def bend(self, multipliers: Array) -> Array:
        """(n, n) sum of the misses' second derivatives, each by its multiplier (m,)."""


class Problem(Protocol):
    """What is to be least, and the conditions on it."""

    @property
    def names(self) -> Sequence[str]:
        """What asks for each of the m misses; a condition with two of them has two."""

    @property
    def start(self) -> Array:
        """(n,) values to begin with."""

    @property
    def aim(self) -> Array:
        """(n, n) matrix W, positive definite: ``q' W q / 2`` is to be least."""

    @property
    def movement(self) -> Array:
        """(n, n) matrix of the mean square movement along all lines, mm^2."""

    def at(self, q: Array) -> Point:
        """The conditions at some values."""


@dataclass(frozen=True)
class Answer:
    """Values of the unknowns, and by how many mm each condition is missed.

    Attributes
    ----------
    q : (n,) array
    miss : (m,) array
        What is found less what is wanted.
    against : (w, m) array
        Combinations of conditions that nothing can give: what is asked in such a one is
        shared, and never met by moving something far.
    steps : int
    """

    q: Array
    miss: Array
    against: Array
    steps: int

    @property
    def worst(self) -> float:
        """The largest miss, mm."""
        return _find_worst(self.miss)


def solve_problem(problem: Problem) -> Answer:
    """Meet the conditions by the least, or as nearly as it goes.

    Where conditions contradict each other their misses are shared by least squares.
    """
    aim, movement, q = problem.aim, problem.movement, problem.start
    here = problem.at(q)
    mixed, against = _mix_conditions(here.slopes, movement)
    multipliers = np.zeros(len(mixed))
    best = (_find_worst(mixed @ here.miss), q, here)
    found, step = best[0], 0
    for step in range(1, STEPS + 1):  # noqa: B007
        bend, slopes, miss = here.bend(multipliers @ mixed), mixed @ here.slopes, mixed @ here.miss
        change, multipliers = _take_step((aim, bend, movement), slopes, q, miss)
        # A whole step, or the part of it that does not make the conditions worse.
        for share in (1.0, 0.5, 0.25, 0.1):
            here = problem.at(q + share * change)
            worst = _find_worst(mixed @ here.miss)
            if worst <= max(found, 1e-6) * 1.5:
                break
        q, found = q + share * change, worst
        if found < best[0]:
            best = (found, q, here)
        if found < MET_MM and float(np.abs(change).max(initial=0.0)) < 1e-8:
            break
    if found > max(best[0], MET_MM):
        _, q, here = best
    return Answer(q, here.miss, against, step)


def would_take(problem: Problem, names: Sequence[str], within: float) -> dict[str, float]:
    """What it would take, of a problem whose conditions cannot all be met.

    Parameters
    ----------
    problem : Problem
    names : sequence of str
        Conditions that may be let go, each with one miss.
    within : float
        mm within which a condition counts as met.

    Returns
    -------
    mapping of name to float
        By how many mm a condition is missed where it alone is let go, and all others are
        met by the least; without those that do not help.
    """
    found = {}
    for name in names:
        row = list(problem.names).index(name)
        answer = solve_problem(_Without(problem, row))
        if answer.worst <= within:
            found[name] = float(problem.at(answer.q).miss[row])
    return found


@dataclass(frozen=True, eq=False)
class _Without:
    """A problem without one of its conditions."""

    whole: Problem
    row: int

    @property
    def names(self) -> Sequence[str]:
        return [name for i, name in enumerate(self.whole.names) if i != self.row]

    @property
    def start(self) -> Array:
        return self.whole.start

    @property
    def aim(self) -> Array:
        return self.whole.aim

    @property
    def movement(self) -> Array:
        return self.whole.movement

    def at(self, q: Array) -> Point:
        return _PointWithout(self.whole.at(q), self.row)


@dataclass(frozen=True, eq=False)
class _PointWithout:
    whole: Point
    row: int

    @property
    def miss(self) -> Array:
        return np.delete(self.whole.miss, self.row)

    @property
    def slopes(self) -> Array:
        return np.delete(self.whole.slopes, self.row, axis=0)

    def bend(self, multipliers: Array) -> Array:
        return self.whole.bend(np.insert(multipliers, self.row, 0.0))


def _mix_conditions(jacobian: Array, movement: Array) -> tuple[Array, Array]:
    """Rows that mix the conditions: those that can be met by moving, and those that cannot.

    The singular values of the slopes, scaled by the movement, are mm of a condition for a mm
    of movement.
    """
    if not jacobian.size:
        return np.zeros((0, len(jacobian))), np.eye(len(jacobian))
    root = np.linalg.cholesky(movement)
    left, sizes, _ = np.linalg.svd(np.linalg.solve(root, jacobian.T).T)
    gives = np.zeros(len(jacobian))
    gives[: len(sizes)] = sizes
    strong = gives >= GIVES
    if strong.all():
        return np.eye(len(jacobian)), np.zeros((0, len(jacobian)))
    return left[:, strong].T, left[:, ~strong].T


def _find_worst(miss: Array) -> float:
    return float(np.abs(miss).max(initial=0.0))


def _take_step(
    matrices: tuple[Array, Array, Array], jacobian: Array, q: Array, miss: Array
) -> tuple[Array, Array]:
    """The Newton step and the multipliers; without curvature where that has no least value."""
    aim, bend, movement = matrices
    count, held = len(q), len(miss)
    for curved in (aim + bend, aim) if bend.any() else (aim,):
        if curved is not aim:
            # Whether it has a least value among the steps that keep the conditions.
            free = np.linalg.qr(jacobian.T, mode="complete")[0][:, len(jacobian) :]
            try:
                np.linalg.cholesky(free.T @ curved @ free)
            except np.linalg.LinAlgError:
                continue
        system = np.zeros((count + held, count + held))
        system[:count, :count] = curved
        system[:count, count:] = jacobian.T
        system[count:, :count] = jacobian
        try:
            found = np.linalg.solve(system, np.concatenate([-aim @ q, -miss]))
        except np.linalg.LinAlgError:
            continue
        if np.isfinite(found).all():
            return found[:count], found[count:]
    # Conditions that contradict each other: the nearest, by least squares.
    root = np.linalg.cholesky(movement)
    scaled = np.linalg.solve(root, jacobian.T).T
    whole = np.linalg.lstsq(scaled, jacobian @ q - miss, rcond=1e-6)[0]
    return np.asarray(np.linalg.solve(root.T, whole) - q), np.zeros(held)
