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

__all__ = ["CHORD_MM", "Filling", "find_fillings"]

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
    face_down: bool
    before: Span
    after: Span
    gap: float
    turns: tuple[float, float]
    motions: tuple[Motion, ...]

    @property
    def put(self) -> tuple[tuple[str, str], tuple[str, str]]:
        """The landmarks that lie on the mouth's start and end, each with that end."""
        edge = self.mouth.edge
        return (self.before.begin, f"{edge}.start"), (self.after.end, f"{edge}.end")

    def joints(self, nest: Nest) -> list[Joint]:
        """Where the main piece's neighbours of the mouth run on into this piece."""
        before, after = nest.beside(self.mouth)
        words = "the spans run on into each other across the opening '{}' within {:.1f}°"
        facts = [(Fact(1.0, words.format(self.mouth.key, turn)),) for turn in self.turns]
        return [
            Joint(Span(before.piece, before.edge), self.before, facts[0]),
            Joint(self.after, Span(after.piece, after.edge), facts[1]),
        ]


def find_fillings(nest: Nest) -> list[Filling]:
    """Find every piece that fills a corner cut away from a larger one."""
    corners = list(_list_corners(nest))
    if not corners:
        return []
    mouths = list(nest.edges.values())
    chords = np.array([_measure_chords(nest, edge) for edge in mouths])
    marked = np.array([chord for *_, chord in corners])
    near = np.abs(chords[:, None, nest.base] - marked[None, :, nest.base]) <= CHORD_MM
    found = []
    for e, c in zip(*(axis.tolist() for axis in near.nonzero()), strict=True):
        gap = float(np.abs(chords[e] - marked[c]).max())
        mouth, (incoming, outgoing, _) = mouths[e], corners[c]
        larger = nest.area[mouth.piece] > nest.area[incoming.piece]
        if gap > CHORD_MM or mouth.piece == incoming.piece or not larger:
            continue
        for face_down in (False, True):
            before, after = incoming, outgoing
            if face_down:
                before = Span(outgoing.piece, outgoing.edge, outgoing.end, "start")
                after = Span(incoming.piece, incoming.edge, "end", incoming.begin)
            motions, turns = _fit_corner(nest, mouth, before, after, face_down)
            if max(turns) <= RUNS_ON_DEG:
                found.append(
                    Filling(mouth, before.piece, face_down, before, after, gap, turns, motions)
                )
    return found


def _measure_chords(nest: Nest, edge: EdgeMeasure) -> Array:
    """(sizes,) distances of the two ends of an edge, mm."""
    sized = (nest.pattern.sized(edge.piece, size) for size in nest.pattern.sizes)
    ends = (one.edge(edge.edge).points[[0, -1]] for one in sized)
    return np.array([float(np.hypot(*(b - a))) for a, b in ends])


def _list_corners(nest: Nest) -> Iterator[tuple[Span, Span, Array]]:
    """Spans from a landmark to a corner and on to another landmark, with their distance."""
    for incoming in nest.edges.values():
        _, outgoing = nest.beside(incoming)
        if incoming is outgoing:
            continue
        sized = [nest.pattern.sized(incoming.piece, size) for size in nest.pattern.sizes]
        for inner in incoming.marks:
            for outer in outgoing.marks:
                a, b = (
                    np.array([one.landmark(name).point for one in sized]) for name in (inner, outer)
                )
                yield (
                    Span(incoming.piece, incoming.edge, inner, "end"),
                    Span(outgoing.piece, outgoing.edge, "start", outer),
                    np.hypot(*(b - a).T),
                )


def _fit_corner(
    nest: Nest, mouth: EdgeMeasure, before: Span, after: Span, face_down: bool
) -> tuple[tuple[Motion, ...], tuple[float, float]]:
    """Lay a corner on the mouth in every size that is looked at; how far outlines turn there."""
    motions, worst = [], (0.0, 0.0)
    prev, following = nest.beside(mouth)
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
