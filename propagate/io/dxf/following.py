"""Lines without rules of their own: they follow a graded line beside them.

The seam line follows the cut line corner to corner, in order, and between corners vertex
to vertex or in proportion.  A line that runs along a graded one follows its nearest places.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from propagate.geometry.beside import answering_corners, moves_of_shares, ring_part, same_way
from propagate.geometry.corner import angle_corners
from propagate.geometry.polyline import arc_lengths, near_vertices
from propagate.io.dxf.conventions import CORNER_DEG
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.shapes import Line
from propagate.io.words import counted
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["Ruled", "corner_rules", "corner_to_corner"]

_TOLD = 6


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


def _corners(line: Line, turn_points: Array, beside: Line) -> list[int]:
    """Corners of a closed line: its own turn points, else where it turns."""
    at = near_vertices(line.points, turn_points)
    shared = near_vertices(beside.points, turn_points) >= 0
    if ((at >= 0) & ~shared).any():
        return sorted({int(i) for i in at if i >= 0})
    return angle_corners(line.points, CORNER_DEG)


def _pairs(line: Line, beside: Line, turn_points: Array) -> list[tuple[int, int]]:
    if not (line.closed and beside.closed):
        return []
    own, other = _corners(line, turn_points, beside), _corners(beside, turn_points, line)
    return answering_corners(line.points, own, beside.points, other)


def corner_rules(
    ruled: Ruled, beside: Ruled, turn_points: Array, notes: Notes, where: str
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
        for i, j in _pairs(ruled.line, beside.line, turn_points)
        if not ruled.names[i] and beside.names[j]
    ]
    if not pairs:
        return ruled
    rules, names = ruled.rules.copy(), list(ruled.names)
    for i, j in pairs:
        rules[i], names[i] = beside.rules[j], beside.names[j]
    _tell(ruled.line, beside, pairs, notes, where)
    return Ruled(ruled.line, rules, names)


def corner_to_corner(
    line: Line, beside: Ruled, by: Array, turn_points: Array, notes: Notes, where: str
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
    pairs = _pairs(line, beside.line, turn_points)
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
    _tell(line, beside, pairs, notes, where)
    return found


def _tell(
    line: Line, beside: Ruled, pairs: Sequence[tuple[int, int]], notes: Notes, where: str
) -> None:
    words = []
    for i, j in pairs[:_TOLD]:
        (x, y), (u, v) = line.points[i].round(1) + 0.0, beside.line.points[j].round(1) + 0.0
        rule = f", rule {beside.names[j]}" if beside.names[j] else ""
        words.append(f"({x:.1f}, {y:.1f}) as ({u:.1f}, {v:.1f}){rule}")
    more = f"; and {len(pairs) - _TOLD} more" if len(pairs) > _TOLD else ""
    notes.warn(
        f"{counted(len(pairs), 'corner')} of the line on layer {line.layer} without a rule "
        f"number: each moves as the corner of the line on layer {beside.line.layer} that "
        "answers to it in order: "
        f"{'; '.join(words)}{more}",
        where=where,
    )
