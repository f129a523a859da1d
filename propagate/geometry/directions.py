"""Read the direction of a polyline at its ends and inside it.

A polyline stands for a curve.  A short chord has the curve's direction at its middle.  A
long chord may be a chord of a curve or a straight line that a curve runs into; which of the
two is told by how the line bends before and behind it, never by a limit that one digit of a
coordinate could cross: every weight here is continuous in the points.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Final, Literal, NamedTuple

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.fade import smoothstep
from propagate.geometry.polyline import arc_lengths, arc_of, chord_angles, continuous_angles
from propagate.tolerances import DRAWN_MM, TANGENT_WINDOW_MM
from propagate.values import dataclass

__all__ = ["alike_at", "direction_at", "end_direction", "wrap_angle"]

End = Literal["start", "end"]

_MOST_CHORDS: Final = 400
"""A long edge is not measured whole."""
_HARDLY_MM: Final = 0.5
_SURELY_MM: Final = 2.0
"""A stretch shorter than the first has no direction of its own, one of the second has."""
_STRAIGHT: Final = 4
"""A chord of so many windows is a straight line."""
_CORNER_DEG: Final = (12.0, 18.0)
"""Turn along a coarse chord above which its ends are corners and no curve's."""


def wrap_angle(angle: float) -> float:
    """Return the same direction as an angle from -π to π, radians."""
    return float(np.arctan2(np.sin(angle), np.cos(angle)))


def _ramp_value(value: float, low: float, high: float) -> float:
    """Return 0 below `low`, 1 above `high`, `smoothstep` between."""
    if value <= low:
        return 0.0
    if value >= high:
        return 1.0
    share = (value - low) / (high - low)
    return share * share * (3.0 - 2.0 * share)


class _Stretch(NamedTuple):
    """Mean direction of a part of a polyline, and the place where the curve has it, mm."""

    angle: float
    place: float
    size: float


