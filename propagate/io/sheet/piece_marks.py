"""Which lines are on which piece in which size, beside its outline."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from propagate.io.chain import Chain
from propagate.io.drawn_lines import DrawnLine
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.sheet.inner_lines import put_together
from propagate.io.sheet.stretches import nodes_of
from propagate.io.svg.drawing import Shape
from propagate.io.svg.rings import Ring
from propagate.io.svg.sorting import DrawnPiece, hand_out
from propagate.pattern.model import Array

__all__ = ["hand_out_marks", "is_drawn_again"]

TOUCHES_MM = 0.5
"""An end this near to an outline is on it."""
STEP_MM = 5.0
OPEN_MM = 200.0
"""A line so long beside all pieces is hardly a legend's: most outlines are longer."""
ON_LINE_MM = 0.2
"""A line no point of which is farther from the outline is the outline, drawn again."""


@dataclass(eq=False)
class _Mark:
    """A line or several that hang together, and the sizes it is drawn for.

    Attributes
    ----------
    chains : list of Chain
    size : str or None
        The size of its layer or look; None for what is of no size.
    """

    chains: list[Chain]
    size: str | None
    shapes: list[Shape] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.shapes = [Shape(c, None, frozenset(), {}, "path") for c in self.chains]

    @property
    def ends(self) -> Array:
        """(n, 2) ends of its lines; of closed ones the corners."""
        found = [c.points if c.closed else c.points[[0, -1]] for c in self.chains]
        return np.concatenate(found)

    @property
    def kind(self) -> str:
        """What it looks like: ``closed``, ``arrow`` (several lines) or ``line``."""
        return "arrow" if len(self.chains) > 1 else "closed" if self.chains[0].closed else "line"

    def short(self, notch: float) -> bool:
        """Whether no line of it is longer than a notch."""
        return max(float(np.ptp(c.points, axis=0).max()) for c in self.chains) <= notch

    def lines(self) -> shapely.MultiLineString:
        """Its lines as one figure."""
        return shapely.MultiLineString([c.points for c in self.chains])


def hand_out_marks(
    pieces: Sequence[Mapping[str, Ring]],
    left: Mapping[str | None, Sequence[Chain]],
    filled: Sequence[DrawnLine],
    sizes: Sequence[str],
    options: ReadOptions,
    notes: ReportNotes,
    source: str,
) -> list[dict[str, DrawnPiece]]:
    """Give the lines that are on no outline to the pieces and sizes that they are drawn for.

    A line in the layer or look of a size is of that size.  One of no size is of all, but a
    notch belongs to the sizes whose outline it touches.  Notches that are drawn in the look
    of one size for all of them, and what only one size has inside, are taken for all.
    """
    rims = {size: [piece[size].polygon.exterior for piece in pieces] for size in sizes}
    every = [rim for found in rims.values() for rim in found]
    marks = {
        size: _collect_marks(left.get(size, ()), size, rims[size] if size else every, options)
        for size in (*sizes, None)
    }
    marks[None] += [_Mark([one.chain], None) for one in filled if one.chain.closed]
    drawn = [
        {size: DrawnPiece(None, piece[size], named_by="said") for size in sizes} for piece in pieces
    ]
    placed: set[int] = set()
    for size in sizes:
        here = [piece[size] for piece in drawn]
        shapes = [shape for mark in (*marks[size], *marks[None]) for shape in mark.shapes]
        hand_out(here, shapes, ReportNotes(), source, size)
        placed |= {id(shape) for piece in here for shape in piece.shapes}
    _keep_to_one(drawn, [m for m in marks[None] if not m.short(options.notch)], sizes)
    _sort_by_touch(drawn, marks, sizes, options.notch)
    _share_inner(drawn, marks, sizes, notes, source)
    lost = sum(
        id(shape) not in placed for found in marks.values() for m in found for shape in m.shapes
    )
    if lost:
        notes.add("ignored", "a line that lies on no piece", file=source, count=lost)
    _tell_open_outlines(pieces, marks, sizes, notes, source)
    return drawn


def _tell_open_outlines(
    pieces: Sequence[Mapping[str, Ring]],
    marks: Mapping[str | None, Sequence[_Mark]],
    sizes: Sequence[str],
    notes: ReportNotes,
    source: str,
) -> None:
    """Say that what runs far beside all pieces may be the outline of one that is missing."""
    found: list[tuple[float, str, shapely.MultiLineString]] = []
    for size in sizes:
        areas = shapely.union_all([piece[size].polygon for piece in pieces]).buffer(TOUCHES_MM)
        for mark in marks[size]:
            figure = mark.lines()
            if mark.kind == "closed" or figure.length < OPEN_MM:
                continue
            beside = shapely.difference(figure, areas).length
            ends = shapely.minimum_rotated_rectangle(figure)
            if beside >= OPEN_MM and ends.area > ON_LINE_MM * figure.length:
                found.append((round(beside, 3), size, figure))
    if found:
        beside, _, figure = max(found, key=lambda one: one[0])
        left, low, right, high = figure.bounds
        drawn = sorted({size for _, size, _ in found}, key=sizes.index)
        every = len(drawn) == len(sizes)
        where = "in every size" if every else f"in size {', '.join(drawn)}"
        notes.add(
            "warning",
            f"lines beside all pieces, the longest {beside:.0f} mm around "
            f"({(left + right) / 2:.0f}, {(low + high) / 2:.0f}) mm, {where}: if they are an "
            "outline that does not close, its piece is missing",
            option="--join",
            file=source,
        )


