"""Find mouths: an edge across whose corner the landmarks of another piece fit.

A slanted or scooped opening cuts the corner off the main piece; the facing gives it back.
The opening's two ends are marked on two neighbouring edges of the facing, so their distance
is that of the edge's own ends in every size, and the facing's edges run on where the main
piece's stop.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from propagate.geometry.directions import direction_at, end_direction
from propagate.geometry.motion import Motion, fit
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Span
from propagate.suggesting.nest import EdgeMeasure, Nest
from propagate.suggesting.proposal import Fact
from propagate.suggesting.rows import Joint
from propagate.values import dataclass

__all__ = ["Filling", "chords", "fillings"]

Array = npt.NDArray[np.float64]

CHORD_MM = 0.3
"""Largest difference of two distances that are drawn to be the same."""
RUNS_ON_DEG = 8.0
"""Beyond this, two edges do not run on into each other."""


@dataclass(frozen=True)
class Filling:
    """A piece that fills the corner which an edge of another cuts away.

    Attributes
    ----------
    mouth : EdgeMeasure
        The main piece's edge.
    piece : str
        The facing (or bag).
    at_start, at_end : str
        Landmarks that lie on the mouth's start and end.
    face_down : bool
    before, after : Span
        The piece's spans from the mouth's start to the corner, and on to the mouth's end, in
        the direction of the main piece's outline.
    gap : float
        Largest difference of the two distances over all sizes, mm.
    turns : (float, float)
        Largest angle at which the outlines do not run on, at the mouth's start and end, degrees.
    motions : tuple of Motion
        One for each size that is looked at.
    """

    mouth: EdgeMeasure
    piece: str
    at_start: str
    at_end: str
    face_down: bool
    before: Span
    after: Span
    gap: float
    turns: tuple[float, float]
    motions: tuple[Motion, ...]

    def joints(self, nest: Nest) -> list[Joint]:
        """Where the main piece's neighbours of the mouth run on into this piece."""
        prev = nest.neighbour(self.mouth.piece, self.mouth.edge, -1)
        after = nest.neighbour(self.mouth.piece, self.mouth.edge, 1)
        words = "the spans run on into each other across the opening '{}' within {:.1f}°"
        facts = [(Fact(1.0, words.format(self.mouth.key, turn)),) for turn in self.turns]
        return [
            Joint(Span(prev.piece, prev.edge), self.before, facts[0]),
            Joint(self.after, Span(after.piece, after.edge), facts[1]),
        ]


def chords(nest: Nest) -> dict[str, Array]:
    """Distance of the two ends of every edge, (sizes,) each, mm."""
    found = {}
    for key, edge in nest.edges.items():
        ends = [
            nest.pattern.sized(edge.piece, size).edge(edge.edge).points[[0, -1]]
            for size in nest.pattern.sizes
        ]
        found[key] = np.array([float(np.hypot(*(b - a))) for a, b in ends])
    return found


def fillings(nest: Nest) -> list[Filling]:
    """Find every piece that fills a corner cut away from a larger one."""
    corners = list(_marked_corners(nest))
    if not corners:
        return []
    keys, values = zip(*chords(nest).items(), strict=True)
    edges, marked = np.array(values), np.array([chord for *_, chord in corners])
    near = np.abs(edges[:, None, nest.base] - marked[None, :, nest.base]) <= CHORD_MM
    found = []
    for e, c in zip(*(axis.tolist() for axis in near.nonzero()), strict=True):
        gap = float(np.abs(edges[e] - marked[c]).max())
        mouth, (incoming, inner, outgoing, outer, _) = nest.edges[keys[e]], corners[c]
        larger = nest.area[mouth.piece] > nest.area[incoming.piece]
        if gap <= CHORD_MM and mouth.piece != incoming.piece and larger:
            found += _place_corner(nest, mouth, incoming, inner, outgoing, outer, gap)
    return found


_Corner = tuple[EdgeMeasure, str, EdgeMeasure, str, Array]


def _marked_corners(nest: Nest) -> Iterator[_Corner]:
    """Every pair of landmarks on both sides of a corner, with their distance in all sizes."""
    for incoming in nest.edges.values():
        outgoing = nest.neighbour(incoming.piece, incoming.edge, 1)
        for inner in incoming.marks:
            for outer in outgoing.marks:
                if incoming is outgoing:
                    continue
                sized = [nest.pattern.sized(incoming.piece, s) for s in nest.pattern.sizes]
                a, b = (
                    np.array([one.landmark(name).point for one in sized]) for name in (inner, outer)
                )
                yield incoming, inner, outgoing, outer, np.hypot(*(b - a).T)


def _place_corner(
    nest: Nest,
    mouth: EdgeMeasure,
    incoming: EdgeMeasure,
    inner: str,
    outgoing: EdgeMeasure,
    outer: str,
    gap: float,
) -> list[Filling]:
    """Lay the corner on the mouth, as drawn and face down; keep where the outlines run on."""
    found = []
    for face_down in (False, True):
        if face_down:
            before = Span(outgoing.piece, outgoing.edge, outer, "start")
            after = Span(incoming.piece, incoming.edge, "end", inner)
        else:
            before = Span(incoming.piece, incoming.edge, inner, "end")
            after = Span(outgoing.piece, outgoing.edge, "start", outer)
        motions, turns = _fit_corner(nest, mouth, before, after, face_down)
        if max(turns) <= RUNS_ON_DEG:
            names = (before.begin, after.end)
            found.append(
                Filling(
                    mouth, incoming.piece, *names, face_down, before, after, gap, turns, motions
                )
            )
    return found


def _fit_corner(
    nest: Nest, mouth: EdgeMeasure, before: Span, after: Span, face_down: bool
) -> tuple[tuple[Motion, ...], tuple[float, float]]:
    motions, worst = [], (0.0, 0.0)
    prev = nest.neighbour(mouth.piece, mouth.edge, -1)
    following = nest.neighbour(mouth.piece, mouth.edge, 1)
    for size in nest.look:
        main, part = nest.pattern.sized(mouth.piece, size), nest.pattern.sized(before.piece, size)
        source = [part.landmark(name).point for name in (before.begin, after.end)]
        motion, _ = fit(source, main.edge(mouth.edge).points[[0, -1]], face_down=face_down)
        motions.append(motion)
        arrive = end_direction(main.edge(prev.edge).points, "end")
        leave = end_direction(main.edge(following.edge).points, "start")
        turns = (
            _measure_turn(arrive, _measure_direction(part, before, before.begin, motion)),
            _measure_turn(_measure_direction(part, after, after.end, motion), leave),
        )
        worst = (max(worst[0], turns[0]), max(worst[1], turns[1]))
    return tuple(motions), worst


def _measure_direction(part: SizedPiece, span: Span, landmark: str, motion: Motion) -> float:
    """Direction of a span at a landmark once it is laid, radians."""
    angle = direction_at(part.edge(span.edge).points, part.distance(span.edge, landmark))
    if span.end == "start" or span.begin == "end":
        angle += np.pi
    vector = motion.rotate([np.cos(angle), np.sin(angle)])
    return float(np.arctan2(vector[1], vector[0]))


def _measure_turn(a: float, b: float) -> float:
    """Angle between two directions, degrees."""
    return float(np.degrees(abs((a - b + np.pi) % (2 * np.pi) - np.pi)))
