"""Run an edit through the relation graph: (set, edit) -> (set, record).

The way through: the edit reshapes the main silhouettes; then every relation that can be
reached from a changed edge is visited in topological order.  A relation none of whose
inputs changed is skipped (early cut-off).  Nothing outside is read or written.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from propagate.engine.column import column_of
from propagate.engine.compare import compare_pieces
from propagate.engine.edits.blend import Blend, Blended, Resolved, blend_silhouettes, resolve
from propagate.engine.edits.blend_report import blend_measures
from propagate.engine.graph import (
    RelationNode,
    causes_of,
    level_node,
    order_of_work,
    silhouette_node,
)
from propagate.engine.record import Change, PieceChange, Record
from propagate.engine.relations import band, cut, opening, place, seam, stack
from propagate.engine.state import State
from propagate.engine.walk import Check, walk
from propagate.pattern.patternset import PatternSet

__all__ = ["Result", "blend", "settle"]

EDIT = "edit"
"""Id of the edit in the chain of causes."""


@dataclass(frozen=True)
class Result:
    """What an edit gives.

    Attributes
    ----------
    pattern : PatternSet
        The set in the resulting size alone, same pieces and relations.
    record : Record
    """

    pattern: PatternSet
    record: Record

    @property
    def sews(self) -> bool:
        """Whether everything that was reached sews together."""
        groups = (self.record.seams, self.record.bands, self.record.openings)
        return all(row.get("verdict") != "does not sew" for rows in groups for row in rows)


def blend(pattern: PatternSet, edit: Blend) -> Result:
    """Blend sizes by level and carry the change to every companion piece.

    Parameters
    ----------
    pattern : PatternSet
    edit : Blend

    Returns
    -------
    Result

    Raises
    ------
    EditError, UnknownName
        When the edit cannot be done on this set.
    Conflict
        When two relations ask different things of the same edge.

    Examples
    --------
    >>> import propagate
    >>> trousers = propagate.load(propagate.demo_path("slant_trouser"))
    >>> result = propagate.blend(trousers, propagate.Blend({"waist": "42", "hip": "44"}))
    >>> result.sews
    True
    """
    chosen = resolve(pattern, edit)
    blended = blend_silhouettes(pattern, edit, chosen)
    state = State(pattern, chosen, dict(blended.edited))
    changed = _note_edit(state, edit, blended)
    order = order_of_work(pattern, changed)
    _take_bands(state, order)
    done = [node for node in order if _visit(state, node)]
    return _result(state, edit, blended, order, done)


def settle(pattern: PatternSet, size: str | None = None) -> Result:
    """Propagate without an edit: visit every relation as if all its edges had changed.

    What lies in its place already is not touched, digit for digit; so a set that was
    propagated comes back as it is.

    Parameters
    ----------
    pattern : PatternSet
    size : str or None
        None takes the base size.

    Raises
    ------
    EditError, UnknownName, Conflict
        As `blend`.
    """
    size = pattern.base if size is None else size
    plan = pattern.relations.blend
    levels = [plan.upper, plan.lower] if plan is not None else []
    edit = Blend(dict.fromkeys(levels, size))
    chosen = resolve(pattern, edit)
    blended = blend_silhouettes(pattern, edit, chosen)
    state = State(pattern, chosen, dict(blended.edited))
    state.changes[EDIT] = Change(EDIT, "propagation without an edit", None)
    nodes = [
        silhouette_node(name, edge.name)
        for name, edited in state.edited.items()
        for edge in edited.edges
    ]
    order = order_of_work(pattern, nodes)
    _take_bands(state, order)
    for node in order:
        _carry(state, node, EDIT)
    return _result(state, edit, blended, order, order)


def _note_edit(state: State, edit: Blend, blended: Blended) -> list[str]:
    """Note what the edit itself changed; returns the changed nodes."""
    chosen, plan = state.chosen, state.chosen.plan
    said = ", ".join(f"{level} {size}" for level, size in sorted(edit.sizes.items()))
    state.changes[EDIT] = Change(EDIT, f"blend of sizes: {said}", None)
    nodes = []
    roles = {
        (main.silhouette, edge): role
        for main in plan.mains
        for edge, role in (
            (main.across, f"top of size {chosen.upper}, trued towards the side"),
            (main.centre, f"size {chosen.upper} above the hold, faded on to {chosen.lower}"),
            (main.side, f"drawn anew from the hold to the top of size {chosen.upper}"),
        )
    }
    for name, edited in blended.edited.items():
        for edge in sorted(edited.changed):
            node = silhouette_node(name, edge)
            text = roles.get((name, edge), f"leg of size {chosen.leg}")
            state.change(node, text, EDIT)
            nodes.append(node)
    sizes = {plan.upper: chosen.upper}
    if plan.leg is not None:
        sizes[plan.leg.level] = chosen.leg
    for level, size in sizes.items():
        if size != chosen.lower:
            state.change(level_node(level), f"size {size} at level '{level}'", EDIT)
            nodes.append(level_node(level))
    return nodes


def _take_bands(state: State, order: list[RelationNode]) -> None:
    """A band starts from the size of the top, unless its place says otherwise."""
    for kind, name in order:
        if kind == "band":
            piece = state.pattern.relations.bands[name].piece
            state.taken.setdefault(piece, state.chosen.upper)
            if state.chosen.upper != state.chosen.lower:
                state.change(
                    f"{piece}.*",
                    f"taken in size {state.chosen.upper}, the size of the top",
                    level_node(state.chosen.plan.upper),
                )


_HANDLERS: dict[str, tuple[str, Callable[[State, Any, str], bool]]] = {
    "opening": ("openings", opening.apply),
    "stack": ("stacks", stack.apply),
    "seam": ("seams", seam.apply),
    "band": ("bands", band.apply),
    "place": ("places", place.apply),
}
"""Relation kind: where it is kept in `Relations`, and what carries a change through it."""


def _visit(state: State, node: RelationNode) -> bool:
    """Carry changes through one relation; False when nothing it reads changed."""
    cause = next((n for n in causes_of(state.pattern, node) if n in state.changes), None)
    if cause is None:
        return False
    _carry(state, node, cause)
    return True


def _carry(state: State, node: RelationNode, cause: str) -> None:
    kind, name = node
    if kind == "cut":
        cut.apply(state, name, cause)
    elif kind in _HANDLERS:
        group, handler = _HANDLERS[kind]
        handler(state, getattr(state.pattern.relations, group)[name], cause)


def _result(
    state: State,
    edit: Blend,
    blended: Blended,
    order: list[RelationNode],
    done: list[RelationNode],
) -> Result:
    column = column_of(state)
    only: dict[str, list[str]] = {}
    for kind, name in order:
        only.setdefault(kind, []).append(name)
    walked = walk(column, only=only, cut_lines=False)
    measures = blend_measures(state, edit, blended, column, only.get("girth", []))
    pieces = _pieces(state, done)
    record = Record(
        edit=_edit_words(edit, state.chosen),
        set_name=state.pattern.name,
        size=state.chosen.name,
        changes=tuple(state.changes.values()),
        pieces=pieces,
        seams=tuple(_row(check) for check in walked.of("seam") + walked.of("notches")),
        openings=tuple(state.opening_rows),
        stacks=tuple(_with_paper(row, pieces) for row in state.stack_rows),
        bands=tuple(_row(check) for check in walked.of("band")),
        girths=measures.girths,
        corners=tuple(_row(check) for check in walked.of("corner")) + measures.corners,
        fairness=measures.fairness,
        match=measures.match,
        warnings=tuple(state.notices),
    )
    return Result(column, record)


def _with_paper(row: Mapping[str, Any], pieces: tuple[PieceChange, ...]) -> dict[str, Any]:
    """A layer's row with the paper added and trimmed along its riding edges."""
    change = next(change for change in pieces if change.piece == row["piece"])
    edges = {edge.edge: edge for edge in change.edges}
    rides = [
        {
            **ride,
            "added_mm": edges[ride["edge"]].added_mm,
            "trimmed_mm": edges[ride["edge"]].trimmed_mm,
        }
        for ride in row["rides"]
    ]
    return {**row, "rides": rides}


