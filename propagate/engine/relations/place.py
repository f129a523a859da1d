"""By place: a piece that is not re-cut is taken in the size of its place."""

from __future__ import annotations

from propagate.engine.state import State
from propagate.pattern.relations import Place

__all__ = ["apply", "size_at_level"]


def size_at_level(state: State, level: str) -> str:
    """Size that the edit gives a level."""
    plan = state.chosen.plan
    if level == plan.upper:
        return state.chosen.upper
    if plan.leg is not None and level == plan.leg.level:
        return state.chosen.leg
    return state.chosen.lower


def apply(state: State, place: Place, cause: str) -> bool:
    """Take the piece in its size; returns whether that differs from the lower size."""
    size = size_at_level(state, place.level)
    state.taken[place.piece] = size
    state.change(
        f"{place.piece}.*", f"taken in size {size}, the size at level '{place.level}'", cause
    )
    return True
