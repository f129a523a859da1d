"""Levels that are laid on pieces of a set where they lack them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeAlias

from propagate.geometry.arrays import Array
from propagate.geometry.polyline import as_pair
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import DECIMALS

__all__ = ["LevelPoints", "Point", "put_levels", "round_point"]

Point = tuple[float, float]
LevelPoints: TypeAlias = Mapping[str, Mapping[str, Point]]
"""Of one level: a point for each piece and size."""


def round_point(point: Array) -> Point:
    """Round a point that was measured to the decimals that are written."""
    return as_pair(point.round(DECIMALS) + 0.0)


def put_levels(pattern: PatternSet, levels: Mapping[str, LevelPoints]) -> PatternSet:
    """Lay levels on pieces of a set, in every size; one of that name takes another place."""
    pieces = dict(pattern.pieces)
    for name in dict.fromkeys(piece for on in levels.values() for piece in on):
        own = {level: on[name] for level, on in levels.items() if name in on}
        nest = {
            size: replace(
                sized, levels={**sized.levels, **{level: at[size] for level, at in own.items()}}
            )
            for size, sized in pieces[name].nest.items()
        }
        pieces[name] = Piece(name, nest)
    return replace(pattern, pieces=pieces)
