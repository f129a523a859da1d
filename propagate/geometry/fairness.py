"""How fair a curve is: inflections, curvature peaks, smallest radius."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import field
from functools import cached_property

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.directions import end_direction
from propagate.geometry.polyline import arc_lengths, chord_angles
from propagate.values import dataclass

__all__ = ["Fairness", "arc_curvature", "count_turnings", "measure_fairness"]

STRAIGHT = 1 / 5000
"""A curvature below this (a bow of 1 mm over 200 mm) counts as straight, 1/mm."""
FINEST_MM = 1.0
"""Directions are read over stretches of at least this."""
REVERSAL_DEG = 0.5
"""A change of bend counts when the curve turns back by more than this."""


@dataclass(frozen=True)
class Fairness:
    """Measures of one curve.

    Attributes
    ----------
    inflections : int
        Changes of the side to which the curve bends.
    peaks : int
        Separate maxima of the curvature.
    max_curvature : float
        1/mm, over stretches of 10 mm.
    line : (n, 2) array
        What was measured.
    """

    inflections: int
    peaks: int
    max_curvature: float
    line: Array = field(repr=False, compare=False)

    @cached_property
    def turn_deg(self) -> float:
        """Total turn from the tangent at the start to that at the end, degrees."""
        points = self.line
        _, angles = chord_angles(points)
        first = angles[0] - end_direction(points, "start")
        last = end_direction(points, "end") - angles[-1]
        ends = np.angle(np.exp(1j * first)) + np.angle(np.exp(1j * last))
        return float(np.degrees(angles[-1] - angles[0] + ends))


def count_turnings(values: Array, threshold: float) -> int:
    """Count how often a sequence turns back by more than `threshold`."""
    count, trend = 0, 0
    low = high = float(values[0])
    for value in values.tolist():
        if trend >= 0 and value < high - threshold:
            count += trend > 0
            trend, low, high = -1, value, value
        elif trend <= 0 and value > low + threshold:
            count += trend < 0
            trend, low, high = 1, value, value
        high, low = max(high, value), min(low, value)
    return count


def _thin_points(points: Array) -> Array:
    """Drop vertices nearer than `FINEST_MM` to the one kept before.

    A chord of a hundredth of a millimetre has hardly a direction: the last decimal of
    its ends turns it by degrees.
    """
    arc = arc_lengths(points)
    if np.diff(arc).min() >= FINEST_MM:
        return points
    places = arc.tolist()
    last = len(places) - 1
    rows = [0]
    while (row := bisect_left(places, places[rows[-1]] + FINEST_MM)) < last:
        rows.append(row)
    if len(rows) > 1 and places[-1] - places[rows[-1]] < FINEST_MM:
        rows.pop()
    return points[[*rows, last]]


def measure_fairness(points: Array, *, step: float = 10.0) -> Fairness:
    """Measure a polyline as the curve it stands for.

    Directions are read at places `step` mm apart (fewer on a short curve), so that
    rounding of coordinates does not count as curvature.
    """
    line = points
    points = _thin_points(points)
    _, angles = chord_angles(points)
    arc = arc_lengths(points)
    middle = (arc[:-1] + arc[1:]) / 2
    knots = max(round(float(arc[-1]) / step), 2)
    places = np.linspace(middle[0], middle[-1], knots + 1)
    direction = np.interp(places, middle, angles)
    span = places[1] - places[0]
    if span <= 0:
        return Fairness(0, 0, 0.0, line)
    curvature = np.diff(direction) / span
    size = np.abs(curvature)
    biggest = float(size.max())
    # Between two bends that go opposite ways the curvature is 0, sampled there or not.
    flips = np.flatnonzero(curvature[1:] * curvature[:-1] < 0.0) + 1
    padded = np.concatenate([[0.0], np.insert(size, flips, 0.0), [0.0]])
    # A peak is a maximum that stands out by a fifth of the largest curvature.
    ups = count_turnings(padded, 0.2 * biggest) if biggest > STRAIGHT else 0
    peaks = (ups + 1) // 2
    return Fairness(
        inflections=count_turnings(angles, np.radians(REVERSAL_DEG)),
        peaks=peaks,
        max_curvature=biggest if biggest > 1e-9 else 0.0,
        line=line,
    )


def arc_curvature(start: Array, direction: float, end: Array) -> float:
    """Return the curvature of the circular arc from `start` in `direction` to `end`, 1/mm.

    The arc's chord leans by half its turn: ``k = 2 sin(lean) / chord``.
    """
    chord = end - start
    lean = np.arctan2(chord[1], chord[0]) - direction
    return float(abs(2.0 * np.sin(lean)) / np.hypot(*chord))
