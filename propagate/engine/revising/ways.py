"""Ways in which a revised piece may lie on the old one: by whole edges, or by stretches of them.

Edges that were not changed agree on how the piece lies.  A layer that was re-cut has often kept a
part of every edge and no edge in full: every edge is tried from its start and from its end, the
motion on which most of the outline lies on the old one wins, and is then refined by all the
stretches that lie there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import length, locate_all, points_at, sample_line
from propagate.pattern.model import Edge

__all__ = ["EXACT_MM", "lay_by_edges", "lay_by_stretches", "refine_motion"]

Array = npt.NDArray[np.float64]

_STEP_MM = 3.0
MOST_SAMPLES = 20_000
"""Samples of one edge at most; at 3 mm that is an edge of 60 m."""
_ROUNDS = 10
_FEW = 6
EXACT_MM = 1e-6
"""What lies this close was not drawn anew: digits that a frame of its own leaves, mm."""
_LEAST_MM = 20.0
"""Stretches that agree must be at least this long together ..."""
_LEAST_SHARE = 0.1
"""... and this share of the outline."""


def lay_by_edges(
    source: Sequence[Array],
    target: Sequence[Array],
    close: Sequence[int],
    reaches: Sequence[float],
) -> list[tuple[list[int], Motion, float]]:
    """Find the ways in which the piece lies so that edges agree.

    An edge that only happens to be as long as the old one must not push out those that
    were not changed, so where not all agree, each is asked in turn how the piece lies.

    Parameters
    ----------
    source, target : sequences of (k, 2) arrays, mm
        Each new edge and the old one it may be, at the same shares of their lengths.
    close : sequence of int
        The edges that come into question: those about as long as before.
    reaches : sequence of float
        mm within which edges agree, the widest first.  Where not all lie closest, edges are
        asked at each for those that do: a change of some tenths or hundredths must not be
        shared between what was changed and what was not.

    Returns
    -------
    list of (kept, motion, residual)
        The edges that agree, the motion that lays the new ones on the old ones, and the
        largest distance left, mm.  Empty when none agrees.
    """
    found: dict[tuple[int, ...], tuple[list[int], Motion, float]] = {}
    alone: dict[int, tuple[Motion, float]] = {}
    for reach in reaches:
        kept, motion, residual = _fit_within(source, target, list(close), reach)
        if kept:
            found.setdefault(tuple(kept), (kept, motion, residual))
        if len(kept) == len(close):
            if residual <= reaches[-1]:
                break
            continue
        alone = alone or {i: fit(source[i], target[i]) for i in close}
        for motion, residual in alone.values():
            if residual > reach:
                continue
            with_it = [i for i in close if _measure_gap(motion, source[i], target[i]) <= 2 * reach]
            kept, by_them, residual = _fit_within(source, target, with_it, reach)
            if kept:
                found.setdefault(tuple(kept), (kept, by_them, residual))
    return list(found.values())


def _fit_within(
    source: Sequence[Array], target: Sequence[Array], close: list[int], limit: float
) -> tuple[list[int], Motion, float]:
    """Lay by these edges, and leave out the worst until all lie within the limit."""
    while close:
        motion, residual = fit(
            np.vstack([source[i] for i in close]), np.vstack([target[i] for i in close])
        )
        gaps = [_measure_gap(motion, source[i], target[i]) for i in close]
        if max(gaps) <= limit:
            return close, motion, residual
        close = [i for i, gap in zip(close, gaps, strict=True) if gap < max(gaps)]
    return [], Motion(), np.inf


def _measure_gap(motion: Motion, source: Array, target: Array) -> float:
    return float(np.hypot(*(motion.apply(source) - target).T).max())


class _Samples:
    """Points every few millimetres along the new edges, each with its old edge."""

    def __init__(self, old: Sequence[Edge], new: Sequence[Edge]) -> None:
        self.old = [edge.points for edge in old]
        self.new = []
        for edge in new:
            steps = min(np.ceil(length(edge.points) / _STEP_MM), MOST_SAMPLES)
            self.new.append(sample_line(edge.points, max(int(steps), 4) + 1))

    def find_nearest(self, motion: Motion) -> tuple[Array, Array, Array]:
        """Samples, the nearest points on their old edges, and the gaps."""
        targets, gaps = [], []
        for line, points in zip(self.old, self.new, strict=True):
            along, gap = locate_all(line, motion.apply(points))
            targets.append(points_at(line, along))
            gaps.append(gap)
        return np.vstack(self.new), np.vstack(targets), np.concatenate(gaps)


def refine_motion(
    old: Sequence[Edge],
    new: Sequence[Edge],
    motion: Motion,
    tolerance: float,
    near: float,
    agreeing: Sequence[int] = (),
    noise: float = 0.0,
) -> Motion:
    """Improve a motion by everything that lies on the old edges, also parts of edges.

    Parameters
    ----------
    old, new : sequences of Edge
        In outline order, partners beside each other.
    motion : Motion
        The new edges' frame to the old one.
    tolerance, near : float
        mm within which a point lies on its old edge at the end, and at the beginning.
    agreeing : sequence of int
        Edges that agree as a whole; empty when none does.
    noise : float
        mm by which the decimals of the drawing may have moved what agrees; 0 when unknown.
    """
    samples = _Samples(old, new)
    sure = np.concatenate(
        [np.full(len(p), not agreeing or i in agreeing) for i, p in enumerate(samples.new)]
    )
    reach, least = near, min(near, noise or tolerance)
    for _ in range(_ROUNDS):
        source, target, gaps = samples.find_nearest(motion)
        there = gaps <= reach
        if there.sum() < _FEW or np.ptp(target[there], axis=0).max() < _LEAST_MM:
            break
        known, motion = (reach, motion), fit(source[there], target[there])[0]
        reach = max(least, reach / 2)
        if (reach, motion) == known:  # every further round would say the same
            break
    # Where a change begins it departs by less than the tolerance at first: in the end only
    # what lies as well as most of what agrees does counts.
    for _ in range(_ROUNDS):
        source, target, gaps = samples.find_nearest(motion)
        near_by = gaps[sure & (gaps <= tolerance)]
        if len(near_by) < _FEW:
            break
        there = gaps <= (noise or max(4.0 * float(np.median(near_by)), EXACT_MM))
        if np.ptp(target[there], axis=0).max() < _LEAST_MM:
            break
        before, motion = motion, fit(source[there], target[there])[0]
        if motion == before:
            break
    return motion


def lay_by_stretches(
    old: Sequence[Edge], new: Sequence[Edge], tolerance: float
) -> tuple[Motion, float] | None:
    """The motion on which most of the new outline lies on the old one, and its mm."""
    samples = _Samples(old, new)
    total = sum(edge.length for edge in old)
    best: tuple[float, Motion] | None = None
    for start in _find_starts(old, new):
        motion = refine_motion(old, new, start, tolerance, 1.0)
        _, _, gaps = samples.find_nearest(motion)
        agreeing = float((gaps <= tolerance).sum() * _STEP_MM)
        if best is None or agreeing > best[0]:
            best = agreeing, motion
    if best is None or best[0] < max(_LEAST_MM, _LEAST_SHARE * total):
        return None
    return best[1], best[0]


def _find_starts(old: Sequence[Edge], new: Sequence[Edge]) -> Iterator[Motion]:
    """As it lies, and motions that lay the beginning, or the end, of an edge on its partner's."""
    yield Motion()
    for was, now in zip(old, new, strict=True):
        size = 0.6 * min(was.length, now.length)
        if size < 4.0:
            continue
        places = np.linspace(0.0, size, 12)
        for flip in (1, -1):
            lines = [edge.points[::flip] for edge in (now, was)]
            source, target = (points_at(line, places) for line in lines)
            motion, _ = fit(source, target)
            yield motion
