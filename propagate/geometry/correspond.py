"""Which place on one polyline stands for which on another, and what moved between them.

A nest keeps its vertices: the same one has the same number in every size, and a redrawn
line mostly keeps those that it did not touch.  So vertices speak first, then what is
marked or plainly a corner, and only between those the share of the way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from propagate.geometry.arrays import Array, Indices
from propagate.geometry.polyline import arc_lengths, chord_angles, locate_all, points_at
from propagate.tolerances import CHORD_ERROR_MM, FADE_MM

__all__ = [
    "NOISE_MM",
    "Knots",
    "by_millimetres",
    "carried_points",
    "gaps_to_nearest",
    "match_lines",
    "list_matchings",
    "match_redrawn",
    "without_noise",
]

Knots = tuple[Array, Array]
"""Distances along two polylines that belong together, (k,) each, ascending, ends included."""

NOISE_MM = 0.03
"""What a redrawn line is off by less than this, it is off by its digits: it did not move."""
_NEAR_MM = 0.1
"""Points that are added lie no closer to each other."""
_UNLIKE = 3.0
_CORNER = np.radians(10.0)
_SHARE = 0.2
"""Vertices of two lines whose shares of the way differ by more do not belong together."""


def match_lines(a: Array, b: Array, turns: tuple[Sequence[int], Sequence[int]] = ((), ())) -> Knots:
    """Pair two polylines that stand for the same line in two sizes.

    Vertex by vertex where both have as many; else by corners and the ends of straight
    stretches; else by turn points; else by their ends alone.

    Parameters
    ----------
    a, b : (n, 2), (m, 2) arrays, mm
    turns : indices of turn points on either
    """
    return next(list_matchings(a, b, turns))


def list_matchings(
    a: Array, b: Array, turns: tuple[Sequence[int], Sequence[int]] = ((), ())
) -> Iterator[Knots]:
    """List the pairings of `match_lines`, the likeliest first, that by the ends alone last."""
    arcs = arc_lengths(a), arc_lengths(b)
    every = np.arange(len(a)), np.arange(len(b))
    marked = [_with_ends(line, kept) for line, kept in zip((a, b), turns, strict=True)]
    plain = [_pick_plain(line, kept) for line, kept in zip((a, b), marked, strict=True)]
    for first, second in (every, plain, marked):
        if len(first) != len(second):
            continue
        here, there = arcs[0][first], arcs[1][second]
        if np.abs(here / arcs[0][-1] - there / arcs[1][-1]).max() <= _SHARE:
            yield here, there
    yield arcs[0][[0, -1]], arcs[1][[0, -1]]


def by_millimetres(
    was: Array, now: Array, mine: Array, turns: tuple[Sequence[int], Sequence[int]]
) -> Knots:
    """Pair two lines by the distance from their ends, as far from each as one was redrawn.

    Where the whole of it was redrawn, or more than `mine` has, by their ends alone.
    """
    arc, own = arc_lengths(was), float(arc_lengths(mine)[-1])
    old, new = match_redrawn(was, now, turns)
    gaps = points_at(now, np.interp(arc, old, new)) - was
    still = np.flatnonzero((without_noise(gaps) == 0.0).all(axis=1))
    if not len(still):
        return np.array([0.0, own]), arc[[0, -1]]
    first, last = float(arc[still[0]]), float(arc[-1] - arc[still[-1]])
    if first + last >= own:
        return np.array([0.0, own]), arc[[0, -1]]
    stop = float(arc[-1])
    return _sort_knots((0.0, 0.0), (first, first), (own - last, stop - last), (own, stop))


def _sort_knots(*pairs: tuple[float, float]) -> Knots:
    own, other = np.array(sorted(set(pairs))).T
    return own, other


def _with_ends(points: Array, turns: Sequence[int]) -> Indices:
    return np.unique([0, *turns, len(points) - 1]).astype(np.intp)


def _pick_plain(points: Array, marked: Indices) -> Indices:
    """Return vertices that anybody would pick: marked ones, corners, ends of straight stretches."""
    if len(points) == 2:
        return marked
    lengths, angles = chord_angles(points)
    ratio = lengths[1:] / np.maximum(lengths[:-1], 1e-9)
    picked = (np.abs(np.diff(angles)) > _CORNER) | (ratio > _UNLIKE) | (ratio < 1 / _UNLIKE)
    return np.union1d(marked, np.flatnonzero(picked) + 1)


def match_redrawn(was: Array, now: Array, turns: tuple[Sequence[int], Sequence[int]]) -> Knots:
    """Pair a line with what it was redrawn to: vertices that stayed, and between them the rest."""
    pairs = _pair_stayed(was, now)
    arcs = arc_lengths(was), arc_lengths(now)
    plain = set(_pick_plain(was, _with_ends(was, turns[0])).tolist())
    # let a moved end be reached over a stretch, not over the last chord, of a dense line
    for end in (0, -1):
        inner = 1 if end == 0 else -2
        while len(pairs) > 2 and pairs[inner][0] not in plain:
            steps = [abs(pairs[inner][k] - pairs[end][k]) for k in (0, 1)]
            ways = [abs(arcs[k][pairs[inner][k]] - arcs[k][pairs[end][k]]) for k in (0, 1)]
            if steps[0] == steps[1] or min(ways) >= FADE_MM:
                break
            del pairs[inner]
    whole: list[Knots] = []
    for (i, j), (k, m) in pairwise(pairs):
        own = [t - i for t in turns[0] if i < t < k], [t - j for t in turns[1] if j < t < m]
        part = was[i : k + 1], now[j : m + 1]
        here, there = match_lines(*part, (own[0], own[1]))
        if len(part[0]) != len(part[1]) and len(here) == 2:
            here, there = _match_on_line(*part)
        whole.append((arcs[0][i] + here[:-1], arcs[1][j] + there[:-1]))
    return (
        np.concatenate([*(k[0] for k in whole), arcs[0][-1:]]),
        np.concatenate([*(k[1] for k in whole), arcs[1][-1:]]),
    )


def _pair_stayed(was: Array, now: Array) -> list[tuple[int, int]]:
    """Pair vertices of both that lie on each other, in order; the ends belong together anyhow."""
    arc = arc_lengths(now)
    along, gaps = locate_all(now, was[1:-1]) if len(was) > 2 else (np.empty(0), np.empty(0))
    pairs, last = [(0, 0)], 0
    for i, (place, gap) in enumerate(zip(along.tolist(), gaps.tolist(), strict=True), start=1):
        j = int(np.abs(arc - place).argmin())
        if gap <= NOISE_MM and last < j < len(now) - 1:
            if float(np.hypot(*(now[j] - was[i]))) > NOISE_MM:
                continue
            pairs.append((i, j))
            last = j
    return [*pairs, (len(was) - 1, len(now) - 1)]


def without_noise(moves: Array) -> Array:
    """Take those that are mere digits out of displacements (n, 2); the rest runs on evenly."""
    size = np.hypot(moves[:, 0], moves[:, 1])
    kept: Array = moves * np.clip(2.0 * size / NOISE_MM - 1.0, 0.0, 1.0)[:, None] + 0.0
    return kept


def _match_on_line(was: Array, now: Array) -> Knots:
    """Pair a stretch that was drawn with other vertices: what lies on the old line stayed."""
    ends = float(arc_lengths(was)[-1]), float(arc_lengths(now)[-1])
    ways = []
    for flip in (False, True):
        lines = [line[::-1] if flip else line for line in (was, now)]
        far = [arc_lengths(line) for line in lines]
        every = np.unique(np.concatenate(far))
        every = every[every <= min(far[0][-1], far[1][-1])]
        gaps = np.hypot(*(points_at(lines[0], every) - points_at(lines[1], every)).T)
        together = int(np.cumprod(gaps <= NOISE_MM).sum())
        way = float(every[together - 1]) if together else 0.0
        ways.append(max(0.0, min(way, min(ends) - FADE_MM)))
    begin, end = ways
    if begin + end > min(ends) - FADE_MM:
        begin, end = (begin, 0.0) if begin > end else (0.0, end)
    return _sort_knots((0.0, 0.0), (begin, begin), (ends[0] - end, ends[1] - end), ends)


def carried_points(
    was: Array,
    now: Array,
    mine: Array,
    turns: tuple[Sequence[int], Sequence[int], Sequence[int]] = ((), (), ()),
    knots: Knots | None = None,
) -> tuple[Array, Array, Array]:
    """Carry points of a line by the displacement that each has where another was redrawn.

    Vertices are displaced; points are added to `mine` only where the displacement bends
    between two of them by more than the chord error.

    Parameters
    ----------
    was, now : (n, 2), (m, 2) arrays, mm
        A line and what it was redrawn to.
    mine : (k, 2) array, mm
        The same line in another size.
    turns : indices of turn points on each of the three
    knots : how `mine` and `was` are paired; None takes the likeliest pairing

    Returns
    -------
    points, moves, stood : (j, 2) arrays
        `mine` with what was added; displacements in the frame of `was`; the places on `was`.
    """
    arcs = arc_lengths(was), arc_lengths(now), arc_lengths(mine)
    old, new = match_redrawn(was, now, turns[:2])
    own, base = match_lines(mine, was, (turns[2], turns[0])) if knots is None else knots

    def moves(at: Array) -> Array:
        here = np.interp(at, own, base)
        gap = points_at(now, np.interp(here, old, new)) - points_at(was, here)
        return without_noise(gap)

    breaks = np.union1d(np.concatenate([old, arcs[0]]), np.interp(arcs[1], new, old))
    breaks = np.union1d(np.interp(breaks, base, own), own)
    there = moves(arcs[2])
    between = np.column_stack([np.interp(breaks, arcs[2], there[:, k]) for k in (0, 1)])
    bent = np.hypot(*(moves(breaks) - between).T) > CHORD_ERROR_MM
    # Those that lie away from the vertices and from each other.
    fresh = breaks[bent]
    fresh = fresh[gaps_to_nearest(fresh, arcs[2]) > _NEAR_MM]
    fresh = fresh[np.diff(fresh, prepend=-np.inf) > _NEAR_MM]
    at = np.concatenate([arcs[2], fresh])
    order = np.argsort(at, kind="stable")
    points = np.vstack([mine, points_at(mine, fresh)])[order]
    stood = points_at(was, np.interp(at[order], own, base))
    return points, np.vstack([there, moves(fresh)])[order], stood


def gaps_to_nearest(values: Array, among: Array) -> Array:
    """Return (n,) how far values are from the nearest of some ascending ones."""
    right = np.searchsorted(among, values).clip(1, len(among) - 1)
    gaps: Array = np.minimum(np.abs(values - among[right]), np.abs(values - among[right - 1]))
    return gaps
