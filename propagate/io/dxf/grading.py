"""Draw a block in every size from the sample size, rule numbers and a rule table.

A rule number is a text such as "# 12" at a point.  Points without a number are not
"rule 0": between two graded points of a line they are carried in proportion along it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from propagate.geometry.polyline import arc_lengths, locate_all
from propagate.io.dxf.conventions import (
    BOUNDARY,
    CURVE,
    GRADE_LINE,
    GRADED_LAYERS,
    RULE_NUMBER,
    SAME_PLACE_MM,
    SEW,
    TURN,
    VALIDATION,
)
from propagate.io.dxf.loops import near_vertices
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.rules import Deltas, RuleTable, displacements
from propagate.io.dxf.shapes import Line, Point, Shapes, Text
from propagate.pattern.model import Array
from propagate.tolerances import SAME_POINT_MM

__all__ = ["Grade", "graded", "has_rules", "without_numbers"]

_ON_LINE_MM = 1.0
_OUTLINES = (BOUNDARY, SEW, *VALIDATION.values())
_CLEAN_DECIMALS = 9
"""Of a millimetre, to which moved points are rounded: no file says more."""


@dataclass(frozen=True)
class Grade:
    """How rules are applied.

    Attributes
    ----------
    table : RuleTable
    unit_mm : float
        Millimetres in one unit of the table.
    deltas : "from sample" or "stepwise"
    axis : "grade line", "alternate" or "drawing"
        What gives the x axis of the deltas.
    """

    table: RuleTable
    unit_mm: float
    deltas: Deltas
    axis: str


@dataclass(frozen=True)
class _Numbers:
    """Rule numbers: where they stand, (k, 2), and their displacements, (k, sizes, 2), mm."""

    places: Array
    moves: Array
    layers: npt.NDArray[np.str_]

    def on(self, *layers: str) -> _Numbers:
        """Return those on some layers."""
        mine = np.isin(self.layers, layers)
        return _Numbers(self.places[mine], self.moves[mine], self.layers[mine])


def has_rules(shapes: Shapes) -> bool:
    """Tell whether any point of a block has a rule number."""
    return any(RULE_NUMBER.fullmatch(text.text) for text in shapes.texts)


def without_numbers(shapes: Shapes) -> Shapes:
    """Return the shapes without the texts that are rule numbers."""
    texts = [text for text in shapes.texts if not RULE_NUMBER.fullmatch(text.text)]
    return Shapes(shapes.lines, shapes.points, texts, shapes.inserts, shapes.extras)


def graded(shapes: Shapes, grade: Grade, notes: Notes, where: str) -> Mapping[str, Shapes]:
    """Return the block drawn in every size of the table; shapes are in millimetres."""
    sizes = grade.table.sizes
    frame = _frame(shapes, grade.axis, notes, where)
    numbers = _numbers(shapes, grade, frame, notes, where)
    lines = _line_moves(shapes, numbers, notes, where)
    point_moves = _place_moves(shapes.points, numbers, shapes.lines, lines)
    ungraded = sum(
        not np.isfinite(move).all()
        for point, move in zip(shapes.points, point_moves, strict=True)
        if point.layer in GRADED_LAYERS
    )
    if ungraded:
        notes.info(
            f"{ungraded} point(s) inside the piece have no rule number and stay where they are "
            "in every size",
            where=where,
        )
    texts = without_numbers(shapes).texts
    text_moves = _place_moves(texts, numbers, shapes.lines, lines)
    places = np.array([point.at for point in shapes.points]).reshape(-1, 2)
    point_moves, text_moves = np.nan_to_num(point_moves), np.nan_to_num(text_moves)
    return {
        size: Shapes(
            [
                replace(line, points=_moved(line.points, by[:, index]))
                for line, by in zip(shapes.lines, lines, strict=True)
            ],
            [
                Point(point.layer, (x, y), point.source)
                for point, (x, y) in zip(
                    shapes.points, _moved(places, point_moves[:, index]).tolist(), strict=True
                )
            ],
            [
                replace(text, at=_moved(np.asarray(text.at), by[index]))
                for text, by in zip(texts, text_moves, strict=True)
            ],
            shapes.inserts,
            shapes.extras,
        )
        for index, size in enumerate(sizes)
    }


def _moved(points: Array, moves: Array) -> Array:
    """Return points after their displacements, without the dust of adding two decimals."""
    return np.where(moves == 0.0, points, np.round(points + moves, _CLEAN_DECIMALS))


def _frame(shapes: Shapes, axis: str, notes: Notes, where: str) -> Array:
    """(2, 2) matrix that turns deltas into the drawing's frame."""
    lines = [line for line in shapes.lines if line.layer == GRADE_LINE]
    if axis == "drawing" or not lines:
        if not lines and axis != "drawing":
            notes.info(
                "there is no grade reference line: the deltas act along the drawing's axes",
                option="axis",
                where=where,
            )
        return np.eye(2)
    if len(lines) > 1:
        notes.warn(
            f"there are {len(lines)} grade reference lines: the deltas act along the "
            + ("last, the alternate one" if axis == "alternate" else "first"),
            option="axis",
            where=where,
        )
    points = lines[-1 if axis == "alternate" else 0].points
    along = points[-1] - points[0]
    size = float(np.hypot(*along))
    if size < SAME_POINT_MM:
        notes.warn(
            "the grade reference line has no length; the drawing's axes are taken",
            option="axis",
            where=where,
        )
        return np.eye(2)
    x, y = along / size
    if abs(y) > 1e-9 or x < 0:
        notes.info(
            f"the grade reference line is turned by {np.degrees(np.arctan2(y, x)):.2f} degrees: "
            "the deltas act in its frame",
            option="axis",
            where=where,
        )
    return np.array([[x, -y], [y, x]])


