"""Replace pieces by revised ones in one size, and carry the change to every companion.

A revised piece is taken as it is: it is not cut apart again.  The silhouettes it belongs
to are taped anew, so the pocket layers, mates and bands follow what it really became.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from propagate.engine.carry import Result, carry_all
from propagate.engine.compare import edge_status
from propagate.engine.edits.blend import Blended, Resolved
from propagate.engine.graph import (
    RelationNode,
    order_of_work,
    relation_graph,
    silhouette_node,
)
from propagate.engine.record import EDIT, Change, Notice
from propagate.engine.relations.given_layer import given_layer, layer_edges
from propagate.engine.relations.notch_pairs import follow_notches
from propagate.engine.reshape import Edited, Source, Stretch, start_edit
from propagate.engine.state import LaidOpening, Split, State
from propagate.engine.tape import tape
from propagate.errors import UnknownName
from propagate.geometry.motion import fit
from propagate.geometry.polyline import locate
from propagate.pattern.model import Landmark, Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendPlan, Opening
from propagate.tolerances import OPENING_LENGTH_MM, RESTS_MM, SEAM_LENGTH_MM

__all__ = ["replace_pieces"]


def replace_pieces(
    pattern: PatternSet,
    size: str,
    given: Mapping[str, SizedPiece],
    *,
    follow: Literal["shape", "length"] = "length",
    drawn_to: float = 0.0,
    words: Mapping[str, Any] | None = None,
    notices: Sequence[Notice] = (),
) -> Result:
    """Put revised pieces in the place of the old ones, in one size.

    Parameters
    ----------
    pattern : PatternSet
    size : str
    given : mapping of piece name to SizedPiece
        In the frame of the old piece, with the same edge names; landmarks may be new.
    follow : "shape" or "length"
        A mate takes the shape that its lead got, or its length alone.
    drawn_to : float
        mm within which two revised sides that disagree are as good as equal.
    words : mapping or None
        More to say of the edit in the record.
    notices : sequence of Notice
        What is known to look at already.

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
    redrawn = {
        f"{name}.{after.name}"
        for name, piece in given.items()
        for before, after in zip(old[name].edges, piece.edges, strict=True)
        if edge_status(before, after) != "same"
    }
    moved = {
        f"{name}.{mark.name}": mark
        for name, piece in given.items()
        for mark in piece.landmarks
        if mark not in old[name].landmarks
    }
    state = State(
        pattern,
        chosen,
        {},
        pieces=dict(given),
        given=dict(given),
        redrawn=frozenset(redrawn),
        remarked=frozenset(moved),
        follow=follow,
        drawn_to=drawn_to,
        notices=list(notices),
    )
    said = ", ".join(sorted(given))
    state.changes[EDIT] = Change(EDIT, f"revised in size {size}: {said}", None)
    nodes = _nodes(state, old, redrawn, moved)
    _retape(state, given, nodes)
    for opening in pattern.relations.openings.values():
        if opening.piece in given:
            _given_opening(state, opening, old[opening.piece], given[opening.piece])
    order = order_of_work(pattern, nodes)
    alone = _led(pattern, redrawn | {_edge_of(key, mark) for key, mark in moved.items()})
    marked = [
        ("seam", seam.name)
        for seam in pattern.relations.seams.values()
        if any(name in moved for pair in seam.notches for name in pair)
    ]
    alone = [node for node in alone if node not in order]
    also = [*alone, *(node for node in marked if node not in (*alone, *order))]
    _look_at_layers(state, alone)
    edit = {"kind": "revise", "pieces": sorted(given), "follow": follow, **(words or {})}

    def finish(visited: Sequence[RelationNode]) -> list[str]:
        before = dict(state.pieces)
        follow_notches(state, dict.fromkeys([*visited, *marked]))
        return [
            _edge_of(f"{name}.", mark)
            for name, piece in state.pieces.items()
            if piece is not before.get(name)
            for mark in piece.landmarks
            if mark not in state.pattern.sized(name, size).landmarks
        ]

    result = carry_all(state, edit, Blended({}), nodes, also=also, finish=finish)
    return _said_of_followers(result, {name for _, name in alone}, drawn_to)


