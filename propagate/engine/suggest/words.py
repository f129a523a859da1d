"""Names as a weak hint, and names for what is proposed."""

from __future__ import annotations

import re

from propagate.pattern.relations import Run

__all__ = ["name_of", "same_words"]

_NEUTRAL = re.compile(r"[a-z]{0,6}_?\d+|edge|line|seam", re.IGNORECASE)
"""Names that say nothing: edge_1, e12, 7."""
_PARTS = re.compile(r"[_\-\s]+")


def name_of(run: Run) -> str:
    """A name for a run, made of its edges: ``front_side``."""
    return "_and_".join(f"{span.piece}_{span.edge}" for span in run)


def same_words(a: Run, b: Run) -> str | None:
    """A word that the names of both runs' edges share, and that means something."""
    sides = [{word for span in run for word in _split_name(span.edge)} for run in (a, b)]
    shared = sides[0] & sides[1]
    return min(shared) if shared else None


def _split_name(name: str) -> list[str]:
    if _NEUTRAL.fullmatch(name):
        return []
    return [word for word in _PARTS.split(name.lower()) if len(word) > 2]
