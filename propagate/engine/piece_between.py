"""A piece between two sizes of it: everything on it goes straight from one to the other."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.marks_on_lines import nearest_place, put_mark
from propagate.engine.reshape import rounded, share_corners
from propagate.geometry.line_between import line_between
from propagate.geometry.polyline import as_pair
from propagate.pattern.grain import Grain
from propagate.pattern.model import Edge, Label, Mark, SizedPiece

__all__ = ["piece_between"]

Array = npt.NDArray[np.float64]
_AS_DRAWN = 1e-4
"""Grains that differ by less (radians) differ by the digits of their ends."""


def piece_between(first: SizedPiece, second: SizedPiece, share: float) -> SizedPiece:
    """Draw a piece that lies a share of the way from one size to another.

    The second is turned so that its grain lies as that of the first does; then every point
    goes straight to its like (`propagate.geometry.line_between`).  Where a piece was shifted
    between the two makes no difference to its shape.  Lines and drill marks that one of the
    two lacks are left out.

    Parameters
    ----------
    first, second : SizedPiece
        With the same edges, landmarks, darts and levels.
    share : float
        0 is the first, 1 the second; below and beyond it goes on as between them.
    """
    turn = second.grain.turn_to(first.grain, _AS_DRAWN)

    def mix(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
        return as_pair(rounded((1.0 - share) * np.asarray(a) + share * turn.apply(b)))

    edges = []
    for a, b in zip(first.edges, map(second.edge, first.edge_names), strict=True):
        # Landmarks tell which places of the two belong together, as vertices do.
        marks = [mark.name for mark in first.landmarks_on(a.name)]
        here, there = ([one.distance(a.name, mark) for mark in marks] for one in (first, second))
        drawn, turns = line_between(
            a.points, turn.apply(b.points), share, (a.turns, b.turns), (here, there)
        )
        edges.append(Edge(a.name, rounded(drawn), turns))
    shared = share_corners(edges)
    on = {edge.name: edge for edge in shared}
    points = {mark.name: mark.point for mark in second.landmarks}
    tips = {dart.name: dart.tip for dart in second.darts}
    drills = {mark.name: mark.point for mark in second.drills}
    lines = {line.name: line.points for line in second.lines}
    label = first.label
    if label is not None and second.label is not None:
        apart = second.label.angle + float(np.degrees(turn.angle)) - label.angle
        apart = (apart + 180.0) % 360.0 - 180.0
        label = Label(mix(label.point, second.label.point), round(label.angle + share * apart, 6))
    return SizedPiece(
        edges=shared,
        grain=Grain(
            mix(first.grain.start, second.grain.start), mix(first.grain.end, second.grain.end)
        ),
        landmarks=tuple(
            put_mark(mark, edge, nearest_place(edge, mix(mark.point, points[mark.name])))
            for mark in first.landmarks
            for edge in [on[mark.edge]]
        ),
        darts=tuple(replace(dart, tip=mix(dart.tip, tips[dart.name])) for dart in first.darts),
        lines=tuple(
            replace(line, points=rounded(drawn))
            for line in first.lines
            if line.name in lines
            for drawn, _ in [line_between(line.points, turn.apply(lines[line.name]), share)]
        ),
        drills=tuple(
            Mark(mark.name, mix(mark.point, drills[mark.name]))
            for mark in first.drills
            if mark.name in drills
        ),
        levels={name: mix(at, second.levels[name]) for name, at in first.levels.items()},
        label=label,
        pleats=first.pleats,
    )
