"""A line between two others that stand for the same line in two sizes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.correspond import Knots, gaps_to_nearest, list_matchings
from propagate.geometry.densify import densify_with_vertices
from propagate.geometry.polyline import arc_lengths, chord_angles, points_at
from propagate.tolerances import RESTS_MM

__all__ = ["line_between"]

_STRETCHED = 1.75
"""A chord of one line is at most so many times as long as its like on the other."""
_CORNER = np.radians(10.0)
_NEAR_MM = 1.0
"""A mark that lies on a knot of one line lies this close to its like on the other."""
_FINE_MM = 0.5
"""Chords this long differ by less than 0.001 mm from a curve down to a radius of 50 mm."""


def line_between(
    a: Array,
    b: Array,
    share: float,
    turns: tuple[Sequence[int], Sequence[int]] = ((), ()),
    places: tuple[Sequence[float], Sequence[float]] = ((), ()),
) -> tuple[Array, tuple[int, ...]]:
    """Draw the line that lies a share of the way from one to another.

    Vertices go straight to their like.  Where the two have not as many, the line has those
    of the one that has more, and what is marked on either; between marks and corners the
    share of the length says which places belong together.

    Parameters
    ----------
    a, b : (n, 2), (m, 2) arrays, mm
    share : float
        0 is `a`, 1 is `b`; below and beyond the line goes on as it went between them.
    turns : indices of turn points on either
    places : distances along either that belong together (marks), mm

    Returns
    -------
    points : (k, 2) array
    turns : tuple of int
        Indices of its turn points.
    """
    pairings = list_matchings(a, b, turns)
    knots = next(pairings)
    if len(knots[0]) == len(a) == len(b):
        if _keep_their_vertices(a, b):
            return (1.0 - share) * a + share * b, tuple(int(turn) for turn in turns[0])
        knots = next(pairings)
    here, there = (list(each) for each in places)
    if len(turns[0]) == len(turns[1]):
        here += arc_lengths(a)[list(turns[0])].tolist()
        there += arc_lengths(b)[list(turns[1])].tolist()
    while len(knots[0]) > 2 and not _knots_agree(knots, here, there):
        knots = next(pairings)
    own, other = _with_places(_drop_uneven(a, knots, turns[0]), (here, there))
    dense = np.interp(arc_lengths(b), other, own) if len(b) > len(a) else arc_lengths(a)
    corners = dense[list(turns[1] if len(b) > len(a) else turns[0])]
    # ascending places: every knot, and the vertices that do not lie on one
    at = np.union1d(dense[gaps_to_nearest(dense, own) > RESTS_MM], own)
    points = (1.0 - share) * _smooth_points(a, at)
    points += share * _smooth_points(b, np.interp(at, own, other))
    return points, tuple(int(np.abs(at - corner).argmin()) for corner in corners)


def _keep_their_vertices(a: Array, b: Array) -> bool:
    """Tell whether two lines with as many vertices have the same ones.

    Two curves may have as many by chance.  Then a vertex of one lies elsewhere on the line than
    that of the other, and some chord has no like.
    """
    first, second = np.diff(a, axis=0), np.diff(b, axis=0)
    alike = (first * second).sum(axis=1)
    sizes = (first * first).sum(axis=1), (second * second).sum(axis=1)
    return bool(all((_STRETCHED * alike >= size).all() for size in sizes))


def _knots_agree(knots: Knots, here: Sequence[float], there: Sequence[float]) -> bool:
    """Tell whether marks and corners that belong together lie between the same knots on both lines.

    Where they do not, as many knots on either were chance.
    """
    own, other = knots
    for first, second in zip(here, there, strict=True):
        at = int(np.abs(own - first).argmin())
        if abs(own[at] - first) <= RESTS_MM:
            if abs(other[at] - second) > _NEAR_MM:
                return False
            continue
        after = int(np.searchsorted(own, first))
        if not 0 < after < len(own) or not other[after - 1] < second < other[after]:
            return False
    return True


def _drop_uneven(a: Array, knots: Knots, turns: Sequence[int]) -> Knots:
    """Return the knots without those that only tell where the chords of a curve grow longer.

    Such a place is drawn, not meant: beside it a stretch may be any number of times as long
    as its like.  A corner is meant, whatever is beside it.
    """
    _, angles = chord_angles(a)
    bends = np.concatenate([[True], np.abs(np.diff(angles)) > _CORNER, [True]])
    bends[list(turns)] = True
    meant = bends[np.abs(arc_lengths(a)[:, None] - knots[0]).argmin(axis=0)]
    own, other = np.diff(knots[0]), np.diff(knots[1])
    uneven = (own > _STRETCHED * other) | (other > _STRETCHED * own)
    beside = np.concatenate([uneven, [False]]) | np.concatenate([[False], uneven])
    kept = meant | ~beside
    return knots[0][kept], knots[1][kept]


def _smooth_points(points: Array, at: Array) -> Array:
    """Return points of a line at distances along it, on the curve that its chords stand for."""
    fine, vertices = densify_with_vertices(points, _FINE_MM)
    return points_at(fine, np.interp(at, arc_lengths(points), arc_lengths(fine)[vertices]))


def _with_places(knots: Knots, places: tuple[Sequence[float], Sequence[float]]) -> Knots:
    """Add the vertices of its places to a line."""
    pairs = list(zip(*(each.tolist() for each in knots), strict=True))
    for here, there in zip(*places, strict=True):
        near = min(range(len(pairs)), key=lambda i: abs(pairs[i][0] - here))
        if abs(pairs[near][0] - here) <= RESTS_MM:
            continue
        after = next((i for i, pair in enumerate(pairs) if pair[0] > here), None)
        if after and pairs[after - 1][1] < there < pairs[after][1]:
            pairs.insert(after, (here, there))
    own, other = np.array(pairs).T
    return own, other
