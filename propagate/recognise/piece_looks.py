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
            for shift in range(len(a.groups)):
                begun = b.begin_at(shift)
                far, own = _measure_unlike(a, begun, longer)
                if far <= ALIKE:
                    found.append(Laid(a.groups, begun.groups, far, own))
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


def _measure_unlike(old: Looks, new: Looks, meant: Stretch) -> tuple[float, Stretch]:
    """How unlike two outlines are, each edge to that in its place, and how much longer it is."""
    weight = (old.lengths / old.lengths.sum() + new.lengths / new.lengths.sum()) / 2.0
    longer, unlike = _fit_stretch(old, np.log(new.lengths / old.lengths), weight, meant)
    bent = (new.profiles - old.profiles) / SHAPE_DEG
    turned = new.leans - old.leans
    turned = (turned - 180.0 * np.round(turned / 180.0)) / LEAN_DEG
    cornered = (new.corners - old.corners) / CORNER_DEG
    far = unlike + weight @ (bent**2).mean(axis=1)
    far += (weight + np.roll(weight, -1)) / 2.0 @ cornered**2
    far += LEAN_COUNTS * min(1.0, float(weight @ turned**2))
    off = sum(map(_unlike_marks, old.marks, new.marks))
    off += MARK_COUNTS * sum(abs(a - b) for a, b in zip(old.inside, new.inside, strict=True))
    return float(far) + min(MOST_MARKS, off), longer


def _fit_stretch(old: Looks, ratios: Array, weight: Array, meant: Stretch) -> tuple[Stretch, float]:
    """The stretch that tells the lengths best, and how unlike it and what it leaves are."""
    along = (np.cos(np.radians(old.leans[:, None] + old.profiles)) ** 2).mean(axis=1)
    parts = np.column_stack([along, 1.0 - along])
    rows = np.vstack([parts * np.sqrt(weight)[:, None] / LENGTH, np.eye(2) / STRETCH])
    wanted = np.concatenate([ratios * np.sqrt(weight) / LENGTH, np.array(meant) / STRETCH])
    found = np.linalg.solve(rows.T @ rows, rows.T @ wanted)
    left = rows @ found - wanted
    return (float(found[0]), float(found[1])), float(left @ left)


def _unlike_marks(old: Array, new: Array) -> float:
    if len(old) != len(new):
        return MARK_COUNTS * abs(len(old) - len(new))
    return float(np.abs(old - new).sum())
