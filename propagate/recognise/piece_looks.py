"""How alike two drawings of a piece are, whatever their names, frames and measures.

The outline of one is laid round that of the other, edge by edge, begun at each of its edges in
turn.  Compared are the shares and lengths of edges, the corners between them, their shapes, how
they lie to the grain, and the marks on them.  Where one drawing has more edges than the other, an
edge that runs on smoothly into the next may be one with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.profile import tangent_profile
from propagate.pattern.model import Edge, SizedPiece
from propagate.recognise.joined_edges import chain_edges
from propagate.values import dataclass

__all__ = ["ALIKE", "Laid", "Looks", "Stretch", "lay_outlines", "look_at_piece"]

ALIKE = 1.0
"""Two drawings that are further apart are not of one kind of piece."""
STRETCH = 0.6
"""What a style may be longer, or wider, than the one before (log of the ratio), alone."""
LENGTH, SHAPE_DEG, CORNER_DEG, LEAN_DEG = 0.3, 15.0, 20.0, 25.0
"""What an edge may be longer (log of the ratio), bent, cornered, turned otherwise, each alone."""
LEAN_COUNTS, MARK_COUNTS, MOST_MARKS = 0.5, 0.1, 0.4
"""A grain may be missing in a drawing, marks may have been left out: they tell less."""
RUNS_ON_DEG = 30.0
"""A corner that turns less may be one that only a drawing has, in the middle of an edge."""
MOST_JOINED, MANY_SMOOTH = 4, 8
"""So many edges may be one with the next (a dart that is drawn by notches makes four of one), and
half as many where nearly every corner is smooth."""
Groups = tuple[tuple[str, ...], ...]
Stretch = tuple[float, float]
"""By how much a drawing is longer along the grain and across, as logarithms of the ratio."""


@dataclass(frozen=True, eq=False)
class Looks:
    """What an outline looks like, edge by edge; each edge is one or several of the drawing.

    Attributes
    ----------
    groups : tuple of tuples of edge names
    lengths : (n,) array, mm
    profiles : (n, SAMPLES) array, degrees
    leans : (n,) array
        From the grain to each chord, degrees, 180 apart being the same.
    corners : (n,) array
        Inside the outline where an edge ends, degrees.
    marks : tuple of sorted (k,) arrays
        Where notches and marks lie on each edge, as shares of its length.
    inside : (int, int, int)
        How many lines, drill marks and darts lie inside.
    """

    groups: Groups
    lengths: Array
    profiles: Array
    leans: Array
    corners: Array
    marks: tuple[Array, ...]
    inside: tuple[int, int, int]

    def begin_at(self, at: int) -> Looks:
        """The same outline, begun at another of its edges."""
        return Looks(
            (*self.groups[at:], *self.groups[:at]),
            np.roll(self.lengths, -at),
            np.roll(self.profiles, -at, axis=0),
            np.roll(self.leans, -at),
            np.roll(self.corners, -at),
            (*self.marks[at:], *self.marks[:at]),
            self.inside,
        )

    def turn_over(self) -> Looks:
        """The same piece seen from its other face."""
        return Looks(
            self.groups[::-1],
            self.lengths[::-1],
            -self.profiles[::-1, ::-1],
            -self.leans[::-1],
            np.roll(self.corners[::-1], -1),
            tuple(1.0 - marks[::-1] for marks in self.marks[::-1]),
            self.inside,
        )


@dataclass(frozen=True)
class Laid:
    """One drawing laid round the other.

    Attributes
    ----------
    old, new : tuples of tuples of edge names
        Edges that answer to each other, place by place.
    far : float
        How unlike they are: 0 where all is the same, `ALIKE` where they are hardly of a kind.
    longer : Stretch
    """

    old: Groups
    new: Groups
    far: float
    longer: Stretch


def look_at_piece(piece: SizedPiece) -> tuple[Looks, ...]:
    """What a piece looks like as it is drawn, and with edges that run on smoothly taken for one."""
    names = piece.edge_names
    count = len(names)
    smooth = [
        i
        for i, edge in enumerate(piece.edges)
        if abs(edge.angle_to(piece.edges[(i + 1) % count]) - 180.0) <= RUNS_ON_DEG
    ]
    found = []
    most = MOST_JOINED if len(smooth) <= MANY_SMOOTH else MOST_JOINED // 2
    for more in range(most + 1):
        if count - more >= 2:
            found += [
                _look_at_piece(piece, one) for one in _join_names(names, combinations(smooth, more))
            ]
    return tuple(found)


def lay_outlines(
    old: Sequence[Looks], new: Sequence[Looks], longer: Stretch = (0.0, 0.0)
) -> list[Laid]:
    """Every way in which one lies round the other and is alike, the likest first.

    Of both the ways that join fewest edges are looked at.  Where the second is a style of other
    measures, `longer` tells how much so as a whole.
    """
    pairs = [(a, b) for a in old for b in new if len(a.groups) == len(b.groups)]
    least = min((_count_joined(a) + _count_joined(b) for a, b in pairs), default=0)
    found = []
    for a, b in pairs:
        if _count_joined(a) + _count_joined(b) == least:
            far, stretches = _measure_unlike(a, b, longer)
            for at in np.flatnonzero(far <= ALIKE).tolist():
                begun, own = (*b.groups[at:], *b.groups[:at]), stretches[at].tolist()
                found.append(Laid(a.groups, begun, float(far[at]), (own[0], own[1])))
    return sorted(found, key=lambda one: one.far)


def _count_joined(looks: Looks) -> int:
    return sum(len(names) - 1 for names in looks.groups)


def _join_names(names: Sequence[str], joints: Iterator[tuple[int, ...]]) -> Iterator[Groups]:
    """The names in groups: each of the joints is an edge that is one with the next."""
    count = len(names)
    for joined in joints:
        first = next((i + 1 for i in range(count) if i not in joined), 0)
        groups: list[tuple[str, ...]] = []
        for k in range(first, first + count):
            own = (names[k % count],)
            if k > first and (k - 1) % count in joined:
                groups[-1] += own
            else:
                groups.append(own)
        yield tuple(groups)


def _look_at_piece(piece: SizedPiece, groups: Groups) -> Looks:
    edges = [chain_edges([piece.edge(name) for name in names]) for names in groups]
    up = float(np.arctan2(*piece.grain.direction[::-1]))
    return Looks(
        groups,
        np.array([edge.length for edge in edges]),
        np.array([tangent_profile(edge.points) for edge in edges]),
        np.array([_measure_lean(edge, up) for edge in edges]),
        np.array([a.angle_to(b) for a, b in zip(edges, [*edges[1:], edges[0]], strict=True)]),
        tuple(
            _list_places(piece, names, edge.length)
            for names, edge in zip(groups, edges, strict=True)
        ),
        (len(piece.lines), len(piece.drills), len(piece.darts)),
    )


def _measure_lean(edge: Edge, up: float) -> float:
    along = edge.points[-1] - edge.points[0]
    return float(np.degrees(np.arctan2(along[1], along[0]) - up))


def _list_places(piece: SizedPiece, names: tuple[str, ...], long: float) -> Array:
    found, before = [], 0.0
    for name in names:
        marks = (mark for mark in piece.landmarks_on(name) if mark.kind != "dart leg")
        found += [(before + piece.distance(name, mark.name)) / long for mark in marks]
        before += piece.edge(name).length
    return np.array(sorted(found))


def _measure_unlike(old: Looks, new: Looks, meant: Stretch) -> tuple[Array, Array]:
    """How unlike two outlines are, the new one begun at each of its edges in turn.

    Returns
    -------
    far : (n,) array
        Each edge compared with that in its place.
    longer : (n, 2) array
        How much longer the new one is then, as a `Stretch`.
    """
    count = len(old.groups)
    around = (np.arange(count) + np.arange(count)[:, None]) % count
    shares = new.lengths / new.lengths.sum()
    weight = (old.lengths / old.lengths.sum() + shares[around]) / 2.0
    longer, far = _fit_stretch(old, np.log(new.lengths[around] / old.lengths), weight, meant)
    bent = (new.profiles[around] - old.profiles) / SHAPE_DEG
    turned = new.leans[around] - old.leans
    turned = (turned - 180.0 * np.round(turned / 180.0)) / LEAN_DEG
    cornered = (new.corners[around] - old.corners) / CORNER_DEG
    far += (weight * (bent**2).mean(axis=2)).sum(axis=1)
    far += ((weight + np.roll(weight, -1, axis=1)) / 2.0 * cornered**2).sum(axis=1)
    far += LEAN_COUNTS * np.minimum(1.0, (weight * turned**2).sum(axis=1))
    inside = MARK_COUNTS * sum(abs(a - b) for a, b in zip(old.inside, new.inside, strict=True))
    marks = np.array([[_unlike_marks(a, b) for b in new.marks] for a in old.marks])
    off = inside + marks[np.arange(count), around].sum(axis=1)
    return far + np.minimum(MOST_MARKS, off), longer


def _fit_stretch(old: Looks, ratios: Array, weight: Array, meant: Stretch) -> tuple[Array, Array]:
    """The stretches that tell the lengths best, and how unlike each and what it leaves are.

    Of each row of ratios and weights, by least squares: the mean of the edges, each along the
    grain and across as far as it runs so, beside the stretch that is meant.
    """
    along = (np.cos(np.radians(old.leans[:, None] + old.profiles)) ** 2).mean(axis=1)
    parts = np.column_stack([along, 1.0 - along])
    weight = weight / LENGTH**2
    squares = np.einsum("ki,ia,ib->kab", weight, parts, parts) + np.eye(2) / STRETCH**2
    wanted = (weight * ratios) @ parts + np.array(meant) / STRETCH**2
    found = np.linalg.solve(squares, wanted[..., None])[..., 0]
    left = (weight * (found @ parts.T - ratios) ** 2).sum(axis=1)
    return found, left + ((found - np.array(meant)) ** 2).sum(axis=1) / STRETCH**2


def _unlike_marks(old: Array, new: Array) -> float:
    if len(old) != len(new):
        return MARK_COUNTS * abs(len(old) - len(new))
    return float(np.abs(old - new).sum())
