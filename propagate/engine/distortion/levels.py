"""Widths at the levels that no girth of the set measures."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from propagate.engine.record import Notice, PieceChange
from propagate.geometry.crossing import line_crossings
from propagate.geometry.polyline import point_at
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["tell_widths"]

_SEEN_MM = 0.5


def tell_widths(
    pattern: PatternSet, column: PatternSet, changes: Collection[PieceChange]
) -> Iterator[Notice]:
    """Warnings of levels at which pieces became wider or narrower, unless a girth tells it."""
    measured = {girth.level for girth in pattern.relations.girths.values()}
    found: dict[str, list[str]] = {}
    for change in changes:
        old = pattern.sized(change.piece, change.size)
        new = column.sized(change.piece, column.base)
        for level in old.levels:
            if change.status == "same" or level in measured or level not in new.levels:
                continue
            gain = _width(new, level) - _width(old, level)
            if abs(gain) > _SEEN_MM:
                found.setdefault(level, []).append(f"'{change.piece}' by {gain:+.1f} mm")
    for level, said in found.items():
        yield Notice(
            level,
            f"the width at level '{level}' changed: {', '.join(said)}; no girth of the set "
            "measures it there",
        )


def _width(piece: SizedPiece, level: str) -> float:
    """Width of a piece along a level, mm."""
    grain = piece.grain.direction
    across = np.array([-grain[1], grain[0]])
    closed = np.vstack([piece.outline, piece.outline[:1]])
    hits = line_crossings(closed, np.asarray(piece.levels[level]), across)
    places = np.sort([float(point_at(closed, hit) @ across) for hit in hits])
    return float(sum(b - a for a, b in zip(places[::2], places[1::2], strict=False)))