def _said_of_followers(result: Result, alone: set[str], drawn_to: float) -> Result:
    """Warn of followers that were revised while their leads were not."""
    worst: dict[str, Mapping[str, Any]] = {}
    for row in (*result.record.seams, *result.record.bands):
        name = next((n for n in alone if row["name"] == n or row["name"].startswith(f"{n} ")), None)
        if name is not None and row["kind"] != "notches":
            worst[name] = max(worst.get(name, row), row, key=lambda r: abs(float(r["difference"])))
    said = [
        Notice(
            name,
            f"only the side that follows was revised ({row['what']}): it is off by "
            f"{row['difference']:+.2f} mm, and a change never goes back to the lead; revise the "
            "lead too, or exchange lead and follow",
        )
        for name, row in sorted(worst.items())
        if abs(float(row["difference"])) > max(SEAM_LENGTH_MM, drawn_to)
    ]
    warnings = (*result.record.warnings, *said)
    return replace(result, record=replace(result.record, warnings=warnings))


def _edge_of(key: str, mark: Landmark) -> str:
    """``PIECE.EDGE`` of a landmark known as ``PIECE.LANDMARK``."""
    return f"{key.partition('.')[0]}.{mark.edge}"


def _nodes(
    state: State, old: Mapping[str, SizedPiece], redrawn: set[str], moved: Mapping[str, Landmark]
) -> list[str]:
    """Note what the revision itself changed; returns the changed nodes."""
    nodes: list[str] = []
    for name, piece in state.given.items():
        for before, after in zip(old[name].edges, piece.edges, strict=True):
            node = f"{name}.{after.name}"
            marks = [
                m.name for key, m in moved.items() if f"{key.partition('.')[0]}.{m.edge}" == node
            ]
            if node in redrawn:
                state.change(node, f"{edge_status(before, after)} in the revised piece", EDIT)
            elif marks:
                state.change(node, f"{', '.join(marks)} moved along it in the revised piece", EDIT)
            else:
                continue
            nodes.append(node)
    return nodes


def _led(pattern: PatternSet, keys: set[str]) -> list[RelationNode]:
    """Relations that would have written edges that were revised: these are walked."""
    graph = relation_graph(pattern)
    found: set[RelationNode] = set()
    for key in keys:
        piece, _, edge = key.partition(".")
        for node in {key, silhouette_node(piece, edge)} & set(graph):
            found.update(n for n in graph.predecessors(node) if isinstance(n, tuple))
    return sorted(node for node in found if node[0] in ("seam", "band", "stack"))


def _look_at_layers(state: State, alone: Sequence[RelationNode]) -> None:
    """Measure revised layers of pockets whose main piece was not revised."""
    for kind, name in alone:
        if kind != "stack":
            continue
        stack = state.pattern.relations.stacks[name]
        opening = state.pattern.relations.openings[stack.opening]
        main = state.lookup(opening.piece)
        if opening.name not in state.openings:
            _given_opening(state, opening, main, main)
        for layer in stack.layers:
            if any(f"{layer.piece}.{edge}" in state.redrawn for edge in layer_edges(layer)):
                state.stack_rows.append(given_layer(state, stack, layer))


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
    _look_at_the_corner(state, opening, float(np.hypot(*(ends[1] - ends[0]).T).max()))
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


def _look_at_the_corner(state: State, opening: Opening, moved_mm: float) -> None:
    """Say that the corner beyond a moved opening lies on a piece that was not sent."""
    assembly = state.pattern.relations.assemblies.get(opening.silhouette)
    beyond = [part.piece for part in assembly.parts] if assembly is not None else []
    absent = [name for name in beyond if name != opening.piece and name not in state.given]
    if absent and moved_mm > RESTS_MM:
        names = " and ".join(f"'{name}'" for name in absent)
        state.notice(
            opening.name,
            f"the revised '{opening.piece}' moves the ends of the opening by up to "
            f"{moved_mm:.1f} mm; the corner beyond it lies on {names}, which was not revised: it "
            f"went along with the opening; if that corner was redrawn, send {names} too",
        )