def _collect_marks(
    lines: Sequence[Chain],
    size: str | None,
    rims: Sequence[shapely.LinearRing],
    options: ReadOptions,
) -> list[_Mark]:
    """Lines put together, those that meet at an end as one mark; ticks stay by themselves."""
    tree = shapely.STRtree(rims)
    apart = [line for line in lines if not is_drawn_again(line, rims, tree)]
    ticks, others = _split_ticks(apart, tree, options, size)
    whole = [_off_outline(line, rims, tree) for line in put_together(others, options.join)]
    closed = [_Mark([chain], size) for chain in whole if chain.closed]
    chains = [chain for chain in whole if not chain.closed]
    # A tick goes with the short lines that lie across its free end.
    bars = [chain for chain in chains if chain.length <= options.notch]
    taken: set[int] = set()
    found = []
    for tick in ticks:
        figure = tick.lines()
        across = [c for c in bars if figure.dwithin(c.figure, options.join)]
        taken |= set(map(id, across))
        found.append(_Mark([*tick.chains, *across], tick.size))
    figures, chains = found, [chain for chain in chains if id(chain) not in taken]
    groups: dict[int, list[int]] = {}
    owner: dict[int, int] = {}
    for index, pair in enumerate(nodes_of(chains, options.join)):
        met = sorted({owner[node] for node in pair if node in owner})
        group = met[0] if met else index
        for other in met[1:]:
            groups[group] += groups.pop(other)
            owner = {n: group if g == other else g for n, g in owner.items()}
        groups.setdefault(group, []).append(index)
        owner |= dict.fromkeys(pair, group)
    hung = [_Mark([chains[i] for i in sorted(group)], size) for group in groups.values()]
    return [*hung, *closed, *figures]


def _split_ticks(
    lines: Sequence[Chain],
    tree: shapely.STRtree,
    options: ReadOptions,
    size: str | None,
) -> tuple[list[_Mark], list[Chain]]:
    """Short lines from an outline to where no other line ends, each once, and all others.

    They stay what they are, though a longer line may run over them.
    """
    short = [c for c in lines if not c.closed and options.join < c.length <= options.notch]
    ends = nodes_of(lines, options.join)
    twins: dict[tuple[int, ...], list[Chain]] = {}
    number = {id(line): pair for line, pair in zip(lines, ends, strict=True)}
    at: dict[int, set[tuple[int, ...]]] = {}
    for pair in ends:
        for node in pair:
            at.setdefault(node, set()).add(tuple(sorted(pair)))
    for chain in short:
        tips = shapely.points([chain.start, chain.end])
        on = set(tree.query(tips, predicate="dwithin", distance=TOUCHES_MM)[0].tolist())
        free = number[id(chain)][0 if 1 in on else 1]
        if len(on) == 1 and len(at[free]) == 1:
            twins.setdefault(tuple(sorted(number[id(chain)])), []).append(chain)
    taken = {id(chain) for found in twins.values() for chain in found}
    firsts = [min(found, key=lambda c: (c.start, c.end)) for found in twins.values()]
    return [_Mark([c], size) for c in firsts], [c for c in lines if id(c) not in taken]


def _off_outline(chain: Chain, rims: Sequence[shapely.LinearRing], tree: shapely.STRtree) -> Chain:
    """Of a closed line that runs along an outline for a stretch, as around a dart, the rest."""
    if not chain.closed:
        return chain
    ends = shapely.points([chain.start, *(segment[-1] for segment in chain.segments)])
    for index in sorted(tree.query(chain.figure, predicate="intersects").tolist()):
        near = shapely.dwithin(rims[index], ends, ON_LINE_MM)
        halves = np.array([_half_way(chain, k) for k in range(len(chain.segments))])
        on = near[:-1] & near[1:] & shapely.dwithin(rims[index], shapely.points(halves), ON_LINE_MM)
        firsts = np.flatnonzero(~on & np.roll(on, 1))
        if len(firsts) == 1:  # the stretch off the outline is in one piece
            first, count = int(firsts[0]), int((~on).sum())
            return chain.part(first, first + count)
    return chain


