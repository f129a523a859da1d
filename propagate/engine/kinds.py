"""What the engine does with each kind of relation: one line for each.

A kind that is not here is kept in files and has its place in the graph, and nothing more.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any

from propagate.engine.graph import CUT, RelationNode
from propagate.engine.rows import Check
from propagate.engine.walk_checks import Walked, walk_band, walk_girth, walk_opening, walk_seam
from propagate.pattern.alike import Alike
from propagate.pattern.buttons import Buttons
from propagate.pattern.derived import Derived
from propagate.pattern.kinds import relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relation_edges import alike_links, derived_own, welt_own
from propagate.pattern.relations import Band, Place, Seam, SeamOpening
from propagate.pattern.welts import WeltOpening
from propagate.values import dataclass

if TYPE_CHECKING:
    from propagate.engine.state import State

__all__ = ["WORK", "Causes", "Work", "one_by_one", "relation_of", "work_of"]

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
    cuts : bool
        What it writes is cut from an outline: it is not read as what a seam matched is.
    take : callable
        Takes its piece in the size that is asked for, before anything is carried.
    alone : callable or None
        Looks at what was given though nothing that decides it was: the relation is walked then,
        and not carried.  None: that is not looked at.
    """

    walk: Callable[[Walked, Any], list[Check]] | None = None
    carry: Carry | None = None
    pieces: Callable[[State, Any], Sequence[str]] = lambda _, __: ()
    written: Callable[[State, Any], set[str]] | None = None
    spared: Callable[[State, Any], set[str] | None] = lambda _, __: set()
    cuts: bool = False
    take: Callable[[State, Any], None] = lambda _, __: None
    alone: Callable[[State, Any], None] | None = None


def one_by_one(apply: Callable[[State, Any, str], bool]) -> Carry:
    """Carry a change through relations that have nothing to do with each other."""

    def carry(state: State, relations: Sequence[Any], causes: Causes) -> None:
        # A step of such a kind is one relation.
        for relation, cause in zip(relations, causes.values(), strict=True):
            apply(state, relation, cause)

    return carry


def _load_late(module: str, name: str = "apply") -> Callable[..., Any]:
    """A function of the engine, loaded when it is first called: few sets have every kind."""

    def call(*given: Any) -> Any:
        return getattr(import_module(f"propagate.engine.{module}"), name)(*given)

    return call


def _carry_late(kind: str) -> Carry:
    return one_by_one(_load_late(f"relations.{kind}"))


def _match_seams(state: State, seams: Sequence[Seam], causes: Causes) -> None:
    from propagate.engine.relations import seam

    seam.apply(state, [one for one in seams if not (one.check or one.mirror)], causes)


def _only_walk(_: State, __: Any) -> None:
    """Nothing but the walk tells of a follower that was given alone."""


def _list_parts(state: State, silhouette: str) -> Sequence[str]:
    from propagate.engine.relations.split_line import parts_to_cut

    return parts_to_cut(state.pattern, silhouette)


def _list_strip(_: State, one: Band | Place | Derived) -> list[str]:
    return [one.piece]


def _list_sides(_: State, one: SeamOpening | Buttons) -> list[str]:
    return list(dict.fromkeys(span.piece for run in one.sides for span in run))


def _side_edges(_: State, one: SeamOpening | Buttons) -> set[str]:
    return {span.key for run in one.sides for span in run}


def _list_copied(state: State, one: Alike) -> set[str]:
    return set(alike_links(state.pattern, one)[1])


def _sewn_in(state: State, one: WeltOpening) -> set[str]:
    return set(welt_own(state.pattern, one))


def _list_own(state: State, one: Derived) -> set[str]:
    return set(derived_own(state.pattern, one))


def _list_spared(state: State, one: Seam) -> set[str] | None:
    """A follower that was revised is not what its lead is measured against."""
    if one.check or one.mirror:
        return None
    return {span.key for span in one.follow} & state.redrawn


def _list_matched(state: State, one: Seam) -> set[str]:
    pieces = {span.piece for span in one.follow}
    traced = {
        other.follow[0].key
        for piece in pieces & state.traced
        for other in state.pattern.relations.followed_by.get(piece, ())
        if one.name in state.matched.get(other.follow[0].key, ())
    }
    return {span.key for span in one.follow} | traced


WORK: dict[str, Work] = {
    "seam": Work(
        walk_seam,
        _match_seams,
        lambda state, one: [s.piece for s in one.follow if s.piece in state.pieces],
        _list_matched,
        _list_spared,
        alone=_only_walk,
    ),
    "opening": Work(walk_opening, _carry_late("opening")),
    "stack": Work(
        carry=_carry_late("stack"),
        pieces=lambda _, one: [layer.piece for layer in one.layers],
        cuts=True,
        alone=_load_late("given_openings", "look_at_layers"),
    ),
    "band": Work(
        walk_band,
        _carry_late("band"),
        _list_strip,
        lambda _, one: {f"{one.piece}.{one.sewn}"},
        take=_load_late("relations.band", "take_size"),
        alone=_only_walk,
    ),
    "place": Work(
        carry=_carry_late("place"),
        pieces=_list_strip,
        take=_load_late("relations.place", "take_size"),
    ),
    "girth": Work(walk_girth),
    "seam_opening": Work(
        _load_late("seam_openings", "walk_seam_opening"),
        _carry_late("seam_opening"),
        _list_sides,
        _side_edges,
    ),
    "derived": Work(
        _load_late("derived.walking", "walk_derived"),
        _carry_late("derived"),
        _list_strip,
        _list_own,
        _list_own,
    ),
    "patch": Work(
        _load_late("placing", "walk_patch"),
        _carry_late("patch"),
        lambda _, one: [one.on],
        lambda _, __: set(),
    ),
    "alike": Work(
        _load_late("alike", "walk_alike"),
        _carry_late("alike"),
        lambda _, one: one.pieces,
        _list_copied,
        _list_copied,
    ),
    "buttons": Work(
        _load_late("buttons", "walk_buttons"), _carry_late("buttons"), _list_sides, _side_edges
    ),
    "tape": Work(
        _load_late("relations.tape", "walk_tape"),
        _carry_late("tape"),
        written=lambda _, __: set(),
    ),
    "pleats": Work(
        _load_late("pleats", "walk_pleats"),
        _carry_late("pleats"),
        lambda _, one: list(dict.fromkeys(span.piece for span in one.run)),
        lambda _, one: {span.key for span in one.run},
    ),
    "welt_opening": Work(
        _load_late("welts.walking", "walk_welt_opening"),
        _carry_late("welt_opening"),
        lambda _, one: [one.on, *(part.piece for part in one.parts)],
        _sewn_in,
        _sewn_in,
    ),
}
"""By the word of the kind, in the order in which they are walked."""

_CUT_APART = Work(None, _carry_late("cut"), _list_parts, cuts=True)
_NOTHING = Work()


def work_of(key: str) -> Work:
    """What is done with a kind, or with silhouettes that are cut apart; nothing when unknown."""
    return _CUT_APART if key == CUT else WORK.get(key, _NOTHING)


def relation_of(pattern: PatternSet, node: RelationNode) -> Any:
    """The relation of a kind and a name; of a silhouette that is cut apart its name."""
    key, name = node
    return name if key == CUT else relations_of(pattern.relations, key)[name]