def _row(check: Check) -> dict[str, Any]:
    return asdict(check)


def _edit_words(edit: Blend, chosen: Resolved) -> dict[str, Any]:
    return {
        "kind": "blend",
        "sizes": dict(sorted(edit.sizes.items())),
        "follow": edit.follow,
        "top": edit.top,
        "rise": edit.rise,
        "pocket": edit.pocket,
        "pocket_size": chosen.pocket,
        "leg_size": chosen.leg,
        "hold": edit.hold,
    }


def _pieces(state: State, done: list[RelationNode]) -> tuple[PieceChange, ...]:
    """Every piece that was reached, in the order of work."""
    names: list[str] = []
    relations = state.pattern.relations
    for kind, name in done:
        if kind == "cut":
            names.append(state.silhouette(name).base.lead)
        elif kind == "stack":
            names += [layer.piece for layer in relations.stacks[name].layers]
        elif kind == "band":
            names.append(relations.bands[name].piece)
        elif kind == "place":
            names.append(name)
        elif kind == "seam":
            names += [s.piece for s in relations.seams[name].follow if s.piece in state.pieces]
    reasons: dict[str, str] = {}
    for node in state.changes:
        reasons.setdefault(node.partition(".")[0], node)
    changes = []
    for name in dict.fromkeys(names):
        size = state.size_of(name)
        old = state.pattern.sized(name, size)
        why = reasons.get(name, EDIT)
        changes.append(compare_pieces(name, size, old, state.lookup(name), why))
    return tuple(changes)
