"""How far every vertex of every line of a block moves, by the rule numbers that stand on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from propagate.geometry.beside import moves_at, moves_between
from propagate.geometry.corner import signed_area
from propagate.geometry.polyline import near_vertices
from propagate.io.dxf.conventions import (
    BOUNDARY,
    CURVE,
    SEAM_SHARE,
    SEW,
    TURN,
    VALIDATION,
)
from propagate.io.dxf.following import Ruled, corner_rules, corner_to_corner
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.shapes import Line, Shapes
from propagate.pattern.model import Array
from propagate.tolerances import SAME_PLACE_MM
from propagate.values import dataclass

__all__ = ["Numbers", "around", "line_moves"]


@dataclass(frozen=True)
class Numbers:
    """Rule numbers: where they stand, (k, 2), and their displacements, (k, sizes, 2), mm."""

    places: Array
    moves: Array
    names: Sequence[str]
    by_layer: Mapping[str, npt.NDArray[np.intp]]

    def on(self, *layers: str) -> npt.NDArray[np.intp]:
        """Return those on some layers, in the order of the file."""
        own = [self.by_layer[layer] for layer in dict.fromkeys(layers) if layer in self.by_layer]
        return np.sort(np.concatenate(own)) if own else np.zeros(0, dtype=np.intp)


def around(points: Array, places: Array, within: float) -> npt.NDArray[np.bool_]:
    """Which places lie in the box of a line: those that need a closer look."""
    low, high = points.min(axis=0) - within, points.max(axis=0) + within
    return np.asarray(((places >= low) & (places <= high)).all(axis=1))


def line_moves(shapes: Shapes, numbers: Numbers, notes: Notes, where: str) -> list[Array]:
    """Displacement (n, sizes, 2) of every vertex of every line, mm."""
    lines = [_ruled(line, numbers) for line in shapes.lines]
    turns = np.array([p.at for p in shapes.points if p.layer == TURN]).reshape(-1, 2)
    cut = _largest([item for item in lines if item.any and item.line.layer == BOUNDARY])
    if cut is not None:
        lines = [
            corner_rules(item, cut, turns, notes, where)
            if item.any and _is_outline(item.line, cut.line)
            else item
            for item in lines
        ]
    found: list[Array | None] = [
        moves_between(item.line.points, at, numbers.moves[item.rules[at]], closed=item.line.closed)
        if len(at := np.flatnonzero(item.rules >= 0))
        else None
        for item in lines
    ]
    for layers in ((BOUNDARY, SEW), VALIDATION.values()):
        graded_lines = [(a, by) for a, by in zip(lines, found, strict=True) if by is not None]
        for index, item in enumerate(lines):
            if found[index] is None and item.line.layer in layers:
                found[index] = _followed(item.line, graded_lines, turns, notes, where)
    still = (numbers.moves.shape[1], 2)
    return [
        np.zeros((len(item.line.points), *still)) if by is None else by
        for item, by in zip(lines, found, strict=True)
    ]


def _ruled(line: Line, numbers: Numbers) -> Ruled:
    """Return a line with the rules at its vertices.

    A text on the line's own layer, or on that of turn or curve points, comes first; then
    one on the boundary's layer, where many senders put them all.
    """
    rules = np.full(len(line.points), -1)
    for layers in ((TURN, CURVE, line.layer), (BOUNDARY,)):
        own = numbers.on(*layers)
        own = own[around(line.points, numbers.places[own], SAME_PLACE_MM)]
        at = near_vertices(numbers.places[own], line.points)
        free = (at >= 0) & (rules < 0)
        rules[free] = own[at[free]]
    return Ruled(line, rules, [numbers.names[rule] if rule >= 0 else "" for rule in rules])


def _largest(lines: Sequence[Ruled]) -> Ruled | None:
    closed = [item for item in lines if item.line.closed]
    return max(closed, key=lambda item: abs(signed_area(item.line.points)), default=None)


def _is_outline(line: Line, cut: Line) -> bool:
    """Tell whether a line on the sew layer is the seam line that belongs to a cut line."""
    if line.layer != SEW or not line.closed:
        return False
    return abs(signed_area(line.points)) >= SEAM_SHARE * abs(signed_area(cut.points))


def _followed(
    line: Line, graded_lines: Sequence[tuple[Ruled, Array]], turns: Array, notes: Notes, where: str
) -> Array | None:
    """Displacements of an outline without rules, or None when there is nothing to follow."""
    own = next((layer for layer, copy in VALIDATION.items() if copy == line.layer), "")
    some = [(item, by) for item, by in graded_lines if item.line.layer in (own or BOUNDARY, SEW)]
    some.sort(key=lambda pair: pair[0].line.layer != (own or BOUNDARY))
    if not some:
        return None
    beside, by = some[0]
    if _is_outline(line, beside.line):
        found = corner_to_corner(line, beside, by, turns, notes, where)
        if found is not None:
            return found
    notes.info(
        f"the line on layer {line.layer} has no rule numbers: it follows the graded line on layer "
        f"{beside.line.layer} at the nearest places",
        where=where,
    )
    return moves_at(beside.line.points, by, line.points, closed=beside.line.closed)
