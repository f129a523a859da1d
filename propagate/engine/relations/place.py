"""By place: a piece that is not re-cut is taken in the size of its place."""

from __future__ import annotations

from propagate.engine.record import ChangeKind
from propagate.engine.state import State
from propagate.pattern.relations import Place

__all__ = ["apply"]


def apply(state: State, place: Place, cause: str) -> bool:
    """Take the piece in its size; returns whether that differs from the lower size."""
    size = state.job.at(place.level)
    state.taken[place.piece] = size
    state.change(
        f"{place.piece}.*",
        ChangeKind.TAKEN_IN_SIZE,
        f"taken in size {size}, the size at level '{place.level}'",
        cause,
    )
    return True
