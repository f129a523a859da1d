"""What the engine does with each kind of relation: one line for each.

A kind that is not here is kept in files and has its place in the graph, and nothing more.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any

from propagate.engine.rows import Check
from propagate.engine.walk_checks import (
    Walked,
    walk_band,
    walk_girth,
    walk_opening,
    walk_seam,
)
from propagate.pattern.buttons import Buttons
from propagate.pattern.relation_edges import derived_own
from propagate.pattern.relations import Band, Derived, Place, Seam, SeamOpening, Stack
from propagate.pattern.set_on import Patch
from propagate.values import dataclass

if TYPE_CHECKING:
    from propagate.engine.state import State

__all__ = ["WORK", "Causes", "Work", "one_by_one"]

Causes = Mapping[str, str]
"""Name of a relation that is due to the change that reached it."""
Carry = Callable[["State", Sequence[Any], Causes], None]


@dataclass(frozen=True)
class Work:
    """What the engine does with a kind.

    Attributes
    ----------
    walk : callable or None
        Gives the checks of one relation; None: it is not walked.
    carry : callable or None
        Carries a change through the relations of one step; None: nothing follows.
    pieces : callable
        Pieces that are reached when a relation is visited.
    written : callable or None
        ``PIECE.EDGE`` that it means to write; None: it is visited once and not again.
    spared : callable
        ``PIECE.EDGE`` of its own that do not make it due again; None: nothing does.
    """

    walk: Callable[[Walked, Any], list[Check]] | None = None
    carry: Carry | None = None
    pieces: Callable[[State, Any], Sequence[str]] = lambda _, __: ()
    written: Callable[[State, Any], set[str]] | None = None
    spared: Callable[[State, Any], set[str] | None] = lambda _, __: set()


def one_by_one(apply: Callable[[State, Any, str], bool]) -> Carry:
    """Carry a change through relations that have nothing to do with each other."""

    def carry(state: State, relations: Sequence[Any], causes: Causes) -> None:
        # A step of such a kind is one relation.
        for relation, cause in zip(relations, causes.values(), strict=True):
            apply(state, relation, cause)

    return carry


def _late(module: str) -> Callable[[State, Any, str], bool]:
    """The carrier of a kind, loaded when it is first called: a walk needs none of them."""

    def apply(state: State, relation: Any, cause: str) -> bool:
        carrier = import_module(f"propagate.engine.relations.{module}")
        return bool(carrier.apply(state, relation, cause))

    return apply


def _match(state: State, seams: Sequence[Seam], causes: Causes) -> None:
    from propagate.engine.relations import seam

    seam.apply(state, [one for one in seams if not (one.check or one.mirror)], causes)


def _followers(state: State, one: Seam) -> list[str]:
    return [span.piece for span in one.follow if span.piece in state.pieces]


def _layers(_: State, one: Stack) -> list[str]:
    return [layer.piece for layer in one.layers]


def _strip(_: State, one: Band | Place | Derived) -> list[str]:
    return [one.piece]


def _walk_seam_opening(on: Walked, one: SeamOpening) -> list[Check]:
    from propagate.engine.seam_openings import walk_seam_opening

    return walk_seam_opening(on, one)


def _sides(_: State, one: SeamOpening | Buttons) -> list[str]:
    return list(dict.fromkeys(span.piece for run in one.sides for span in run))


def _side_edges(_: State, one: SeamOpening | Buttons) -> set[str]:
    return {span.key for run in one.sides for span in run}


def _walk_derived(on: Walked, one: Derived) -> list[Check]:
    from propagate.engine.derived.walking import walk_derived

    return walk_derived(on, one)


def _walk_patch(on: Walked, one: Patch) -> list[Check]:
    from propagate.engine.placing import walk_patch

    return walk_patch(on, one)


def _main_of(_: State, one: Patch) -> list[str]:
    return [one.on]


def _walk_buttons(on: Walked, one: Buttons) -> list[Check]:
    from propagate.engine.buttons import walk_buttons

    return walk_buttons(on, one)


def _own(state: State, one: Derived) -> set[str]:
    return set(derived_own(state.pattern, one))


def _sewn(_: State, one: Band) -> set[str]:
    return {f"{one.piece}.{one.sewn}"}


def _spared(state: State, one: Seam) -> set[str] | None:
    """A follower that was revised is not what its lead is measured against."""
    if one.check or one.mirror:
        return None
    return {span.key for span in one.follow} & state.redrawn


def _matched(state: State, one: Seam) -> set[str]:
    pieces = {span.piece for span in one.follow}
    traced = {
        other.follow[0].key
        for piece in pieces & state.traced
        for other in state.pattern.relations.followed_by.get(piece, ())
        if one.name in state.matched.get(other.follow[0].key, ())
    }
    return {span.key for span in one.follow} | traced


WORK: dict[str, Work] = {
    "seam": Work(walk_seam, _match, _followers, _matched, _spared),
    "opening": Work(walk_opening, one_by_one(_late("opening"))),
    "stack": Work(None, one_by_one(_late("stack")), _layers),
    "band": Work(walk_band, one_by_one(_late("band")), _strip, _sewn),
    "place": Work(None, one_by_one(_late("place")), _strip),
    "girth": Work(walk_girth),
    "seam_opening": Work(
        _walk_seam_opening, one_by_one(_late("seam_opening")), _sides, _side_edges
    ),
    "derived": Work(_walk_derived, one_by_one(_late("derived")), _strip, _own, _own),
    "patch": Work(_walk_patch, one_by_one(_late("patch")), _main_of, lambda _, __: set()),
    "buttons": Work(_walk_buttons, one_by_one(_late("buttons")), _sides, _side_edges),
}
"""By the word of the kind, in the order in which they are walked."""
