"""Closed outlines among the lines of one size, however they are split, doubled or shared."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import field

import numpy as np

from propagate.geometry.corner import signed_area
from propagate.io.chain import Chain, Point
from propagate.io.rings import border_rings
from propagate.io.sheet.stretches import (
    Rank,
    Stretch,
    cut_at_ends,
    doubled_among,
    leave_doubled,
    nodes_of,
    part_of_chain,
)
from propagate.io.svg.drawing import Shape
from propagate.io.svg.rings import Ring, find_rings
from propagate.pattern.model import Array
from propagate.values import dataclass

__all__ = ["WIDEST_GAP_MM", "Outlines", "closed_line", "open_line", "outlines_of", "shape_of"]

WIDEST_GAP_MM = 1.0
"""A gap up to this is closed where the lines do not close an outline otherwise."""
STRAIGHT_MM = 1e-4
"""A joint this near to the straight line past it is no vertex."""
SMALLEST_MM2 = 1.0
"""A closed line around less is drawn there and back."""


@dataclass(frozen=True, eq=False)
class Outlines:
    """What was found among some lines.

    Attributes
    ----------
    rings : tuple of Ring
        Each one closed line, counter-clockwise; its shape is that line.
    left : tuple of Chain
        Lines that are on none of them, as they were drawn.
    doubled : int
        Stretches that lie on another one and were left out.
    """

    rings: tuple[Ring, ...]
    left: tuple[Chain, ...]
    doubled: int = 0
    used: frozenset[int] = field(default_factory=frozenset)
    """Identities of the lines that the rings were made of."""
    made_of: Mapping[int, tuple[Chain, ...]] = field(default_factory=dict)
    """Those lines for each ring that is made of several, by its identity."""


def outlines_of(lines: Sequence[Chain], join: float, notch: float) -> Outlines:
    """Find the closed outlines among lines that may be split, doubled and in any order.

    Gaps up to `join` are closed; where lines are left, gaps up to `WIDEST_GAP_MM`.

    Parameters
    ----------
    lines : sequence of Chain
    join : float
        mm.
    notch : float
        Longest notch, mm: a detour of short lines beside a straight way is one.
    """
    found = _find_outlines(lines, join, join, notch)
    if join >= WIDEST_GAP_MM or not any(not line.closed for line in found.left):
        return found
    wider = _find_outlines(found.left, WIDEST_GAP_MM, join, notch)
    if not wider.rings:
        return found
    return Outlines(
        (*found.rings, *wider.rings),
        wider.left,
        found.doubled + wider.doubled,
        found.used | wider.used,
        {**found.made_of, **wider.made_of},
    )


def _find_outlines(lines: Sequence[Chain], near: float, join: float, notch: float) -> Outlines:
    whole = [line for line in lines if line.closed]
    open_lines = [x for x in lines if not x.closed and x.length > near]  # a dot leads nowhere
    stretches, doubled = leave_doubled(cut_at_ends(open_lines, near), join, near)
    runs, more = _runs_once(_without_detours(stretches, near, notch), near, join)
    doubled += more
    closed = {shape_of(line): line for line in whole}
    rings, _ = find_rings(list(closed), near)
    used = {id(closed[shape]) for ring in rings for _, shape in ring.parts}
    links = [run for run in runs if not run.closed]
    made = [run.parts for run in runs if run.closed]
    for ring in border_rings([run.points for run in links], near):
        ways = [
            links[number].turned() if turned else links[number].parts for number, turned in ring
        ]
        made.append([part for way in ways for part in way])
    made_of: dict[int, tuple[Chain, ...]] = {}
    for parts in made:
        together = _put_together(parts)
        if len(together.points) > 2 and signed_area(together.points) >= SMALLEST_MM2:
            rings.append(together)
            drawn = {id(stretch.line): stretch.line for stretch, _ in parts}
            made_of[id(together)] = tuple(drawn.values())
            used |= drawn.keys()
    left = tuple(line for line in lines if id(line) not in used)
    return Outlines(tuple(rings), left, doubled, frozenset(used), made_of)


@dataclass(frozen=True, eq=False)
class _Run:
    """Stretches that go on from one to the next, where nothing else meets them.

    Attributes
    ----------
    parts : list of (Stretch, bool)
        Each with whether it runs the other way.
    nodes : (int, int)
        Numbers of the places at which it begins and ends; the same of a closed one.
    """

    parts: list[tuple[Stretch, bool]]
    nodes: tuple[int, int]

    @property
    def closed(self) -> bool:
        """Whether the last ends where the first begins."""
        return self.nodes[0] == self.nodes[1]

    @property
    def points(self) -> Array:
        """(n, 2) the run as a polyline, mm."""
        ways = [s.chain.points[:: -1 if turned else 1] for s, turned in self.parts]
        return np.concatenate([ways[0], *(way[1:] for way in ways[1:])])

    def rank(self) -> Rank:
        """Which of several alike stays."""
        chains = [stretch.chain for stretch, _ in self.parts]
        points = self.points.tolist()
        count = sum(len(chain.segments) for chain in chains)
        return not any(chain.curved for chain in chains), count, min(points, points[::-1])

    def turned(self) -> list[tuple[Stretch, bool]]:
        """The parts from the other end."""
        return [(stretch, not turned) for stretch, turned in self.parts[::-1]]


def _runs_once(stretches: Sequence[Stretch], near: float, join: float) -> tuple[list[_Run], int]:
    """Runs without those that lie on another one from end to end, and how many these are.

    Two copies that are split in other places are not alike stretch by stretch.
    """
    dropped = 0
    while True:
        runs = _follow_runs(stretches, near)
        pairs: dict[tuple[int, ...], list[int]] = {}
        for index, run in enumerate(runs):
            pairs.setdefault(tuple(sorted(run.nodes)), []).append(index)
        twice: set[int] = set()
        for group in pairs.values():
            if len(group) > 1:
                twice |= doubled_among([(i, runs[i].rank(), runs[i].points) for i in group], join)
        if not twice:
            return runs, dropped
        dropped += len(twice)
        stretches = [s for i, run in enumerate(runs) if i not in twice for s, _ in run.parts]


def _follow_runs(stretches: Sequence[Stretch], near: float) -> list[_Run]:
    """Follow stretches over the nodes at which exactly two end."""
    nodes = nodes_of([s.chain for s in stretches], near)
    at: dict[int, list[int]] = {}
    for index, pair in enumerate(nodes):
        for node in pair:
            at.setdefault(node, []).append(index)
    done: set[int] = set()
    found = []

    def follow(index: int, node: int) -> _Run:
        """From a stretch away from one of its nodes."""
        first, parts = node, []
        while True:
            done.add(index)
            a, b = nodes[index]
            parts.append((stretches[index], a != node))
            node = b if a == node else a
            around = [i for i in at[node] if i not in done]
            if len(at[node]) != 2 or not around:
                return _Run(parts, (first, node))
            index = around[0]

    for index, pair in enumerate(nodes):
        ends = [node for node in pair if len(at[node]) != 2]
        if index not in done and ends:
            found.append(follow(index, ends[0]))
    found += [follow(i, nodes[i][0]) for i in range(len(nodes)) if i not in done]
    return found


def shape_of(chain: Chain) -> Shape:
    """A line of which nothing else is known."""
    return Shape(chain, None, frozenset(), {}, "path")


# ---------------------------------------------------------------------------------- detours


def _without_detours(stretches: Sequence[Stretch], near: float, notch: float) -> list[Stretch]:
    """Leave out notches drawn as a V, a triangle or a box on an outline.

    Its two feet cut the outline; between them the outline itself is the shorter way.
    """
    nodes = nodes_of([s.chain for s in stretches], near)
    short = [i for i, s in enumerate(stretches) if s.chain.length <= notch]
    at: dict[int, list[int]] = {}
    for index, pair in enumerate(nodes):
        for node in set(pair):
            at.setdefault(node, []).append(index)
    ways: dict[tuple[int, int], list[tuple[float, tuple[int, ...]]]] = {}
    for index in short:
        a, b = sorted(nodes[index])
        if a != b:
            ways.setdefault((a, b), []).append((stretches[index].chain.length, (index,)))
    few = set(short)
    for node, around in at.items():
        if len(around) == 2 and few.issuperset(around):
            path = _find_way_through(node, around, nodes, at, few)
            if path is not None:
                a, b, used = path
                length = sum(stretches[i].chain.length for i in used)
                ways.setdefault((min(a, b), max(a, b)), []).append((length, used))
    dropped: set[int] = set()
    for paths in ways.values():
        best = min(length for length, _ in paths)
        for length, used in paths:
            if length > best * 1.02 + near and length <= 3 * notch:
                dropped.update(used)
    return [s for i, s in enumerate(stretches) if i not in dropped]


def _find_way_through(
    node: int,
    around: Sequence[int],
    nodes: Sequence[tuple[int, int]],
    at: dict[int, list[int]],
    few: set[int],
) -> tuple[int, int, tuple[int, ...]] | None:
    """The way of two or three short lines over a node at which nothing else ends."""
    used = list(around)
    ends = []
    for index in around:
        a, b = nodes[index]
        ends.append(b if a == node else a)
    if len(used) == 2 and ends[0] != ends[1]:
        for side in (0, 1):  # one further step makes a box of three lines
            beside = at[ends[side]]
            if len(beside) == 2 and few.issuperset(beside):
                (index,) = [i for i in beside if i not in used] or [used[0]]
                if index in used:
                    return None
                a, b = nodes[index]
                ends[side] = b if a == ends[side] else a
                used.append(index)
                break
    return (ends[0], ends[1], tuple(used)) if ends[0] != ends[1] else None


# --------------------------------------------------------------------------- put together


def _put_together(ring: Sequence[tuple[Stretch, bool]]) -> Ring:
    """One closed line from the stretches of a ring, each line of the drawing in one again."""
    runs = list(ring)
    breaks = [i for i in range(len(runs)) if not _goes_on(runs[i - 1], runs[i])]
    runs = runs[breaks[0] :] + runs[: breaks[0]] if breaks else runs
    merged: list[tuple[Stretch, bool]] = []
    for stretch, turned in runs:
        if merged and _goes_on(merged[-1], (stretch, turned)):
            last = merged[-1][0]
            low, high = min(last.begin, stretch.begin), max(last.end, stretch.end)
            chain = part_of_chain(last.line, low, high)
            merged[-1] = (Stretch(last.line, low, high, chain), turned)
        else:
            merged.append((stretch, turned))
    parts = [s.chain.reversed() if turned else s.chain for s, turned in merged]
    gap = max(math.dist(parts[i - 1].end, parts[i].start) for i in range(len(parts)))
    closed = closed_line(parts)
    if signed_area(closed.points[:-1]) < 0:
        closed = closed.reversed()
    return Ring([(closed, shape_of(closed))], gap)


def _goes_on(before: tuple[Stretch, bool], after: tuple[Stretch, bool]) -> bool:
    """Whether one stretch is the next of the same line."""
    (one, turned), (other, also) = before, after
    if one.line is not other.line or turned != also:
        return False
    return one.begin == other.end if turned else one.end == other.begin


def open_line(parts: Sequence[Chain]) -> Chain:
    """One open line; each part begins where the one before ends."""
    return Chain(parts[0].start, tuple(_put_segments_together(parts[0].start, parts)))


def closed_line(parts: Sequence[Chain]) -> Chain:
    """One closed line; each part begins where the one before ends."""
    start = parts[-1].end
    segments = _put_segments_together(start, parts)
    chain = Chain(start, tuple(segments), closed=True)
    # It is not to start in the middle of a straight line.
    first, last = chain.segments[0], chain.segments[-1]
    if len(first) != 1 or len(last) != 1 or len(chain.segments) < 4:
        return chain
    before = chain.segments[-2][-1]
    if not _passes_by(before, chain.start, first[0]):
        return chain
    return Chain(before, (first, *chain.segments[1:-1]), closed=True)


def _put_segments_together(start: Point, parts: Sequence[Chain]) -> list[tuple[Point, ...]]:
    """Their segments in a row, straight ones that run on in one another as one."""
    segments: list[tuple[Point, ...]] = []
    heads = [start]
    here = start
    for part in parts:
        for index, segment in enumerate(part.with_ends(here, part.end).segments):
            from_before = heads[-1]
            flat = segments and len(segment) == 1 and len(segments[-1]) == 1
            if index == 0 and flat and _passes_by(from_before, here, segment[0]):
                segments[-1] = segment
            else:
                heads.append(here)
                segments.append(segment)
            here = segment[-1]
    return segments


def _passes_by(a: Point, b: Point, c: Point) -> bool:
    """Whether a line from a to c passes b."""
    whole = math.dist(a, c)
    if not whole:
        return False
    off = abs((c[0] - a[0]) * (b[1] - a[1]) - (c[1] - a[1]) * (b[0] - a[0])) / whole
    ahead = (c[0] - b[0]) * (b[0] - a[0]) + (c[1] - b[1]) * (b[1] - a[1])
    return off <= STRAIGHT_MM and ahead > 0
