"""A piece between two sizes of it: everything on it goes straight from one to the other."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.marks_on_lines import nearest_place, put_mark
from propagate.engine.reshape import rounded, share_corners
from propagate.geometry.line_between import line_between
from propagate.geometry.motion import IDENTITY, Motion
from propagate.pattern.model import Edge, Grain, InternalLine, Label, Landmark, Mark, SizedPiece

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
    spin = complex(*first.grain.direction) / complex(*second.grain.direction)
    turn = Motion(spin / abs(spin)) if abs(spin / abs(spin) - 1.0) > _AS_DRAWN else IDENTITY

    def mix(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
        x, y = rounded((1.0 - share) * np.asarray(a) + share * turn.apply(b))
        return (float(x), float(y))

    edges = share_corners(
        [_mix_edges(first, second, name, share, turn) for name in first.edge_names]
    )
    on = {edge.name: edge for edge in edges}
    points = {mark.name: mark.point for mark in second.landmarks}
    tips = {dart.name: dart.tip for dart in second.darts}
    drills = {mark.name: mark.point for mark in second.drills}
    return SizedPiece(
        edges=edges,
        grain=Grain(
            mix(first.grain.start, second.grain.start), mix(first.grain.end, second.grain.end)
        ),
        landmarks=tuple(
            _put_landmark(mark, on[mark.edge], mix(mark.point, points[mark.name]))
            for mark in first.landmarks
        ),
        darts=tuple(replace(dart, tip=mix(dart.tip, tips[dart.name])) for dart in first.darts),
        lines=_mix_lines(first, second, share, turn),
        drills=tuple(
            Mark(mark.name, mix(mark.point, drills[mark.name]))
            for mark in first.drills
            if mark.name in drills
        ),
        levels={name: mix(at, second.levels[name]) for name, at in first.levels.items()},
        label=_mix_labels(first.label, second.label, share, turn),
        pleats=first.pleats,
    )


def _mix_edges(
    first: SizedPiece, second: SizedPiece, name: str, share: float, turn: Motion
) -> Edge:
    """An edge; landmarks tell which places of the two belong together, as vertices do."""
    a, b = first.edge(name), second.edge(name)
    marks = [mark.name for mark in first.landmarks_on(name)]
    places = [[piece.distance(name, mark) for mark in marks] for piece in (first, second)]
    points, turns = line_between(
        a.points, turn.apply(b.points), share, (a.turns, b.turns), (places[0], places[1])
    )
    return Edge(name, rounded(points), turns)


def _put_landmark(mark: Landmark, edge: Edge, point: tuple[float, float]) -> Landmark:
    return put_mark(mark, edge, nearest_place(edge, point))


def _mix_lines(
    first: SizedPiece, second: SizedPiece, share: float, turn: Motion
) -> tuple[InternalLine, ...]:
    others = {line.name: line.points for line in second.lines}
    return tuple(
        InternalLine(
            line.name, rounded(line_between(line.points, turn.apply(others[line.name]), share)[0])
        )
        for line in first.lines
        if line.name in others
    )


def _mix_labels(
    first: Label | None, second: Label | None, share: float, turn: Motion
) -> Label | None:
    if first is None or second is None:
        return first
    x, y = rounded((1.0 - share) * np.asarray(first.point) + share * turn.apply(second.point))
    apart = second.angle + float(np.degrees(turn.angle)) - first.angle
    apart = (apart + 180.0) % 360.0 - 180.0
    return Label((float(x), float(y)), round(first.angle + share * apart, 6))
