"""Suggestions as the command makes them."""

from __future__ import annotations

from propagate.engine.suggest import Suggestions, suggest
from propagate.pattern.patternset import PatternSet


def suggested(pattern: PatternSet) -> Suggestions:
    return suggest(pattern)
