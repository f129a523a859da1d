"""Closed outlines among the lines of a drawing: drawn closed, or as edges end to end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import shapely

from propagate.geometry.corner import signed_area
from propagate.io.svg.chain import Chain, Point
from propagate.io.svg.drawing import Shape
from propagate.pattern.model import Array

__all__ = ["Ring", "find_rings", "outermost"]

SMALLEST_SIDE_MM = 8.0  # a closed line smaller than this is a mark and no outline
SMALLEST_AREA_MM2 = 1e-3
FEWEST_FOR_SEARCH = 400  # with more open lines only plain chains are followed


@dataclass(eq=False)
class Ring:
    """A closed counter-clockwise outline.

    Attributes
    ----------
    parts : list of (Chain, Shape)
        One closed chain, or the edges in order; each ends where the next starts.
    gap : float
        Largest gap that was closed between two edges, mm.
    """

    parts: list[tuple[Chain, Shape]]
    gap: float = 0.0

    @property
    def whole(self) -> bool:
        """Whether it is one closed line."""
        return len(self.parts) == 1

    @cached_property
    def points(self) -> Array:
        """(n, 2) outline without the repeated last point, mm."""
        return np.concatenate([chain.points[:-1] for chain, _ in self.parts])

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """The area inside."""
        area = shapely.Polygon(self.points)
        return area if area.is_valid else area.buffer(0)


@dataclass
class _Net:
    """Open lines with their ends gathered into nodes."""

    nodes: list[Point] = field(default_factory=list)
    ends: list[tuple[int, int]] = field(default_factory=list)


def find_rings(shapes: Sequence[Shape], join: float) -> tuple[list[Ring], list[Shape]]:
    """Return the outlines among some lines, and the lines that are on none.

    Parameters
    ----------
    shapes : sequence of Shape
    join : float
        Ends nearer than this belong together, mm.
    """
    rings: list[Ring] = []
    rest: list[Shape] = []
    open_shapes: list[Shape] = []
    for shape in shapes:
        chain = shape.chain
        near = math.dist(chain.start, chain.end) <= join and len(chain.points) > 3
        if not (chain.closed or near):
            open_shapes.append(shape)
        elif float(np.ptp(chain.points, axis=0).min()) < SMALLEST_SIDE_MM / 4 or (
            float(np.ptp(chain.points, axis=0).max()) < SMALLEST_SIDE_MM
        ):
            rest.append(shape)
        else:
            ring = _closed_ring(shape)
            if _has_area(ring):
                rings.append(ring)
            else:
                rest.append(shape)
    chained, left = _chained(open_shapes, join)
    return rings + chained, rest + left


def _has_area(ring: Ring) -> bool:
    """Whether it is more than a line drawn there and back."""
    return len(ring.points) >= 3 and abs(signed_area(ring.points)) > SMALLEST_AREA_MM2


def _closed_ring(shape: Shape) -> Ring:
    chain = shape.chain
    gap = math.dist(chain.start, chain.end)
    chain = replace(chain.with_ends(chain.start, chain.start), closed=True)
    if signed_area(chain.points[:-1]) < 0:
        chain = chain.reversed()
    return Ring([(chain, shape)], gap)


def _chained(shapes: Sequence[Shape], join: float) -> tuple[list[Ring], list[Shape]]:
    """Follow open lines from end to end; lines that lead nowhere are left over."""
    net = _net(shapes, join)
    alive = _pruned(net, list(range(len(shapes))))
    rings: list[Ring] = []
    used: set[int] = set()
    for group in _connected(net, alive):
        loop = _loop(net, group) or _border(shapes, net, group, join)
        if loop is None:
            continue
        ring = _ring_of([(shapes[i], turned) for i, turned in loop])
        if ring is not None:
            rings.append(ring)
            used.update(i for i, _ in loop)
    return rings, [shape for i, shape in enumerate(shapes) if i not in used]


def _net(shapes: Sequence[Shape], join: float) -> _Net:
    net = _Net()
    cells: dict[tuple[int, int], list[int]] = {}
    size = max(join, 1e-6)

    def node(point: Point) -> int:
        cx, cy = int(point[0] // size), int(point[1] // size)
        near = [
            index
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
            for index in cells.get((cx + dx, cy + dy), ())
            if math.dist(net.nodes[index], point) <= join
        ]
        if near:
            return min(near, key=lambda i: math.dist(net.nodes[i], point))
        net.nodes.append(point)
        cells.setdefault((cx, cy), []).append(len(net.nodes) - 1)
        return len(net.nodes) - 1

    net.ends = [(node(shape.chain.start), node(shape.chain.end)) for shape in shapes]
    return net


def _pruned(net: _Net, alive: list[int]) -> list[int]:
    """Leave out lines with a free end, again and again."""
    while True:
        degree: dict[int, int] = {}
        for i in alive:
            for end in net.ends[i]:
                degree[end] = degree.get(end, 0) + 1
        kept = [i for i in alive if all(degree[end] > 1 for end in net.ends[i])]
        if len(kept) == len(alive):
            return kept
        alive = kept


def _connected(net: _Net, alive: Sequence[int]) -> list[list[int]]:
    at: dict[int, list[int]] = {}
    for i in alive:
        for end in net.ends[i]:
            at.setdefault(end, []).append(i)
    seen: set[int] = set()
    groups = []
    for i in alive:
        if i in seen:
            continue
        group, stack = [], [i]
        seen.add(i)
        while stack:
            one = stack.pop()
            group.append(one)
            for end in net.ends[one]:
                fresh = [j for j in at[end] if j not in seen]
                seen.update(fresh)
                stack += fresh
        groups.append(sorted(group))
    return groups


def _loop(net: _Net, group: Sequence[int]) -> list[tuple[int, bool]] | None:
    """The lines in order when exactly two meet at every node."""
    at: dict[int, list[int]] = {}
    for i in group:
        for end in net.ends[i]:
            at.setdefault(end, []).append(i)
    if any(len(lines) != 2 for lines in at.values()) or len(group) < 2:
        return None
    here = group[0]
    node = net.ends[here][1]
    found = [(here, False)]
    while node != net.ends[group[0]][0] and len(found) <= len(group):
        first, second = at[node]
        here = second if first == here else first
        turned = net.ends[here][1] == node and net.ends[here][0] != node
        found.append((here, turned))
        node = net.ends[here][0 if turned else 1]
    return found if len(found) == len(group) else None


def _border(
    shapes: Sequence[Shape], net: _Net, group: Sequence[int], join: float
) -> list[tuple[int, bool]] | None:
    """The lines along the outer border when lines inside meet it too."""
    if len(group) > FEWEST_FOR_SEARCH:
        return None
    lines = []
    for i in group:
        points = np.array(shapes[i].chain.points)
        points[0], points[-1] = net.nodes[net.ends[i][0]], net.nodes[net.ends[i][1]]
        lines.append(shapely.LineString(points))
    # Lines that should end on the border and cross it by a hair leave no area: cut there, too.
    for cut, reach in ((lines, 1e-3), ([shapely.union_all(lines)], join)):
        faces = shapely.get_parts(shapely.polygonize(cut))
        if not shapely.is_valid(faces).all():
            continue
        area = shapely.union_all(faces)
        if area.geom_type != "Polygon" or area.is_empty:
            continue
        border = area.exterior.buffer(reach)
        outer = [i for i, line in zip(group, lines, strict=True) if border.contains(line)]
        loop = _loop(net, outer) if len(outer) > 1 else None
        if loop is not None:
            return loop
    return None


def _ring_of(lines: Sequence[tuple[Shape, bool]]) -> Ring | None:
    """Edges in order, counter-clockwise, small gaps closed, the first drawn one first."""
    parts = [(shape.chain.reversed() if turned else shape.chain, shape) for shape, turned in lines]
    if signed_area(np.concatenate([chain.points[:-1] for chain, _ in parts])) < 0:
        parts = [(chain.reversed(), shape) for chain, shape in parts[::-1]]
        parts = parts[-1:] + parts[:-1]
    gap = 0.0
    closed: list[tuple[Chain, Shape]] = []
    for index, (chain, shape) in enumerate(parts):
        before = parts[index - 1][0].end
        gap = max(gap, math.dist(before, chain.start))
        closed.append((chain.with_ends(before, chain.end), shape))
    if any(len(set(map(tuple, chain.points.tolist()))) < 2 for chain, _ in closed):
        return None
    ring = Ring(closed, gap)
    return ring if _has_area(ring) else None


def outermost(rings: Sequence[Ring]) -> list[Ring]:
    """The rings that lie in no other one."""
    if len(rings) < 2:
        return list(rings)
    tree = shapely.STRtree([ring.polygon for ring in rings])
    found = []
    for index, ring in enumerate(rings):
        point = ring.polygon.representative_point()
        around = (int(i) for i in tree.query(point, predicate="within"))
        if not any(
            i != index and rings[i].polygon.area > ring.polygon.area * (1 + 1e-9) for i in around
        ):
            found.append(ring)
    return found
