"""How far every vertex of every line of a block moves, by the rule numbers that stand on it.

The seam line follows the cut line corner to corner, in order, and between corners vertex to
vertex or in proportion.  A line that runs along a graded one follows its nearest places.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from propagate.counts import say_count
from propagate.geometry.beside import (
    answering_corners,
    moves_at,
    moves_between,
    moves_of_shares,
    ring_part,
    same_way,
)
from propagate.geometry.corner import angle_corners, signed_area
from propagate.geometry.polyline import arc_lengths, near_vertices
from propagate.io.dxf.conventions import CORNER_DEG, SEAM_SHARE, VALIDATION, Layer
from propagate.io.dxf.shapes import Line, Shapes
from propagate.io.report import ReportNotes
from propagate.pattern.model import Array
from propagate.tolerances import SAME_PLACE_MM
from propagate.values import dataclass

__all__ = ["Numbers", "find_near_places", "line_moves"]

_TOLD = 6  # corners of one line


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


@dataclass(frozen=True, eq=False)
class Ruled:
    """A line with the rules at its vertices.

    Attributes
    ----------
    line : Line
    rules : (n,) int array
        Index of the rule at each vertex, -1 where there is none.
    names : sequence of str
        The rules' numbers; empty where there is none.
    """

    line: Line
    rules: npt.NDArray[np.intp]
    names: Sequence[str]

    @property
    def any(self) -> bool:
        """Whether any vertex has a rule."""
        return bool((self.rules >= 0).any())


def find_near_places(points: Array, places: Array, within: float) -> npt.NDArray[np.bool_]:
    """Which places lie in the box of a line: those that need a closer look."""
    low, high = points.min(axis=0) - within, points.max(axis=0) + within
    return np.asarray(((places >= low) & (places <= high)).all(axis=1))


def line_moves(shapes: Shapes, numbers: Numbers, notes: ReportNotes, where: str) -> list[Array]:
    """Displacement (n, sizes, 2) of every vertex of every line, mm."""
    lines = [_rule_line(line, numbers) for line in shapes.lines]
    turns = np.array([p.at for p in shapes.points if p.layer == Layer.TURN]).reshape(-1, 2)
    graded = [item for item in lines if item.any and item.line.layer == Layer.BOUNDARY]
    cut = max(
        (item for item in graded if item.line.closed),
        key=lambda item: abs(signed_area(item.line.points)),
        default=None,
    )
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
    for layers in ((Layer.BOUNDARY, Layer.SEW), VALIDATION.values()):
        graded_lines = [(a, by) for a, by in zip(lines, found, strict=True) if by is not None]
        for index, item in enumerate(lines):
            if found[index] is None and item.line.layer in layers:
                found[index] = _follow_line(item.line, graded_lines, turns, notes, where)
    still = (numbers.moves.shape[1], 2)
    return [
        np.zeros((len(item.line.points), *still)) if by is None else by
        for item, by in zip(lines, found, strict=True)
    ]


def _rule_line(line: Line, numbers: Numbers) -> Ruled:
    """Return a line with the rules at its vertices.

    A text on the line's own layer, or on that of turn or curve points, comes first; then
    one on the boundary's layer, where many senders put them all.
    """
    rules = np.full(len(line.points), -1)
    for layers in ((Layer.TURN, Layer.CURVE, line.layer), (Layer.BOUNDARY,)):
        own = numbers.on(*layers)
        own = own[find_near_places(line.points, numbers.places[own], SAME_PLACE_MM)]
        at = near_vertices(numbers.places[own], line.points)
        free = (at >= 0) & (rules < 0)
        rules[free] = own[at[free]]
    return Ruled(line, rules, [numbers.names[rule] if rule >= 0 else "" for rule in rules])


def _is_outline(line: Line, cut: Line) -> bool:
    """Tell whether a line on the sew layer is the seam line that belongs to a cut line."""
    if line.layer != Layer.SEW or not line.closed:
        return False
    return abs(signed_area(line.points)) >= SEAM_SHARE * abs(signed_area(cut.points))


def _follow_line(
    line: Line,
    graded_lines: Sequence[tuple[Ruled, Array]],
    turns: Array,
    notes: ReportNotes,
    where: str,
) -> Array | None:
    """Displacements of an outline without rules, or None when there is nothing to follow."""
    own = next((layer for layer, copy in VALIDATION.items() if copy == line.layer), Layer.BOUNDARY)
    some = [(item, by) for item, by in graded_lines if item.line.layer in (own, Layer.SEW)]
    some.sort(key=lambda pair: pair[0].line.layer != own)
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


# ------------------------------------------------------------------------------- corner to corner


def _find_line_corners(line: Line, turn_points: Array, beside: Line) -> list[int]:
    """Corners of a closed line: its own turn points, else where it turns."""
    at = near_vertices(line.points, turn_points)
    shared = near_vertices(beside.points, turn_points) >= 0
    if ((at >= 0) & ~shared).any():
        return sorted({int(i) for i in at if i >= 0})
    return angle_corners(line.points, CORNER_DEG)


def _answer_corners(line: Line, beside: Line, turn_points: Array) -> list[tuple[int, int]]:
    if not (line.closed and beside.closed):
        return []
    own, other = (
        _find_line_corners(line, turn_points, beside),
        _find_line_corners(beside, turn_points, line),
    )
    return answering_corners(line.points, own, beside.points, other)


def corner_rules(
    ruled: Ruled, beside: Ruled, turn_points: Array, notes: ReportNotes, where: str
) -> Ruled:
    """Give corners without a rule the rule of the corner that answers to them beside.

    Parameters
    ----------
    ruled, beside : Ruled
        The seam line, and the cut line.
    turn_points : (k, 2) array, mm
    notes, where
    """
    pairs = [
        (i, j)
        for i, j in _answer_corners(ruled.line, beside.line, turn_points)
        if not ruled.names[i] and beside.names[j]
    ]
    if not pairs:
        return ruled
    rules, names = ruled.rules.copy(), list(ruled.names)
    for i, j in pairs:
        rules[i], names[i] = beside.rules[j], beside.names[j]
    _tell_followed(ruled.line, beside, pairs, notes, where)
    return Ruled(ruled.line, rules, names)


def corner_to_corner(
    line: Line, beside: Ruled, by: Array, turn_points: Array, notes: ReportNotes, where: str
) -> Array | None:
    """Displacements of a line's vertices, from corner to corner of a graded line beside it.

    Parameters
    ----------
    line : Line
    beside : Ruled
    by : (m, sizes, 2) array, mm
        Displacements of the vertices of `beside`.
    turn_points : (k, 2) array, mm
    notes, where

    Returns
    -------
    (n, sizes, 2) array, or None
        None where fewer than two corners answer to each other.
    """
    pairs = _answer_corners(line, beside.line, turn_points)
    if len(pairs) < 2:
        return None
    same = same_way(line.points, beside.line.points)
    found = np.empty((len(line.points), *by.shape[1:]))
    for (i, j), (k, m) in zip(pairs, [*pairs[1:], pairs[0]], strict=True):
        own = ring_part(i, k, len(line.points))
        other = ring_part(j, m, len(by)) if same else ring_part(m, j, len(by))[::-1]
        if len(own) == len(other):
            found[own] = by[other]
            continue
        arc, at = arc_lengths(beside.line.points[other]), arc_lengths(line.points[own])
        found[own] = moves_of_shares(arc, by[other], at * arc[-1] / max(float(at[-1]), 1e-12))
    _tell_followed(line, beside, pairs, notes, where)
    return found


def _tell_followed(
    line: Line, beside: Ruled, pairs: Sequence[tuple[int, int]], notes: ReportNotes, where: str
) -> None:
    words = []
    for i, j in pairs[:_TOLD]:
        (x, y), (u, v) = line.points[i].round(1) + 0.0, beside.line.points[j].round(1) + 0.0
        rule = f", rule {beside.names[j]}" if beside.names[j] else ""
        words.append(f"({x:.1f}, {y:.1f}) as ({u:.1f}, {v:.1f}){rule}")
    more = f"; and {len(pairs) - _TOLD} more" if len(pairs) > _TOLD else ""
    notes.warn(
        f"{say_count(len(pairs), 'corner')} of the line on layer {line.layer} without a rule "
        f"number: each moves as the corner of the line on layer {beside.line.layer} that "
        "answers to it in order: "
        f"{'; '.join(words)}{more}",
        where=where,
    )
