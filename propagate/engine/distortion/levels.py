"""Widths at the levels that no girth of the set measures."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np
import shapely

from propagate.engine.darts.changes import dart_changes
from propagate.engine.record import Notice, PieceChange
from propagate.engine.tape import Silhouette, tape
from propagate.errors import InvalidSet
from propagate.pattern.patternset import PatternSet

__all__ = ["WIDTH_AT_LEVEL", "tell_widths"]

WIDTH_AT_LEVEL = "width at level"
"""What such a notice is about."""

_SEEN_MM = 0.5
_ON_EDGE_MM = 10.0
"""A hem or a waist is that much curved or slanted and still lies on its level."""
_FAR_MM = 1e5


def tell_widths(
    pattern: PatternSet, column: PatternSet, changes: Collection[PieceChange]
) -> Iterator[Notice]:
    """Warn of levels at which silhouettes became wider or narrower, unless a girth tells it.

    Pieces are measured taped together, as girths are: an opening that moved takes from the
    front what it gives to the facing.
    """
    measured = {girth.level for girth in pattern.relations.girths.values()}
    found: dict[str, dict[str, str]] = {}
    for name, size in _find_silhouettes(pattern, changes).items():
        try:
            was, now = tape(pattern, name, size), tape(column, name, column.base)
        except InvalidSet:  # parts that do not meet are told as an opening
            continue
        old, new = was.base, now.base
        if any(dart.what != "changed" or dart.moved_mm for dart in dart_changes(old, new)):
            continue  # flat, a piece with another dart measures otherwise; sewn, it need not
        for level in old.levels:
            if level in measured or level not in new.levels:
                continue
            inwards = max((_turn_inwards(one, level) for one in (was, now)), key=abs)
            wider = _measure_width(now, level, inwards) - _measure_width(was, level, inwards)
            if abs(wider) > _SEEN_MM:
                more = "wider" if wider > 0 else "narrower"
                found.setdefault(level, {})[name] = f"'{name}' is {abs(wider):.1f} mm {more}"
    for level, said in found.items():
        yield Notice(
            level,
            f"at level '{level}' {', '.join(said.values())}, and no girth of the set measures it "
            "there",
            "look whether the garment is still wide enough there",
            about=(WIDTH_AT_LEVEL, *said),
        )


def _turn_inwards(taped: Silhouette, level: str) -> float:
    """Tell which way along the grain the piece lies of a hem (1) or a waist (-1) at a level, or 0.

    Before and after are measured at the same distance from them: a hem that curves by just so
    much lies on its level before and beside it after, or the other way round.
    """
    heights = (taped.outline - np.asarray(taped.base.levels[level])) @ taped.base.grain.direction
    return float(heights.min() >= -_ON_EDGE_MM) - float(heights.max() <= _ON_EDGE_MM)


def _measure_width(taped: Silhouette, level: str, inwards: float) -> float:
    """Measure the width at a level; where a hem or a waist lies on it, just within it."""
    grain = taped.base.grain.direction
    at = np.asarray(taped.base.levels[level]) + inwards * 2.0 * _ON_EDGE_MM * grain
    far = _FAR_MM * np.array([-grain[1], grain[0]])
    line = shapely.LineString([at - far, at + far])
    return float(shapely.Polygon(taped.outline).intersection(line).length)


def _find_silhouettes(pattern: PatternSet, changes: Collection[PieceChange]) -> dict[str, str]:
    """Find silhouettes of pieces that changed, and the size each was taken from.

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
