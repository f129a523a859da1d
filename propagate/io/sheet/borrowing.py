"""Outlines of a size that run on the lines of other sizes for a stretch."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence

import shapely

from propagate.io.chain import Chain, Point
from propagate.io.sheet.outlines import Outlines, outlines_of
from propagate.io.sheet.stretches import cut_at_ends, nodes_of
from propagate.io.svg.rings import Ring

__all__ = ["borrow_lines"]

SHORTEST_BORROWER_MM = 60.0
"""Shorter lines with a loose end on the line of another size are marks."""


def borrow_lines(
    left: Sequence[Chain],
    own: Sequence[Ring],
    others: Iterable[Chain],
    join: float,
    notch: float,
) -> tuple[Outlines, int]:
    """Close lines that end on the line of another size along that line.

    Nested sizes run on one line for a stretch, and it is drawn for one of them only.

    Parameters
    ----------
    left : sequence of Chain
        Lines of a size that close no outline.
    own : sequence of Ring
        Its outlines: what ends on one of them is a mark.
    others : iterable of Chain
        The lines of the other sizes.
    join, notch : float
        mm, see `outlines_of`.

    Returns
    -------
    Outlines, int
        What was found, and how many stretches were taken from other sizes.
    """
    open_lines = [line for line in left if not line.closed]
    rims = shapely.MultiLineString([ring.polygon.exterior for ring in own])
    loose = [p for p in _loose_ends(open_lines, join) if not rims.dwithin(shapely.Point(p), join)]
    if not loose:
        return Outlines((), tuple(left)), 0
    lines = list(others)
    meets = shapely.dwithin([line.figure for line in lines], shapely.MultiPoint(loose), join)
    near = [
        Chain(line.start, line.segments) if line.closed else line
        for line, met in zip(lines, meets, strict=True)
        if met
    ]
    ways = _find_ways(loose, near, join)
    if not ways:
        return Outlines((), tuple(left)), 0
    found = outlines_of([*left, *ways], join, notch)
    taken = {id(way) for way in ways}
    rest = tuple(line for line in found.left if id(line) not in taken)
    made = Outlines(found.rings, rest, found.doubled, found.used, found.made_of)
    return made, len(taken & found.used)


def _loose_ends(lines: Sequence[Chain], join: float) -> list[Point]:
    """Ends at which nothing goes on, of lines long enough to be an outline."""
    stretches = cut_at_ends(lines, join)
    nodes = nodes_of([s.chain for s in stretches], join)
    degree: dict[int, int] = {}
    lengths: dict[int, float] = {}
    for stretch, pair in zip(stretches, nodes, strict=True):
        for node in pair:
            degree[node] = degree.get(node, 0) + 1
            lengths[node] = lengths.get(node, 0.0) + stretch.chain.length
    found = set()
    for stretch, (a, b) in zip(stretches, nodes, strict=True):
        if lengths[a] + lengths[b] - stretch.chain.length >= SHORTEST_BORROWER_MM:
            found |= {stretch.chain.start} if degree[a] == 1 else set()
            found |= {stretch.chain.end} if degree[b] == 1 else set()
    return sorted(found)


def _find_ways(loose: Sequence[Point], lines: Sequence[Chain], join: float) -> list[Chain]:
    """Ways along other lines between loose ends, the shortest first, each end once."""
    stretches = cut_at_ends(lines, join, loose)
    chains = [s.chain for s in stretches]
    nodes = nodes_of([*chains, *(Chain(p, ((p,),)) for p in loose)], join)
    goals = [pair[0] for pair in nodes[len(chains) :]]
    around: dict[int, list[tuple[int, float, int]]] = {}
    for index, (a, b) in enumerate(nodes[: len(chains)]):
        length = chains[index].length
        around.setdefault(a, []).append((b, length, index))
        around.setdefault(b, []).append((a, length, index))
    found = [
        (length, i, j, path)
        for i, start in enumerate(goals)
        for length, j, path in _find_shortest_ways(start, goals, around)
        if i < j
    ]
    free = set(range(len(goals)))
    ways: dict[int, Chain] = {}
    for _, i, j, path in sorted(found, key=lambda item: (item[0], item[1], item[2])):
        if i in free and j in free:
            free -= {i, j}
            ways |= {index: chains[index] for index in path}
    return [ways[index] for index in sorted(ways)]


def _find_shortest_ways(
    start: int, goals: Sequence[int], around: dict[int, list[tuple[int, float, int]]]
) -> list[tuple[float, int, tuple[int, ...]]]:
    """The shortest way from a node to each goal (Dijkstra)."""
    wanted: dict[int, list[int]] = {}
    for number, goal in enumerate(goals):
        if goal != start:
            wanted.setdefault(goal, []).append(number)
    heap: list[tuple[float, int, tuple[int, ...]]] = [(0.0, start, ())]
    done: set[int] = set()
    found = []
    while heap:
        length, node, path = heapq.heappop(heap)
        if node in done:
            continue
        done.add(node)
        found += [(length, number, path) for number in wanted.get(node, ())]
        for other, step, index in around.get(node, ()):
            if other not in done:
                heapq.heappush(heap, (length + step, other, (*path, index)))
    return found
