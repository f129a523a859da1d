"""Replace pieces by revised ones in one size, and carry the change to every companion.

A revised piece is taken as it is: it is not cut apart again.  The silhouettes it belongs
to are taped anew, so the pocket layers, mates and bands follow what it really became.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from propagate.engine.carry import Result, carry_all
from propagate.engine.compare import edge_status
from propagate.engine.edits.blend import Blended, Resolved
from propagate.engine.graph import order_of_work, silhouette_node
from propagate.engine.record import EDIT, Change
from propagate.engine.reshape import Edited, Source, Stretch, start_edit
from propagate.engine.state import LaidOpening, Split, State
from propagate.engine.tape import tape
from propagate.errors import UnknownName
from propagate.geometry.motion import fit
from propagate.geometry.polyline import locate
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendPlan, Opening
from propagate.tolerances import OPENING_LENGTH_MM

__all__ = ["replace_pieces"]


def replace_pieces(pattern: PatternSet, size: str, given: Mapping[str, SizedPiece]) -> Result:
    """Put revised pieces in the place of the old ones, in one size.

    Parameters
    ----------
    pattern : PatternSet
    size : str
    given : mapping of piece name to SizedPiece
        In the frame of the old piece, with the same edge and landmark names.

    Returns
    -------
    Result
        The set in that size alone.

    Raises
    ------
    UnknownName
        For a size or piece that the set does not have.
    Conflict
        When both sides of a seam were revised and disagree, or a follower is fixed.
    """
    if size not in pattern.sizes:
        raise UnknownName("size", size, pattern.sizes, f"set '{pattern.name}'")
    old = {name: pattern.sized(name, size) for name in given}
    plan = pattern.relations.blend or BlendPlan("", "", (), "")
    chosen = Resolved(plan, size, size, size, size, size)
    state = State(pattern, chosen, {}, pieces=dict(given), given=frozenset(given))
    said = ", ".join(sorted(given))
    state.changes[EDIT] = Change(EDIT, f"revised in size {size}: {said}", None)
    nodes: list[str] = []
    for name, piece in given.items():
        for before, after in zip(old[name].edges, piece.edges, strict=True):
            status = edge_status(before, after)
            if status != "same":
                node = f"{name}.{after.name}"
                state.change(node, f"{status} in the revised piece", EDIT)
                nodes.append(node)
    _retape(state, given, nodes)
    for opening in pattern.relations.openings.values():
        if opening.piece in given:
            _given_opening(state, opening, old[opening.piece], given[opening.piece])
    order = order_of_work(pattern, nodes)
    words = {"kind": "revise", "pieces": sorted(given)}
    return carry_all(state, words, Blended({}), order)


def _retape(state: State, given: Mapping[str, SizedPiece], nodes: list[str]) -> None:
    """Tape the silhouettes of the revised pieces anew; their changed edges are nodes."""
    pattern, size = state.pattern, state.chosen.name
    relations = pattern.relations
    mains = {main.silhouette for main in relations.blend.mains} if relations.blend else set()
    revised = replace(
        pattern,
        pieces={**pattern.pieces, **{n: Piece(n, {size: p}) for n, p in given.items()}},
    )
    owners = {relations.parts_of.get(name, name) for name in given}
    for owner in sorted(owners & (mains | set(relations.assemblies))):
        base, new = tape(pattern, owner, size), tape(revised, owner, size)
        edited = start_edit(base, size)
        changed = [edge for edge in new.edges if edge != base.edge(edge.name)]
        stretches = {
            edge.name: (Stretch("revised", (0.0, edge.length), (0.0, edge.length)),)
            for edge in changed
        }
        state.edited[owner] = edited.with_edges(
            changed, stretches, {"revised": Source(new, size)}, None
        )
        for edge in changed:
            node = silhouette_node(owner, edge.name)
            cause = next(
                (s.span.key for s in new.segments[edge.name] if s.span.key in state.changes), EDIT
            )
            state.change(node, f"outline of '{owner}' with the revised piece", cause)
            nodes.append(node)


def _given_opening(state: State, opening: Opening, old: SizedPiece, new: SizedPiece) -> None:
    """The opening lies where the revised piece has it; the layers follow rigidly."""
    before, after = old.edge(opening.edge).points, new.edge(opening.edge).points
    ends = np.array([before[0], before[-1]]), np.array([after[0], after[-1]])
    motion, _ = fit(*ends)
    was, now = old.edge(opening.edge).length, new.edge(opening.edge).length
    if abs(now - was) > OPENING_LENGTH_MM:
        state.notice(
            opening.name,
            f"the revised '{opening.piece}' changes the opening from {was:.1f} to {now:.1f} mm; "
            "the layers' mouths were changed with it",
        )
    edited: Edited = state.silhouette(opening.silhouette)
    splits = []
    for edge, end in (
        (opening.across, opening.across_end),
        (opening.side, opening.side_end),
    ):
        point = after[0 if end == "start" else -1]
        splits.append(Split(locate(edited.edge(edge).points, point)[0], point))
    state.openings[opening.name] = LaidOpening(
        motion=motion,
        source=tape(state.pattern, opening.silhouette, state.chosen.name),
        points=after,
        across=splits[0],
        side=splits[1],
        swing_deg=float(np.degrees(motion.angle)),
        moved_mm=float(np.hypot(*(ends[1][-1] - ends[0][-1]))),
        slid_mm=0.0,
    )