def _numbers(shapes: Shapes, grade: Grade, frame: Array, notes: Notes, where: str) -> _Numbers:
    places, moves, layers, unknown = [], [], [], set()
    known: dict[str, Array] = {}
    for text in shapes.texts:
        match = RULE_NUMBER.fullmatch(text.text)
        if match is None:
            continue
        number = match[1].lstrip("0") or "0"
        if number not in grade.table.rules:
            unknown.add(number)
            continue
        if number not in known:
            by = displacements(grade.table, number, grade.deltas) * grade.unit_mm
            known[number] = by @ frame.T
        places.append(text.at)
        layers.append(text.layer)
        moves.append(known[number])
    for number in sorted(unknown):
        notes.warn(
            f"rule {number} is used but not in the rule table; its points are carried between "
            "their neighbours",
            where=where,
        )
    count = len(grade.table.sizes)
    return _Numbers(
        np.array(places).reshape(-1, 2),
        np.array(moves).reshape(-1, count, 2),
        np.array(layers, dtype=str),
    )


def _line_moves(shapes: Shapes, numbers: _Numbers, notes: Notes, where: str) -> list[Array]:
    """Displacement (n, sizes, 2) of every vertex of every line, mm."""
    found: list[Array | None] = []
    by_layer: dict[str, _Numbers] = {}
    for line in shapes.lines:
        if line.layer not in by_layer:
            by_layer[line.layer] = numbers.on(TURN, CURVE, line.layer)
        own = by_layer[line.layer]
        some = np.flatnonzero(_around(line.points, own.places, SAME_PLACE_MM))
        at = near_vertices(own.places[some], line.points)
        at[at >= 0] = some[at[at >= 0]]
        found.append(_carried(line, at, own.moves))
    outlines = [
        (line, by)
        for line, by in zip(shapes.lines, found, strict=True)
        if by is not None and line.layer in _OUTLINES
    ]
    result: list[Array] = []
    for line, by in zip(shapes.lines, found, strict=True):
        if by is None and outlines and line.layer in _OUTLINES:
            notes.info(
                f"the line on layer {line.layer} has no rule numbers: it follows the graded "
                "outline beside it",
                where=where,
            )
            by = _along(outlines[0][0], outlines[0][1], line.points)
        elif by is None:
            by = np.zeros((len(line.points), numbers.moves.shape[1], 2))
        result.append(by)
    return result


def _carried(line: Line, at: Array, moves: Array) -> Array | None:
    """Displacements of a line's vertices, carried in proportion between graded ones."""
    graded_at = np.flatnonzero(at >= 0)
    if not len(graded_at):
        return None
    by = moves[at[graded_at]].reshape(len(graded_at), -1)
    closed = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    arc = arc_lengths(closed)
    own = arc[graded_at]
    around = arc[-1] if line.closed else None
    target = arc[: len(line.points)]
    columns = [
        np.interp(target, own, column, period=around) if around else np.interp(target, own, column)
        for column in by.T
    ]
    found = np.array(columns).T
    found[graded_at] = by  # digit for digit
    return found.reshape(len(line.points), moves.shape[1], 2)


def _along(line: Line, by: Array, targets: Array) -> Array:
    """Displacements at the places of a graded line that are nearest to `targets`."""
    points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    moves = np.concatenate([by, by[:1]]) if line.closed else by
    arc = arc_lengths(points)
    along = locate_all(points, targets)[0] if len(targets) else np.zeros(0)
    flat = moves.reshape(len(moves), -1)
    columns = [np.interp(along, arc, column) for column in flat.T]
    return np.array(columns).T.reshape(len(targets), by.shape[1], 2)


def _place_moves(
    items: Sequence[Point | Text], numbers: _Numbers, lines: list[Line], line_moves: list[Array]
) -> Array:
    """Displacement (m, sizes, 2) of single places: their rule, else the line they lie on.

    Not a number where neither gives one.
    """
    targets = np.array([item.at for item in items]).reshape(-1, 2)
    layers = np.array([item.layer for item in items], dtype=str)
    found = np.full((len(targets), numbers.moves.shape[1], 2), np.nan)
    left = np.ones(len(targets), dtype=bool)
    for layer in dict.fromkeys(layers.tolist()):
        own = numbers.on(layer)
        some = np.flatnonzero(layers == layer)
        at = near_vertices(own.places, targets[some])
        found[some[at >= 0]] = own.moves[at[at >= 0]]
        left[some[at >= 0]] = False
    for line, by in zip(lines, line_moves, strict=True):
        rest = np.flatnonzero(left)
        rest = rest[_around(line.points, targets[rest], SAME_PLACE_MM)]
        vertex = near_vertices(line.points, targets[rest])
        found[rest[vertex >= 0]] = by[vertex[vertex >= 0]]
        left[rest[vertex >= 0]] = False
    rest = np.flatnonzero(left)
    at = near_vertices(numbers.places, targets[rest])
    found[rest[at >= 0]] = numbers.moves[at[at >= 0]]
    left[rest[at >= 0]] = False
    for line, by in zip(lines, line_moves, strict=True):
        rest = np.flatnonzero(left)
        if line.layer not in _OUTLINES or not len(rest):
            continue
        points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
        some = rest[_around(points, targets[rest], _ON_LINE_MM)]
        some = some[locate_all(points, targets[some])[1] <= _ON_LINE_MM] if len(some) else some
        found[some] = _along(line, by, targets[some])
        left[some] = False
    return found


def _around(points: Array, places: Array, within: float) -> npt.NDArray[np.bool_]:
    """Which places lie in the box of a line: those that need a closer look."""
    low, high = points.min(axis=0) - within, points.max(axis=0) + within
    return np.asarray(((places >= low) & (places <= high)).all(axis=1))
