"""Followers as a problem: lines that hang on unknowns, and the lengths that are asked of them.

Unknowns ``q`` move the vertices of some lines linearly.  Asked is the smallest movement,
measured as the mean square along whole edges, for which every run has its length.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np

from propagate.geometry.arrays import Array, Indices
from propagate.values import dataclass

__all__ = ["Length", "Line", "LineLengths"]

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
    unknowns: Indices
    slope: Array

    def shift(self, q: Array) -> Array:
        """Return (n, 2) movement of the vertices for the values of all unknowns."""
        return np.asarray(self.slope @ q[self.unknowns])


@dataclass(frozen=True)
class Length:
    """A condition: the lengths of stretches of lines add up to `wanted`, mm.

    Attributes
    ----------
    stretches : sequence of (line, first vertex, last vertex, sign)
        A sign of -1 counts a stretch as that of a lead which moves as well.
    name : str
        What asks for it.
    """

    stretches: Sequence[tuple[int, int, int, float]]
    wanted: float
    name: str = ""


@dataclass(frozen=True, eq=False)
class LineLengths:
    """Lines, the conditions on them, and the number of unknowns (`engine.newton.Problem`)."""

    lines: Sequence[Line]
    lengths: Sequence[Length]
    count: int

    @property
    def names(self) -> Sequence[str]:
        """What asks for each length."""
        return [length.name for length in self.lengths]

    @property
    def start(self) -> Array:
        """Nothing has moved."""
        return np.zeros(self.count)

    @property
    def aim(self) -> Array:
        """The least movement."""
        return self.movement

    @cached_property
    def movement(self) -> Array:
        """(n, n) matrix of the movement: its mean square along the lines, in mm^2 a mm."""
        weight = np.zeros((self.count, self.count))
        total = 0.0
        for line in self.lines:
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
        return np.asarray(weight + 1e-9 * np.eye(self.count))

    def at(self, q: Array) -> _Moved:
        """Return the lengths for some values of the unknowns."""
        return _Moved(self, q)


@dataclass(frozen=True)
class _Stretch:
    """A stretch of a line where it came to lie: its chords' directions and lengths.

    `by` holds the movement of each chord by the unknowns of the line.
    """

    row: int
    sign: float
    unknowns: Indices
    along: Array
    size: Array
    by: Array


class _Moved:
    """The lengths, and what they do, for some values of the unknowns."""

    def __init__(self, problem: LineLengths, q: Array) -> None:
        self._problem = problem
        self._moved: dict[int, Array] = {}
        self._q = q
        self.miss: Array = np.array([-length.wanted for length in problem.lengths])
        self._stretches = list(self._laid())
        for part in self._stretches:
            self.miss[part.row] += part.sign * float(part.size.sum())

    def _laid(self) -> Iterator[_Stretch]:
        for row, condition in enumerate(self._problem.lengths):
            for index, first, last, sign in condition.stretches:
                line = self._problem.lines[index]
                if index not in self._moved:
                    self._moved[index] = line.points + line.shift(self._q)
                delta = np.diff(self._moved[index][first : last + 1], axis=0)
                size = np.maximum(np.hypot(delta[:, 0], delta[:, 1]), _TINY_MM)
                along = delta / size[:, None]
                by = line.slope[first + 1 : last + 1] - line.slope[first:last]
                yield _Stretch(row, sign, line.unknowns, along, size, by)

    @cached_property
    def slopes(self) -> Array:
        """(m, n) derivatives of the lengths."""
        found = np.zeros((len(self.miss), self._problem.count))
        for part in self._stretches:
            if len(part.unknowns):
                along = np.einsum("ij,ijk->k", part.along, part.by)
                found[part.row, part.unknowns] += part.sign * along
        return found

    def bend(self, multipliers: Array) -> Array:
        """Return (n, n) curvature of the lengths, each by its multiplier."""
        found = np.zeros((self._problem.count, self._problem.count))
        for part in self._stretches:
            if len(part.unknowns):
                across = part.along[:, ::-1] * (-1.0, 1.0)
                turn = np.einsum("ij,ijk->ik", across, part.by)
                bent = part.sign * multipliers[part.row] * (turn.T / part.size) @ turn
                found[np.ix_(part.unknowns, part.unknowns)] += bent
        return found
