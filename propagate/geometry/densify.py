"""Add points to a coarse polyline, on the smooth curve that it stands for."""

from __future__ import annotations

import numpy as np

from propagate.geometry.arrays import Array, Indices
from propagate.geometry.polyline import chord_angles

__all__ = ["densify_smoothly", "densify_with_vertices"]

MOST_POINTS = 100_000
"""Points that are added at most: at 2 mm a line of 200 m.  A longer one gets longer chords."""
_UNLIKE = 3.0
"""Chords of one curve are drawn with one chord error, and their length goes with its root:
where a chord is longer than its neighbour by more, the line was drawn straight there."""


def densify_smoothly(points: Array, step: float, *, corner: float = np.radians(10.0)) -> Array:
    """Add points so that no chord is longer than `step`; see `densify_with_vertices`."""
    return densify_with_vertices(points, step, corner=corner)[0]


def densify_with_vertices(
    points: Array, step: float, *, corner: float = np.radians(10.0)
) -> tuple[Array, Indices]:
    """Add points so that no chord is longer than `step`, on the curve that is meant.

    A coarse polyline stands for a smooth curve: the new points lie on a cubic between the
    vertices, whose directions there are those of the circle through three neighbours.
    Old vertices stay.  Where the direction jumps by more than `corner` radians the
    chords stay straight, and so does a chord much longer than its neighbours: a straight
    stretch that runs into a curve.

    Returns
    -------
    points : (m, 2) array
    vertices : (n,) array of int
        Where the old vertices are among them.
    """
    lengths, angles = chord_angles(points)
    step = max(step, float(lengths.sum()) / MOST_POINTS)
    counts = np.maximum(np.ceil(lengths / step - 1e-9), 1).astype(int)
    if counts.max(initial=1) == 1:
        return points, np.arange(len(points))
    jump = np.diff(angles)
    share = lengths[:-1] / (lengths[:-1] + lengths[1:])
    # Beside a straight stretch the other chord alone turns away from its direction.
    share = np.where(lengths[:-1] > _UNLIKE * lengths[1:], 0.0, share)
    share = np.where(lengths[1:] > _UNLIKE * lengths[:-1], 1.0, share)
    smooth = np.abs(jump) <= corner
    leave = np.concatenate([[0.0], np.where(smooth, -jump * (1 - share), 0.0)])
    arrive = np.concatenate([np.where(smooth, jump * share, 0.0), [0.0]])
    # At a free end, or beside a corner, the chord bends as much as at its other vertex.
    ends_free = np.concatenate([[True], ~smooth])
    leave = np.where(ends_free, -arrive, leave)
    far_free = np.concatenate([~smooth, [True]])
    arrive = np.where(far_free, -leave, arrive)
    owner = np.repeat(np.arange(len(counts)), counts)
    t = (np.arange(len(owner)) - (np.cumsum(counts) - counts)[owner]) / counts[owner]
    size = lengths[owner]
    # Cubic Hermite offset from the chord: t (1-t)^2 tan(a) - t^2 (1-t) tan(b).
    bow = size * (t * (1 - t) ** 2 * np.tan(leave)[owner] - t**2 * (1 - t) * np.tan(arrive)[owner])
    cos, sin = np.cos(angles)[owner], np.sin(angles)[owner]
    base = points[owner] + (t * size)[:, None] * np.column_stack([cos, sin])
    base += bow[:, None] * np.column_stack([-sin, cos])
    base[t == 0] = points[owner[t == 0]]
    return np.vstack([base, points[-1]]), np.concatenate([[0], np.cumsum(counts)])
