"""Where blocks stand: units, inserts with offset, scale and rotation, blocks in blocks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np

from propagate.errors import FormatError
from propagate.io.dxf.conventions import MAX_DEPTH, RULE_NUMBER
from propagate.io.dxf.points import tabled
from propagate.io.dxf.shapes import Insert, Shapes
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["IDENTITY", "Placement", "expanded_count", "flatten", "moved", "placement", "scaled"]


@dataclass(frozen=True, eq=False)
class Placement:
    """An affine map of the plane: p -> matrix p + offset."""

    matrix: Array
    offset: Array

    @cached_property
    def is_identity(self) -> bool:
        """Nothing moves, not by a digit."""
        return bool((self.matrix == np.eye(2)).all() and (self.offset == 0.0).all())

    @property
    def is_rigid(self) -> bool:
        """Lengths are kept; the piece may be mirrored."""
        return bool(np.allclose(self.matrix @ self.matrix.T, np.eye(2), rtol=0.0, atol=1e-9))

    @property
    def is_turned_only(self) -> bool:
        """Nothing is scaled or mirrored."""
        return self.is_rigid and bool(np.linalg.det(self.matrix) > 0)

    @property
    def angle(self) -> float:
        """Direction of the x axis behind the map, degrees."""
        return float(np.degrees(np.arctan2(self.matrix[1, 0], self.matrix[0, 0])))

    def __call__(self, points: Array) -> Array:
        """Return points behind the map; (2,) or (n, 2)."""
        moved_points: Array = points @ self.matrix.T + self.offset
        return moved_points

    def back(self, points: Array) -> Array:
        """Return points before the map."""
        if self.is_identity:
            return points
        before: Array = (points - self.offset) @ np.linalg.inv(self.matrix).T
        return before


IDENTITY = Placement(np.eye(2), np.zeros(2))


def placement(insert: Insert, base: tuple[float, float], unit_mm: float) -> Placement:
    """Return the map of a block's millimetres to the drawing's."""
    if insert.angle == 0.0:
        turn = np.eye(2)
    else:
        cos, sin = np.cos(np.radians(insert.angle)), np.sin(np.radians(insert.angle))
        turn = np.array([[cos, -sin], [sin, cos]])
    matrix = turn @ np.diag(insert.scale)
    offset = np.array(insert.at) * unit_mm - matrix @ (np.array(base) * unit_mm)
    if abs(np.linalg.det(matrix)) < 1e-12:
        raise ValueError("an insert with scale 0")
    return Placement(matrix, offset)


def scaled(shapes: Shapes, unit_mm: float) -> Shapes:
    """Return shapes in millimetres."""
    if unit_mm == 1.0:
        return shapes
    return _mapped(shapes, lambda points: points * unit_mm, 0.0)


def moved(shapes: Shapes, place: Placement) -> Shapes:
    """Return shapes behind a map."""
    return shapes if place.is_identity else _mapped(shapes, place, place.angle)


def _mapped(shapes: Shapes, change: Callable[[Array], Array], turn: float) -> Shapes:
    points = tabled(shapes.points)
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


def flatten(
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
            place = placement(insert, blocks[insert.block][1], 1.0)
        except ValueError:
            problems.append(f"block '{insert.block}' is inserted with scale 0; left out")
            continue
        inner, more = flatten(insert.block, blocks, take, (*above, name))
        take(inner.weight + 1)
        if not place.is_turned_only and any(RULE_NUMBER.fullmatch(t.text) for t in inner.texts):
            problems.append(
                f"block '{insert.block}' is inserted scaled or mirrored and has rule numbers: the "
                "deltas are taken as the rule file says them"
            )
        inner = moved(inner, place)
        merged.lines += inner.lines
        merged.add(*inner.points)
        merged.texts += inner.texts
        problems += more
    return merged, problems
