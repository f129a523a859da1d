"""Closed outlines among the lines of a drawing: drawn closed, or as edges end to end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from propagate.geometry.corner import signed_area
from propagate.io.chain import Chain
from propagate.io.rings import border_rings
from propagate.io.svg.drawing import Shape
from propagate.pattern.model import Array

__all__ = ["Ring", "find_rings", "find_outermost"]

SMALLEST_SIDE_MM = 8.0  # a closed line smaller than this is a mark and no outline
SMALLEST_AREA_MM2 = 1e-3
MARK_MM = 20.0
"""A closed line no larger than this is a mark."""


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

    def chain(self) -> Chain:
        """One closed line of all its parts."""
        if self.whole:
            return self.parts[0][0]
        segments = tuple(segment for chain, _ in self.parts for segment in chain.segments)
        return Chain(self.parts[0][0].start, segments, closed=True)

    @cached_property
    def points(self) -> Array:
        """(n, 2) outline without the repeated last point, mm."""
        return np.concatenate([chain.points[:-1] for chain, _ in self.parts])

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """The area inside; the largest one where the line runs around several."""
        area = shapely.Polygon(self.points)
        if area.is_valid:
            return area
        parts = shapely.get_parts(area.buffer(0))
        return max(parts, key=lambda part: float(part.area), default=shapely.Polygon())


def find_rings(shapes: Sequence[Shape], join: float) -> tuple[list[Ring], list[Shape]]:
    """Return the outlines among some lines, and the lines that are on none.

    Parameters
    ----------
    join : float
        Ends nearer than this belong together, mm.
    """
    rings: list[Ring] = []
    rest: list[Shape] = []
    open_shapes: list[Shape] = []
    for shape in shapes:
        chain = shape.chain
        near = math.dist(chain.start, chain.end) <= join and len(chain.points) > 3
        sides = np.ptp(chain.points, axis=0)
        if not (chain.closed or near):
            open_shapes.append(shape)
        elif sides.min() < SMALLEST_SIDE_MM / 4 or sides.max() < SMALLEST_SIDE_MM:
            rest.append(shape)
        else:
            gap = math.dist(chain.start, chain.end)
            chain = replace(chain.with_ends(chain.start, chain.start), closed=True)
            if signed_area(chain.points[:-1]) < 0:
                chain = chain.reversed()
            ring = Ring([(chain, shape)], gap)
            if _has_area(ring):
                rings.append(ring)
            else:
                rest.append(shape)
    used: set[int] = set()
    for found in border_rings([shape.chain.points for shape in open_shapes], join):
        closed = _ring_of([(open_shapes[number], turned) for number, turned in found])
        if closed is not None:
            rings.append(closed)
            used.update(number for number, _ in found)
    return rings, rest + [shape for i, shape in enumerate(open_shapes) if i not in used]


def _has_area(ring: Ring) -> bool:
    """Whether it is more than a line drawn there and back."""
    return len(ring.points) >= 3 and abs(signed_area(ring.points)) > SMALLEST_AREA_MM2


def _ring_of(lines: Sequence[tuple[Shape, bool]]) -> Ring | None:
    """Edges in order, counter-clockwise, small gaps closed, the first drawn one first."""
    parts = [(shape.chain.reversed() if turned else shape.chain, shape) for shape, turned in lines]
    if signed_area(Ring(parts).points) < 0:
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


def is_mark(ring: Ring) -> bool:
    """Whether a closed line is as small as a mark."""
    return float(np.ptp(ring.points, axis=0).max()) <= MARK_MM


def find_outermost(rings: Sequence[Ring]) -> list[Ring]:
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
