"""The same corners in every size of a piece whose drawing marks them size by size.

An outline is a closed counter-clockwise ring of points without the repeated last one.  A corner
that most sizes have is put into the others, where it answers; one that few have is none.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from propagate.geometry.beside import ring_part
from propagate.geometry.corner import measure_turns
from propagate.geometry.polyline import arc_lengths, locate_all, point_at
from propagate.pattern.model import Array
from propagate.recognise.corners import CORNER_DEG, BareOutline
from propagate.values import dataclass

__all__ = ["AlikeCorners", "MarkedOutline", "OddCorner", "make_corners_alike"]

_APART: Final = 0.1
"""Corners of two sizes nearer than this share of the piece, and of half a turn, belong together."""
_MOST_CORNERS: Final = 100
_MOST_STARTS: Final = 8
_LAPPED_DEG: Final = 2.0
_SAME_MM: Final = 0.05
_AT_NOTCH_MM: Final = 0.01
_REACH: Final = 0.05
"""A vertex lies where a corner is missed when it is nearer than this share of the stretch."""
_REACH_MM: Final = 2.0
_LEAST_TURN: Final = 0.25
_LEAST_DEG: Final = 1.0


@dataclass(frozen=True, eq=False)
class MarkedOutline:
    """An outline in one size with its corners.

    Attributes
    ----------
    outline : BareOutline
    corners : tuple of int
        Vertices, in the order of the outline.
    notches : (k, 2) array, mm
        Notches on it.
    """

    outline: BareOutline
    corners: tuple[int, ...]
    notches: Array


@dataclass(frozen=True)
class OddCorner:
    """A corner that some sizes have and others do not.

    Attributes
    ----------
    point : (x, y)
        In the first size that has it, mm.
    having, lacking : tuple of str
        Sizes.
    taken : bool
        Whether it is a corner, then of all sizes.
    inward : bool
        Whether the outline turns inwards there.
    """

    point: tuple[float, float]
    having: tuple[str, ...]
    lacking: tuple[str, ...]
    taken: bool
    inward: bool


@dataclass(frozen=True, eq=False)
class AlikeCorners:
    """Outlines with the same corners.

    Attributes
    ----------
    points : mapping of size to (n, 2) array
        The outlines; a corner that was put in may be a point more.
    corners : mapping of size to tuple of int
        Vertices of `points`.
    odd : tuple of OddCorner
    """

    points: Mapping[str, Array]
    corners: Mapping[str, tuple[int, ...]]
    odd: tuple[OddCorner, ...]


def make_corners_alike(sizes: Mapping[str, MarkedOutline], *, alone: bool) -> AlikeCorners | None:
    """Decide for all sizes together which corners a piece has.

    Parameters
    ----------
    sizes : mapping of size to MarkedOutline
        In the order of the sizes.
    alone : bool
        The outlines are drawn alone and may be cut lines: one that turns inwards at a place, in
        some sizes hardly, is there a hollow tighter than its allowance, and that is no corner.

    Returns
    -------
    AlikeCorners or None
        None where too few corners belong together for these to be one piece.
    """
    most = max(len(own.corners) for own in sizes.values())
    if not 2 <= most <= _MOST_CORNERS:
        return None
    order = list(sizes)
    full = [size for size in order if len(sizes[size].corners) == most]
    rows: list[dict[str, int]] = [{full[0]: vertex} for vertex in sizes[full[0]].corners]
    extra: list[dict[str, int]] = []
    near = full[:1]
    for size in sorted(order, key=lambda size: (size not in full, order.index(size))):
        if size in near:
            continue
        # Each is laid on the nearest size that has all: the full ones on one another, in order.
        beside = min(near, key=lambda other: abs(order.index(other) - order.index(size)))
        pairs = _pair_in_order(sizes[beside], sizes[size])
        for row in rows:
            own = sizes[beside].corners.index(row[beside]) if beside in row else None
            if own in pairs:
                row[size] = sizes[size].corners[pairs[own]]
        met = set(pairs.values())
        extra += [{size: at} for j, at in enumerate(sizes[size].corners) if j not in met]
        if size in full and len(pairs) == most:
            near.append(size)
    common = [k for k, row in enumerate(rows) if len(row) == len(sizes)]
    if len(common) < 2 or 2 * len(common) < most:
        return None
    arcs = {size: _measure_ring(own.outline.points) for size, own in sizes.items()}
    places = {size: {k: float(arcs[size][rows[k][size]]) for k in common} for size in sizes}
    odd = [_tell_odd(sizes, row, taken=False) for row in extra]
    for k, row in enumerate(rows):
        if k in common:
            continue
        around = (
            max((c for c in common if c < k), default=common[-1]),
            min((c for c in common if c > k), default=common[0]),
        )
        stretches = {
            size: _Stretch(own, arcs[size], [rows[c][size] for c in around])
            for size, own in sizes.items()
        }
        answers = {s: _answering_place(s, stretches, row) for s in sizes if s not in row}
        told = _tell_odd(sizes, row, taken=2 * len(row) > len(sizes))
        if alone and told.inward and any(turn > -CORNER_DEG for _, turn in answers.values()):
            told = replace(told, taken=False)
        odd.append(told)
        if told.taken:
            for size in sizes:
                at = float(arcs[size][row[size]]) if size in row else answers[size][0]
                places[size][k] = at
    if not all(_in_order(places[size], float(arcs[size][-1])) for size in sizes):
        return None
    done = {
        size: _with_corners(own, arcs[size], list(places[size].values()))
        for size, own in sizes.items()
    }
    return AlikeCorners(
        {size: points for size, (points, _) in done.items()},
        {size: corners for size, (_, corners) in done.items()},
        tuple(odd),
    )


def _measure_ring(points: Array) -> Array:
    """(n + 1,) distance of every vertex from the first one, and the whole way round, mm."""
    return arc_lengths(np.concatenate([points, points[:1]]))


def _tell_odd(
    sizes: Mapping[str, MarkedOutline], row: Mapping[str, int], *, taken: bool
) -> OddCorner:
    having = tuple(size for size in sizes if size in row)
    first = sizes[having[0]].outline.points[row[having[0]]]
    turns = [_turn_at(sizes[size], row[size]) for size in having]
    return OddCorner(
        (float(first[0]), float(first[1])),
        having,
        tuple(size for size in sizes if size not in row),
        taken,
        float(np.median(turns)) < -_LAPPED_DEG,
    )


def _turn_at(own: MarkedOutline, vertex: int) -> float:
    return float(measure_turns(own.outline.points)[vertex])


def _pair_in_order(main: MarkedOutline, own: MarkedOutline) -> dict[int, int]:
    """Which corner of a size belongs to which of the main one, in order round the piece."""
    wanted = main.outline.places()[list(main.corners)]
    places = own.outline.places()[list(own.corners)]
    if not len(places):
        return {}
    turned = [np.array([_turn_at(one, at) for at in one.corners]) for one in (main, own)]
    gaps = np.hypot(*(wanted[:, None] - places[None]).transpose(2, 0, 1))
    gaps = np.hypot(gaps, (turned[0][:, None] - turned[1][None]) / 180.0)
    starts = np.argsort(gaps, axis=None, kind="stable")[:_MOST_STARTS]
    best: tuple[float, dict[int, int]] | None = None
    for start in starts.tolist():
        i, j = divmod(start, len(places))
        cost, pairs = _align(np.roll(gaps, (-i, -j), axis=(0, 1)))
        if best is None or cost < best[0]:
            best = (
                cost,
                {(a + i) % len(wanted): (b + j) % len(places) for a, b in pairs.items()},
            )
    return best[1] if best is not None else {}


def _align(gaps: Array) -> tuple[float, dict[int, int]]:
    """Pair the rows and columns of (n, m) distances in order, the first with the first."""
    rows, columns = gaps.shape
    squares = gaps**2
    cost = np.full((rows + 1, columns + 1), np.inf)
    cost[1, 1:] = squares[0, 0] + _APART**2 * np.arange(columns)
    cost[1:, 1] = squares[0, 0] + _APART**2 * np.arange(rows)
    for a in range(2, rows + 1):
        for b in range(2, columns + 1):
            cost[a, b] = min(
                cost[a - 1, b - 1] + squares[a - 1, b - 1],
                cost[a - 1, b] + _APART**2,
                cost[a, b - 1] + _APART**2,
            )
    pairs = {0: 0}
    a, b = rows, columns
    while a > 1 and b > 1:
        if cost[a, b] == cost[a - 1, b - 1] + squares[a - 1, b - 1]:
            a, b = a - 1, b - 1
            pairs[a] = b
        elif cost[a, b] == cost[a - 1, b] + _APART**2:
            a -= 1
        else:
            b -= 1
    return float(cost[-1, -1]), pairs


# ----------------------------------------------------------------------------- where it answers


class _Stretch:
    """The part of an outline between two corners that every size has."""

    def __init__(self, own: MarkedOutline, arc: Array, ends: Sequence[int]) -> None:
        self.arc, self.own = arc, own
        points = own.outline.points
        self.vertices = ring_part(ends[0], ends[1], len(points))
        self.points = points[self.vertices]
        self.along = arc_lengths(self.points)
        self.turns = measure_turns(points)[self.vertices]

    def share_of(self, vertex: int) -> float:
        """Share of the stretch at which a vertex stands."""
        at = int(np.flatnonzero(self.vertices == vertex)[0])
        return float(self.along[at] / self.along[-1])

    def find_notches(self) -> Array:
        """How far along the stretch its notches stand, mm."""
        if not len(self.own.notches):
            return np.empty(0)
        along, gaps = locate_all(self.points, self.own.notches)
        return along[gaps <= _SAME_MM]

    def on_ring(self, along: float) -> float:
        """Distance from the first vertex of the outline, mm."""
        return float((self.arc[self.vertices[0]] + along) % self.arc[-1])


def _answering_place(
    size: str, stretches: Mapping[str, _Stretch], row: Mapping[str, int]
) -> tuple[float, float]:
    """Where on a size's outline a corner of other sizes belongs, and its turn there, degrees.

    The place is told in mm from the first vertex.
    """
    order = list(stretches)
    have = [other for other in order if other in row]
    here = order.index(size)
    share = float(
        np.interp(
            here,
            [order.index(other) for other in have],
            [stretches[other].share_of(row[other]) for other in have],
        )
    )
    own = stretches[size]
    place = share * float(own.along[-1])
    reach = max(_REACH_MM, _REACH * float(own.along[-1]))
    turn = float(np.median([_turn_at(stretches[s].own, row[s]) for s in have]))
    inner = np.arange(1, len(own.points) - 1)
    alike = own.turns[inner] * np.sign(turn)
    fits = inner[
        (np.abs(own.along[inner] - place) <= reach)
        & (alike >= max(_LEAST_TURN * abs(turn), _LEAST_DEG))
    ]
    if len(fits):
        best = fits[np.abs(own.turns[fits]).argmax()]
        return own.on_ring(float(own.along[best])), float(own.turns[best])
    if all(_at_notch(stretches[other], row[other]) for other in have):
        notches = own.find_notches()
        near = notches[np.abs(notches - place) <= reach]
        if len(near):
            return own.on_ring(float(near[np.abs(near - place).argmin()])), 0.0
    return own.on_ring(place), 0.0


def _at_notch(stretch: _Stretch, vertex: int) -> bool:
    at = float(stretch.along[np.flatnonzero(stretch.vertices == vertex)[0]])
    return bool((np.abs(stretch.find_notches() - at) <= _SAME_MM).any())


def _in_order(places: Mapping[int, float], around: float) -> bool:
    """Whether corners follow each other round the outline as their numbers do."""
    along = np.array([places[k] for k in sorted(places)])
    steps = (np.roll(along, -1) - along) % around
    return bool(steps.min() > _SAME_MM and abs(float(steps.sum()) - around) < _SAME_MM)


def _with_corners(
    own: MarkedOutline, arc: Array, places: Sequence[float]
) -> tuple[Array, tuple[int, ...]]:
    """An outline with a vertex at every place, and those vertices.

    A vertex that is put in at a notch is the notch's own point.
    """
    points, around = own.outline.points, float(arc[-1])
    missing = [place for place in places if _ring_gaps(arc, place, around).min() > _SAME_MM]
    at = np.searchsorted(arc, missing)
    along = np.insert(arc[:-1], at, missing)
    if missing:
        closed = np.concatenate([points, points[:1]])
        new = np.array([point_at(closed, place) for place in missing])
        if len(own.notches):
            gaps = np.hypot(*(new[:, None] - own.notches[None]).transpose(2, 0, 1))
            near = gaps.min(axis=1) <= _AT_NOTCH_MM
            new[near] = own.notches[gaps.argmin(axis=1)[near]]
        points = np.insert(points, at, new, axis=0)
    found = [int(_ring_gaps(along, place, around).argmin()) for place in places]
    return points, tuple(sorted(found))


def _ring_gaps(along: Array, place: float, around: float) -> Array:
    """How far places of a ring are from one, mm."""
    gaps: Array = np.abs((along - place + around / 2.0) % around - around / 2.0)
    return gaps
