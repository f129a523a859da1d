"""Titles for pieces and assemblies that the set does not have."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.engine.review.finding import Finding
from propagate.errors import UnknownName
from propagate.pattern.patternset import PatternSet

__all__ = ["review_titles"]


def review_titles(pattern: PatternSet) -> Iterator[Finding]:
    """Find titles of what lies on no piece of the set.

    A mark or a dart that an edit took away may come back: its title waits.
    """
    holders = [*pattern.pieces, *pattern.relations.assemblies, *pattern.relations.bands]
    for name in pattern.relations.titles:
        of, dot, _ = name.partition(".")
        if dot and of not in holders:
            where = f"titles, '{name}'"
            yield Finding("title for nothing", where, str(UnknownName("piece", of, holders)))
