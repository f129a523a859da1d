"""The elements that a piece in one size is written as."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import field

import numpy as np

from propagate.geometry.polyline import between
from propagate.io.chain import Chain, number_text
from propagate.io.svg.path_read import parse_path
from propagate.pattern.model import Array, Edge, Landmark, SizedPiece
from propagate.pattern.relations import PieceInfo
from propagate.values import dataclass

__all__ = ["Part", "piece_parts"]

NOTCH_MM = 5.0
DOT_MM = 1.5


@dataclass(frozen=True)
class Part:
    """One element: what it is, its name, its attributes and its place."""

    kind: str
    name: str
    tag: str
    place: str
    data: Mapping[str, str] = field(default_factory=dict)
    text: str | None = None


def piece_parts(sized: SizedPiece, info: PieceInfo, decimals: int) -> Iterator[Part]:
    """Everything of a piece in one size, edges first."""
    for number, edge in enumerate(sized.edges):
        yield _edge_part(edge, decimals, first=number == 0, fold=info.fold == edge.name)
    for mark in sized.landmarks:
        if mark.kind == "notch":
            tip = np.asarray(mark.point) + NOTCH_MM * _outward(sized, mark)
            place = _path_data([mark.point, tip], decimals)
            yield Part("notch", mark.name, "path", place, {"edge": mark.edge})
        elif mark.kind == "mark":
            yield Part("mark", mark.name, "circle", _dot(mark.point, decimals), {"edge": mark.edge})
    for dart in sized.darts:
        first, second = (sized.landmark(leg).point for leg in dart.legs)
        data = {"edge": dart.edge, "legs": " ".join(dart.legs)}
        yield Part("dart", dart.name, "path", _path_data([first, dart.tip, second], decimals), data)
    for line in sized.lines:
        yield Part("line", line.name, "path", _path_data(line.points, decimals))
    for drill in sized.drills:
        yield Part("drill", drill.name, "circle", _dot(drill.point, decimals))
    for name, point in sized.levels.items():
        yield Part("level", name, "path", _path_data(_level_line(sized, point), decimals))
    ends = [sized.grain.start, sized.grain.end]
    yield Part("grain", "grain", "path", _path_data(ends, decimals))
    if sized.label is not None:
        yield _label_part(sized, decimals)


def _edge_part(edge: Edge, decimals: int, *, first: bool, fold: bool) -> Part:
    data = {"length-mm": f"{edge.length:.3f}"}
    if edge.turns and edge.path is None:
        data["turns"] = " ".join(map(str, edge.turns))
    data |= {"first": "true"} if first else {}
    data |= {"fold": "true"} if fold else {}
    if edge.path is None:
        return Part("edge", edge.name, "path", _path_data(edge.points, decimals), data)
    line = parse_path(edge.path)[0]
    chain = Chain(line.start, tuple(line.segments))
    return Part("edge", edge.name, "path", f'd="{chain.text(decimals, flip=True)}"', data)


def _path_data(points: Array | list[tuple[float, float]] | list[object], decimals: int) -> str:
    words = [
        f"{number_text(float(x), decimals)} {number_text(-float(y), decimals)}"
        for x, y in np.asarray(points, dtype=np.float64)
    ]
    return f'd="M {" L ".join(words)}"'


def _dot(point: tuple[float, float], decimals: int) -> str:
    x, y = number_text(point[0], decimals), number_text(-point[1], decimals)
    return f'cx="{x}" cy="{y}" r="{DOT_MM:g}"'


def _outward(sized: SizedPiece, mark: Landmark) -> Array:
    """Unit vector (2,) square to the edge at a landmark, away from the piece."""
    edge = sized.edge(mark.edge)
    at = sized.distance(mark.edge, mark.name)
    part = between(edge.points, max(at - 1.0, 0.0), min(at + 1.0, edge.length))
    along = part[-1] - part[0]
    return np.asarray(np.array([along[1], -along[0]]) / max(math.hypot(*along), 1e-9))


def _level_line(sized: SizedPiece, point: tuple[float, float]) -> Array:
    """A level across the piece with its point in the middle of three."""
    grain = sized.grain.direction
    across = np.array([grain[1], -grain[0]])
    reach = (sized.outline - np.asarray(point)) @ across
    low, high = min(float(reach.min()), -1.0), max(float(reach.max()), 1.0)
    middle = np.asarray(point)
    return np.array([middle + low * across, middle, middle + high * across])


def _label_part(sized: SizedPiece, decimals: int) -> Part:
    assert sized.label is not None
    x, y = sized.label.point
    px, py = number_text(x, decimals), number_text(-y, decimals)
    turn = f' transform="rotate({number_text(-sized.label.angle)} {px} {py})"'
    place = f'x="{px}" y="{py}" font-size="12" fill="#1a1a1a" stroke="none"{turn}'
    data = {"angle": repr(float(sized.label.angle))}
    return Part("label", "label", "text", place, data, text="")
