"""The darts and pleats on an edge that an edit names, on a piece or taped together."""

from __future__ import annotations

import numpy as np

from propagate.engine.darts.cap import lie_of
from propagate.engine.darts.changes import legs_along
from propagate.engine.darts.folding import DartMouth
from propagate.engine.edits.edge_of_set import EdgeOfSet
from propagate.geometry.motion import IDENTITY
from propagate.geometry.polyline import point_at
from propagate.pattern.model import Dart, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import SAME_POINT_MM

__all__ = ["mouths_on"]


_FAR_MM = 1e7
"""From so far away two legs 50 mm apart converge by 0.001 mm over the length of a piece."""


def mouths_on(pattern: PatternSet, of: EdgeOfSet) -> list[DartMouth]:
    """The mouths of the darts on an edge, in their order along it."""
    found = [
        mouth
        for name, piece in of.pieces.items()
        for dart in piece.darts
        if (mouth := _find_mouth(pattern, of, name, piece, dart)) is not None
    ]
    for name, piece in of.pieces.items():
        for pleat in piece.pleats:
            places = [of.place(name, mark) for mark in pleat.marks]
            at = sorted(place for place in places if place is not None)
            for first, last in pleat.folds if len(at) == len(places) else ():
                # The legs of a fold are parallel, as those of a dart whose tip lies far away.
                ends = [point_at(of.edge.points, at[k]) for k in (first, last)]
                way = (ends[1] - ends[0]) / float(np.hypot(*(ends[1] - ends[0])))
                tip = (ends[0] + ends[1]) / 2.0 + _FAR_MM * np.array([-way[1], way[0]])
                found.append(DartMouth(at[first], at[last], tip, "start", False))
    return sorted(found, key=lambda mouth: mouth.low)


def _find_mouth(
    pattern: PatternSet, of: EdgeOfSet, name: str, piece: SizedPiece, dart: Dart
) -> DartMouth | None:
    """A dart's mouth; None when it lies on another edge."""
    legs = legs_along(piece, dart)
    low, high = (of.place(name, leg) for leg in legs)
    if low is None or high is None:
        return None
    points = [np.asarray(piece.landmark(leg).point) for leg in legs]
    towards = lie_of(pattern, name, piece).folded(piece, dart, (points[0], points[1]))
    if low > high:  # the piece's edge runs the other way round
        low, high = high, low
        towards = "end" if towards == "start" else "start"
    arc = of.edge.arc
    capped = bool(((arc > low + SAME_POINT_MM) & (arc < high - SAME_POINT_MM)).any())
    motion = IDENTITY if of.taped is None else of.taped.motions[name]
    return DartMouth(low, high, motion.apply(dart.tip), towards, capped)
