"""Fair curves: segments of the Euler spiral.

Along an Euler spiral the curvature changes in a straight line with the distance
(Levien, thesis UCB 2009), so a segment has no curvature peak inside, and at most one
inflection.  A segment is given by its start, its first direction, its length, its
total turn and its *taper*: the share by which the curvature at the start exceeds the
mean.  Taper 0 is a circular arc.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.directions import wrap_angle
from propagate.values import dataclass

__all__ = ["Spiral", "arc_to", "fit_taper", "spiral_to"]

TAPER_LIMITS = (-0.3, 0.5)
"""Within these the largest curvature is at most 1.45 times that of the plain arc
between the same end conditions: ``(1 + |b|) / (1 + b/3)`` for small turns."""


@dataclass(frozen=True)
class Spiral:
    """A segment of an Euler spiral as a polyline of equal chords.

    Attributes
    ----------
    start : (2,) array, mm
    direction : float
        Direction of travel at the start, radians.
    """

    start: Array
    direction: float
    taper: float
    chords: int

    @cached_property
    def profile(self) -> Array:
        """(chords,) share of the total turn reached at the middle of each chord."""
        u = (np.arange(self.chords) + 0.5) / self.chords
        out: Array = u + self.taper * u * (1.0 - u)
        return out

    def points(self, length: float, turn: float) -> Array:
        """Return (chords + 1, 2) points of the segment, mm."""
        angle = self.direction + turn * self.profile
        step = length / self.chords
        out = np.empty((self.chords + 1, 2))
        out[0] = self.start
        out[1:, 0] = self.start[0] + np.cumsum(step * np.cos(angle))
        out[1:, 1] = self.start[1] + np.cumsum(step * np.sin(angle))
        return out

    @cached_property
    def _powers(self) -> Array:
        """(chords, 3) powers 0 to 2 of the profile, so that sums over them are means."""
        return np.vander(self.profile, 3, increasing=True) / self.chords

    def _means(self, turn: float) -> Array:
        """Return (2, 3) means of the chords' directions, times each power of the profile."""
        angle = self.direction + turn * self.profile
        return np.array([np.cos(angle), np.sin(angle)]) @ self._powers

    def end(self, length: float, turn: float) -> tuple[Array, Array]:
        """End point (2,) and its derivatives (2, 2) by length and by turn."""
        (cos, cos_1, _), (sin, sin_1, _) = self._means(turn).tolist()
        x, y = self.start
        by = np.array([[cos, -length * sin_1], [sin, length * cos_1]])
        return np.array([x + length * cos, y + length * sin]), by

    def end_bend(self, length: float, turn: float) -> Array:
        """Return second derivatives (2, 2, 2) of the end point, by length and by turn."""
        (_, cos_1, cos_2), (_, sin_1, sin_2) = self._means(turn).tolist()
        return np.array(
            [[[0.0, -sin_1], [-sin_1, -length * cos_2]], [[0.0, cos_1], [cos_1, -length * sin_2]]]
        )


def fit_taper(lengths: Array, angles: Array) -> float | None:
    """Return the taper of a polyline from its chord lengths and directions.

    Returns
    -------
    float or None
        Clipped to `TAPER_LIMITS`; None when the polyline turns by less than 3 degrees,
        where a taper has no meaning.
    """
    arc = np.concatenate([[0.0], np.cumsum(lengths)])
    u = (arc[:-1] + arc[1:]) / 2 / arc[-1]
    # direction = a + turn * (u + b u (1 - u)), linear in a, turn and turn * b
    basis = np.column_stack([np.ones_like(u), u, u * (1 - u)])
    weights = np.sqrt(lengths)
    if len(u) < 3:
        return None
    (_, turn, curl), *_ = np.linalg.lstsq(basis * weights[:, None], angles * weights, rcond=None)
    if abs(turn) < np.radians(3.0):
        return None
    return float(np.clip(curl / turn, *TAPER_LIMITS))


def arc_to(spiral: Spiral, target: Array) -> tuple[float, float]:
    """Return the length and turn of the circular arc from a segment's start to `target`.

    Its turn is twice the angle between the first direction and the chord.

    Raises
    ------
    ValueError
        When there is no such arc that turns by less than about half a circle.
    """
    chord = target - spiral.start
    distance = float(np.hypot(*chord))
    lean = wrap_angle(np.arctan2(chord[1], chord[0]) - spiral.direction)
    if distance < 1e-9 or abs(lean) > np.radians(80):
        raise ValueError("the end lies behind the start: no fair curve leads there")
    size = distance if abs(lean) < 1e-9 else distance * lean / float(np.sin(lean))
    return size, 2 * lean


def spiral_to(spiral: Spiral, target: Array) -> tuple[float, float]:
    """Return the length and turn with which a segment ends at `target`.

    Newton's method from the circular arc.

    Raises
    ------
    ValueError
        When there is no such segment with a turn below half a circle.
    """
    size, turn = arc_to(spiral, target)
    for _ in range(30):
        end, by = spiral.end(size, turn)
        miss = target - end
        if float(np.hypot(*miss)) < 1e-10:
            return size, turn
        step = np.linalg.solve(by, miss)
        size, turn = size + float(step[0]), turn + float(step[1])
    raise ValueError("no fair curve was found")
