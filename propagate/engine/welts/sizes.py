"""Which size a welt opening is taken from, and how long it is said to be in a result."""

from __future__ import annotations

from dataclasses import replace

from propagate.engine.state import State
from propagate.pattern.amount import Amount
from propagate.pattern.patternset import Relations
from propagate.pattern.welts import WeltOpening, length_said

__all__ = ["opening_size", "welts_in_size"]


def opening_size(state: State, opening: WeltOpening) -> str:
    """Return the size whose length and distances an opening has.

    That of the first of its parts that is taken in the size of its place; else that which its
    line was taken from.
    """
    places = state.pattern.relations.places
    for part in opening.parts:
        if part.piece in places:
            return state.size_of(part.piece)
    owner = state.pattern.relations.parts_of.get(opening.on, opening.on)
    if owner in state.edited and opening.on not in state.given.pieces:
        from propagate.engine.relations.cut import size_of_line  # a walk needs none of it

        found = size_of_line(state.edited[owner], opening.on, opening.line)
        if found is not None:
            return found
    return state.size_of(opening.on)


def welts_in_size(relations: Relations, state: State) -> Relations:
    """Return relations of one resulting size: of a length for each size that which holds in it."""
    graded = {
        name: replace(one, length=Amount(mm=length_said(one, opening_size(state, one))))
        for name, one in relations.welt_openings.items()
        if one.length is not None and one.length.sizes
    }
    if not graded:
        return relations
    return replace(relations, welt_openings={**relations.welt_openings, **graded})
