"""Where a welt opening lies: measured from its anchors, and laid by those measures.

Its line is rigid.  Three measures say where it lies: how far away from its first anchor, how far
along from its second one, and its angle, to the first anchor's edge or to the grain.
"""

from __future__ import annotations

import numpy as np

from propagate.engine.placing import measure_beside, met_by_motion
from propagate.geometry.arrays import Array
from propagate.geometry.motion import fit
from propagate.pattern.model import SizedPiece
from propagate.pattern.welts import anchor_kind, anchor_point
from propagate.values import dataclass

__all__ = ["Anchored", "measure_by_anchors", "laid_by_anchors"]

_ARM_MM = 100.0
"""An angle is missed by as many millimetres as this arm would be off at its end."""


@dataclass(frozen=True)
class Anchored:
    """How a line lies on a piece.

    Attributes
    ----------
    names : tuple of str
        Its anchors, one or two.
    by_edge : bool
        Both ends keep their distances from the first anchor, an edge; else the middle does, and
        the line its angle to the grain.
    near : int
        0 or 1: the end that is measured from a second anchor that is an edge, the nearer one.
    from_end : bool
        Of one edge alone: whether the end of it that the line is nearer to is its last point.
    angle : float
        To the grain, radians.
    values : (3,) array
        mm; the second one is 0 where the angle to the grain is kept.
    """

    names: tuple[str, ...]
    by_edge: bool
    near: int
    from_end: bool
    angle: float
    values: Array

    def missed(self, piece: SizedPiece, ends: Array) -> Array:
        """Measure by how much a line with some ends misses the measures, (3,) mm."""
        return _measure_values(self, piece, ends) - self.values


def measure_by_anchors(
    piece: SizedPiece, ends: Array, names: tuple[str, ...], *, grain: bool
) -> Anchored:
    """Measure a line on a piece as it is drawn.

    Parameters
    ----------
    ends : (2, 2) array
        The ends of the line.
    names : tuple of str
        Its anchors.
    grain : bool
        Its angle is kept to the grain, not to an edge.
    """
    edges = [anchor_kind(piece, name) == "edge" for name in names]
    near, from_end = 0, False
    if edges[-1]:
        line = piece.edge(names[-1]).points
        found = [measure_beside(line, end) for end in ends]
        near = int(abs(found[1][1]) < abs(found[0][1]))
        middle, _ = measure_beside(line, ends.mean(axis=0))
        from_end = bool(middle > piece.edge(names[-1]).length / 2)
    angle = float(np.angle(_as_complex(ends[1] - ends[0]) / _as_complex(piece.grain.direction)))
    blank = Anchored(names, edges[0] and not grain, near, from_end, angle, np.zeros(3))
    values = _measure_values(blank, piece, ends)
    return Anchored(names, blank.by_edge, near, from_end, angle, values)


def _measure_values(by: Anchored, piece: SizedPiece, ends: Array) -> Array:
    """Measure how far away a line lies, its angle, and how far along it lies, (3,) mm."""
    first, last, middle = by.names[0], by.names[-1], ends.mean(axis=0)
    ahead = ends[1] - ends[0]
    ahead = ahead / np.hypot(*ahead)
    if by.by_edge:
        away, slope = (measure_beside(piece.edge(first).points, end)[1] for end in ends)
    else:
        if anchor_kind(piece, first) == "edge":
            away = measure_beside(piece.edge(first).points, middle)[1]
        else:
            away = _measure_from(piece, first, middle, np.array([-ahead[1], ahead[0]]))
        turned = _as_complex(ahead) / _as_complex(piece.grain.direction) / np.exp(1j * by.angle)
        slope = _ARM_MM * float(turned.imag)
    if anchor_kind(piece, last) != "edge":
        along = _measure_from(piece, last, middle, ahead)
    elif len(by.names) > 1:
        along = measure_beside(piece.edge(last).points, ends[by.near])[1]
    else:
        along = measure_beside(piece.edge(last).points, middle)[0]
        along = piece.edge(last).length - along if by.from_end else along
    return np.array([away, slope, along])


def _measure_from(piece: SizedPiece, name: str, place: Array, way: Array) -> float:
    """Measure how far a place lies from a level along the grain, or from a mark in a direction."""
    along = piece.grain.direction if anchor_kind(piece, name) == "level" else way
    return float((place - anchor_point(piece, name)) @ along)


def laid_by_anchors(
    source: SizedPiece, points: Array, count: int, now: SizedPiece, by: Anchored
) -> Array | None:
    """Lay a line of one drawing of a piece, with what goes with it, on another drawing.

    Returns None where an anchor is gone, or its measures cannot be met.

    Parameters
    ----------
    points : (n, 2) array
        On `source`; the line first.
    count : int
        Points of the line.
    by : Anchored
        Its measures on `source`.
    """
    if any(anchor_kind(now, name) != anchor_kind(source, name) for name in by.names):
        return None
    corners = [np.array([edge.points[0] for edge in piece.edges]) for piece in (source, now)]
    motion, _ = fit(corners[0], corners[1])
    start = np.asarray(motion.apply(points))
    return met_by_motion(start, lambda placed: by.missed(now, placed[[0, count - 1]]))


def _as_complex(vector: Array) -> complex:
    return complex(vector[0], vector[1])
