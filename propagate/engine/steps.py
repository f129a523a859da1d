"""The steps of the work: relations in order, seams whose followers hang together as one step.

Seams that write the same piece share its corners and are matched together.  So are seams
that lead one another round in a ring through corners; everything else is done one after the
other, in the order of the graph.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from propagate.engine.graph import (
    SOFT,
    RelationNode,
    order_of_work,
    relation_graph,
    without_cycles,
)
from propagate.pattern.patternset import PatternSet

if TYPE_CHECKING:
    import networkx as nx


__all__ = ["Step", "steps_of_work"]

Step = tuple[RelationNode, ...]
"""One relation, or the seams that are matched together, by name."""

_STEPS: WeakKeyDictionary[PatternSet, dict[frozenset[str], list[Step]]] = WeakKeyDictionary()


def steps_of_work(pattern: PatternSet, changed: Iterable[str]) -> list[Step]:
    """Everything that can be reached from changed nodes, as steps in topological order.

    Also what is reached only through an edge that follows its corner.  Ties are broken by
    name, so that the order is the same on every run.
    """
    key = frozenset(changed)
    known = _STEPS.setdefault(pattern, {})
    if key not in known:
        known[key] = _order_steps(pattern, order_of_work(pattern, key, wide=True))
    return known[key]


def _order_steps(pattern: PatternSet, order: Sequence[RelationNode]) -> list[Step]:
    groups = _group_relations(pattern, order)
    graph = _step_graph(pattern, order, groups)
    # steps of seams that go round in a ring, each to the one step that they become
    import networkx as nx  # takes longer to load than most edits take

    seams = graph.subgraph([step for step in graph if step[0][0] == "seam"])
    merged: dict[Step, Step] = {}
    for ring in nx.strongly_connected_components(seams):
        if len(ring) > 1:
            whole = tuple(sorted(node for step in ring for node in step))
            merged.update(dict.fromkeys(ring, whole))
    if merged:
        groups = {node: merged.get(step, step) for node, step in groups.items()}
        graph = _step_graph(pattern, order, groups)
    import networkx as nx  # takes longer to load than most edits take

    steps = nx.lexicographical_topological_sort(without_cycles(graph), key=str)
    return list(steps)


def _is_matched(pattern: PatternSet, node: RelationNode) -> bool:
    seam = pattern.relations.seams.get(node[1]) if node[0] == "seam" else None
    return seam is not None and not (seam.check or seam.mirror)


def _group_relations(
    pattern: PatternSet, order: Sequence[RelationNode]
) -> dict[RelationNode, Step]:
    """The step of each relation: matched seams by the pieces that follow in them.

    A seam of such a piece that was not reached is in the step as well: it keeps its length.
    """
    seams = pattern.relations.seams
    import networkx as nx  # takes longer to load than most edits take

    part: nx.Graph = nx.Graph()
    for node in order:
        if not _is_matched(pattern, node):
            continue
        for span in seams[node[1]].follow:
            part.add_edge(node, span.piece)
            part.add_edges_from(
                (("seam", other), span.piece)
                for other in _followers_of(pattern).get(span.piece, ())
            )
    found: dict[RelationNode, Step] = {}
    for nodes in nx.connected_components(part):
        step = tuple(sorted(node for node in nodes if isinstance(node, tuple)))
        found.update(dict.fromkeys(step, step))
    found.update({node: (node,) for node in order if node not in found})
    return found


_FOLLOWERS: WeakKeyDictionary[PatternSet, dict[str, list[str]]] = WeakKeyDictionary()


def _followers_of(pattern: PatternSet) -> dict[str, list[str]]:
    """Piece name to the names of the matched seams in which it follows."""
    found = _FOLLOWERS.get(pattern)
    if found is None:
        found = {}
        for seam in pattern.relations.seams.values():
            if not (seam.check or seam.mirror):
                for piece in dict.fromkeys(span.piece for span in seam.follow):
                    found.setdefault(piece, []).append(seam.name)
        _FOLLOWERS[pattern] = found
    return found


def _step_graph(
    pattern: PatternSet, order: Sequence[RelationNode], groups: dict[RelationNode, Step]
) -> nx.DiGraph:
    """Which step comes before which: what is written, then what reads it.

    A matched piece may change on every edge; where it is read elsewhere than on the edges
    that were to be matched, the order is wished for and not needed.
    """
    everything = relation_graph(pattern)
    import networkx as nx  # takes longer to load than most edits take

    graph: nx.DiGraph = nx.DiGraph()
    graph.add_nodes_from(dict.fromkeys(groups.values()))
    readers: dict[str, list[RelationNode]] = {}
    for node in order:
        for key in everything.predecessors(node):
            readers.setdefault(key.partition(".")[0].partition("/")[0], []).append(node)
            readers.setdefault(key, []).append(node)
    for node in order:
        step = groups[node]
        for key in everything.successors(node):
            for reader in readers.get(key, ()):
                if groups[reader] != step:
                    graph.add_edge(step, groups[reader])
    for first, later in (*_seated_first(pattern, order), *_put_first(pattern, order)):
        step, other = groups[first], groups[later]
        if step != other and not graph.has_edge(step, other):
            graph.add_edge(step, other, **{SOFT: True})
    for node in order:
        if not _is_matched(pattern, node):
            continue
        step = groups[node]
        for span in pattern.relations.seams[node[1]].follow:
            for reader in readers.get(span.piece, ()):
                other = groups[reader]
                if other != step and not graph.has_edge(step, other):
                    graph.add_edge(step, other, **{SOFT: True})
    return graph


def _seated_first(
    pattern: PatternSet, order: Sequence[RelationNode]
) -> Iterator[tuple[RelationNode, RelationNode]]:
    """Each stack, and the matched seams that are measured along one of its layers.

    A layer that shows is a part of the outline, and the seam reads that; but beside a main piece
    that was drawn anew the part has its length only when it is seated again.
    """
    layers = {
        layer.piece: ("stack", stack.name)
        for stack in pattern.relations.stacks.values()
        for layer in stack.layers
        if ("stack", stack.name) in order
    }
    for node in order if layers else ():
        if _is_matched(pattern, node):
            for span in pattern.relations.seams[node[1]].lead:
                if span.piece in layers:
                    yield layers[span.piece], node


def _put_first(
    pattern: PatternSet, order: Sequence[RelationNode]
) -> Iterator[tuple[RelationNode, RelationNode]]:
    """Each opening in a seam, and the matched seams that lead from its marks to another piece.

    A bag that is sewn from notch to notch is as long as the mouth, once the mouth's marks lie where
    they should.
    """
    for opening in pattern.relations.seam_openings.values():
        first = ("seam_opening", opening.name)
        if first not in order:
            continue
        sides = {span.key for run in opening.sides for span in run}
        for node in order:
            if _is_matched(pattern, node):
                seam = pattern.relations.seams[node[1]]
                if sides & {s.key for s in seam.lead} and not sides & {s.key for s in seam.follow}:
                    yield first, node
