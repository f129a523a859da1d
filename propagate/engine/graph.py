"""The relation graph and the order of work.

A directed bipartite graph: edges of pieces and silhouettes on one side, relations on the
other.  A relation reads its lead's nodes and writes its follower's; the order of work is
the topological order.  Only what can be reached from a changed edge is visited.

Matching a follower moves its end, and the edges that cross there follow their corner.
So a seam may write the neighbours of its follower too.  These *wide* edges of the graph
order the work as far as they make no cycle; they are never a reason to refuse a set.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from weakref import WeakKeyDictionary

import networkx as nx

from propagate.engine.soft_order import SOFT, without_cycles
from propagate.errors import InvalidSet
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Run, Seam

__all__ = [
    "RelationNode",
    "edges_read",
    "free_edges",
    "level_node",
    "order_of_work",
    "readers_of",
    "relation_graph",
    "run_nodes",
    "silhouette_node",
]

RelationNode = tuple[str, str]
"""Kind and name of a relation: ``("seam", "side_seam")``."""

Node = str | RelationNode

_Orders = dict[tuple[frozenset[str], bool], list[RelationNode]]

_ORDERS: WeakKeyDictionary[PatternSet, _Orders] = WeakKeyDictionary()
_CACHE: WeakKeyDictionary[PatternSet, nx.DiGraph] = WeakKeyDictionary()
_WIDE: WeakKeyDictionary[PatternSet, nx.DiGraph] = WeakKeyDictionary()
_FREE: WeakKeyDictionary[PatternSet, frozenset[str]] = WeakKeyDictionary()
_READERS: WeakKeyDictionary[PatternSet, dict[str, list[RelationNode]]] = WeakKeyDictionary()


def silhouette_node(silhouette: str, edge: str) -> str:
    """Node of a silhouette edge."""
    return f"{silhouette}/{edge}"


def level_node(level: str) -> str:
    """Node of a level's size."""
    return f"level:{level}"


def relation_graph(pattern: PatternSet) -> nx.DiGraph:
    """Build the graph of a set, once per set.

    Raises
    ------
    InvalidSet
        When leads form a cycle; the pieces in it are named.
    """
    graph = _CACHE.get(pattern)
    if graph is None:
        graph = nx.DiGraph()
        for reads, relation, writes in _relations(pattern):
            graph.add_edges_from((node, relation) for node in reads)
            graph.add_edges_from((relation, node) for node in writes)
            graph.add_node(relation)
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
        far = _reached(everything, key[0])
        near = far if wide else _reached(relation_graph(pattern), key[0])
        part = without_cycles(everything.subgraph(far))
        order: Iterator[Node] = nx.lexicographical_topological_sort(part, key=str)
        known[key] = [node for node in order if not isinstance(node, str) and node in near]
    return list(known[key])


def _reached(graph: nx.DiGraph, changed: Iterable[str]) -> set[Node]:
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
    return sorted(relation_graph(pattern).predecessors(relation))


def edges_read(pattern: PatternSet, relation: RelationNode) -> list[str]:
    """``PIECE.EDGE`` of every edge whose length a relation is judged by."""
    kind, name = relation
    relations = pattern.relations
    runs: list[Run] = []
    if kind == "seam":
        runs = [relations.seams[name].lead, relations.seams[name].follow]
    elif kind == "band":
        band = relations.bands[name]
        runs = [zone.run for zone in band.zones]
        return sorted({span.key for run in runs for span in run} | {f"{band.piece}.{band.sewn}"})
    elif kind == "girth":
        runs = list(relations.girths[name].runs)
    elif kind == "opening":
        opening = relations.openings[name]
        stack = relations.stack_of.get(name)
        layers = stack.layers if stack is not None else ()
        mouths = {f"{layer.piece}.{layer.mouth}" for layer in layers if layer.mouth is not None}
        return sorted(mouths | {f"{opening.piece}.{opening.edge}"})
    return sorted({span.key for run in runs for span in run})


def readers_of(pattern: PatternSet, key: str) -> list[RelationNode]:
    """Seams, bands, girths and openings that are judged by an edge ``PIECE.EDGE``, by name."""
    found = _READERS.get(pattern)
    if found is None:
        found = {}
        relations = pattern.relations
        for kind, group in (
            ("seam", relations.seams),
            ("band", relations.bands),
            ("girth", relations.girths),
            ("opening", relations.openings),
        ):
            for name in sorted(group):
                for edge in edges_read(pattern, (kind, name)):
                    found.setdefault(edge, []).append((kind, name))
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
            for key in _other_edges(pattern, seam):
                targets: list[Node] = [key] if key in graph else []
                targets.extend(node for node in readers_of(pattern, key) if node != relation)
                wide.add_edges_from(
                    (relation, target, {SOFT: True})
                    for target in targets
                    if not graph.has_edge(relation, target)
                )
        _WIDE[pattern] = wide
    return wide


