"""The elements that a piece in one size is written as."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import field

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import between
from propagate.io.chain import Chain, number_text
from propagate.io.svg.path_read import parse_path
from propagate.pattern.model import Edge, SizedPiece
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


def piece_parts(sized: SizedPiece, info: PieceInfo, decimals: int) -> Iterator[Part]:
    """Everything of a piece in one size, edges first."""
    for number, edge in enumerate(sized.edges):
        yield _edge_part(edge, decimals, first=number == 0, fold=info.fold == edge.name)
    for mark in sized.landmarks:
        if mark.kind == "notch":
            edge = sized.edge(mark.edge)
            at = sized.distance(mark.edge, mark.name)
            part = between(edge.points, max(at - 1.0, 0.0), min(at + 1.0, edge.length))
            x, y = part[-1] - part[0]
            out = np.array([y, -x]) / max(math.hypot(x, y), 1e-9)
            tip = np.asarray(mark.point) + NOTCH_MM * out
            place = _path_data(np.array([mark.point, tip]), decimals)
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
    across = sized.grain.direction[::-1] * (1.0, -1.0)
    for name, point in sized.levels.items():  # across the piece, its point in the middle of three
        middle = np.asarray(point)
        reach = (sized.outline - middle) @ across
        low, high = min(float(reach.min()), -1.0), max(float(reach.max()), 1.0)
        ends = [middle + low * across, middle, middle + high * across]
        yield Part("level", name, "path", _path_data(ends, decimals))
    ends = [np.asarray(end) for end in (sized.grain.start, sized.grain.end)]
    yield Part("grain", "grain", "path", _path_data(ends, decimals))
    if sized.label is not None:
        right, up = sized.label.point
        x, y = number_text(right, decimals), number_text(-up, decimals)
        turn = f' transform="rotate({number_text(-sized.label.angle)} {x} {y})"'
        place = f'x="{x}" y="{y}" font-size="12" fill="#1a1a1a" stroke="none"{turn}'
        data = {"angle": repr(float(sized.label.angle))}
        yield Part("label", "label", "text", place, data)


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


def _path_data(points: npt.ArrayLike, decimals: int) -> str:
    words = [
        f"{number_text(float(x), decimals)} {number_text(-float(y), decimals)}"
        for x, y in np.asarray(points, dtype=np.float64)
    ]
    return f'd="M {" L ".join(words)}"'


def _dot(point: tuple[float, float], decimals: int) -> str:
    x, y = number_text(point[0], decimals), number_text(-point[1], decimals)
    return f'cx="{x}" cy="{y}" r="{DOT_MM:g}"'
