"""Sheets drawn in code from demo sets: all sizes nested, lines split, doubled and shuffled.

What is drawn is known, so that what is read of it can be measured: every outline as a polygon,
every notch as a point.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from random import Random

import numpy as np
import shapely

from propagate.io.chain import Chain, Point
from propagate.io.drawn_lines import DrawnLine, DrawnSheet, DrawnText, Look
from propagate.io.svg.elements import parse_path
from propagate.pattern.model import Array, Edge, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import piece_title

BLACK = Look((0.0, 0.0, 0.0), 0.35)
DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (6.0, 2.0),
    (1.0, 1.0),
    (8.0, 2.0, 1.0, 2.0),
    (4.0, 1.0),
    (10.0, 3.0),
    (2.0, 2.0),
    (12.0, 2.0, 2.0, 2.0, 2.0, 2.0),
    (5.0, 4.0),
)
COLOURS = tuple(
    (round(0.5 + 0.5 * math.cos(a), 3), round(0.5 + 0.5 * math.cos(a + 2.1), 3), 0.4)
    for a in np.linspace(0.3, 5.5, 12)
)
WIDTHS = tuple(0.2 + 0.12 * i for i in range(12))
ARROW_MM = 6.0


@dataclass(frozen=True)
class Drawing:
    """What is drawn beside the outlines, and how.

    Attributes
    ----------
    by : "layer", "dash", "colour" or "width"
        What tells the sizes apart.
    seed : int or None
        Lines are split at random, turned round and shuffled; None leaves whole edges.
    doubled, hair : float
        Share of the lines that are drawn twice, and by how much the second is off, mm.
    legend, titles, frame : bool
    whole : bool
        Each outline is one closed line.
    """

    by: str = "layer"
    seed: int | None = None
    doubled: float = 0.0
    hair: float = 0.0
    legend: bool = True
    titles: bool = True
    frame: bool = False
    whole: bool = False


@dataclass
class Drawn:
    """A sheet, and what is on it by piece and size."""

    sheet: DrawnSheet
    outlines: Mapping[str, Mapping[str, shapely.Polygon]]
    notches: Mapping[str, Mapping[str, Array]]
    titles: Mapping[str, str] = field(default_factory=dict)


def sheet_of(pattern: PatternSet, how: Drawing) -> Drawn:
    """Draw a set on a sheet, every piece with its sizes nested at the lower left."""
    looks = {size: _look(how.by, i) for i, size in enumerate(pattern.sizes)}
    layers = {s: (f"Size {s}" if how.by == "layer" else None) for s in pattern.sizes}
    lines: list[DrawnLine] = []
    texts: list[DrawnText] = []
    outlines: dict[str, dict[str, shapely.Polygon]] = {}
    notches: dict[str, dict[str, Array]] = {}
    titles: dict[str, str] = {}
    corner = np.array([40.0, 40.0])
    row = 0.0
    for name, piece in pattern.pieces.items():
        moved = {size: _upright(piece.at(size)) for size in pattern.sizes}
        extent = np.max([np.ptp(m.outline, axis=0) for m in moved.values()], axis=0)
        if corner[0] > 40.0 and corner[0] + extent[0] > 2200.0:
            corner, row = np.array([40.0, corner[1] + row + 40.0]), 0.0
        outlines[name], notches[name] = {}, {}
        for size, one in moved.items():
            here = one.shifted(corner - one.outline.min(axis=0))
            look, layer = looks[size], layers[size]
            lines += [DrawnLine(chain, look, layer) for chain in here.drawn(whole=how.whole)]
            outlines[name][size] = shapely.Polygon(here.outline)
            notches[name][size] = here.notches
        base = moved[pattern.base].shifted(corner - moved[pattern.base].outline.min(axis=0))
        lines += [DrawnLine(chain, BLACK) for chain in base.common()]
        titles[name] = piece_title(pattern, name)
        if how.titles:
            texts += _titles(base, titles[name], pattern, name)
        corner = corner + np.array([extent[0] + 40.0, 0.0])
        row = max(row, float(extent[1]))
    size = (2300.0, float(corner[1] + row + 200.0))
    if how.legend and how.by != "layer":
        for index, (name, look) in enumerate(looks.items()):
            y = size[1] - 20.0 - 12.0 * index
            lines.append(DrawnLine(Chain((60.0, y), (((100.0, y),),)), look))
            texts.append(DrawnText(f"Size {name}", (106.0, y - 1.5), 4.0, width=14.0))
    if how.frame:
        lines += [DrawnLine(chain, BLACK) for chain in _frame(size)]
        texts.append(DrawnText("5 cm", (1205.0, size[1] - 60.0), 4.0, width=9.0))
    if how.seed is not None:
        lines = _disturbed(lines, how, Random(how.seed))
    return Drawn(
        DrawnSheet(tuple(lines), tuple(texts), size, "sheet.pdf"), outlines, notches, titles
    )


def _look(by: str, index: int) -> Look:
    if by == "dash":
        return replace(BLACK, dash=DASHES[index])
    if by == "colour":
        return replace(BLACK, colour=COLOURS[index])
    if by == "width":
        return replace(BLACK, width=WIDTHS[index])
    return BLACK


def _frame(size: tuple[float, float]) -> Iterator[Chain]:
    w, h = size
    yield box(10.0, 10.0, w - 10.0, h - 10.0)
    yield box(1200.0, h - 80.0, 1250.0, h - 30.0)  # a test square


def box(x: float, y: float, right: float, top: float) -> Chain:
    """A rectangle as one closed line."""
    corners = ((right, y), (right, top), (x, top), (x, y))
    return Chain((x, y), tuple((c,) for c in corners), closed=True)


def line(*points: Point) -> Chain:
    """An open line of straight pieces."""
    return Chain(points[0], tuple((p,) for p in points[1:]))


# ----------------------------------------------------------------------------------- pieces


@dataclass(frozen=True)
class _Moved:
    """A piece in one size as it lies on the sheet."""

    edges: tuple[Chain, ...]
    outline: Array
    notches: Array
    outward: Array
    darts: tuple[Array, ...]
    drills: Array
    lines: tuple[Array, ...]
    grain: Array

    def shifted(self, by: Array) -> _Moved:
        move = lambda a: np.asarray(a) + by if len(a) else a  # noqa: E731
        return _Moved(
            tuple(mapped(chain, np.eye(2), by) for chain in self.edges),
            move(self.outline),
            move(self.notches),
            self.outward,
            tuple(map(move, self.darts)),
            move(self.drills),
            tuple(map(move, self.lines)),
            move(self.grain),
        )

    def drawn(self, *, whole: bool) -> Iterator[Chain]:
        if whole:
            segments = tuple(s for chain in self.edges for s in chain.segments)
            yield Chain(self.edges[0].start, segments, closed=True)
        else:
            yield from self.edges
        for point, away in zip(self.notches, self.outward, strict=True):
            yield line(_pair(point), _pair(point - 5.0 * away))
        for dart in self.darts:
            yield line(*map(_pair, dart))
        for point in self.drills:
            yield circle(_pair(point), 1.5)
        for points in self.lines:
            yield line(*map(_pair, points))

    def common(self) -> Iterator[Chain]:
        """The grain with an arrow at each end."""
        a, b = self.grain
        yield line(_pair(a), _pair(b))
        along = (b - a) / math.dist(a, b)
        for tip, way in ((a, along), (b, -along)):
            for side in (1.0, -1.0):
                across = np.array([-way[1], way[0]]) * side
                yield line(_pair(tip), _pair(tip + ARROW_MM * way + ARROW_MM / 3 * across))


def _pair(point: Array) -> Point:
    return round(float(point[0]), 6), round(float(point[1]), 6)


def circle(at: Point, r: float) -> Chain:
    """Four cubic curves (the usual factor of 0.5523)."""
    x, y = at
    k = 0.5523 * r
    return Chain(
        (x + r, y),
        (
            ((x + r, y + k), (x + k, y + r), (x, y + r)),
            ((x - k, y + r), (x - r, y + k), (x - r, y)),
            ((x - r, y - k), (x - k, y - r), (x, y - r)),
            ((x + k, y - r), (x + r, y - k), (x + r, y)),
        ),
        closed=True,
    )


def mapped(chain: Chain, turn: Array, by: Array) -> Chain:
    """A line turned and moved, to a millionth of a millimetre."""

    def at(point: Point) -> Point:
        return _pair(turn @ np.array(point) + by)

    return Chain(at(chain.start), tuple(tuple(map(at, s)) for s in chain.segments), chain.closed)


def _chain_of(edge: Edge) -> Chain:
    if edge.path is None:
        points = [(float(x), float(y)) for x, y in edge.points]
        return line(*points)
    found = parse_path(edge.path)[0]
    return Chain(found.start, tuple(tuple(s) for s in found.segments))


def _upright(piece: SizedPiece) -> _Moved:
    """A piece turned so that its grain runs up the page."""
    x, y = piece.grain.direction
    turn = np.array([[y, -x], [x, y]])
    notches = [m for m in piece.landmarks if m.kind == "notch"]
    outward = []
    for mark in notches:
        edge = piece.edge(mark.edge).points
        middle = np.hypot(*(edge[:-1] + edge[1:] - 2 * np.array(mark.point)).T).argmin()
        dx, dy = edge[middle + 1] - edge[middle]
        outward.append(turn @ np.array([dy, -dx]) / math.hypot(dx, dy))
    return _Moved(
        tuple(mapped(_chain_of(edge), turn, np.zeros(2)) for edge in piece.edges),
        piece.outline @ turn.T,
        np.array([m.point for m in notches]).reshape(-1, 2) @ turn.T,
        np.array(outward).reshape(-1, 2),
        tuple(
            np.array([piece.landmark(d.legs[0]).point, d.tip, piece.landmark(d.legs[1]).point])
            @ turn.T
            for d in piece.darts
        ),
        np.array([d.point for d in piece.drills]).reshape(-1, 2) @ turn.T,
        tuple(one.points @ turn.T for one in piece.lines),
        np.array([piece.grain.start, piece.grain.end]) @ turn.T,
    )


def _titles(base: _Moved, title: str, pattern: PatternSet, name: str) -> list[DrawnText]:
    x, y = _pair(np.array(shapely.Polygon(base.outline).representative_point().coords[0]))
    info = pattern.info[name]
    cut = f"Cut {info.cut}" if not info.pair else f"Cut {info.cut} (1 pair)"
    return [
        DrawnText(title, (x, y), 6.0, width=2.0 * len(title)),
        DrawnText(cut, (x, y - 8.0), 4.0, width=12.0),
    ]


# ------------------------------------------------------------------------------- disturbed


def _disturbed(lines: Sequence[DrawnLine], how: Drawing, lot: Random) -> list[DrawnLine]:
    """Lines split at random, some drawn twice, turned round and shuffled."""
    found: list[DrawnLine] = []
    for one in lines:
        copies = 1 + (lot.random() < how.doubled)
        for copy in range(copies):
            chain = one.chain
            if copy and how.hair:
                a = lot.random() * math.tau
                chain = mapped(chain, np.eye(2), how.hair * np.array([math.cos(a), math.sin(a)]))
            for part in split_at_random(chain, lot):
                turned = part.reversed() if lot.random() < 0.5 else part
                found.append(replace(one, chain=turned))
    lot.shuffle(found)
    return found


def split_at_random(chain: Chain, lot: Random) -> list[Chain]:
    """A line in up to four parts; short ones and closed ones stay whole."""
    if chain.closed or chain.length < 30.0:
        return [chain]
    parts: list[Chain] = []
    here = chain.start
    held: list[tuple[Point, ...]] = []
    start = here
    chance = 2.0 / len(chain.segments)
    for segment in chain.segments:
        if lot.random() < chance and math.dist(here, segment[-1]) > 5.0:
            first, second = _halved((here, *segment), lot.uniform(0.2, 0.8))
            parts.append(Chain(start, (*held, first[1:])))
            start, held = second[0], [second[1:]]
        elif held and lot.random() < chance and _far(start, here, chain.end):
            parts.append(Chain(start, tuple(held)))
            start, held = here, [segment]
        else:
            held.append(segment)
        here = segment[-1]
    return [*parts, Chain(start, tuple(held))]


def _far(start: Point, here: Point, end: Point) -> bool:
    """Whether both parts are longer than a gap that is closed."""
    return min(math.dist(start, here), math.dist(here, end)) > 3.0


def _halved(controls: tuple[Point, ...], t: float) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """A Bezier curve in two (de Casteljau), to a millionth of a millimetre."""
    level = [np.array(p) for p in controls]
    first, second = [controls[0]], [controls[-1]]
    while len(level) > 1:
        level = [a + (b - a) * t for a, b in pairwise(level)]
        first.append(_pair(level[0]))
        second.append(_pair(level[-1]))
    second[-1] = first[-1]
    return tuple(first), tuple(second[::-1])
