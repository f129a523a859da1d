"""The relation graph of the demo set, as far as the main job reaches and changes pieces."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import networkx as nx
import numpy as np
from demo import BACK, FRONT, trousers
from drawing import Picture

from propagate.engine.graph import level_node, order_of_work, relation_graph, silhouette_node
from propagate.report.canvas import text_width
from propagate.report.style import INK, PALE, Stroke

__all__ = ["graph"]

TEXT = 3.2
PITCH, GAP = 13.0, 11.0
"""Distance of rows, and the room between two columns."""
RELATION = "#dce6f1"


def graph(folder: Path) -> None:
    """Draw runs and relations from left to right in the order of work."""
    picture = Picture(
        "The relation graph",
        "From the edges that the edit changes, through the relations, to the pieces that follow.",
    )
    flow = _flow()
    places = _laid(flow)
    for first, last in flow.edges:
        if not isinstance(first, tuple) or first[0] != "way":
            _line(picture, flow, places, first, last)
    for node, (x, y) in places.items():
        if node[0] != "way":
            _box(picture, node, x, y)
    picture.save(folder, "relation-graph")


def _flow() -> nx.DiGraph:
    """Relations that write, and the pieces or silhouette edges that they read and write."""
    pattern = trousers()
    whole = relation_graph(pattern)
    changed = [silhouette_node(FRONT, name) for name in ("waist", "side", "centre")]
    changed += [silhouette_node(BACK, name) for name in ("waist", "centre")]
    changed.append(level_node("waist"))
    flow = nx.DiGraph()
    for relation in order_of_work(pattern, changed):
        written = sorted(whole.successors(relation))
        if not written:
            continue
        kind, name = relation
        box = (kind, "" if kind == "place" else name)
        for node in sorted(whole.predecessors(relation)):
            if "/" not in node or node in changed or flow.has_node(("run", node)):
                flow.add_edge(("run", node), box)
        for node in written:
            flow.add_edge(box, ("run", node))
            flow.nodes[("run", node)]["by"] = box
    return _read_groups(flow)


def _read_groups(flow: nx.DiGraph) -> nx.DiGraph:
    """Draw all edges of a piece as one box, but an opening's edge as its own."""
    names = {}
    for node in flow.nodes:
        if node[0] != "run":
            continue
        piece, dot, _ = node[1].partition(".")
        by = flow.nodes[node].get("by")
        names[node] = ("run", node[1] if not dot or (by and by[0] == "opening") else piece)
    return nx.relabel_nodes(flow, names)


def _laid(flow: nx.DiGraph) -> dict[tuple[str, str], tuple[float, float]]:
    """Columns by the longest way, rows by the mean of the neighbours'."""
    column: dict[tuple[str, str], int] = {}
    for node in nx.lexicographical_topological_sort(flow, key=str):
        column[node] = max((column[n] + 1 for n in flow.predecessors(node)), default=0)
    for node in flow.nodes:
        if flow.in_degree(node) == 0:
            column[node] = min(column[n] for n in flow.successors(node)) - 1
    for first, last in sorted(flow.edges):
        _stretch(flow, column, first, last)
    columns = [sorted(n for n in flow if column[n] == i) for i in range(max(column.values()) + 1)]
    row = {node: float(i) for nodes in columns for i, node in enumerate(nodes)}
    for sweep in range(12):
        ahead = sweep % 2 == 0
        for nodes in columns if ahead else columns[::-1]:
            near = flow.predecessors if ahead else flow.successors
            mean = {n: np.mean([row[m] for m in near(n)] or [row[n]]) for n in nodes}
            nodes.sort(key=lambda n: (round(float(mean[n]), 6), n))
            for i, node in enumerate(nodes):
                row[node] = i - (len(nodes) - 1) / 2
    found, x = {}, 0.0
    for nodes in columns:
        wide = max(_size(node)[0] for node in nodes)
        for node in nodes:
            found[node] = (x + wide / 2, -PITCH * row[node])
        x += wide + GAP
    return found


def _stretch(
    flow: nx.DiGraph,
    column: dict[tuple[str, str], int],
    first: tuple[str, str],
    last: tuple[str, str],
) -> None:
    """Give a long line a place to pass in every column between."""
    before = first
    for i in range(column[first] + 1, column[last]):
        way = ("way", f"{first[1]}-{last[0]}{last[1]}-{i}")
        column[way] = i
        flow.add_edge(before, way)
        before = way
    if before is not first:
        flow.remove_edge(first, last)
        flow.add_edge(before, last)


def _words(node: tuple[str, str]) -> list[str]:
    kind, name = node
    if kind == "run":
        return [name]
    return [kind, name] if name else [kind]


def _size(node: tuple[str, str]) -> tuple[float, float]:
    if node[0] == "way":
        return 0.0, 0.0
    words = _words(node)
    return max(text_width(text, TEXT) for text in words) + 3.0, 4.4 * len(words) + 1.6


def _box(picture: Picture, node: tuple[str, str], x: float, y: float) -> None:
    wide, high = _size(node)
    ring = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * (wide / 2, high / 2) + (x, y)
    picture.area([ring], "#ffffff" if node[0] == "run" else RELATION, layer="leader")
    picture.line(ring, Stroke(INK, 0.4 if node[0] == "run" else 0.25), layer="leader", closed=True)
    words = _words(node)
    top = y + 2.2 * (len(words) - 1)
    for i, text in enumerate(words):
        bold = node[0] != "run" and i == 0
        picture.canvas.text("label", (x, top - 4.4 * i), text, TEXT, bold=bold)


def _line(
    picture: Picture,
    flow: nx.DiGraph,
    places: dict[tuple[str, str], tuple[float, float]],
    first: tuple[str, str],
    last: tuple[str, str],
) -> None:
    """A curve from box to box, through the places kept for it."""
    nodes = [first, last]
    while nodes[-1][0] == "way":
        nodes.append(next(iter(flow.successors(nodes[-1]))))
    points = [np.array(places[node]) for node in nodes]
    points[0] = points[0] + [_size(first)[0] / 2, 0.0]
    points[-1] = points[-1] - [_size(nodes[-1])[0] / 2 + 0.3, 0.0]
    curve = [points[0]]
    for a, b in pairwise(points):
        t = np.linspace(0.0, 1.0, 25)[1:, None]
        ease = 3 * t**2 - 2 * t**3
        curve += list(np.hstack([a[0] + t * (b[0] - a[0]), a[1] + ease * (b[1] - a[1])]))
    picture.arrow(np.array(curve), Stroke(PALE, 0.3), head=2.0)
