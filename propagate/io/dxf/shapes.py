"""Lines, points and texts on layers, as a block holds them, and where blocks stand.

Everything that is not a line, a point or a text stays what it is and is listed: it is an
`extra` of its block.  A block with grade rules is drawn in every size, and each size has the
same points on the same layers at other places: only the places are made anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from typing import overload

import numpy as np
import numpy.typing as npt

from propagate.errors import FormatError
from propagate.geometry.affine import Affine
from propagate.io.dxf.conventions import (
    MAX_DEPTH,
    RULE_NUMBER,
)
from propagate.io.dxf.frame import Entity
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = [
    "Insert",
    "Line",
    "Point",
    "Shapes",
    "Text",
    "expanded_count",
    "flatten_block",
    "move_shapes",
    "find_block_place",
    "scale_shapes",
    "table_points",
]


@dataclass(slots=True)
class Point:
    """A POINT."""

    layer: str
    at: tuple[float, float]
    source: Entity


class PointTable(Sequence[Point]):
    """Points with their places as one array.

    Parameters
    ----------
    layers : sequence of str
    places : (n, 2) array
    sources : sequence of Entity
    """

    def __init__(self, layers: Sequence[str], places: Array, sources: Sequence[Entity]) -> None:
        self.layers, self.places, self.sources = layers, places, sources
        self._on: Mapping[str, npt.NDArray[np.intp]] | None = None

    def at(self, places: Array) -> PointTable:
        """Return the same points at other places."""
        moved = PointTable(self.layers, places, self.sources)
        moved._on = self._index()
        return moved

    def by_layer(self) -> dict[str, Array]:
        """Return the places on each layer, in the order of the file."""
        return {layer: self.places[own] for layer, own in self._index().items()}

    def _index(self) -> Mapping[str, npt.NDArray[np.intp]]:
        if self._on is None:
            found: dict[str, list[int]] = {}
            for index, layer in enumerate(self.layers):
                found.setdefault(layer, []).append(index)
            self._on = {layer: np.array(own) for layer, own in found.items()}
        return self._on

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.layers)

    @overload
    def __getitem__(self, index: int) -> Point: ...
    @overload
    def __getitem__(self, index: slice) -> list[Point]: ...
    def __getitem__(self, index: int | slice) -> Point | list[Point]:
        """Return one point, or several."""
        if isinstance(index, slice):
            return list(self)[index]
        x, y = self.places[index].tolist()
        return Point(self.layers[index], (x, y), self.sources[index])

    def __iter__(self) -> Iterator[Point]:
        """Return the points one by one."""
        for layer, (x, y), source in zip(
            self.layers, self.places.tolist(), self.sources, strict=True
        ):
            yield Point(layer, (x, y), source)


def table_points(points: Sequence[Point]) -> PointTable:
    """Return points as a table."""
    if isinstance(points, PointTable):
        return points
    places = np.array([point.at for point in points], dtype=np.float64).reshape(-1, 2)
    return PointTable([point.layer for point in points], places, [point.source for point in points])


# --------------------------------------------------------------------------- lines, texts, blocks


@dataclass(slots=True)
class Line:
    """A POLYLINE, LWPOLYLINE or LINE: (n, 2) points in units of the file."""

    layer: str
    points: Array
    closed: bool
    source: Entity


@dataclass(slots=True)
class Text:
    """A TEXT; an MTEXT gives one for each of its lines."""

    layer: str
    at: Array
    text: str
    angle: float
    source: Entity


@dataclass(frozen=True)
class Insert:
    """A block put into a drawing."""

    block: str
    at: tuple[float, float]
    scale: tuple[float, float]
    angle: float
    source: Entity


@dataclass
class Shapes:
    """What one block, or the section ENTITIES, holds.

    `unrolled` counts what single entities became: chords of arcs, lines of a long text.
    """

    lines: list[Line] = field(default_factory=list)
    points: Sequence[Point] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    inserts: list[Insert] = field(default_factory=list)
    extras: list[tuple[str, Entity]] = field(default_factory=list)
    unrolled: int = 0

    def add(self, *points: Point) -> None:
        """Add points that were read."""
        assert isinstance(self.points, list)
        self.points.extend(points)

    @property
    def count(self) -> int:
        """How many shapes there are."""
        return len(self.lines) + len(self.points) + len(self.texts)

    @property
    def weight(self) -> int:
        """How many shapes there are, with every vertex of the lines."""
        return self.count + sum(len(line.points) for line in self.lines)


# ----------------------------------------------------------------------------- where blocks stand


def find_block_place(insert: Insert, base: tuple[float, float], unit_mm: float) -> Affine:
    """Return the map of a block's millimetres to the drawing's."""
    turn = np.eye(2)
    if insert.angle != 0.0:
        cos, sin = np.cos(np.radians(insert.angle)), np.sin(np.radians(insert.angle))
        turn = np.array([[cos, -sin], [sin, cos]])
    matrix = turn @ np.diag(insert.scale)
    if abs(np.linalg.det(matrix)) < 1e-12:
        raise ValueError("an insert with scale 0")
    offset = np.array(insert.at) * unit_mm - matrix @ (np.array(base) * unit_mm)
    return Affine(*matrix.T.ravel().tolist(), *offset.tolist())


def scale_shapes(shapes: Shapes, unit_mm: float) -> Shapes:
    """Return shapes in millimetres."""
    if unit_mm == 1.0:
        return shapes
    return _map_shapes(shapes, lambda points: points * unit_mm, 0.0)


def move_shapes(shapes: Shapes, place: Affine) -> Shapes:
    """Return shapes behind a map."""
    return shapes if place.is_identity else _map_shapes(shapes, place, place.angle)


def _map_shapes(shapes: Shapes, change: Callable[[Array], Array], turn: float) -> Shapes:
    points = table_points(shapes.points)
    return Shapes(
        [replace(line, points=change(line.points)) for line in shapes.lines],
        points.at(change(points.places)),
        [replace(text, at=change(text.at), angle=text.angle + turn) for text in shapes.texts],
        shapes.inserts,
        shapes.extras,
    )


_Blocks = Mapping[str, tuple[Shapes, tuple[float, float]]]


def expanded_count(
    name: str, blocks: _Blocks, known: dict[str, int], above: tuple[str, ...] = ()
) -> int:
    """Count the shapes of a block with those of the blocks in it, without drawing them.

    Raises
    ------
    FormatError
        Blocks inside blocks are nested too deeply.
    """
    if name in known:
        return known[name]
    _check_depth(above)
    shapes, _ = blocks[name]
    total = shapes.weight
    for insert in shapes.inserts:
        if insert.block in blocks and insert.block not in (*above, name):
            total += 1 + expanded_count(insert.block, blocks, known, (*above, name))
    known[name] = total
    return total


def _check_depth(above: tuple[str, ...]) -> None:
    if len(above) >= MAX_DEPTH:
        raise FormatError(
            f"block '{above[0]}': found blocks inside blocks more than {MAX_DEPTH} deep; "
            "explode them before exporting"
        )


def flatten_block(
    name: str, blocks: _Blocks, take: Callable[[int], None], above: tuple[str, ...] = ()
) -> tuple[Shapes, list[str]]:
    """Return the shapes of a block with those of the blocks inserted in it.

    Parameters
    ----------
    name : str
    blocks : mapping of block name to its shapes and base point
        All in units of the file.
    take : callable
        Counts shapes; raises FormatError above the limit.

    Returns
    -------
    shapes, problems
    """
    shapes, _ = blocks[name]
    if not shapes.inserts:
        return shapes, []
    _check_depth(above)
    merged = Shapes(
        list(shapes.lines), list(shapes.points), list(shapes.texts), [], list(shapes.extras)
    )
    problems: list[str] = []
    for insert in shapes.inserts:
        if insert.block in (*above, name):
            problems.append(f"block '{insert.block}' is inserted in itself; left out")
            continue
        if insert.block not in blocks:
            problems.append(f"block '{insert.block}' is inserted but not defined; left out")
            continue
        try:
            place = find_block_place(insert, blocks[insert.block][1], 1.0)
        except ValueError:
            problems.append(f"block '{insert.block}' is inserted with scale 0; left out")
            continue
        inner, more = flatten_block(insert.block, blocks, take, (*above, name))
        take(inner.weight + 1)
        if (place.is_mirrored or not place.is_rigid) and any(
            RULE_NUMBER.fullmatch(t.text) for t in inner.texts
        ):
            problems.append(
                f"block '{insert.block}' is inserted scaled or mirrored and has rule numbers: the "
                "deltas are taken as the rule file says them"
            )
        inner = move_shapes(inner, place)
        merged.lines += inner.lines
        merged.add(*inner.points)
        merged.texts += inner.texts
        problems += more
    return merged, problems
