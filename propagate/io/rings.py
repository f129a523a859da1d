"""Closed rings among open lines: which line goes on from which, end to end.

Lines are told by their numbers, in the order in which they are drawn; each reader puts a ring
together in its own form.
"""

from __future__ import annotations

import math
from collections import Counter, deque
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import shapely

from propagate.io.path_data import Point
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["Net", "Part", "Taken", "border_rings", "follow_lines", "gather_ends"]

Part = tuple[int, bool]
"""The number of a line, and whether it runs the other way."""
Taken = tuple[int, bool, bool]
"""A part, and whether it was put behind the chain; else before it."""

FEWEST_FOR_SEARCH = 400  # with more open lines only plain chains are followed


@dataclass(frozen=True, eq=False)
class Net:
    """Lines with their ends gathered into nodes.

    Attributes
    ----------
    nodes : list of Point
    ends : list of (int, int)
        The nodes at which each line starts and ends.
    """

    nodes: list[Point]
    ends: list[tuple[int, int]]


def gather_ends(lines: Iterable[Array], join: float) -> Net:
    """Gather the ends of lines that lie within `join` mm of each other."""
    nodes: list[Point] = []
    cells: dict[tuple[int, int], list[int]] = {}
    size = max(join, 1e-6)

    def node(point: Point) -> int:
        cx, cy = int(point[0] // size), int(point[1] // size)
        near = [
            index
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
            for index in cells.get((cx + dx, cy + dy), ())
            if math.dist(nodes[index], point) <= join
        ]
        if near:
            return min(near, key=lambda i: math.dist(nodes[i], point))
        nodes.append(point)
        cells.setdefault((cx, cy), []).append(len(nodes) - 1)
        return len(nodes) - 1

    ends = [(node(tuple(line[0].tolist())), node(tuple(line[-1].tolist()))) for line in lines]
    return Net(nodes, ends)


def follow_lines(net: Net, numbers: Sequence[int]) -> Iterator[list[Taken]]:
    """Follow lines from both ends; of several that go on, the first one drawn is taken.

    Yields
    ------
    list of Taken
        Every line once, in the order in which they are taken.
    """
    at: dict[int, list[int]] = {}
    for number in sorted(numbers, reverse=True):
        for end in dict.fromkeys(net.ends[number]):
            at.setdefault(end, []).append(number)
    taken: set[int] = set()

    def next_at(end: int) -> float:
        own = at[end]
        while own and own[-1] in taken:
            own.pop()
        return own[-1] if own else math.inf

    for first in numbers:
        if first in taken:
            continue
        taken.add(first)
        found: list[Taken] = [(first, False, True)]
        begin, end = net.ends[first]
        while (best := min(next_at(end), next_at(begin))) < math.inf:
            number, behind = int(best), best == next_at(end)
            start, stop = net.ends[number]
            turned = start != end if behind else stop != begin
            found.append((number, turned, behind))
            taken.add(number)
            if behind:
                end = start if turned else stop
            else:
                begin = stop if turned else start
        yield found


def border_rings(lines: Sequence[Array], join: float) -> list[list[Part]]:
    """Return the rings among lines; where others meet a ring inside, it is their outer border.

    Lines with a free end lead nowhere.  A ring begins with the first of its lines that is drawn.
    """
    net = gather_ends(lines, join)
    alive: list[int] = []
    kept = list(range(len(lines)))
    while len(kept) != len(alive):  # without lines with a free end, again and again
        alive = kept
        degree = Counter(end for number in alive for end in net.ends[number])
        kept = [number for number in alive if all(degree[end] > 1 for end in net.ends[number])]
    groups: dict[int, list[int]] = {}
    root = {end: end for number in alive for end in net.ends[number]}

    def find_root(end: int) -> int:
        while root[end] != end:
            root[end] = end = root[root[end]]
        return end

    for number in alive:
        start, stop = map(find_root, net.ends[number])
        root[stop] = start
    for number in alive:
        groups.setdefault(find_root(net.ends[number][0]), []).append(number)
    found = (
        _order_ring(net, one) or _find_border(lines, net, one, join) for one in groups.values()
    )
    return [ring for ring in found if ring is not None]


def _order_ring(net: Net, group: Sequence[int]) -> list[Part] | None:
    """The lines in order when exactly two meet at every node."""
    degree = Counter(end for number in group for end in net.ends[number])
    if any(count != 2 for count in degree.values()) or len(group) < 2:
        return None
    found: deque[Part] = deque()
    for number, turned, behind in next(follow_lines(net, group)):
        (found.append if behind else found.appendleft)((number, turned))
    first = found.index((group[0], False))
    found.rotate(-first)
    return list(found) if len(found) == len(group) else None


def _find_border(
    lines: Sequence[Array], net: Net, group: Sequence[int], join: float
) -> list[Part] | None:
    """The lines along the outer border when lines inside meet it too."""
    if len(group) > FEWEST_FOR_SEARCH:
        return None
    drawn = []
    for number in group:
        points = np.array(lines[number])
        points[0], points[-1] = (net.nodes[end] for end in net.ends[number])
        drawn.append(shapely.LineString(points))
    # Lines that should end on the border and cross it by a hair leave a part of the area, or
    # none, that does not hold all lines: then they are cut where they cross, too.
    whole = shapely.union_all(drawn)
    held: list[Part] | None = None
    for cut, reach in ((drawn, 1e-3), ([whole], join)):
        faces = shapely.get_parts(shapely.polygonize(cut))
        if not shapely.is_valid(faces).all():
            continue
        areas = sorted(shapely.get_parts(shapely.union_all(faces)), key=lambda part: -part.area)
        # Slivers where lines cross by a hair are passed over.
        if not areas or sum(part.area for part in areas[1:]) > join * areas[0].length:
            continue
        area = areas[0]
        border = area.exterior.buffer(reach)
        outer = [i for i, line in zip(group, drawn, strict=True) if border.contains(line)]
        ring = _order_ring(net, outer) if len(outer) > 1 else None
        if ring is not None and area.buffer(join).covers(whole):
            return ring
        held = held or ring
    return held
