"""Say which darts of a lead its companion did not take over."""

from __future__ import annotations

from collections.abc import Iterable

from propagate.engine.darts.changes import (
    DartChange,
    change_lies_on,
    dart_changes,
    dart_words,
    lies_on,
)
from propagate.engine.state import State
from propagate.pattern.relations import Seam

__all__ = ["tell_not_alike", "tell_own_darts"]


def tell_own_darts(state: State, seam: Seam) -> None:
    """Say that a follower has darts of its own where those of its lead changed.

    It was matched in length, at its end, though by hand one would look at its darts first.
    """
    own = [
        f"'{dart.name}'"
        for span in seam.follow
        for dart in state.lookup(span.piece).darts
        if span.piece not in state.given.pieces and lies_on(state.lookup(span.piece), dart, span)
    ]
    if not own:
        return
    for span in seam.lead:
        was, now = state.source(span.piece), state.lookup(span.piece)
        changes = [c for c in dart_changes(was, now) if change_lies_on(c, was, now, span)]
        _tell_changes(
            state,
            span.piece,
            seam.follow[0].piece,
            changes,
            f"this piece, which is sewn to it there, kept its own ({', '.join(own)}) and was "
            "matched in length",
            "look whether its dart should change too",
        )


def tell_not_alike(state: State, seam: Seam, changes: Iterable[DartChange]) -> None:
    """Say that a follower cut like its lead has not the darts that changed on it."""
    follower = state.lookup(seam.follow[0].piece)
    if any(lies_on(follower, dart, span) for span in seam.follow for dart in follower.darts):
        return  # what it has is told with its own darts
    _tell_changes(
        state,
        seam.lead[0].piece,
        seam.follow[0].piece,
        changes,
        "this piece is cut like it and has no such dart, so it was matched in length",
        "draw the dart on it too if it is to have it",
    )


def _tell_changes(
    state: State, lead: str, follower: str, changes: Iterable[DartChange], then: str, do: str
) -> None:
    for change in changes:
        text = f"on '{lead}', {dart_words(change)}; {then}"
        state.notice(follower, text, do, about=(change.what, change.name, lead, then))
