"""Match the side seams and true the crossing edge: all corners solved together.

Where a seam ends on an edge that runs on across it, its corner belongs to both.  The
conditions are: both curves of each main meet in its corner, the lengths of two that are
sewn together agree, each crossing edge keeps its length, and the two corner angles add up to
what they should.  Doing one after the other breaks the first; here they are one problem,
solved as that of all followers is (`propagate.engine.newton`).

Unknowns of each main: length L and turn c of the new side curve (an Euler spiral from
the hold), and two amplitudes p, q by which the free part of the crossing edge is bent
(its direction gets ``p f(v) + q g(v)`` at the share v of its length, with
``f = v^2`` and ``g = v^3``, so it leaves the held part smoothly and *keeps its length
exactly*).  Lengths and angles are then linear in the unknowns; only the meeting
of the curves is not.  The freedom left goes to the fairest crossing edge: the least
change of its curvature, ``integral of (2 p v + 3 q v^2)^2``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
import numpy.typing as npt

from propagate.engine.newton import solve_problem, would_take
from propagate.geometry.directions import wrap_angle
from propagate.geometry.spiral import Spiral, arc_to
from propagate.values import dataclass

__all__ = [
    "Across",
    "CornerTask",
    "Pairing",
    "Solved",
    "UnsolvedCornersError",
    "WouldTake",
    "solve_corners",
]

Array = npt.NDArray[np.float64]

_BENDING = np.array([[4 / 3, 3 / 2], [3 / 2, 9 / 5]])
"""Integral of (f', g') times (f', g') over 0..1."""
_SHAPE_WEIGHT = 20.0
"""How much more alike side curves count than a fair crossing edge, in shape mode."""
_ARM_MM = 100.0
"""Angles are conditions in mm at this distance, so that all conditions are of one size."""
_MET_MM = 1e-6


@dataclass(frozen=True)
class Across:
    """The free part of a crossing edge, from its hold to the corner.

    Attributes
    ----------
    points : (n, 2) array, mm
    end_direction : float
        Direction at the corner as drawn, radians.
    """

    points: Array
    end_direction: float

    @cached_property
    def _chords(self) -> tuple[Array, Array, Array]:
        """Lengths and directions of the chords, and at their middles the powers 0 to 6 of v."""
        delta = np.diff(self.points, axis=0)
        size = np.hypot(delta[:, 0], delta[:, 1])
        arc = np.concatenate([[0.0], np.cumsum(size)])
        v = (arc[:-1] + arc[1:]) / 2 / arc[-1]
        return size, np.arctan2(delta[:, 1], delta[:, 0]), np.vander(v, 7, increasing=True)

    @property
    def length(self) -> float:
        """Length, mm."""
        return float(self._chords[0].sum())

    def bent(self, p: float, q: float) -> Array:
        """(n, 2) points with the direction changed by ``p v^2 + q v^3``, length kept."""
        if p == 0.0 and q == 0.0:
            return self.points
        out = np.empty_like(self.points)
        out[0] = self.points[0]
        out[1:] = out[0] + np.cumsum(self._turned(p, q), axis=1).T
        return out

    def end(self, p: float, q: float) -> tuple[Array, Array]:
        """End point (2,) and its derivatives (2, 2) by p and q."""
        (x, _, x_2, x_3, *_), (y, _, y_2, y_3, *_) = self._sums(p, q)
        return self.points[0] + (x, y), np.array([[-y_2, -y_3], [x_2, x_3]])

    def end_bend(self, p: float, q: float) -> Array:
        """Second derivatives (2, 2, 2) of the end point, by p and q."""
        return np.array([[[-a, -b], [-b, -c]] for *_, a, b, c in self._sums(p, q)])

    def _turned(self, p: float, q: float) -> Array:
        """(2, n - 1) chords of the bent edge."""
        size, angle, powers = self._chords
        angle = angle + p * powers[:, 2] + q * powers[:, 3]
        return np.array([size * np.cos(angle), size * np.sin(angle)])

    def _sums(self, p: float, q: float) -> list[list[float]]:
        """Sums of the bent chords, of x and of y, times each power of v."""
        sums: list[list[float]] = (self._turned(p, q) @ self._chords[2]).tolist()
        return sums


@dataclass(frozen=True)
class CornerTask:
    """One main: its side curve from the hold, and the free part of its crossing edge.

    Attributes
    ----------
    side : Spiral
    held : float
        Length of the seam beyond the hold, mm.
    across : Across
    sign : +1 or -1
        The corner angle is ``sign * (side direction - across direction)``.
    """

    side: Spiral
    held: float
    across: Across
    sign: float


@dataclass(frozen=True)
class Pairing:
    """The conditions between two mains that are sewn together.

    Attributes
    ----------
    ease : float
        mm by which the follower's seam is longer.
    corner_sum : float or None
        Radians that the two corner angles add up to; None leaves the lead's crossing
        edge as it is and lets the angles fall where they will.
    alike : bool
        The follower's side curve takes the lead's shape.
    share : float
        Share of the lead's length by which the follower is longer, beside `ease`.
    lead, follow : int
        Which of the mains.
    """

    ease: float
    corner_sum: float | None
    alike: bool
    share: float = 0.0
    lead: int = 0
    follow: int = 1


@dataclass(frozen=True)
class Solved:
    """Length and turn of a side curve, amplitudes of its crossing edge."""

    length: float
    turn: float
    p: float
    q: float


@dataclass(frozen=True)
class WouldTake:
    """What it would take to join two mains: either of the two, where there is such a one.

    Attributes
    ----------
    pairing : Pairing
    longer_mm : float or None
        By how much more the follower's seam would have to be longer.
    wider : float or None
        Radians by which the corner angles would have to add up to more.
    """

    pairing: Pairing
    longer_mm: float | None
    wider: float | None


class UnsolvedCornersError(ValueError):
    """No corners satisfy the conditions; `miss_mm` is the distance left."""

    def __init__(self, miss_mm: float, would_take: Sequence[WouldTake]) -> None:
        self.miss_mm, self.would_take = miss_mm, tuple(would_take)
        super().__init__(f"{miss_mm:.3f} mm left")


def solve_corners(tasks: Sequence[CornerTask], pairings: Sequence[Pairing]) -> tuple[Solved, ...]:
    """Solve all corners together.

    Parameters
    ----------
    tasks : the mains
    pairings : conditions between two of them; a main without a mate has none

    Returns
    -------
    tuple of Solved, one for each task

    Raises
    ------
    UnsolvedCornersError
        With the distance in mm by which the conditions miss each other.
    """
    problem = _Corners(tasks, pairings)
    answer = solve_problem(problem)
    if not answer.worst < _MET_MM:
        asked = [name for pair in pairings for name in (_length_of(pair), _angles_of(pair))]
        takes = would_take(problem, [name for name in asked if name in problem.names], _MET_MM)
        found = []
        for pair in pairings:
            wider = takes.get(_angles_of(pair), np.inf) / _ARM_MM
            # Beyond a quarter of a turn an edge runs in a loop.
            told = wider if abs(wider) < np.pi / 2 else None
            found.append(WouldTake(pair, takes.get(_length_of(pair)), told))
        raise UnsolvedCornersError(answer.worst, found)
    return tuple(Solved(*(float(v) for v in part)) for part in answer.q.reshape(-1, 4))


@dataclass(frozen=True)
class _Linear:
    """A condition that is linear in the unknowns: ``row @ q`` is to be `wanted`, mm."""

    name: str
    row: Array
    wanted: float


def _state_asked(tasks: Sequence[CornerTask], pairing: Pairing) -> list[_Linear]:
    """What a pair of mains asks for: a length, and a sum of angles or an edge that stays."""
    lead, follow = (4 * pairing.lead, 4 * pairing.follow)
    row, times = np.zeros(4 * len(tasks)), 1.0 + pairing.share
    row[lead], row[follow] = -times, 1.0
    held = times * tasks[pairing.lead].held - tasks[pairing.follow].held
    found = [_Linear(_length_of(pairing), row, held + pairing.ease)]
    if pairing.corner_sum is None:
        for amplitude in (lead + 2, lead + 3):
            row = np.zeros(4 * len(tasks))
            row[amplitude] = _ARM_MM
            found.append(_Linear(f"crossing edge of {pairing.lead}", row, 0.0))
        return found
    row, drawn = np.zeros(4 * len(tasks)), 0.0
    for i in (pairing.lead, pairing.follow):
        task = tasks[i]
        row[4 * i + 1 : 4 * i + 4] = task.sign * np.array([1.0, -1.0, -1.0])
        drawn += wrap_angle(task.sign * (task.side.direction - task.across.end_direction))
    wanted = _ARM_MM * (pairing.corner_sum - drawn)
    return [*found, _Linear(_angles_of(pairing), _ARM_MM * row, wanted)]


def _length_of(pairing: Pairing) -> str:
    return f"length of {pairing.follow} as of {pairing.lead}"


def _angles_of(pairing: Pairing) -> str:
    return f"angles of {pairing.lead} and {pairing.follow}"


@dataclass(frozen=True, eq=False)
class _Corners:
    """The corners of some mains as a problem (`propagate.engine.newton.Problem`)."""

    tasks: Sequence[CornerTask]
    pairings: Sequence[Pairing]

    @property
    def names(self) -> Sequence[str]:
        """The corners, each twice: a point has two coordinates; then what the pairs ask for."""
        meet = [f"corner of {i}" for i in range(len(self.tasks)) for _ in "xy"]
        return [*meet, *(one.name for one in self._linear)]

    @cached_property
    def _linear(self) -> Sequence[_Linear]:
        asked = [one for pairing in self.pairings for one in _state_asked(self.tasks, pairing)]
        # An edge that stays as drawn is asked for once, though it leads in two seams.
        return list({(one.name, one.row.tobytes()): one for one in asked}.values())

    @cached_property
    def linear(self) -> tuple[Array, Array]:
        """Rows and right-hand sides of the conditions that are linear in the unknowns."""
        rows = np.array([one.row for one in self._linear]).reshape(-1, 4 * len(self.tasks))
        return rows, np.array([one.wanted for one in self._linear])

    @property
    def start(self) -> Array:
        """Near the corners as drawn; by straight lines where these are out of reach."""
        found = []
        for task in self.tasks:
            target = task.across.points[-1]
            try:
                size, turn = arc_to(task.side, target)
            except ValueError:
                size, turn = float(np.hypot(*(target - task.side.start))), 0.0
            found += [size, turn, 0.0, 0.0]
        return np.array(found)

    @property
    def aim(self) -> Array:
        """Fair crossing edges, and sides alike; the rest chooses among solutions at most."""
        weights = np.diag(np.tile([1e-9, 1e-6, 0.0, 0.0], len(self.tasks)))
        for i in range(len(self.tasks)):
            weights[4 * i + 2 : 4 * i + 4, 4 * i + 2 : 4 * i + 4] += _BENDING
        for pairing in self.pairings:
            if pairing.alike:
                pull = np.zeros(len(weights))
                pull[4 * pairing.lead + 1] = self.tasks[pairing.lead].sign
                pull[4 * pairing.follow + 1] = -self.tasks[pairing.follow].sign
                weights += _SHAPE_WEIGHT * np.outer(pull, pull)
        return weights

    @property
    def movement(self) -> Array:
        """Mean square movement of straight lines as long as these, mm^2.

        At the share u of a side its length moves it by u along, its turn by ``L u^2 / 2``
        across; an edge of the length W goes ``p W v^3 / 3 + q W v^4 / 4`` across.
        """
        found = np.zeros((4 * len(self.tasks), 4 * len(self.tasks)))
        total = 0.0
        for i, task in enumerate(self.tasks):
            side = float(np.hypot(*(task.across.points[-1] - task.side.start)))
            width = task.across.length
            part = found[4 * i : 4 * i + 4, 4 * i : 4 * i + 4]
            part[0, 0], part[1, 1] = side / 3, side**3 / 20
            part[2:, 2:] = width**3 * np.array([[1 / 63, 1 / 96], [1 / 96, 1 / 144]])
            total += side + width
        return found / total

    def at(self, q: Array) -> _CornersAt:
        """The conditions for some values of the unknowns."""
        return _CornersAt(self, q)


class _CornersAt:
    """The conditions on corners for some values of the unknowns."""

    def __init__(self, problem: _Corners, q: Array) -> None:
        rows, wanted = problem.linear
        self._tasks, self._parts = problem.tasks, q.reshape(-1, 4)
        gap = np.empty(2 * len(self._tasks))
        slope = np.zeros((len(gap), len(q)))
        for i, (task, (size, turn, p, bow)) in self._each():
            side_end, side_by = task.side.end(size, turn)
            across_end, across_by = task.across.end(p, bow)
            gap[2 * i : 2 * i + 2] = side_end - across_end
            slope[2 * i : 2 * i + 2, 4 * i : 4 * i + 2] = side_by
            slope[2 * i : 2 * i + 2, 4 * i + 2 : 4 * i + 4] = -across_by
        self.miss: Array = np.concatenate([gap, rows @ q - wanted])
        self.slopes: Array = np.vstack([slope, rows])

    def _each(self) -> Iterator[tuple[int, tuple[CornerTask, Array]]]:
        return enumerate(zip(self._tasks, self._parts, strict=True))

    def bend(self, multipliers: Array) -> Array:
        """(n, n) curvature of the corners' meeting; all else is linear."""
        found = np.zeros((self._parts.size, self._parts.size))
        for i, (task, (size, turn, p, q)) in self._each():
            x, y = multipliers[2 * i : 2 * i + 2]
            first, middle, last = 4 * i, 4 * i + 2, 4 * i + 4
            side, across = task.side.end_bend(size, turn), task.across.end_bend(p, q)
            found[first:middle, first:middle] = x * side[0] + y * side[1]
            found[middle:last, middle:last] = -x * across[0] - y * across[1]
        return found
