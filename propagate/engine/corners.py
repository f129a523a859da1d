"""Match the side seams and true the crossing edge: all corners solved together.

Where a seam ends on an edge that runs on across it, its corner belongs to both.  For
two mains the conditions are: both curves of each main meet in its corner, the two
seam lengths agree, each crossing edge keeps its length, and the two corner angles add
up to what they should.  Doing one after the other breaks the first; here they are one
system.

Unknowns of each main: length L and turn c of the new side curve (an Euler spiral from
the hold), and two amplitudes p, q by which the free part of the crossing edge is bent
(its direction gets ``p f(v) + q g(v)`` at the share v of its length, with
``f = v^2`` and ``g = v^3``, so it leaves the held part smoothly and *keeps its length
exactly*).  Lengths and angles are then linear in the unknowns; only the meeting
of the curves is not.  The freedom left goes to the fairest crossing edge: the least
change of its curvature, ``integral of (2 p v + 3 q v^2)^2``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from propagate.geometry.spiral import Spiral, spiral_to

__all__ = ["Across", "CornerTask", "Pairing", "Solved", "UnsolvedCornersError", "solve_corners"]

Array = npt.NDArray[np.float64]

_BENDING = np.array([[4 / 3, 3 / 2], [3 / 2, 9 / 5]])
"""Integral of (f', g') times (f', g') over 0..1."""
_SHAPE_WEIGHT = 20.0
"""How much more alike side curves count than a fair crossing edge, in shape mode."""
_STEPS = 60
_MEET_MM = 1e-9


class UnsolvedCornersError(ValueError):
    """No corners satisfy the conditions; `miss_mm` is the distance left."""

    def __init__(self, miss_mm: float) -> None:
        self.miss_mm = miss_mm
        super().__init__(f"{miss_mm:.3f} mm left")


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
        delta = np.diff(self.points, axis=0)
        size = np.hypot(delta[:, 0], delta[:, 1])
        arc = np.concatenate([[0.0], np.cumsum(size)])
        return size, np.arctan2(delta[:, 1], delta[:, 0]), (arc[:-1] + arc[1:]) / 2 / arc[-1]

    def bent(self, p: float, q: float) -> Array:
        """(n, 2) points with the direction changed by ``p v^2 + q v^3``, length kept."""
        size, angle, v = self._chords
        if p == 0.0 and q == 0.0:
            return self.points
        angle = angle + p * v**2 + q * v**3
        out = np.empty_like(self.points)
        out[0] = self.points[0]
        out[1:, 0] = out[0, 0] + np.cumsum(size * np.cos(angle))
        out[1:, 1] = out[0, 1] + np.cumsum(size * np.sin(angle))
        return out

    def end(self, p: float, q: float) -> tuple[Array, Array]:
        """End point (2,) and its derivatives (2, 2) by p and q."""
        size, angle, v = self._chords
        angle = angle + p * v**2 + q * v**3
        dx, dy = size * np.cos(angle), size * np.sin(angle)
        end = self.points[0] + np.array([dx.sum(), dy.sum()])
        f, g = v**2, v**3
        by = np.array([[-(dy * f).sum(), -(dy * g).sum()], [(dx * f).sum(), (dx * g).sum()]])
        return end, by


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
    """The conditions between a lead (index 0) and a follower (index 1).

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
    """

    ease: float
    corner_sum: float | None
    alike: bool
    share: float = 0.0


@dataclass(frozen=True)
class Solved:
    """Length and turn of a side curve, amplitudes of its crossing edge."""

    length: float
    turn: float
    p: float
    q: float


def solve_corners(tasks: Sequence[CornerTask], pairing: Pairing | None) -> tuple[Solved, ...]:
    """Solve all corners together.

    Parameters
    ----------
    tasks : the mains; lead first
    pairing : conditions between the first two; None for a main without a mate

    Returns
    -------
    tuple of Solved, one for each task

    Raises
    ------
    UnsolvedCornersError
        With the distance in mm by which the conditions miss each other.
    """
    unknown = np.concatenate([_start(task) for task in tasks])
    weights = _objective(tasks, pairing)
    rows, wanted = _linear_conditions(tasks, pairing)
    miss = np.inf
    gap, slope = _meeting(tasks, unknown)
    for _ in range(_STEPS):
        conditions = np.vstack([slope, rows])
        values = np.concatenate([gap, rows @ unknown - wanted])
        step = _newton_step(weights, unknown, conditions, values)
        unknown = unknown + step * _damping(step, tasks)
        gap, slope = _meeting(tasks, unknown)
        miss = float(np.abs(np.concatenate([gap, rows @ unknown - wanted])).max())
        # The objective only chooses among solutions: a thousandth of a millimetre
        # of movement between them no longer matters.
        if miss < _MEET_MM and float(np.abs(step[0::4]).max()) < 1e-7:
            break
    if not miss < 1e-6:
        raise UnsolvedCornersError(float(miss))
    return tuple(Solved(*(float(v) for v in unknown[4 * i : 4 * i + 4])) for i in range(len(tasks)))


def _start(task: CornerTask) -> Array:
    """Begin at the corner as drawn; a chord-long straight line when that is out of reach."""
    target = task.across.points[-1]
    try:
        size, turn = spiral_to(task.side, target)
    except ValueError:
        size, turn = float(np.hypot(*(target - task.side.start))), 0.0
    return np.array([size, turn, 0.0, 0.0])


def _objective(tasks: Sequence[CornerTask], pairing: Pairing | None) -> Array:
    count = 4 * len(tasks)
    weights = np.diag(np.tile([1e-9, 1e-6, 0.0, 0.0], len(tasks)))
    for i in range(len(tasks)):
        weights[4 * i + 2 : 4 * i + 4, 4 * i + 2 : 4 * i + 4] += _BENDING
    if pairing is not None and pairing.alike:
        pull = np.zeros(count)
        pull[1], pull[5] = tasks[0].sign, -tasks[1].sign
        weights += _SHAPE_WEIGHT * np.outer(pull, pull)
    return weights


def _linear_conditions(tasks: Sequence[CornerTask], pairing: Pairing | None) -> tuple[Array, Array]:
    """Rows and right-hand sides of the conditions that are linear in the unknowns."""
    count = 4 * len(tasks)
    if pairing is None:
        return np.zeros((0, count)), np.zeros(0)
    lead, follow = tasks[0], tasks[1]
    same_length = np.zeros(count)
    times = 1.0 + pairing.share
    same_length[0], same_length[4] = -times, 1.0
    rows, wanted = [same_length], [times * lead.held - follow.held + pairing.ease]
    if pairing.corner_sum is None:
        for index in (2, 3):
            fixed = np.zeros(count)
            fixed[index] = 1.0
            rows.append(fixed)
            wanted.append(0.0)
    else:
        angles, drawn = np.zeros(count), 0.0
        for i, task in enumerate((lead, follow)):
            angles[4 * i + 1 : 4 * i + 4] = task.sign * np.array([1.0, -1.0, -1.0])
            drawn += _wrap(task.sign * (task.side.direction - task.across.end_direction))
        # millimetre-sized rows keep the system well scaled
        rows.append(100.0 * angles)
        wanted.append(100.0 * (pairing.corner_sum - drawn))
    return np.array(rows), np.array(wanted)


def _wrap(angle: float) -> float:
    return float(np.arctan2(np.sin(angle), np.cos(angle)))


def _meeting(tasks: Sequence[CornerTask], unknown: Array) -> tuple[Array, Array]:
    """Gaps between side curve and crossing edge, and their derivatives."""
    gap = np.empty(2 * len(tasks))
    slope = np.zeros((2 * len(tasks), 4 * len(tasks)))
    for i, task in enumerate(tasks):
        size, turn, p, q = unknown[4 * i : 4 * i + 4]
        side_end, side_by = task.side.end(size, turn)
        across_end, across_by = task.across.end(p, q)
        gap[2 * i : 2 * i + 2] = side_end - across_end
        slope[2 * i : 2 * i + 2, 4 * i : 4 * i + 2] = side_by
        slope[2 * i : 2 * i + 2, 4 * i + 2 : 4 * i + 4] = -across_by
    return gap, slope


def _newton_step(weights: Array, unknown: Array, conditions: Array, values: Array) -> Array:
    """Step of least objective that satisfies the linearised conditions."""
    count, held = len(unknown), len(values)
    system = np.zeros((count + held, count + held))
    system[:count, :count] = weights
    system[:count, count:] = conditions.T
    system[count:, :count] = conditions
    right = np.concatenate([-weights @ unknown, -values])
    try:
        solution = np.linalg.solve(system, right)
    except np.linalg.LinAlgError:
        solution = np.linalg.lstsq(system, right, rcond=None)[0]
    return np.asarray(solution[:count])


def _damping(step: Array, tasks: Sequence[CornerTask]) -> float:
    """Keep a step below half a radian and below a third of a side's length."""
    turns = np.abs(step.reshape(len(tasks), 4)[:, 1:]).max()
    return float(min(1.0, 0.5 / max(turns, 1e-12)))
