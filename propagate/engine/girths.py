"""Girths of the finished garment: along runs, or across silhouettes at a level."""

from __future__ import annotations

import numpy as np

from propagate.engine.levels import width_at_level
from propagate.engine.tape import tape
from propagate.errors import UnknownName
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Girth
from propagate.pattern.spans import run_length

__all__ = ["girth_length", "level_width"]


def girth_length(pattern: PatternSet, girth: Girth, size: str) -> float:
    """Finished length of a girth in one size, mm."""
    if girth.level is None:
        return girth.times * sum(run_length(pattern.in_size(size), run) for run in girth.runs)
    return girth.times * sum(
        level_width(pattern, name, girth.level, size) for name in girth.silhouettes
    )


def level_width(pattern: PatternSet, silhouette: str, level: str, size: str) -> float:
    """Width of a silhouette along a level, darts closed, mm.

    The sum of the stretches of the level line that lie inside the outline, without those
    between the legs of a dart.
    """
    taped = tape(pattern, silhouette, size)
    base = taped.base
    if level not in base.levels:
        raise UnknownName("level", level, list(base.levels), f"piece '{taped.lead}', size '{size}'")
    width = width_at_level(base, level, taped.outline)
    for name, piece in taped.sized.items():
        for dart in piece.darts:
            corners = [*(piece.landmark(leg).point for leg in dart.legs), dart.tip]
            width -= width_at_level(base, level, taped.motions[name].apply(np.array(corners)))
    return width
