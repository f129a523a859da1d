"""From the drawn lines of a piece in one size to a piece of the model."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from propagate.geometry.polyline import locate, point_at
from propagate.io.chain import Chain, Point
from propagate.io.svg.drawing import Shape
from propagate.io.svg.elements import clean_name
from propagate.io.svg.marks import ON_OUTLINE_MM, Place, Sorted
from propagate.io.svg.roles import tail_of
from propagate.pattern.model import (
    Array,
    Dart,
    Edge,
    InternalLine,
    Landmark,
    Mark,
    SizedPiece,
    frozen_points,
)
from propagate.recognise.corners import CORNER_DEG
from propagate.tolerances import DECIMALS, ON_LINE_MM

__all__ = ["assemble_piece", "edge_of"]

_LEVEL_WORD = re.compile(r"^level[-_ ]+(?=.)", re.IGNORECASE)


def edge_of(name: str, chain: Chain, turns: Sequence[int] | None = None) -> Edge:
    """An edge from a chain; a curved one keeps its curves as path data."""
    if chain.curved:
        from propagate.io.path_data import flatten_path

        path = chain.text()
        points, bends = flatten_path(path)
        return Edge(name, points, bends, path)
    points = chain.points
    if turns is None:
        turns = _find_bends(points)
    inner = tuple(t for t in turns if 0 < t < len(points) - 1)
    return Edge(name, points, inner)


def _find_bends(points: Array) -> tuple[int, ...]:
    """Inner vertices of an open line that turn as much as a corner."""
    steps = np.diff(points, axis=0)
    came, goes = steps[:-1], steps[1:]
    cross = came[:, 0] * goes[:, 1] - came[:, 1] * goes[:, 0]
    turn = np.degrees(np.abs(np.arctan2(cross, (came * goes).sum(axis=1))))
    return tuple(int(i) + 1 for i in np.flatnonzero(turn >= CORNER_DEG))


def assemble_piece(edges: Sequence[Edge], marks: Sorted, place: Place) -> SizedPiece:
    """Put a piece together, every mark named and on its edge."""
    assert marks.grain is not None
    landmarks: list[Landmark] = []
    names = _Names()
    for shape, point, kind in sorted(marks.notches, key=lambda item: _find_along(edges, item[1])):
        name = names.take(_said(shape), kind)
        edge, on_line, gap = _on_edge(edges, point, shape.data.get("edge"))
        if gap > ON_LINE_MM:
            place.note("repaired", f"a {kind} within {ON_OUTLINE_MM:g} mm was put on its edge")
        landmarks.append(Landmark(name, edge, on_line, kind))
    darts = [
        dart for shape in marks.darts if (dart := _find_dart(shape, edges, landmarks, names, place))
    ]
    return SizedPiece(
        edges=tuple(edges),
        grain=marks.grain,
        landmarks=_in_order(landmarks, edges),
        darts=tuple(dart for dart in darts if dart is not None),
        lines=tuple(
            InternalLine(names.take(_said(shape), "line"), frozen_points(shape.chain.points))
            for shape in marks.lines
        ),
        drills=tuple(Mark(names.take(_said(s), "drill"), point) for s, point in marks.drills),
        levels={names.level(shape): point for shape, point in marks.levels},
        label=marks.label,
    )


def _said(shape: Shape) -> str | None:
    return shape.data.get("name") or tail_of(shape.name)


def _find_along(edges: Sequence[Edge], point: Point) -> tuple[int, float]:
    """Order along the outline: the edge's number and the distance on it."""
    near = [(round(gap, 4), i, along) for i, (along, gap) in _located(edges, point)]
    _, index, along = min(near)
    return index, along


def _located(edges: Sequence[Edge], point: Point) -> list[tuple[int, tuple[float, float]]]:
    return [(i, locate(edge.points, point)) for i, edge in enumerate(edges)]


def _on_edge(edges: Sequence[Edge], point: Point, said: str | None) -> tuple[str, Point, float]:
    """The edge that a point is on, the point put on it, and how far off it was, mm."""
    near = [(edge, *locate(edge.points, point)) for edge in edges]
    named = [item for item in near if item[0].name == said and item[2] <= ON_OUTLINE_MM]
    edge, along, gap = named[0] if named else min(near, key=lambda item: round(item[2], 4))
    if gap <= ON_LINE_MM / 2:
        return edge.name, point, gap
    x, y = point_at(edge.points, along)
    return edge.name, (round(float(x), DECIMALS), round(float(y), DECIMALS)), gap


def _find_dart(
    shape: Shape,
    edges: Sequence[Edge],
    landmarks: list[Landmark],
    names: _Names,
    place: Place,
) -> Dart | None:
    """A dart from leg, tip, leg; its legs are on one edge."""
    first, tip, second = ((float(x), float(y)) for x, y in shape.chain.points)
    name = names.dart(_said(shape))
    legs = shape.data.get("legs", "").split()
    said = shape.data.get("edge")
    found = [_on_edge(edges, point, said) for point in (first, second)]
    if found[0][0] != found[1][0] or max(found[0][2], found[1][2]) > ON_OUTLINE_MM:
        place.note("ignored", f"the dart '{name}', whose legs are not on one edge")
        return None
    if len(legs) != 2:
        legs = [f"{name}_a", f"{name}_b"]
    taken = [names.take(leg, "leg") for leg in legs]
    landmarks += [
        Landmark(leg, edge, point, "dart leg")
        for leg, (edge, point, _) in zip(taken, found, strict=True)
    ]
    return Dart(name, found[0][0], (taken[0], taken[1]), tip)


def _in_order(landmarks: Sequence[Landmark], edges: Sequence[Edge]) -> tuple[Landmark, ...]:
    """By edge, and along it."""
    place = {edge.name: (i, edge) for i, edge in enumerate(edges)}

    def key(mark: Landmark) -> tuple[int, float]:
        index, edge = place[mark.edge]
        return index, locate(edge.points, mark.point)[0]

    return tuple(sorted(landmarks, key=key))


class _Names:
    """Keeps the names of a piece's marks apart."""

    def __init__(self) -> None:
        self._marks = _Taken({"start", "end"})
        self._levels = _Taken(set())
        self._darts = _Taken(set())

    def take(self, said: str | None, kind: str) -> str:
        """A name as said, made unique; numbered when nothing was said."""
        return self._marks.take(said, kind.replace(" ", "_"))

    def level(self, shape: Shape) -> str:
        """A level's name; of an id without the word itself in front."""
        said = _said(shape)
        if said and "name" not in shape.data:
            said = _LEVEL_WORD.sub("", said, count=1)
        return self._levels.take(said, "level")

    def dart(self, said: str | None) -> str:
        """A dart's name."""
        return self._darts.take(said, "dart")


class _Taken:
    """Names that are taken, with the last number behind each."""

    def __init__(self, used: set[str]) -> None:
        self._used = used
        self._last: dict[str, int] = {}

    def take(self, said: str | None, kind: str) -> str:
        """The name said if it is free, else it or the kind with the next free number."""
        name = clean_name(said) if said else ""
        if name and name not in self._used:
            self._used.add(name)
            return name
        head = name or kind
        number = self._last.get(head, 1 if name else 0) + 1
        while f"{head}_{number}" in self._used:
            number += 1
        self._last[head] = number
        self._used.add(f"{head}_{number}")
        return f"{head}_{number}"