_NOWHERE: Final = _Stretch(0.0, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class _Chords:
    """Chords of a polyline: lengths, directions (radians), middles, distances of the ends."""

    lengths: Array
    angles: Array
    middles: Array
    ends: Array

    @classmethod
    def of(cls, points: Array, window: float) -> _Chords:
        """Take those at the start of a polyline by which its direction there is told."""
        delta = points[1:] - points[:-1]
        lengths = np.hypot(delta[:, 0], delta[:, 1])
        ends = arc_of(lengths)
        count = _points_seen(ends, window) - 1
        ends = ends[: count + 1]
        angles = continuous_angles(delta[:count])
        return cls(lengths[:count], angles, (ends[:-1] + ends[1:]) / 2, ends)

    @cached_property
    def told(self) -> tuple[list[float], list[float], list[float], list[float]]:
        """Lengths, directions, middles and ends for a look at a few chords one by one."""
        of = (self.lengths, self.angles, self.middles, self.ends)
        lengths, angles, middles, ends = (values.tolist() for values in of)
        return lengths, angles, middles, ends

    def _parts_within(self, low: float, high: float) -> Iterator[tuple[int, float]]:
        """Return the chords between two distances, and how much of each lies there, mm."""
        ends = self.told[3]
        for k in range(max(bisect_right(ends, low) - 1, 0), len(ends) - 1):
            begin, end = ends[k], ends[k + 1]
            if begin >= high:
                break
            within = (end if end < high else high) - (begin if begin > low else low)
            if within > 0.0:
                yield k, within

    def stretch(self, low: float, high: float) -> _Stretch:
        """Return the chords between two distances, each weighing by what of it lies there."""
        _, angles, middles, _ = self.told
        angle = place = size = 0.0
        for k, within in self._parts_within(low, high):
            angle += within * angles[k]
            place += within * middles[k]
            size += within
        return _Stretch(angle / size, place / size, size) if size else _NOWHERE

    def typical(self, low: float, high: float) -> float:
        """Return the length of a chord between two distances, mm, twice that at most."""
        lengths, most = self.told[0], 2 * (high - low)
        whole = size = 0.0
        for k, within in self._parts_within(low, high):
            whole += within * (lengths[k] if lengths[k] < most else most)
            size += within
        return whole / max(size, _HARDLY_MM)


def _measure_bend(first: _Stretch, second: _Stretch) -> tuple[float, float]:
    """Measure the curvature between two stretches, 1/mm, and how far to rely on it, 0 to 1."""
    apart = second.place - first.place
    relied = _ramp_value(min(first.size, second.size, abs(apart)), _HARDLY_MM, _SURELY_MM)
    return ((second.angle - first.angle) / apart if relied > 0.0 else 0.0), relied


def _bend_beside(
    chords: _Chords, here: _Stretch, low: float, high: float, window: float
) -> tuple[float, float]:
    """Read a chord's curvature from the line before or behind it, and how far to rely on it.

    It is the bend at the chord's end, `u`.  Where a straight line meets an arc, that is half
    of the arc's bend `v` or less; where an arc goes on, it is the arc's.  So, of a chord that
    may be straight, it is ``2 u - v``, between nothing and `u`.  A chord may be straight that
    is much longer than those beside it, or whose bow would be more than drawings leave out.

    Parameters
    ----------
    low, high : float
        The stretch beside the chord, as long as the chord; `high` < `low` behind it, mm.
    """
    size, sense = here.size, 1.0 if high > low else -1.0
    room = abs(high - low)
    if not room:
        return 0.0, 0.0
    typical = chords.typical(min(low, high), max(low, high))
    times = size / typical if typical else 0.0
    # Rounding counts the less the longer the stretch; among short chords a line shows nearby.
    alike = room * (1.0 - _ramp_value(times, 2.0, 4.0))
    reach = min(max(typical, alike, window / 5), room if sense > 0 else room / 2)
    near, far = low + sense * reach, low + sense * 2 * reach
    first = chords.stretch(*((low, near) if sense > 0 else (near, low)))
    bend, relied = _measure_bend(here, first)
    if not relied:
        return 0.0, 0.0
    second = chords.stretch(*((near, far) if sense > 0 else (far, near)))
    beyond, sure = _measure_bend(first, second)
    limited = min(max(2.0 * bend - beyond, min(bend, 0.0)), max(bend, 0.0))
    limited *= 1.0 - _ramp_value(times, 5.0, 10.0)
    longer = _ramp_value(times, 2.0, 3.0)
    bowed = _ramp_value(abs(bend) * size**2 / 8, DRAWN_MM / 2, 2 * DRAWN_MM)
    return bend + sure * max(longer, bowed) * (limited - bend), relied


def _own_turn(chords: _Chords, k: int, window: float) -> float:
    """Turn of the curve on the first half of a chord, radians: none on a straight line."""
    lengths, angles, middles, ends = chords.told
    begin, end, size = ends[k], ends[k + 1], lengths[k]
    # Coarse chords may meet at a corner.
    curved = 1.0 - _ramp_value(size, 3 * window, _STRAIGHT * window)
    if not curved:
        return 0.0
    here = _Stretch(angles[k], middles[k], size)
    bend, relied = _bend_beside(chords, here, begin, max(begin - size, 0.0), window)
    if relied < 1.0:  # the first chord, or one behind a stub
        ahead, sure = _bend_beside(chords, here, end, end + size, window)
        bend = relied * bend + (1.0 - relied) * sure * ahead
    corner = _ramp_value(math.degrees(abs(bend) * size), *_CORNER_DEG)
    return bend * size / 2 * curved * (1.0 - corner * _ramp_value(size, window / 2, window))


def _fit_direction(distance: Array, angles: Array, weights: Array) -> float:
    """Return the direction at distance 0 by a weighted straight-line fit (exact on an arc)."""
    if len(angles) == 1:
        return float(angles[0])
    total = weights.sum()
    mean_d, mean_a = weights @ distance / total, weights @ angles / total
    off = distance - mean_d
    leaning = weights * off
    slope = (leaning @ (angles - mean_a)) / (leaning @ off)
    return float(mean_a - slope * mean_d)


def end_direction(
    points: Array, end: End, *, turns: Sequence[int] = (), window: float = TANGENT_WINDOW_MM
) -> float:
    """Return the direction of travel at an end of a polyline, radians.

    The chords of the last `window` mm (never across a turn point) are fitted by a straight
    line of direction against distance, each weighing by what of it lies in the window, the
    nearest most, and read at the end: exact on a circular arc, where the last chord alone is
    off by half its turning, and on an arc that a straight line goes on from.  What bends is
    read from two chords or more: one chord before a line has its own direction.

    It is continuous: points that move by a little turn it by a little, about the angle by
    which they turn the chords in the window.

    Parameters
    ----------
    points : (n, 2) array
    end : "start" or "end"
    turns : indices of vertices that are corners inside the polyline
    window : mm
    """
    head = _take_head(points, end, turns, window)
    if len(head) == 2:
        dx, dy = head[1] - head[0]
        direction = float(np.arctan2(dy, dx))
    else:
        direction = _start_direction(_Chords.of(head, window), window)
    return direction if end == "start" else direction + np.pi


def alike_at(
    first: Array, second: Array, end: End, *, turns: tuple[Sequence[int], Sequence[int]]
) -> bool:
    """Tell whether `end_direction` reads the same points of two polylines, digit for digit."""
    at = 0 if end == "start" else -1
    if first[at].tolist() != second[at].tolist():
        return False
    one, other = (
        _take_head(points, end, corners, TANGENT_WINDOW_MM)
        for points, corners in zip((first, second), turns, strict=True)
    )
    counts = [_points_seen(arc_lengths(head), TANGENT_WINDOW_MM) for head in (one, other)]
    return np.array_equal(one[: counts[0]], other[: counts[1]])


def _take_head(points: Array, end: End, turns: Sequence[int], window: float) -> Array:
    """Take points of a polyline from an end on, as far as they may tell its direction there."""
    if end == "end":
        last = len(points) - 1
        points, turns = points[::-1], [last - turn for turn in turns]
    dx, dy = points[1] - points[0]
    if np.hypot(dx, dy) >= _STRAIGHT * window:
        return points[:2]
    stop = min([turn for turn in turns if turn > 0], default=len(points) - 1)
    return points[: min(stop, _MOST_CHORDS) + 1]


def _points_seen(ends: Array, window: float) -> int:
    """Tell how many vertices are looked at, of those at some distances from an end.

    A chord that begins in the window is compared with what lies beside it, twice its length.
    """
    seen = ends[max(int(ends[:-1].searchsorted(window)), 1)]
    return int(ends.searchsorted(3 * seen)) + 1


def _start_direction(chords: _Chords, window: float) -> float:
    count = max(int(chords.ends[:-1].searchsorted(window)), 1)
    if not chords.ends[count]:
        return float(chords.angles[0])
    begins = chords.ends[:count]
    inside = np.minimum(chords.ends[1 : count + 1], window) - begins
    lengths, angles = chords.lengths[:count], chords.angles[:count]
    # A short chord is read at its middle, a long one at its beginning, less its own turn.
    long = smoothstep((lengths - window / 3) / (2 * window / 3 - window / 3))
    brief = 1.0 - long
    # Short chords of like lengths: their number, about.  Two tell how the curve bends.
    short = inside * brief
    number = float(short.sum()) ** 2 / (float(short @ short) + 1.0)
    fitted = _ramp_value(number, 1.3, 1.8)
    turned = np.zeros(count)
    for k, (share, begin) in enumerate(zip(long.tolist(), begins.tolist(), strict=True)):
        if share > 0.0 or (fitted < 1.0 and begin < _SURELY_MM):
            turned[k] = _own_turn(chords, k, window)
    direction = 0.0
    if fitted > 0.0:
        near = inside * (1.0 - (begins + inside / 2) / window) ** 2
        places = begins + brief * lengths / 2
        direction = fitted * _fit_direction(places, angles - long * turned, near)
    if fitted < 1.0:
        first = np.maximum(np.minimum(inside, _SURELY_MM - begins), 0.0)
        direction += (1.0 - fitted) * float(first @ (angles - turned)) / float(first.sum())
    return direction


def direction_at(points: Array, distance: float, *, window: float = TANGENT_WINDOW_MM) -> float:
    """Return the direction of travel at a distance from the start, radians.

    Fitted to the chords within `window` on both sides.
    """
    arc = arc_lengths(points)
    seen = np.minimum(np.maximum(arc, distance - window), distance + window)
    used = (seen[1:] > seen[:-1]).nonzero()[0]
    if not len(used):
        used = np.array([0 if distance <= 0 else len(points) - 2])
    first, last = int(used[0]), int(used[-1]) + 2
    _, angles = chord_angles(points[first:last])
    low, high = seen[first : last - 1], seen[first + 1 : last]
    return _fit_direction((low + high) / 2 - distance, angles, high - low)
