"""Order with soft edges: they are kept as far as they make no cycle."""

from __future__ import annotations

from collections.abc import Hashable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import networkx as nx

__all__ = ["SOFT", "without_cycles"]

SOFT = "soft"
"""Name of the mark of an edge that orders the work where it can, and refuses nothing."""


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
