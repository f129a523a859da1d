"""By place: a piece that is not re-cut is taken in the size of its place.

Sizes are taken before anything is carried, so that what is sewn to such a piece, or the
piece itself, is matched in the size that it really has.
"""

from __future__ import annotations

from propagate.engine.record import ChangeKind
from propagate.engine.relations.split_line import parts_to_cut
from propagate.engine.state import State
from propagate.pattern.relations import Place

__all__ = ["apply", "take_size"]


def take_size(state: State, place: Place) -> None:
    """Take a piece that is reached by its place in the size of that place.

    A piece that is cut out of a silhouette, or re-seated with its pocket, has the size of
    those: its place is not asked, and that is said.
    """
    size, relations = state.job.at(place.level), state.pattern.relations
    stack = relations.layer_in.get(place.piece)
    mains = [main.silhouette for main in relations.blend.mains] if relations.blend else []
    owner = relations.parts_of.get(place.piece, place.piece if place.piece in mains else None)
    if stack is not None:
        with_what, own = f"stack '{stack.name}'", state.job.pocket
    elif owner is not None and place.piece in parts_to_cut(state.pattern, owner):
        with_what, own = f"'{owner}'", state.job.size
    else:
        state.taken[place.piece] = size
        return
    if own != size:
        state.notice(
            place.piece,
            f"is to be taken in size {size}, the size at level '{place.level}', but is "
            f"drawn anew with {with_what}, from size {own}: its place was not used",
            "take the piece out of one of the two",
        )


def apply(state: State, place: Place, cause: str) -> bool:
    """Note the size that a piece was taken in; returns whether it was."""
    size = state.job.at(place.level)
    if state.taken.get(place.piece) != size:
        return False
    state.change(
        f"{place.piece}.*",
        ChangeKind.TAKEN_IN_SIZE,
        f"taken in size {size}, the size at level '{place.level}'",
        cause,
    )
    return True
