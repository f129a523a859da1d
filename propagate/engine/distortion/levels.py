"""Widths at the levels that no girth of the set measures."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from propagate.engine.darts.changes import dart_changes
from propagate.engine.girths import level_width
from propagate.engine.record import Notice, PieceChange
from propagate.engine.tape import tape
from propagate.errors import InvalidSet
from propagate.pattern.patternset import PatternSet

__all__ = ["tell_widths"]

_SEEN_MM = 0.5


def tell_widths(
    pattern: PatternSet, column: PatternSet, changes: Collection[PieceChange]
) -> Iterator[Notice]:
    """Warnings of levels at which silhouettes became wider or narrower, unless a girth tells it.

    Pieces are measured taped together, as girths are: an opening that moved takes from the
    front what it gives to the facing.
    """
    measured = {girth.level for girth in pattern.relations.girths.values()}
    found: dict[str, list[str]] = {}
    for name, size in _silhouettes(pattern, changes).items():
        try:
            old, new = tape(pattern, name, size).base, tape(column, name, column.base).base
        except InvalidSet:  # parts that do not meet are told as an opening
            continue
        if any(dart.what != "changed" or dart.moved_mm for dart in dart_changes(old, new)):
            continue  # flat, a piece with another dart measures otherwise; sewn, it need not
        for level in old.levels:
            if level in measured or level not in new.levels:
                continue
            was, now = (
                level_width(of, name, level, one)
                for of, one in ((pattern, size), (column, column.base))
            )
            if abs(now - was) > _SEEN_MM:
                found.setdefault(level, []).append(f"'{name}' by {now - was:+.1f} mm")
    for level, said in found.items():
        yield Notice(
            level,
            f"the width at level '{level}' changed: {', '.join(said)}; no girth of the set "
            "measures it there",
        )


def _silhouettes(pattern: PatternSet, changes: Collection[PieceChange]) -> dict[str, str]:
    """Silhouettes of pieces that changed, and the size each was taken from.

    A pocket layer that is no part of a silhouette has no width of the garment.
    """
    relations = pattern.relations
    layers = {layer.piece for stack in relations.stacks.values() for layer in stack.layers}
    hidden = layers - set(relations.parts_of)
    return {
        relations.parts_of.get(change.piece, change.piece): change.size
        for change in changes
        if change.status != "same" and change.piece not in hidden
    }
