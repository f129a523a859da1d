"""A piece turned over: as it is drawn with its other face up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.geometry.arrays import Array
from propagate.pattern.grain import Grain
from propagate.pattern.info import CornerStyle, PieceInfo
from propagate.pattern.model import Label, Piece, SizedPiece, frozen_points

__all__ = ["turn_over", "turn_over_info"]

_TURNED: dict[CornerStyle, CornerStyle] = {
    "mitre": "mitre",
    "square": "square second",
    "square second": "square",
}
_ENDS = {"start": "end", "end": "start"}
_OVER = np.array([-1.0, 1.0])


def turn_over(piece: Piece) -> Piece:
    """Turn a piece over about a line up the drawing, in all its sizes, digit for digit."""
    return Piece(piece.name, {size: _turn_sized(sized) for size, sized in piece.nest.items()})


def _turn_sized(sized: SizedPiece) -> SizedPiece:
    def turn_point(point: tuple[float, float]) -> tuple[float, float]:
        return 0.0 - point[0], point[1]

    def turn_points(points: Array) -> Array:
        return frozen_points(0.0 + points * _OVER)  # no zero gets a sign

    label = sized.label
    if label is not None:
        label = Label(turn_point(label.point), 0.0 - label.angle)
    edges = [edge.reverse() for edge in reversed(sized.edges)]
    return replace(
        sized,
        edges=tuple(replace(edge, points=turn_points(edge.points), path=None) for edge in edges),
        grain=Grain(turn_point(sized.grain.start), turn_point(sized.grain.end)),
        landmarks=tuple(replace(mark, point=turn_point(mark.point)) for mark in sized.landmarks),
        darts=tuple(
            replace(dart, legs=dart.legs[::-1], tip=turn_point(dart.tip)) for dart in sized.darts
        ),
        lines=tuple(replace(line, points=turn_points(line.points)) for line in sized.lines),
        drills=tuple(replace(mark, point=turn_point(mark.point)) for mark in sized.drills),
        levels={name: turn_point(point) for name, point in sized.levels.items()},
        label=label,
    )


def turn_over_info(about: PieceInfo) -> PieceInfo:
    """Say of a piece that was turned over what was said of it: its edges run the other way."""
    anchors = {}
    for mark, place in about.anchors.items():
        edge, _, end = place.rpartition(".")
        anchors[mark] = f"{edge}.{_ENDS.get(end, end)}"
    corners = {
        "/".join(reversed(pair.split("/"))): _TURNED[style]
        for pair, style in about.allowance.corners.items()
    }
    return replace(about, anchors=anchors, allowance=replace(about.allowance, corners=corners))
