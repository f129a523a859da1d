"""Which lines are on which piece in which size, beside its outline."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from propagate.io.chain import Chain
from propagate.io.drawn_lines import DrawnLine
from propagate.io.options import ReadOptions
from propagate.io.report import ReportNotes
from propagate.io.sheet.inner_lines import put_together
from propagate.io.sheet.marks_by_size import (
    TOUCHES_MM,
    SheetMark,
    find_strays,
    keep_to_one,
    share_inner,
    share_out_rows,
    sort_by_touch,
)
from propagate.io.sheet.stretches import nodes_of
from propagate.io.svg.rings import Ring
from propagate.io.svg.sorting import DrawnPiece, hand_out
from propagate.pattern.model import Array

__all__ = ["hand_out_marks", "is_drawn_again"]

STEP_MM = 5.0
OPEN_MM = 200.0
"""A line so long beside all pieces is hardly a legend's: most outlines are longer."""
ON_LINE_MM = 0.2
"""A line no point of which is farther from the outline is the outline, drawn again."""


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
        size: _collect_marks(
            left.get(size, ()), size, rims[size] if size else every, every, options
        )
        for size in (*sizes, None)
    }
    marks[None] += [SheetMark([one.chain], None) for one in filled if one.chain.closed]
    drawn = [
        {size: DrawnPiece(None, piece[size], named_by="said") for size in sizes} for piece in pieces
    ]
    placed: set[int] = set()
    strays = find_strays(marks, rims, sizes, options.notch)
    for size in sizes:
        here = [piece[size] for piece in drawn]
        mine = (*marks[size], *marks[None], *(m for m in strays if m.size != size))
        shapes = [shape for mark in mine for shape in mark.shapes]
        hand_out(here, shapes, ReportNotes(), source, size)
        placed |= {id(shape) for piece in here for shape in piece.shapes}
    keep_to_one(drawn, [m for m in marks[None] if not m.is_short(options.notch)], sizes)
    sort_by_touch(drawn, marks, strays, sizes, options.notch)
    share_inner(drawn, marks, sizes, notes, source)
    share_out_rows(drawn, marks, sizes, options.notch, notes, source)
    lost = sum(
        id(shape) not in placed for some in marks.values() for m in some for shape in m.shapes
    )
    if lost:
        notes.add("ignored", "a line that lies on no piece", file=source, count=lost)
    _tell_open_outlines(pieces, marks, sizes, notes, source)
    return drawn


def _tell_open_outlines(
    pieces: Sequence[Mapping[str, Ring]],
    marks: Mapping[str | None, Sequence[SheetMark]],
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
    every: Sequence[shapely.LinearRing],
    options: ReadOptions,
) -> list[SheetMark]:
    """Lines put together, those that meet at an end as one mark; ticks stay by themselves.

    `rims` are the outlines of the size, `every` those of all: ticks may be drawn in one look.
    """
    tree = shapely.STRtree(rims)
    apart = [line for line in lines if not is_drawn_again(line, rims, tree)]
    ticks, others = _split_ticks(apart, shapely.STRtree(every), options, size)
    whole = [_off_outline(line, rims, tree) for line in put_together(others, options.join)]
    closed = [SheetMark([chain], size) for chain in whole if chain.closed]
    chains = [chain for chain in whole if not chain.closed]
    # A tick goes with the short lines that lie across its free end.
    bars = [chain for chain in chains if chain.length <= options.notch]
    taken: set[int] = set()
    found = []
    for tick in ticks:
        figure = tick.lines()
        across = [c for c in bars if figure.dwithin(c.figure, options.join)]
        taken |= set(map(id, across))
        found.append(SheetMark([*tick.chains, *across], tick.size))
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
    hung = [SheetMark([chains[i] for i in sorted(group)], size) for group in groups.values()]
    return [*hung, *closed, *figures]


def _split_ticks(
    lines: Sequence[Chain],
    tree: shapely.STRtree,
    options: ReadOptions,
    size: str | None,
) -> tuple[list[SheetMark], list[Chain]]:
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
    return [SheetMark([c], size) for c in firsts], [c for c in lines if id(c) not in taken]


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
