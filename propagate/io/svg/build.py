"""From the drawn lines of a piece in one size to a piece of the model."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.geometry.corner import measure_turns
from propagate.geometry.polyline import locate, point_at
from propagate.io.chain import Chain, Point
from propagate.io.clean_names import clean_name
from propagate.io.svg.drawing import Shape
from propagate.io.svg.marks import ON_OUTLINE_MM, Place, Sorted
from propagate.io.svg.roles import said_name
from propagate.pattern.model import (
    Dart,
    Edge,
    InternalLine,
    Landmark,
    LandmarkKind,
    Mark,
    SizedPiece,
    frozen_points,
)
from propagate.recognise.corners import CORNER_DEG
from propagate.tolerances import DECIMALS, ON_LINE_MM

__all__ = ["assemble_piece", "edge_of", "named_by_place"]

_LEVEL_WORD = re.compile(r"^level[-_ ]+(?=.)", re.IGNORECASE)


def edge_of(name: str, chain: Chain, turns: Sequence[int] | None = None) -> Edge:
    """An edge from a chain; a curved one keeps its curves as path data.

    Of a straight one without `turns`, vertices that turn as much as a corner are turn points.
    """
    if chain.curved:
        from propagate.io.path_data import flatten_path

        path = chain.text()
        points, bends = flatten_path(path)
        return Edge(name, points, bends, path)
    points = chain.points
    if turns is None:
        turns = np.flatnonzero(np.abs(measure_turns(points)) >= CORNER_DEG).tolist()
    return Edge(name, points, tuple(t for t in turns if 0 < t < len(points) - 1))


def assemble_piece(edges: Sequence[Edge], marks: Sorted, place: Place) -> SizedPiece:
    """Put a piece together, every mark named and on its edge."""
    assert marks.grain is not None
    names, levels, darts = _Names({"start", "end"}), _Names(), _Names()
    landmarks: list[Landmark] = []

    def along_outline(notch: tuple[Shape, Point, LandmarkKind]) -> tuple[int, float]:
        near = ((i, *locate(edge.points, notch[1])) for i, edge in enumerate(edges))
        index, along, _ = min(near, key=lambda item: (round(item[2], 4), item[0]))
        return index, along

    for shape, point, kind in sorted(marks.notches, key=along_outline):
        name = names.take(said_name(shape), kind)
        edge, on_line, gap = _on_edge(edges, point, shape.data.get("edge"))
        if gap > ON_LINE_MM:
            place.note("repaired", f"a {kind} within {ON_OUTLINE_MM:g} mm was put on its edge")
        landmarks.append(Landmark(name, edge, on_line, kind))
    found = []
    for shape in marks.darts:
        name = darts.take(said_name(shape), "dart")
        dart, legs = _find_dart(name, shape, edges, names)
        if dart is None:
            place.note("ignored", f"the dart '{name}', whose legs are not on one edge")
        else:
            found.append(dart)
            landmarks += legs
    by_level = {}
    for shape, point in marks.levels:
        said = said_name(shape)
        if said and "name" not in shape.data:  # of an id without the word itself in front
            said = _LEVEL_WORD.sub("", said, count=1)
        by_level[levels.take(said, "level")] = point
    numbers = {edge.name: number for number, edge in enumerate(edges)}
    landmarks.sort(key=lambda m: (n := numbers[m.edge], locate(edges[n].points, m.point)[0]))
    return SizedPiece(
        edges=tuple(edges),
        grain=marks.grain,
        landmarks=tuple(landmarks),
        darts=tuple(found),
        lines=tuple(
            InternalLine(names.take(said_name(shape), "line"), frozen_points(shape.chain.points))
            for shape in marks.lines
        ),
        drills=tuple(Mark(names.take(said_name(s), "drill"), point) for s, point in marks.drills),
        levels=by_level,
        label=marks.label,
    )


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
    name: str, shape: Shape, edges: Sequence[Edge], names: _Names
) -> tuple[Dart | None, list[Landmark]]:
    """A dart from leg, tip, leg, and its legs; None where they are not on one edge."""
    first, tip, second = ((float(x), float(y)) for x, y in shape.chain.points)
    found = [_on_edge(edges, point, shape.data.get("edge")) for point in (first, second)]
    edge = found[0][0]
    if edge != found[1][0] or max(found[0][2], found[1][2]) > ON_OUTLINE_MM:
        return None, []
    said = shape.data.get("legs", "").split()
    if len(said) != 2:
        said = [f"{name}_a", f"{name}_b"]
    one, other = (names.take(leg, "leg") for leg in said)
    legs = [
        Landmark(leg, edge, at[1], "dart leg") for leg, at in zip((one, other), found, strict=True)
    ]
    return Dart(name, edge, (one, other), tip), legs


class _Names:
    """Names that are taken, with the last number behind each."""

    def __init__(self, used: Iterable[str] = ()) -> None:
        self._used = set(used)
        self._last: dict[str, int] = {}

    def take(self, said: str | None, kind: str) -> str:
        """The name said if it is free, else it or the kind with the next free number."""
        name = clean_name(said) if said else ""
        kind = kind.replace(" ", "_")
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


_NUMBERED = re.compile(r"(?:notch|mark)_\d+")
SAME_SHARE = 0.15
"""Of its edge by which a mark may lie elsewhere in another size."""


def named_by_place(nest: Mapping[str, SizedPiece], base: str) -> Mapping[str, SizedPiece]:
    """Number the marks of every size as those of the base size in the same place.

    They are numbered along the outline, so one that a size lacks would shift all after it.
    Where every size has as many on each edge, nothing changes.
    """
    rows: dict[str, dict[str, list[tuple[float, Landmark]]]] = {size: {} for size in nest}
    for size, piece in nest.items():
        for mark in piece.landmarks:
            if mark.kind != "dart leg" and _NUMBERED.fullmatch(mark.name):
                share = piece.distance(mark.edge, mark.name) / piece.edge(mark.edge).length
                rows[size].setdefault(mark.edge, []).append((share, mark))
    counts = {size: {edge: len(marks) for edge, marks in row.items()} for size, row in rows.items()}
    if all(count == counts[base] for count in counts.values()):
        return nest
    taken = {mark.name for piece in nest.values() for mark in piece.landmarks}
    number = len(taken)
    found: dict[str, SizedPiece] = {}
    for size, piece in nest.items():
        names: dict[str, str] = {}
        for edge, marks in rows[size].items() if size != base else ():
            pairs = _pair_marks(rows[base].get(edge, []), marks)
            for index, (_, mark) in enumerate(marks):
                if index in pairs:
                    names[mark.name] = pairs[index]
                    continue
                number += 1
                while f"{mark.kind}_{number}" in taken:
                    number += 1
                names[mark.name] = f"{mark.kind}_{number}"
        marks_now = tuple(replace(m, name=names.get(m.name, m.name)) for m in piece.landmarks)
        found[size] = replace(piece, landmarks=marks_now)
    return found


def _pair_marks(
    main: list[tuple[float, Landmark]], own: list[tuple[float, Landmark]]
) -> dict[int, str]:
    """Name of the base size's mark for each of a size, the nearest first."""
    gaps = sorted(
        (round(abs(share - other), 6), index, name.name)
        for index, (share, mark) in enumerate(own)
        for other, name in main
        if name.kind == mark.kind
    )
    found: dict[int, str] = {}
    for gap, index, name in gaps:
        if gap <= SAME_SHARE and index not in found and name not in found.values():
            found[index] = name
    return found
