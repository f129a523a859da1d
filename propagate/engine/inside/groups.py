"""What lies inside a piece as it belongs together, and what is left to relations of its own."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from propagate.geometry.arrays import Array
from propagate.geometry.polyline import locate
from propagate.pattern.buttons import marks_called
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["Group", "group_points", "groups_of", "line_beside", "owned_marks", "tip_beside"]

_BESIDE_MM = 15.0
"""A drill mark this close to a line, or to the tip of a dart, belongs to it (5 to 15 mm: common
practice, no source)."""


@dataclass(frozen=True)
class Group:
    """Marks that are placed as a whole: a line and the drill marks beside it, or one drill mark."""

    line: str | None
    drills: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Of all that is in it."""
        return self.drills if self.line is None else (self.line, *self.drills)


def groups_of(
    piece: SizedPiece, lines: Collection[str], drills: Collection[str]
) -> Iterator[Group]:
    """Group lines, each with the drill marks that lie beside it, and the other marks."""
    near = {name: line_beside(piece, name) for name in drills}
    for line in lines:
        yield Group(line, tuple(name for name in drills if near[name] == line))
    for name in drills:
        if near[name] not in lines:
            yield Group(None, (name,))


def group_points(piece: SizedPiece, group: Group) -> Array | None:
    """Return (n, 2) points of a group, its line first; None where the piece lacks one of them."""
    lines = {line.name: line.points for line in piece.lines}
    drills = {mark.name: mark.point for mark in piece.drills}
    if any(name not in drills for name in group.drills) or (group.line or "") not in {"", *lines}:
        return None
    own = [] if group.line is None else [lines[group.line]]
    return np.vstack([*own, *(np.array([drills[name]]) for name in group.drills)])


def line_beside(piece: SizedPiece, drill: str) -> str | None:
    """Return the inner line beside which a drill mark lies."""
    point = _find_drill(piece, drill)
    gaps = [(locate(line.points, point)[1], line.name) for line in piece.lines]
    gap, name = min(gaps, default=(np.inf, ""))
    return name if gap <= _BESIDE_MM else None


def tip_beside(piece: SizedPiece, drill: str) -> str | None:
    """Return the dart at whose tip a drill mark lies."""
    point = _find_drill(piece, drill)
    gaps = [(float(np.hypot(*np.subtract(dart.tip, point))), dart.name) for dart in piece.darts]
    gap, name = min(gaps, default=(np.inf, ""))
    return name if gap <= _BESIDE_MM else None


def _find_drill(piece: SizedPiece, drill: str) -> tuple[float, float]:
    return next(mark.point for mark in piece.drills if mark.name == drill)


def owned_marks(pattern: PatternSet, name: str, piece: SizedPiece) -> frozenset[str]:
    """Collect lines and drill marks that a relation places: patches, welts, rows of buttons."""
    relations, found = pattern.relations, set[str]()
    for patch in relations.patches.values():
        if patch.on == name:
            found.update(patch.lines, patch.drills)
    for opening in relations.welt_openings.values():
        if opening.on == name:
            found.update((opening.line, *opening.marks))
    for row in relations.buttons.values():
        for run, marks in zip(row.sides, row.marks, strict=True):
            if run[0].piece == name:
                found.update(mark.name for mark in marks_called(piece, marks))
    return frozenset(found)
