"""Suggestions as the command makes them."""

from __future__ import annotations

from propagate.io.garments import known_kinds
from propagate.pattern.patternset import PatternSet
from propagate.suggesting import Suggestions, suggest


def suggested(pattern: PatternSet) -> Suggestions:
    """With all kinds of garment that come with the package."""
    return suggest(pattern, kinds=known_kinds())
