"""The leg from a third size (placeholder order of work: see `blend_leg`)."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.engine.reshape import Edited
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendPlan


def blend_leg(
    pattern: PatternSet, plan: BlendPlan, edited: Mapping[str, Edited], size: str
) -> dict[str, Edited]:
    return dict(edited)