def _other_edges(pattern: PatternSet, seam: Seam) -> list[str]:
    """The other edges of the followers: some follow when its end is moved."""
    own = {span.key for span in seam.follow}
    pieces = dict.fromkeys(span.piece for span in seam.follow)
    found = {f"{piece}.{edge}" for piece in pieces for edge in _edge_names(pattern, piece)}
    return sorted(found - own)


def _relations(
    pattern: PatternSet,
) -> Iterator[tuple[list[str], RelationNode, list[str]]]:
    """Yield (nodes read, relation, nodes written) for every relation of a set."""
    relations = pattern.relations
    yield from _cuts(pattern)
    for seam in relations.seams.values():
        follow = run_nodes(pattern, seam.follow)
        if seam.check or seam.mirror:
            spans = {span.key for span in (*seam.lead, *seam.follow)}
            yield sorted(spans), ("seam", seam.name), []
            continue
        # Mains are matched before they are cut apart; every other follower takes the
        # length of pieces that are finished.
        early = any("/" in node for node in follow)
        lead = run_nodes(pattern, seam.lead) if early else [span.key for span in seam.lead]
        yield lead, ("seam", seam.name), follow
    for opening in relations.openings.values():
        edges = [silhouette_node(opening.silhouette, e) for e in (opening.across, opening.side)]
        yield edges, ("opening", opening.name), [f"{opening.piece}.{opening.edge}"]
    for stack in relations.stacks.values():
        opening = relations.openings[stack.opening]
        needs = {f"{opening.piece}.{opening.edge}"}
        writes = []
        for layer in stack.layers:
            needs.update(silhouette_node(opening.silhouette, on) for on in layer.ride.values())
            writes += [f"{layer.piece}.{edge}" for edge in _edge_names(pattern, layer.piece)]
        yield sorted(needs), ("stack", stack.name), writes
    for band in relations.bands.values():
        needs = {span.key for zone in band.zones for span in zone.run}
        writes = [f"{band.piece}.{edge}" for edge in _edge_names(pattern, band.piece)]
        yield sorted(needs), ("band", band.name), writes
    for place in relations.places.values():
        writes = [f"{place.piece}.{edge}" for edge in _edge_names(pattern, place.piece)]
        yield [level_node(place.level)], ("place", place.piece), writes
    for girth in relations.girths.values():
        needs = {span.key for run in girth.runs for span in run}
        for name in girth.silhouettes:
            needs.update(silhouette_node(name, e) for e in _silhouette_edges(pattern, name))
        yield sorted(needs), ("girth", girth.name), []


def _cuts(pattern: PatternSet) -> Iterator[tuple[list[str], RelationNode, list[str]]]:
    """Every main silhouette is cut apart into its lead piece's edges."""
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
            edges = _edge_names(pattern, name)
            writes = [f"{name}.{edge}" for edge in edges]
        else:
            layers = {layer.piece for s in relations.stacks.values() for layer in s.layers}
            cut = {assembly.lead, *(part.piece for part in assembly.parts)} - layers
            writes = [
                f"{piece}.{edge}"
                for piece in sorted(cut)
                for edge in _edge_names(pattern, piece)
                if f"{piece}.{edge}" not in mouths.get(name, [])
            ]
        reads = [silhouette_node(name, edge) for edge in _silhouette_edges(pattern, name)]
        yield reads + mouths.get(name, []), ("cut", name), writes


def _silhouette_edges(pattern: PatternSet, name: str) -> list[str]:
    assembly = pattern.relations.assemblies.get(name)
    return _edge_names(pattern, name) if assembly is None else list(assembly.edges)


def _edge_names(pattern: PatternSet, piece: str) -> list[str]:
    first = next(iter(pattern.pieces[piece].nest.values()))
    return list(first.edge_names)


def run_nodes(pattern: PatternSet, run: Run) -> list[str]:
    """Nodes of a run: silhouette edges where the span lies on one that can be edited."""
    relations = pattern.relations
    plain = {main.silhouette for main in relations.blend.mains} if relations.blend else set()
    nodes = []
    for span in run:
        owner = relations.parts_of.get(span.piece)
        if owner is None and span.piece in plain:
            nodes.append(silhouette_node(span.piece, span.edge))
            continue
        found = None
        if owner is not None:
            for edge, spans in relations.assemblies[owner].edges.items():
                if any(s.key == span.key for s in spans):
                    found = silhouette_node(owner, edge)
        nodes.append(found or span.key)
    return sorted(set(nodes))


def _refuse_cycles(pattern: PatternSet, graph: nx.DiGraph) -> None:
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


def free_edges(pattern: PatternSet) -> frozenset[str]:
    """``PIECE.EDGE`` of the edges that nothing is sewn to, rides on or is taped along."""
    found = _FREE.get(pattern)
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
        joined.update(f"{o.piece}.{o.edge}" for o in relations.openings.values())
        found = frozenset(
            key
            for piece in pattern.pieces
            for key in (f"{piece}.{edge}" for edge in _edge_names(pattern, piece))
            if key not in joined
        )
        _FREE[pattern] = found
    return found