def _half_way(chain: Chain, segment: int) -> Array:
    """A point in the middle of a segment."""
    first = chain.joints[segment]
    last = chain.joints[segment + 1] if segment + 1 < len(chain.joints) else len(chain.points) - 1
    middle = (first + last) // 2
    return np.asarray((chain.points[middle] + chain.points[middle + (last - first) % 2]) / 2)


def is_drawn_again(chain: Chain, rims: Sequence[shapely.LinearRing], tree: shapely.STRtree) -> bool:
    """Whether a line runs on an outline from end to end."""
    if not len(tree.query(shapely.Point(chain.start), predicate="dwithin", distance=ON_LINE_MM)):
        return False
    places = shapely.points(shapely.get_coordinates(shapely.segmentize(chain.figure, STEP_MM)))
    near = tree.query(places[0], predicate="dwithin", distance=ON_LINE_MM)
    return any(bool(shapely.dwithin(rims[int(i)], places, ON_LINE_MM).all()) for i in near)


def _keep_to_one(
    drawn: Sequence[Mapping[str, DrawnPiece]], marks: Sequence[_Mark], sizes: Sequence[str]
) -> None:
    """A line of no size, such as a grain line, is on one piece, in all its sizes.

    It may lie beside the outline of some: a curved strip moves as it grows.
    """
    where: dict[int, list[int]] = {}
    for number, piece in enumerate(drawn):
        for size in sizes:
            for shape in piece[size].shapes:
                where.setdefault(id(shape), []).append(number)
    for mark in marks:
        found = [number for shape in mark.shapes for number in where.get(id(shape), ())]
        if not found:
            continue
        best = max(sorted(set(found)), key=found.count)
        for number in set(found):
            _put_mark(drawn[number], mark, sizes if number == best else (), sizes)


def _sort_by_touch(
    drawn: Sequence[Mapping[str, DrawnPiece]],
    marks: Mapping[str | None, Sequence[_Mark]],
    sizes: Sequence[str],
    notch: float,
) -> None:
    """Short marks go to the sizes whose outline they touch."""
    of_shape = {id(s): m for found in marks.values() for m in found for s in m.shapes}
    for piece in drawn:
        rims = {size: piece[size].ring.polygon.exterior for size in sizes}
        short: dict[int, _Mark] = {}
        for size in sizes:
            for shape in piece[size].shapes:
                mark = of_shape[id(shape)]
                if mark.short(notch):
                    short[id(mark)] = mark
        touched = {key: _find_touched_sizes(mark, rims, sizes) for key, mark in short.items()}
        has_own = {mark.size for key, mark in short.items() if mark.size in touched[key]}
        for key, mark in short.items():
            if mark.size is None:
                _put_mark(piece, mark, touched[key] or list(sizes), sizes)
            elif mark.size not in touched[key]:
                wanted = [size for size in touched[key] if size not in has_own]
                if wanted:
                    _put_mark(piece, mark, wanted, sizes)


def _find_touched_sizes(
    mark: _Mark, rims: Mapping[str, shapely.LinearRing], sizes: Sequence[str]
) -> list[str]:
    """The sizes on whose outline a mark ends, else those that it crosses."""
    ends = shapely.points(mark.ends)
    on = [size for size in sizes if float(shapely.distance(rims[size], ends).min()) <= TOUCHES_MM]
    if on:
        return on
    figure = mark.lines()
    return [size for size in sizes if rims[size].intersects(figure)]


def _put_mark(
    piece: Mapping[str, DrawnPiece], mark: _Mark, wanted: Sequence[str], sizes: Sequence[str]
) -> None:
    own = set(map(id, mark.shapes))
    for size in sizes:
        kept = [shape for shape in piece[size].shapes if id(shape) not in own]
        piece[size].shapes = kept + (list(mark.shapes) if size in wanted else [])


def _share_inner(
    drawn: Sequence[Mapping[str, DrawnPiece]],
    marks: Mapping[str | None, Sequence[_Mark]],
    sizes: Sequence[str],
    notes: ReportNotes,
    source: str,
) -> None:
    """What only one size has inside a piece, away from the outline, is taken for all."""
    of_shape = {id(s): m for found in marks.values() for m in found for s in m.shapes}
    if len(sizes) < 2:
        return
    shared = 0
    for piece in drawn:
        inner: dict[str, dict[str, list[_Mark]]] = {}
        for size in sizes:
            rim = {size: piece[size].ring.polygon.exterior}
            for mark in {id(m): m for s in piece[size].shapes if (m := of_shape[id(s)])}.values():
                if mark.size is not None and not _find_touched_sizes(mark, rim, (size,)):
                    inner.setdefault(mark.kind, {}).setdefault(mark.size, []).append(mark)
        for by_size in inner.values():
            if len(by_size) == 1:
                for mark in next(iter(by_size.values())):
                    _put_mark(piece, mark, sizes, sizes)
                    shared += 1
    if shared:
        notes.add(
            "assumed",
            "what only one size has inside a piece, such as a grain line, is taken for all sizes",
            file=source,
            count=shared,
        )
