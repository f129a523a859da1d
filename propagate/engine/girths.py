"""Girths of the finished garment: along runs, or across silhouettes at a level."""

from __future__ import annotations

import numpy as np

from propagate.engine.tape import tape
from propagate.errors import UnknownName
from propagate.geometry.crossing import line_crossings
from propagate.geometry.polyline import point_at
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Girth
from propagate.pattern.spans import run_length

__all__ = ["girth_length", "level_width"]


def girth_length(pattern: PatternSet, girth: Girth, size: str) -> float:
    """Finished length of a girth in one size, mm."""
    if girth.level is None:
        return girth.times * sum(
            run_length(lambda piece: pattern.sized(piece, size), run) for run in girth.runs
        )
    return girth.times * sum(
        level_width(pattern, name, girth.level, size) for name in girth.silhouettes
    )


def level_width(pattern: PatternSet, silhouette: str, level: str, size: str) -> float:
    """Width of a silhouette along a level, mm.

    The sum of the stretches of the level line that lie inside the outline.
    """
    taped = tape(pattern, silhouette, size)
    base = taped.base
    if level not in base.levels:
        raise UnknownName("level", level, list(base.levels), f"piece '{taped.lead}', size '{size}'")
    grain = base.grain.direction
    origin = np.asarray(base.levels[level])
    across = np.array([-grain[1], grain[0]])
    closed = np.vstack([taped.outline, taped.outline[:1]])
    hits = [point_at(closed, d) for d in line_crossings(closed, origin, across)]
    places = np.sort(np.array([hit @ across for hit in hits]))
    return float(sum(b - a for a, b in zip(places[::2], places[1::2], strict=False)))
