"""Draw a block in every size from the sample size, rule numbers and a rule table.

A rule number is a text such as "# 12" at a point.  Points without a number are not
"rule 0": between two graded points of a line they are carried in proportion along it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.counts import say_count
from propagate.geometry.beside import moves_at
from propagate.geometry.polyline import locate_all, near_vertices
from propagate.io.dxf.conventions import GRADED_LAYERS, RULE_NUMBER, VALIDATION, Layer
from propagate.io.dxf.line_moves import Numbers, find_near_places, line_moves
from propagate.io.dxf.rules import RuleTable, list_rules, read_moves
from propagate.io.dxf.shapes import Line, Point, Shapes, Text, table_points
from propagate.io.options import Deltas
from propagate.io.report import ReportNotes
from propagate.pattern.model import Array
from propagate.tolerances import SAME_PLACE_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["Grade", "grade_shapes", "has_rules", "without_numbers"]

_ON_LINE_MM = 1.0
_OUTLINES = (Layer.BOUNDARY, Layer.SEW, *VALIDATION.values())
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


def has_rules(shapes: Shapes) -> bool:
    """Tell whether any point of a block has a rule number."""
    return any(RULE_NUMBER.fullmatch(text.text) for text in shapes.texts)


def without_numbers(shapes: Shapes) -> Shapes:
    """Return the shapes without the texts that are rule numbers."""
    texts = [text for text in shapes.texts if not RULE_NUMBER.fullmatch(text.text)]
    return Shapes(shapes.lines, shapes.points, texts, shapes.inserts, shapes.extras)


def grade_shapes(
    shapes: Shapes, grade: Grade, notes: ReportNotes, where: str
) -> Mapping[str, Shapes]:
    """Return the block drawn in every size of the table; shapes are in millimetres."""
    sizes = grade.table.sizes
    frame = _find_grade_frame(shapes, grade.axis, notes, where)
    numbers = _collect_numbers(shapes, grade, frame, notes, where)
    lines = line_moves(shapes, numbers, notes, where)
    points = table_points(shapes.points)
    point_moves = _place_moves(points, numbers, shapes.lines, lines)
    ungraded = sum(
        not np.isfinite(move).all()
        for point, move in zip(shapes.points, point_moves, strict=True)
        if point.layer in GRADED_LAYERS
    )
    if ungraded:
        notes.info(
            f"{say_count(ungraded, 'point')} inside the piece without a rule number: not "
            "moved in any size",
            where=where,
        )
    texts = without_numbers(shapes).texts
    text_moves = _place_moves(texts, numbers, shapes.lines, lines)
    point_moves, text_moves = np.nan_to_num(point_moves), np.nan_to_num(text_moves)
    return {
        size: Shapes(
            [
                replace(line, points=_move_exactly(line.points, by[:, index]))
                for line, by in zip(shapes.lines, lines, strict=True)
            ],
            points.at(_move_exactly(points.places, point_moves[:, index])),
            [
                replace(text, at=_move_exactly(np.asarray(text.at), by[index]))
                for text, by in zip(texts, text_moves, strict=True)
            ],
            shapes.inserts,
            shapes.extras,
        )
        for index, size in enumerate(sizes)
    }


def _move_exactly(points: Array, moves: Array) -> Array:
    """Return points after their displacements, without the dust of adding two decimals."""
    return np.where(moves == 0.0, points, np.round(points + moves, _CLEAN_DECIMALS))


def _find_grade_frame(shapes: Shapes, axis: str, notes: ReportNotes, where: str) -> Array:
    """(2, 2) matrix that turns deltas into the drawing's frame."""
    lines = [line for line in shapes.lines if line.layer == Layer.GRADE_LINE]
    if axis == "drawing" or not lines:
        if not lines and axis != "drawing":
            notes.info(
                "there is no grade reference line: the deltas act along the drawing's axes",
                option="--dxf axis=...",
                where=where,
            )
        return np.eye(2)
    if len(lines) > 1:
        notes.warn(
            f"there are {len(lines)} grade reference lines: the deltas act along the "
            + ("last, the alternate one" if axis == "alternate" else "first"),
            option="--dxf axis=...",
            where=where,
        )
    points = lines[-1 if axis == "alternate" else 0].points
    along = points[-1] - points[0]
    size = float(np.hypot(*along))
    if size < SAME_POINT_MM:
        notes.warn(
            "the grade reference line has no length; the drawing's axes are taken",
            option="--dxf axis=...",
            where=where,
        )
        return np.eye(2)
    x, y = along / size
    if abs(y) > 1e-9 or x < 0:
        notes.info(
            f"the grade reference line is turned by {np.degrees(np.arctan2(y, x)):.2f} degrees: "
            "the deltas act in its frame",
            option="--dxf axis=...",
            where=where,
        )
    return np.array([[x, -y], [y, x]])


def _collect_numbers(
    shapes: Shapes, grade: Grade, frame: Array, notes: ReportNotes, where: str
) -> Numbers:
    places, moves = [], []
    unknown: dict[str, None] = {}
    names: list[str] = []
    by_layer: dict[str, list[int]] = {}
    known: dict[str, Array] = {}
    for text in shapes.texts:
        match = RULE_NUMBER.fullmatch(text.text)
        if match is None:
            continue
        number = match[1].lstrip("0") or "0"
        if number not in grade.table.rules:
            unknown[number] = None
            continue
        if number not in known:
            by = read_moves(grade.table, number, grade.deltas) * grade.unit_mm
            known[number] = by @ frame.T
        by_layer.setdefault(text.layer, []).append(len(names))
        places.append(text.at)
        names.append(number)
        moves.append(known[number])
    if unknown:
        one = len(unknown) == 1
        head, verb = ("rule", "is used but") if one else ("rules", "are used but")
        notes.warn(
            f"{head} {list_rules(list(unknown))} {verb} not in the rule table; "
            f"{'its' if one else 'their'} points are carried between their neighbours",
            where=where,
        )
    count = len(grade.table.sizes)
    return Numbers(
        np.array(places).reshape(-1, 2),
        np.array(moves).reshape(-1, count, 2),
        names,
        {layer: np.array(own) for layer, own in by_layer.items()},
    )


def _place_moves(
    items: Sequence[Point | Text], numbers: Numbers, lines: list[Line], line_moves: list[Array]
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
        at = near_vertices(numbers.places[own], targets[some])
        found[some[at >= 0]] = numbers.moves[own[at[at >= 0]]]
        left[some[at >= 0]] = False
    for line, by in zip(lines, line_moves, strict=True):
        rest = np.flatnonzero(left)
        rest = rest[find_near_places(line.points, targets[rest], SAME_PLACE_MM)]
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
        some = rest[find_near_places(points, targets[rest], _ON_LINE_MM)]
        some = some[locate_all(points, targets[some])[1] <= _ON_LINE_MM] if len(some) else some
        found[some] = moves_at(line.points, by, targets[some], closed=line.closed)
        left[some] = False
    return found
