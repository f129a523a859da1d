"""The relation graph and the order of work.

A directed bipartite graph: edges of pieces and silhouettes on one side, relations on the
other.  A relation reads its lead's nodes and writes its follower's; the order of work is
the topological order.  Only what can be reached from a changed edge is visited.

Matching a follower moves its end, and the edges that cross there follow their corner.
So a seam may write the neighbours of its follower too.  These *wide* edges of the graph
order the work as far as they make no cycle; they are never a reason to refuse a set.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from propagate.errors import InvalidSet
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relation_edges import (
    edge_names,
    level_node,
    run_nodes,
    silhouette_edges,
    silhouette_node,
)

if TYPE_CHECKING:
    import networkx as nx


__all__ = [
    "CUT",
    "SOFT",
    "RelationNode",
    "causes_of",
    "edges_read",
    "joined_edges",
    "level_node",
    "order_of_work",
    "readers_of",
    "relation_graph",
    "run_nodes",
    "silhouette_node",
    "without_cycles",
]

RelationNode = tuple[str, str]
"""Kind and name of a relation: ``("seam", "side_seam")``."""

CUT = "cut"
"""The kind of a node that is no relation: a silhouette is cut apart into its pieces."""

SOFT = "soft"
"""Name of the mark of an edge that orders the work where it can, and refuses nothing."""

Node = str | RelationNode

_Orders = dict[tuple[frozenset[str], bool], list[RelationNode]]

_ORDERS: WeakKeyDictionary[PatternSet, _Orders] = WeakKeyDictionary()
_CACHE: WeakKeyDictionary[PatternSet, nx.DiGraph] = WeakKeyDictionary()
_WIDE: WeakKeyDictionary[PatternSet, nx.DiGraph] = WeakKeyDictionary()
_JOINED: WeakKeyDictionary[PatternSet, frozenset[str]] = WeakKeyDictionary()
_CAUSES: WeakKeyDictionary[PatternSet, dict[RelationNode, list[str]]] = WeakKeyDictionary()
_JUDGED: WeakKeyDictionary[PatternSet, dict[RelationNode, list[str]]] = WeakKeyDictionary()
_READERS: WeakKeyDictionary[PatternSet, dict[str, list[RelationNode]]] = WeakKeyDictionary()


def relation_graph(pattern: PatternSet) -> nx.DiGraph:
    """Build the graph of a set, once per set.

    Raises
    ------
    InvalidSet
        When leads form a cycle; the pieces in it are named.
    """
    graph = _CACHE.get(pattern)
    if graph is None:
        import networkx as nx  # takes longer to load than most edits take

        graph = nx.DiGraph()
        nodes = [
            (*links, (key, name))
            for key, kind in KINDS.items()
            for name, relation in relations_of(pattern.relations, key).items()
            if (links := kind.links(pattern, relation)) is not None
        ]
        for reads, writes, node in (*_list_cuts(pattern), *nodes):
            graph.add_edges_from((read, node) for read in reads)
            graph.add_edges_from((node, written) for written in writes)
            graph.add_node(node)
        _refuse_cycles(pattern, graph)
        _CACHE[pattern] = graph
    return graph


def order_of_work(
    pattern: PatternSet, changed: Iterable[str], *, wide: bool = False
) -> list[RelationNode]:
    """Relations that can be reached from changed nodes, in topological order.

    A seam comes before what reads the edges that cross its follower's ends, as long as
    that makes no cycle.  Ties are broken by name, so that the order is the same on every
    run.

    Parameters
    ----------
    pattern : PatternSet
    changed : iterable of str
        Names of nodes.
    wide : bool
        Also those that are reached only through an edge that follows its corner.
    """
    key = (frozenset(changed), wide)
    known = _ORDERS.setdefault(pattern, {})
    if key not in known:
        everything = _wide_graph(pattern)
        far = _find_reached(everything, key[0])
        near = far if wide else _find_reached(relation_graph(pattern), key[0])
        part = without_cycles(everything.subgraph(far))
        import networkx as nx  # takes longer to load than most edits take

        order: Iterator[Node] = nx.lexicographical_topological_sort(part, key=str)
        known[key] = [node for node in order if not isinstance(node, str) and node in near]
    return list(known[key])


def _find_reached(graph: nx.DiGraph, changed: Iterable[str]) -> set[Node]:
    reached: set[Node] = set()
    todo: list[Node] = [node for node in changed if node in graph]
    while todo:
        node = todo.pop()
        if node not in reached:
            reached.add(node)
            todo.extend(graph.successors(node))
    return reached


def causes_of(pattern: PatternSet, relation: RelationNode) -> list[str]:
    """Nodes that a relation reads, by name."""
    known = _CAUSES.setdefault(pattern, {})
    if relation not in known:
        known[relation] = sorted(relation_graph(pattern).predecessors(relation))
    return list(known[relation])


def edges_read(pattern: PatternSet, relation: RelationNode) -> list[str]:
    """``PIECE.EDGE`` of every edge whose length a relation is judged by."""
    known = _JUDGED.setdefault(pattern, {})
    if relation not in known:
        key, name = relation
        kind = KINDS.get(key)
        of = relations_of(pattern.relations, key)
        known[relation] = [] if kind is None else kind.judged(pattern, of[name])
    return list(known[relation])


def readers_of(pattern: PatternSet, key: str) -> list[RelationNode]:
    """Relations that are judged by an edge ``PIECE.EDGE``, by name."""
    found = _READERS.get(pattern)
    if found is None:
        found = {}
        for key_of_kind in KINDS:
            for name in sorted(relations_of(pattern.relations, key_of_kind)):
                node = (key_of_kind, name)
                for edge in edges_read(pattern, node):
                    found.setdefault(edge, []).append(node)
        _READERS[pattern] = found
    return found.get(key, [])


def _wide_graph(pattern: PatternSet) -> nx.DiGraph:
    """The graph with what a seam may write beyond its own run."""
    wide = _WIDE.get(pattern)
    if wide is None:
        graph = relation_graph(pattern)
        wide = graph.copy()
        for seam in pattern.relations.seams.values():
            if seam.check or seam.mirror:
                continue
            relation = ("seam", seam.name)
            # The other edges of the followers: some follow when its end is moved.
            own = {span.key for span in seam.follow}
            pieces = dict.fromkeys(span.piece for span in seam.follow)
            every = {f"{piece}.{edge}" for piece in pieces for edge in edge_names(pattern, piece)}
            for key in sorted(every - own):
                targets: list[Node] = [key] if key in graph else []
                targets.extend(node for node in readers_of(pattern, key) if node != relation)
                wide.add_edges_from(
                    (relation, target, {SOFT: True})
                    for target in targets
                    if not graph.has_edge(relation, target)
                )
        _WIDE[pattern] = wide
    return wide


def _list_cuts(pattern: PatternSet) -> Iterator[tuple[list[str], list[str], RelationNode]]:
    """Every main silhouette is cut apart into its lead piece's edges: (read, written, node)."""
    relations = pattern.relations
    names = list(relations.assemblies)
    if relations.blend is not None:
        names += [m.silhouette for m in relations.blend.mains if m.silhouette not in names]
    mouths: dict[str, list[str]] = {}
    for opening in relations.openings.values():
        mouths.setdefault(opening.silhouette, []).append(f"{opening.piece}.{opening.edge}")
    for name in names:
        assembly = relations.assemblies.get(name)
        if assembly is None:
            edges = edge_names(pattern, name)
            writes = [f"{name}.{edge}" for edge in edges]
        else:
            layers = {layer.piece for s in relations.stacks.values() for layer in s.layers}
            cut = set(assembly.pieces) - layers
            writes = [
                f"{piece}.{edge}"
                for piece in sorted(cut)
                for edge in edge_names(pattern, piece)
                if f"{piece}.{edge}" not in mouths.get(name, [])
            ]
        reads = [silhouette_node(name, edge) for edge in silhouette_edges(pattern, name)]
        yield reads + mouths.get(name, []), writes, (CUT, name)


