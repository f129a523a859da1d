"""Notches that marked a level and lie somewhere else now."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import numpy as np

from propagate.engine.record import Notice, PieceChange
from propagate.pattern.model import Landmark, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import DRAWN_MM, WALK_MM

__all__ = ["tell_level_marks"]


def tell_level_marks(
    pattern: PatternSet,
    column: PatternSet,
    changes: Collection[PieceChange],
    redrawn: Collection[str],
    *,
    by_level: bool,
) -> Iterator[Notice]:
    """Warn of notches across a seam that left the level on which they were drawn.

    Parameters
    ----------
    pattern, column : PatternSet
        Before, and the resulting size.
    changes : collection of PieceChange
        Pieces that were reached.
    redrawn : collection of str
        ``PIECE.LANDMARK`` of the landmarks that the edit itself moved.
    by_level : bool
        Whether levels were given sizes of their own, with a rise and a hold.
    """
    cure = ", or ask for a rise and a hold that leave it its place" if by_level else ""
    paired = pattern.relations.partner_of
    for change in changes:
        old = pattern.sized(change.piece, change.size)
        new = column.sized(change.piece, column.base)
        marks = {mark.name: mark for mark in new.landmarks}
        for mark in old.landmarks:
            name = f"{change.piece}.{mark.name}"
            if name not in paired or name in redrawn or mark.name not in marks:
                continue
            for level in sorted(set(old.levels) & set(new.levels)):
                was = _measure_above(old, mark, level)
                now = _measure_above(new, marks[mark.name], level)
                if abs(was) <= DRAWN_MM and abs(now) > WALK_MM:
                    yield Notice(
                        change.piece,
                        f"{mark.kind} '{mark.name}' was drawn on level '{level}' and lies "
                        f"{abs(now):.1f} mm from it now",
                        f"mark the level anew before cutting{cure}",
                        about=("off its level", mark.kind, mark.name, level),
                    )


def _measure_above(piece: SizedPiece, mark: Landmark, level: str) -> float:
    """Measure the distance of a mark from a level along the grain, mm."""
    away = np.subtract(mark.point, piece.levels[level])
    return float(away @ piece.grain.direction)
