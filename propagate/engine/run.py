"""Run an edit: (set, edit) -> (set, record).

The way through: the edit reshapes the main silhouettes; then the changes are carried
through the relation graph.  Nothing outside is read or written.
"""

from __future__ import annotations

from typing import Any

from propagate.engine.carry import Result, carry_all
from propagate.engine.edits.blend import Blend, Blended, Resolved, blend_silhouettes, resolve
from propagate.engine.graph import level_node, silhouette_node
from propagate.engine.record import EDIT, Change
from propagate.engine.state import State
from propagate.pattern.patternset import PatternSet

__all__ = ["Result", "blend", "settle"]


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
    return carry_all(state, _edit_words(edit, chosen), blended, changed)


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
    return carry_all(state, _edit_words(edit, chosen), blended, nodes, always=True)


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


def _edit_words(edit: Blend, chosen: Resolved) -> dict[str, Any]:
    plan = chosen.plan
    levels = (plan.upper, plan.lower, *([plan.leg.level] if plan.leg else []))
    return {
        "kind": "blend",
        "sizes": {level: edit.sizes[level] for level in levels if level in edit.sizes},
        "follow": edit.follow,
        "top": edit.top,
        "rise": edit.rise,
        "pocket": edit.pocket,
        "pocket_size": chosen.pocket,
        "leg_size": chosen.leg,
        "hold": edit.hold,
    }