def _refuse_cycles(pattern: PatternSet, graph: nx.DiGraph) -> None:
    import networkx as nx  # takes longer to load than most edits take

    try:
        cycle = nx.find_cycle(graph)
    except nx.NetworkXNoCycle:
        return
    names = [node[1] if isinstance(node, tuple) else node for node, *_ in cycle]
    raise InvalidSet(
        pattern.name,
        [
            "leads go round in a cycle: " + " -> ".join([*names, names[0]]) + "; "
            "on each relation one side leads: swap lead and follow on one of them"
        ],
    )


def joined_edges(pattern: PatternSet) -> frozenset[str]:
    """``PIECE.EDGE`` of the edges that something is sewn to, rides on or is taped along."""
    found = _JOINED.get(pattern)
    if found is None:
        relations = pattern.relations
        joined = {span.key for s in relations.seams.values() for span in (*s.lead, *s.follow)}
        for band in relations.bands.values():
            joined.update(span.key for zone in band.zones for span in zone.run)
            joined.add(f"{band.piece}.{band.sewn}")
        for stack in relations.stacks.values():
            for layer in stack.layers:
                joined.update(f"{layer.piece}.{edge}" for edge in layer.ride)
                joined.add(f"{layer.piece}.{layer.mouth}")
        for key, kind in KINDS.items():
            if kind.joined is not None or not kind.kept:
                for other in relations_of(relations, key).values():
                    joined.update((kind.joined or kind.judged)(pattern, other))
        joined.update(f"{o.piece}.{o.edge}" for o in relations.openings.values())
        found = _JOINED[pattern] = frozenset(joined)
    return found


def without_cycles(graph: nx.DiGraph) -> nx.DiGraph:
    """Drop the soft edges that go against the order of a cycle they make."""
    import networkx as nx  # takes longer to load than most edits take

    kept = nx.DiGraph(graph)
    for component in list(nx.strongly_connected_components(graph)):
        if len(component) > 1:
            local = graph.subgraph(component)
            place = {node: i for i, node in enumerate(_one_by_one(local))}
            kept.remove_edges_from([(a, b) for a, b in local.edges if place[a] > place[b]])
    return kept


def _one_by_one(graph: nx.DiGraph) -> list[Hashable]:
    """Order of nodes that wait for each other in a circle: as few soft edges broken as seem."""
    import networkx as nx  # takes longer to load than most edits take

    order: list[Hashable] = []
    left = set(graph)
    while left:
        rest = graph.subgraph(left)
        free = [node for node in left if not rest.in_degree(node)]
        if not free:
            # Within a first component, whose nodes wait for nobody outside of it.
            whole = nx.condensation(rest)
            first = [n for n in whole if not whole.in_degree(n)]
            members = {node for n in first for node in whole.nodes[n]["members"]}
            free = [n for n in members if all(SOFT in d for *_, d in rest.in_edges(n, data=True))]
            free = free or list(members)
        order.append(min(free, key=str))
        left.remove(order[-1])
    return order
