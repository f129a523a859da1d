"""The lines of a page as arrays: its ends and its straight pieces."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

import numpy as np
import shapely

from propagate.io.chain import Chain
from propagate.io.drawn_lines import DrawnLine
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["STEEP", "PageLines", "drawing_of", "page_lines"]

STEEP = 0.1
"""How much of a direction is across a border from which a line is said to run across it."""
MOST_SEGMENTS = 15_000


@dataclass(frozen=True, eq=False)
class PageLines:
    """The lines of a page as arrays, in page coordinates.

    Attributes
    ----------
    ends : (n, 2) array
        Ends of open lines, each place once; not corners, where several lines end.
    ways : (n, 2) array
        How much of the direction at each end is along x and along y, 0 to 1.
    segments : (m, 4) array
        x and y of the start and of the end of every straight piece.
    """

    ends: Array
    ways: Array
    segments: Array

    def across(self, axis: int) -> Array:
        """The ends that run across a border at right angles to an axis, not along it."""
        found: Array = self.ends[self.ways[:, axis] >= STEEP]
        return found


def page_lines(lines: Sequence[DrawnLine]) -> PageLines:
    """Take the lines of a page apart."""
    if not lines:
        return PageLines(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros((0, 4)))
    xy = [_list_points(line.chain) for line in lines]
    firsts = np.cumsum([0, *map(len, xy)])
    points = np.concatenate(xy)
    opened = np.array([not line.closed for line in lines])
    starts, lasts = firsts[:-1][opened], firsts[1:][opened] - 1
    tips = np.column_stack([starts, lasts]).ravel()
    runs = points[tips] - points[np.column_stack([starts + 1, lasts - 1]).ravel()]
    ways = np.abs(runs) / np.maximum(np.hypot(runs[:, 0], runs[:, 1]), 1e-12)[:, None]
    found = np.hstack([points[tips], ways])
    once = found[np.unique(np.round(found, 2), axis=0, return_index=True)[1]]
    places = np.round(once[:, :2], 2)
    _, which, count = np.unique(places, axis=0, return_index=True, return_counts=True)
    alone = once[which[count == 1]]
    segments = np.delete(np.hstack([points[:-1], points[1:]]), firsts[1:-1] - 1, axis=0)
    return PageLines(alone[:, :2], alone[:, 2:], segments[:MOST_SEGMENTS])


def _list_points(line: Chain) -> Array:
    """The points of a line; those of a straight one are its corners, and need not be kept."""
    if line.curved:
        return line.points
    return np.array([line.start, *chain.from_iterable(line.segments)])


def drawing_of(page: PageLines) -> shapely.Geometry:
    """All lines of a page as one, ready to be asked for distances."""
    drawn = shapely.multilinestrings(shapely.linestrings(page.segments.reshape(-1, 2, 2)))
    shapely.prepare(drawn)
    return drawn
