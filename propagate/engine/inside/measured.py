"""Marks that are measured from edges, and those of which nothing tells what they are measured from.

A mark that is as far from an edge in every size is measured from it: so it was graded.  In a set
of one size the nearest edges are taken.  It keeps these distances, and moves no more than that
takes.  Where nothing tells, it goes with the piece around it, if most of that went alike.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from propagate.engine.inside.outline_move import OutlineMove
from propagate.engine.placing import measure_beside, met_by_motion
from propagate.geometry.arrays import Array, cross_product
from propagate.geometry.fade import smoothstep
from propagate.geometry.polyline import locate, locate_all, point_at, points_at
from propagate.pattern.model import SizedPiece
from propagate.tolerances import RESTS_MM
from propagate.values import dataclass

__all__ = ["Measured", "measured_from", "moved_around", "put_at_measures"]

_SAME_MM = 0.1
_FAR_MM = 150.0
"""Nobody measures a mark from an edge farther off, a pocket's depth below the waist at most."""
_NEAR_MM = 50.0
"""Of a set in one size: a mark that is nearer is measured from there."""
_ACROSS = 0.5
_LEAST_MM = 0.5
"""A piece that moved less around a mark did not move (a pencil line)."""


@dataclass(frozen=True)
class Measured:
    """A distance that is kept: point number, edge, mm to the left of the edge."""

    point: int
    edge: str
    width: float


def measured_from(
    own: SizedPiece, points: Array, nest: Sequence[tuple[SizedPiece, Array]]
) -> tuple[Measured, ...]:
    """Find the distances by which marks that belong together are measured; or none.

    Parameters
    ----------
    points : (n, 2) array
        The marks on it: one drill mark, or a line and what lies beside it.
    nest : sequence of (SizedPiece, (n, 2) array)
        The same in the other sizes.
    """
    gaps = {edge.name: locate_all(edge.points, points)[1] for edge in own.edges}
    limit = _FAR_MM if nest else _NEAR_MM
    near = sorted((e for e in gaps if gaps[e].min() <= limit), key=lambda e: (gaps[e].min(), e))
    first = next((edge for edge in near if _is_same(edge, gaps[edge], nest, slice(None))), None)
    if first is None:
        return ()
    found = [_measure_nearest(own, points, first, int(gaps[first].argmin()))]
    if len(points) > 1:
        away = np.hypot(*(points - points[found[0].point]).T)
        found.append(_measure_nearest(own, points, first, int(away.argmax())))
    way = _point_square(own, points, first)
    for edge in near:
        nearest = int(gaps[edge].argmin())
        across = 1.0 - float(_point_square(own, points, edge) @ way) ** 2 >= _ACROSS**2
        if across and _is_same(edge, gaps[edge], nest, slice(nearest, nearest + 1)):
            return (*found, _measure_nearest(own, points, edge, nearest))
    return tuple(found)


def _is_same(
    edge: str, gaps: Array, nest: Sequence[tuple[SizedPiece, Array]], which: slice
) -> bool:
    """Tell whether points are as far from an edge in every size."""
    for other, points in nest:
        if edge not in other.edge_names or len(points) != len(gaps):
            return False
        theirs = locate_all(other.edge(edge).points, points)[1]
        if np.abs(theirs - gaps)[which].max() > _SAME_MM:
            return False
    return True


def _measure_nearest(piece: SizedPiece, points: Array, edge: str, point: int) -> Measured:
    return Measured(point, edge, measure_beside(piece.edge(edge).points, points[point])[1])


def _point_square(piece: SizedPiece, points: Array, edge: str) -> Array:
    """Return the unit vector from the nearest of some points to an edge."""
    line = piece.edge(edge).points
    along, gaps = locate_all(line, points)
    nearest = int(gaps.argmin())
    low, high = points_at(line, along[nearest] + np.array([-1.0, 1.0]))
    way = (high - low) / np.hypot(*(high - low))
    return np.array([-way[1], way[0]])


def put_at_measures(move: OutlineMove, points: Array, by: Sequence[Measured]) -> Array | None:
    """Put marks at their distances, as a whole, (n, 2).

    They go with the place of their first edge that is nearest, and from there as little as the
    distances take.  Returns None where the distances cannot be met.
    """
    first, now = by[0], move.now
    line = move.was.edge(first.edge).points
    foot = locate(line, points[first.point])[0]
    start = points + (move.answer(first.edge, foot) - point_at(line, foot))

    def missed(placed: Array) -> Array:
        return np.array(
            [measure_beside(now.edge(m.edge).points, placed[m.point])[1] - m.width for m in by]
        )

    return met_by_motion(start, missed, least=True)


def moved_around(move: OutlineMove, point: Array) -> Array:
    """Measure how the piece around a point moved, (2,) mm.

    The mean of how the outline moved, each part by the angle under which it is seen from there, as
    far as that agrees: as a whole where four fifths of it went alike, not at all where half stayed.
    """
    places, moves, chords = move.samples
    to = places - point
    away = np.maximum(np.hypot(*to.T), RESTS_MM)
    weight = np.abs(cross_product(chords, to)) / away**2
    weight = weight / weight.sum()
    mean = weight @ moves
    size = float(np.hypot(*mean))
    if size <= _LEAST_MM:
        return np.zeros(2)
    spread = float(np.sqrt(weight @ ((moves - mean) ** 2).sum(axis=1)))
    share = float(smoothstep(np.array(2.0 * (1.0 - spread / size))))
    return np.asarray(share * mean)
