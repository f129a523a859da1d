"""Give the drawings of one line in several sizes the same number of points.

Where each point of one size has its place in another, as grade rules ask for, all need as
many points.  Where their numbers differ, the line is looked at in all
sizes at once: at the same shares of its length, as one curve in as many planes as there
are sizes.  Of the shares at which any size has a point, so many are kept that every size
is reproduced.

A new point is put on the arc over its chord and not on the chord: points on chords make
a curve of short straight lines, whose direction at its end is off, and a blend of such
pieces departs by 0.1 mm.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from propagate.geometry.arrays import Array, Indices, cross_product
from propagate.geometry.corner import line_corners, turn_between
from propagate.geometry.polyline import arc_lengths, join
from propagate.tolerances import CHORD_ERROR_MM

__all__ = ["alike_lines"]

CORNER_DEG = 10.0

_KEPT_MM = 0.002
"""What leaving points out may cost; a rule holds within 0.01 mm."""
_ARC_MM = 1.2 * CHORD_ERROR_MM
"""A chord that would lie farther inside its arc is a straight line, or coarsely drawn."""


def alike_lines(lines: Sequence[Array]) -> list[Array] | None:
    """Return the same open line in every size with one number of points.

    Lines that agree in their number of points are handed back as they are.  Vertices that turn by
    more than 10 degrees answer to each other in order; None where their number differs, since
    another size's vertices in the middle of long chords would make another drawing of them.
    """
    if len({len(line) for line in lines}) == 1:
        return list(lines)
    stops = [[0, *line_corners(line, CORNER_DEG), len(line) - 1] for line in lines]
    if len({len(own) for own in stops}) != 1:
        return None
    parts = []
    for spans in zip(*(itertools.pairwise(own) for own in stops), strict=True):
        drawn = [line[low : high + 1] for line, (low, high) in zip(lines, spans, strict=True)]
        parts.append(_draw_alike(drawn))
    return [join(own) for own in zip(*parts, strict=True)]


def _draw_alike(lines: Sequence[Array]) -> list[Array]:
    """Draw smooth lines with one number of points."""
    if len({len(line) for line in lines}) == 1:
        return list(lines)
    arcs = [arc_lengths(line) for line in lines]
    every = np.unique(np.round(np.concatenate([arc / arc[-1] for arc in arcs]), 12))
    every[0], every[-1] = 0.0, 1.0
    drawn = np.array(
        [_place_on_arcs(line, arc, every * arc[-1]) for line, arc in zip(lines, arcs, strict=True)]
    )
    drawn[:, 0] = [line[0] for line in lines]
    drawn[:, -1] = [line[-1] for line in lines]
    return list(drawn[:, _find_needed(drawn)])


def _place_on_arcs(line: Array, arc: Array, at: Array) -> Array:
    """Place (m, 2) points at distances along a line, each on the arc over its chord.

    The arc has the mean curvature of the chord's two ends, where both bend the same way;
    its height over the chord, c^2 / 8r in the middle, is k/2 t (c - t) at the distance t.
    """
    points = np.column_stack([np.interp(at, arc, line[:, axis]) for axis in (0, 1)])
    steps = np.diff(line, axis=0)
    chords = np.maximum(np.hypot(steps[:, 0], steps[:, 1]), 1e-12)
    if len(line) < 4:
        return points
    along = steps / chords[:, None]
    turn = turn_between(along[:-1], along[1:])
    bend = np.pad(turn / ((chords[:-1] + chords[1:]) / 2), 1, mode="edge")
    mean = np.where(bend[:-1] * bend[1:] > 0, (bend[:-1] + bend[1:]) / 2, 0.0)
    mean[np.abs(mean) * chords**2 / 8 > _ARC_MM] = 0.0
    index = np.clip(np.searchsorted(arc, at, side="right") - 1, 0, len(chords) - 1)
    into = at - arc[index]
    height = mean[index] / 2 * into * np.maximum(chords[index] - into, 0.0)
    outward = np.column_stack([along[index, 1], -along[index, 0]])
    return np.asarray(points + height[:, None] * outward)


def _find_needed(drawn: Array) -> Indices:
    """Find the indices that reproduce (sizes, n, 2) lines, by dividing at far points.

    The division favours the middle: a point that is taken close to an end makes a short chord,
    whose direction the file's rounding turns, and with it the corner's angle.
    """
    keep = np.zeros(drawn.shape[1], dtype=bool)
    keep[[0, -1]] = True
    todo = [(0, drawn.shape[1] - 1)]
    while todo:
        low, high = todo.pop()
        if high - low < 2:
            continue
        start, end = drawn[:, low, None], drawn[:, high, None]
        along = end - start
        off = drawn[:, low + 1 : high] - start
        size = np.maximum(np.hypot(along[..., 0], along[..., 1]), 1e-12)
        gaps = np.abs(cross_product(off, along)) / size
        worst = gaps.max(axis=0)
        along_it = np.arange(1, high - low) / (high - low)
        at = int(np.where(worst > _KEPT_MM, worst * along_it * (1.0 - along_it), 0.0).argmax())
        if worst[at] > _KEPT_MM:
            middle = low + 1 + at
            keep[middle] = True
            todo += [(low, middle), (middle, high)]
    return np.flatnonzero(keep)
