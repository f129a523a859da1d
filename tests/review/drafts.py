"""Sound drafts that are not derived from the demo sets: nothing may strike in them."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from propagate.pattern.patternset import PatternSet

__all__ = ["DRAFTS"]

DRAFTS: Mapping[str, Callable[[], PatternSet]] = {}
