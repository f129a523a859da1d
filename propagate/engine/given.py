"""Pieces that an edit gives whole, and what hangs together with them.

A given piece is taken as it is: it is not cut apart again.  The silhouettes it belongs to
are taped anew, so the pocket layers, mates and bands follow what it really became.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from propagate.engine.compare import edge_moved_mm, find_remarked
from propagate.engine.given_openings import lay_given, parts_to_tape, refuse_other_mouth
from propagate.engine.graph import RelationNode, order_of_work, relation_graph, silhouette_node
from propagate.engine.kinds import relation_of, work_of
from propagate.engine.record import EDIT, ChangeKind, Notice, Record
from propagate.engine.relations.notch_pairs import follow_notches
from propagate.engine.reshape import Source, Stretch, share_corners, start_edit
from propagate.engine.rows import Check
from propagate.engine.state import State
from propagate.engine.tape import tape
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["GivenPieces", "take_given", "warn_of_followers"]


@dataclass(frozen=True)
class GivenPieces:
    """What follows from the pieces that were given.

    Attributes
    ----------
    nodes : tuple of str
        Silhouette edges that they changed.
    alone : tuple of RelationNode
        Relations that would have written what was given and are only walked.
    marked : tuple of RelationNode
        Seams with a notch that was moved.
    also : tuple of RelationNode
        Relations that are walked and not visited.
    """

    nodes: tuple[str, ...] = ()
    alone: tuple[RelationNode, ...] = ()
    marked: tuple[RelationNode, ...] = ()
    also: tuple[RelationNode, ...] = ()

    def finish(self, state: State, visited: Sequence[RelationNode]) -> list[str]:
        """Set the notches of the followers; returns ``PIECE.EDGE`` of the edges they are on."""
        before = dict(state.pieces)
        follow_notches(state, dict.fromkeys([*visited, *self.marked]))
        return [
            f"{name}.{mark.edge}"
            for name, piece in state.pieces.items()
            if piece is not before.get(name)
            for mark in piece.landmarks
            if mark not in state.pattern.sized(name, state.job.size).landmarks
        ]


def take_given(state: State, nodes: Sequence[str]) -> GivenPieces:
    """Tape the silhouettes of given pieces anew and lay the openings where they have them.

    Parameters
    ----------
    state : State
        With the changes of the edit noted.
    nodes : sequence of str
        What the edit itself changed.
    """
    pattern, given = state.pattern, state.given.pieces
    old = {name: pattern.sized(name, state.job.size) for name in given}
    moved = find_remarked(old, given)
    taped = _retape_given(state)
    for opening in pattern.relations.openings.values():
        if opening.piece in given:
            lay_given(state, opening)
    order = order_of_work(pattern, [*nodes, *taped])
    on_edges = {f"{key.partition('.')[0]}.{mark.edge}" for key, mark in moved.items()}
    alone = [node for node in _find_led(pattern, state.redrawn | on_edges) if node not in order]
    marked = [
        ("seam", seam.name)
        for seam in pattern.relations.seams.values()
        if any(name in moved for pair in seam.notches for name in pair)
    ]
    for node in alone:
        look = work_of(node[0]).alone
        assert look is not None
        look(state, relation_of(pattern, node))
    walked = [*alone, *(node for node in marked if node not in (*alone, *order))]
    return GivenPieces(tuple(taped), tuple(alone), tuple(marked), tuple(walked))


def warn_of_followers(record: Record, alone: set[str], agree_mm: float) -> Record:
    """Warn of followers that were given while their leads were not."""
    worst: dict[str, Check] = {}
    for row in (*record.seams, *record.bands):
        if row.relation in alone and row.kind != "notches":
            before = worst.get(row.relation, row)
            worst[row.relation] = max(before, row, key=lambda r: abs(r.difference))
    said = [
        Notice(
            name,
            f"only the side that follows was changed ({row.what}): it is off by "
            f"{row.difference:+.2f} mm, and a change never goes back to the side that leads",
            "change the other side too, or let this side lead",
            typed="exchange lead and follow",
            about=("follower alone revised", row.what),
        )
        for name, row in sorted(worst.items())
        if abs(row.difference) > agree_mm
    ]
    return replace(record, warnings=(*record.warnings, *said))


def _find_led(pattern: PatternSet, keys: frozenset[str]) -> list[RelationNode]:
    """Relations that would have written edges that were given: these are walked."""
    graph = relation_graph(pattern)
    found: set[RelationNode] = set()
    taped: dict[str, set[str]] = {}
    for name, assembly in pattern.relations.assemblies.items():
        for whole, run in assembly.edges.items():
            for span in run:
                taped.setdefault(span.key, set()).add(silhouette_node(name, whole))
    for key in keys:
        piece, _, edge = key.partition(".")
        for node in {key, silhouette_node(piece, edge), *taped.get(key, ())} & set(graph):
            found.update(n for n in graph.predecessors(node) if isinstance(n, tuple))
    return sorted(node for node in found if work_of(node[0]).alone is not None)


def _retape_given(state: State) -> list[str]:
    """Tape the silhouettes of the given pieces anew; returns their changed edges as nodes."""
    pattern, size, given = state.pattern, state.job.size, state.given.pieces
    nodes: list[str] = []
    relations = pattern.relations
    mains = {main.silhouette for main in relations.blend.mains} if relations.blend else set()
    sized = {**given, **parts_to_tape(state)}
    refuse_other_mouth(state, sized)
    revised = replace(
        pattern, pieces={**pattern.pieces, **{n: Piece(n, {size: p}) for n, p in sized.items()}}
    )
    owners = {relations.parts_of.get(name, name) for name in given}
    for owner in sorted(owners & (mains | set(relations.assemblies))):
        base, new = tape(pattern, owner, size), tape(revised, owner, size)
        edited = start_edit(base, size)
        kept = [
            # Where the pieces meet on an edge says nothing of the line.
            old if edge_moved_mm(old := base.edge(edge.name), edge) <= ON_LINE_MM else edge
            for edge in new.edges
        ]
        merged = share_corners(kept, [base.edge(edge.name) for edge in new.edges])
        changed = [edge for edge in merged if edge != base.edge(edge.name)]
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
            text = f"outline of '{owner}' with the revised piece"
            state.change(node, ChangeKind.RETAPED, text, cause)
            nodes.append(node)
    return nodes
