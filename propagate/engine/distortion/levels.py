"""Widths at the levels that no girth of the set measures."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from propagate.engine.levels import width_at_level
from propagate.engine.record import Notice, PieceChange
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
            widths = [width_at_level(piece, level, piece.outline) for piece in (old, new)]
            gain = widths[1] - widths[0]
            if abs(gain) > _SEEN_MM:
                found.setdefault(level, []).append(f"'{change.piece}' by {gain:+.1f} mm")
    for level, said in found.items():
        yield Notice(
            level,
            f"the width at level '{level}' changed: {', '.join(said)}; no girth of the set "
            "measures it there",
        )
