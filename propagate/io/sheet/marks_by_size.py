"""Which sizes a mark on a piece is drawn for: by its look, its ends and its neighbours."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from propagate.io.chain import Chain
from propagate.io.report import ReportNotes
from propagate.io.sheet.graded_marks import order_by_size, rows_of
from propagate.io.svg.drawing import Shape
from propagate.io.svg.sorting import DrawnPiece
from propagate.pattern.model import Array

__all__ = [
    "ENDS_ON_MM",
    "LONGEST_MARK",
    "TOUCHES_MM",
    "SheetMark",
    "find_strays",
    "keep_to_one",
    "share_inner",
    "share_out_rows",
    "sort_by_touch",
]

TOUCHES_MM = 0.5
"""An end this near to an outline is on it."""
ENDS_ON_MM = 0.05
"""As near as it is drawn: of outlines that lie side by side, a mark ends on the nearest."""
ALIKE, ALIKE_MM = 0.3, 30.0
"""Share of its length by which a mark is graded at most, and how far it is moved in any case."""
LONGEST_MARK = 3.0
"""A notch, a drill mark or a buttonhole is at most this many times as long as the longest notch."""


@dataclass(eq=False)
class SheetMark:
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
    def middles(self) -> Array:
        """(n, 2) middle of each of its lines that is straight or closed, mm."""
        found = [
            (c.points[:-1] if c.closed else c.points).mean(axis=0)
            for c in self.chains
            if c.closed or len(c.points) == 2
        ]
        return np.array(found).reshape(-1, 2)

    @property
    def kind(self) -> str:
        """What it looks like: ``closed``, ``arrow`` (several lines) or ``line``."""
        return "arrow" if len(self.chains) > 1 else "closed" if self.chains[0].closed else "line"

    def is_short(self, notch: float) -> bool:
        """Whether no line of it is longer than a notch."""
        return max(float(np.ptp(c.points, axis=0).max()) for c in self.chains) <= notch

    def lines(self) -> shapely.MultiLineString:
        """Its lines as one figure."""
        return shapely.MultiLineString([c.points for c in self.chains])


def _map_shapes(marks: Mapping[str | None, Sequence[SheetMark]]) -> dict[int, SheetMark]:
    """The mark to which each shape belongs, by the identity of the shape."""
    return {id(shape): mark for some in marks.values() for mark in some for shape in mark.shapes}


def _list_marks(piece: DrawnPiece, of_shape: Mapping[int, SheetMark]) -> Iterable[SheetMark]:
    """The marks on a piece in one size, each once."""
    return {id(m): m for s in piece.shapes if (m := of_shape[id(s)])}.values()


def keep_to_one(
    drawn: Sequence[Mapping[str, DrawnPiece]], marks: Sequence[SheetMark], sizes: Sequence[str]
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


def find_strays(
    marks: Mapping[str | None, Sequence[SheetMark]],
    rims: Mapping[str, Sequence[shapely.LinearRing]],
    sizes: Sequence[str],
    notch: float,
) -> list[SheetMark]:
    """Short marks in the look of a size whose outline they do not touch, but that of others."""
    whole = {size: shapely.MultiLineString(rims[size]) for size in sizes}
    for figure in whole.values():
        shapely.prepare(figure)
    found = []
    for size in sizes:
        for mark in marks[size]:
            if mark.is_short(notch) and not _find_touched_sizes(mark, whole, (size,)):
                found += [mark] if _find_touched_sizes(mark, whole, sizes) else []
    return found


def sort_by_touch(
    drawn: Sequence[Mapping[str, DrawnPiece]],
    marks: Mapping[str | None, Sequence[SheetMark]],
    strays: Sequence[SheetMark],
    sizes: Sequence[str],
    notch: float,
) -> None:
    """Short marks go to the sizes whose outline they touch."""
    of_shape = _map_shapes(marks)
    handed_to_all = set(map(id, strays))
    for piece in drawn:
        rims = {size: piece[size].ring.polygon.exterior for size in sizes}
        short: dict[int, SheetMark] = {}
        lies_in: dict[int, set[str]] = {}
        for size in sizes:
            for mark in _list_marks(piece[size], of_shape):
                if mark.is_short(notch):
                    short[id(mark)] = mark
                    lies_in.setdefault(id(mark), set()).add(size)
        touched = {key: _find_touched_sizes(mark, rims, sizes) for key, mark in short.items()}
        has_own = {mark.size for key, mark in short.items() if mark.size in touched[key]}
        one_look = len(has_own) == 1  # for the marks of all sizes
        for key, mark in short.items():
            if mark.size is None or (one_look and mark.size in touched[key]):
                _put_mark(piece, mark, touched[key] or list(sizes), sizes)
            elif mark.size not in touched[key]:
                wanted = [size for size in touched[key] if size not in has_own]
                if wanted:
                    _put_mark(piece, mark, wanted, sizes)
                elif key in handed_to_all:  # back to the size in whose look it is drawn
                    _put_mark(piece, mark, [s for s in lies_in[key] if s == mark.size], sizes)


def _find_touched_sizes(
    mark: SheetMark, rims: Mapping[str, shapely.Geometry], sizes: Sequence[str]
) -> list[str]:
    """The sizes on whose outline a mark ends, else has its middle, else those that it crosses."""
    ends = shapely.points(mark.ends)
    gaps = {size: float(shapely.distance(rims[size], ends).min()) for size in sizes}
    nearest = min(gaps.values(), default=TOUCHES_MM)
    if nearest > ENDS_ON_MM and len(mark.middles):
        middles = shapely.points(mark.middles)
        across = [
            size
            for size in sizes
            if float(shapely.distance(rims[size], middles).min()) <= ENDS_ON_MM
        ]
        if across:
            return across
    on = [size for size in sizes if gaps[size] <= min(TOUCHES_MM, nearest + ENDS_ON_MM)]
    if on:
        return on
    figure = mark.lines()
    return [size for size in sizes if rims[size].intersects(figure)]


def _put_mark(
    piece: Mapping[str, DrawnPiece], mark: SheetMark, wanted: Sequence[str], sizes: Sequence[str]
) -> None:
    own = set(map(id, mark.shapes))
    for size in sizes:
        kept = [shape for shape in piece[size].shapes if id(shape) not in own]
        piece[size].shapes = kept + (list(mark.shapes) if size in wanted else [])


def share_inner(
    drawn: Sequence[Mapping[str, DrawnPiece]],
    marks: Mapping[str | None, Sequence[SheetMark]],
    sizes: Sequence[str],
    notes: ReportNotes,
    source: str,
) -> None:
    """What only one size has inside a piece, away from the outline, is taken for all."""
    of_shape = _map_shapes(marks)
    if len(sizes) < 2:
        return
    shared = 0
    for piece in drawn:
        inner: dict[str, dict[str, list[SheetMark]]] = {}
        for size in sizes:
            rim = {size: piece[size].ring.polygon.exterior}
            for mark in _list_marks(piece[size], of_shape):
                if mark.size is not None and not _find_touched_sizes(mark, rim, (size,)):
                    inner.setdefault(mark.kind, {}).setdefault(mark.size, []).append(mark)
        for by_size in inner.values():
            lonely = _find_lonely(by_size)
            if len({mark.size for mark in lonely}) == 1:
                for mark in lonely:
                    _put_mark(piece, mark, sizes, sizes)
                    shared += 1
    if shared:
        notes.add(
            "assumed",
            "what only one size has inside a piece, such as a grain line, is taken for all sizes",
            file=source,
            count=shared,
        )


def _find_lonely(by_size: Mapping[str, Sequence[SheetMark]]) -> list[SheetMark]:
    """The marks that no other size has in about their length, direction and place."""
    if len(by_size) == 1:
        return list(next(iter(by_size.values())))
    return [
        mark
        for size, marks in by_size.items()
        for mark in marks
        if not any(
            _are_alike(mark, other)
            for another, others in by_size.items()
            if another != size
            for other in others
        )
    ]


def _are_alike(one: SheetMark, other: SheetMark) -> bool:
    """Whether two marks may be one that is graded."""
    boxes = [np.array(mark.lines().bounds).reshape(2, 2) for mark in (one, other)]
    (a, b), (p, q) = ((box.mean(axis=0), box[1] - box[0]) for box in boxes)
    longest = max(float(np.hypot(*b)), float(np.hypot(*q)))
    return bool(
        np.hypot(*(a - p)) <= max(ALIKE_MM, ALIKE * longest)
        and np.hypot(*(b - q)) <= max(TOUCHES_MM, ALIKE * longest)
    )


def _list_alike(
    piece: Mapping[str, DrawnPiece],
    of_shape: Mapping[int, SheetMark],
    sizes: Sequence[str],
    longest: float,
) -> dict[tuple[tuple[str, ...], str], list[SheetMark]]:
    """The short marks on a piece that are on several sizes: by these sizes and what they look like.

    `longest` is how long a line of them is at most, mm.
    """
    lies_in: dict[int, tuple[str, ...]] = {}
    by_id: dict[int, SheetMark] = {}
    for size in sizes:
        for mark in _list_marks(piece[size], of_shape):
            lies_in[id(mark)] = (*lies_in.get(id(mark), ()), size)
            by_id[id(mark)] = mark
    alike: dict[tuple[tuple[str, ...], str], list[SheetMark]] = {}
    for key, mark in by_id.items():
        if len(lies_in[key]) > 1 and mark.is_short(longest):
            alike.setdefault((lies_in[key], mark.kind), []).append(mark)
    return alike


def share_out_rows(
    drawn: Sequence[Mapping[str, DrawnPiece]],
    marks: Mapping[str | None, Sequence[SheetMark]],
    sizes: Sequence[str],
    notch: float,
    notes: ReportNotes,
    source: str,
) -> None:
    """As many marks side by side as the sizes that all of them are on are one for each."""
    of_shape = _map_shapes(marks)
    shared = unclear = 0
    for piece in drawn:
        unclear += _count_long_rows(piece, of_shape, sizes, LONGEST_MARK * notch)
        alike = _list_alike(piece, of_shape, sizes, LONGEST_MARK * notch)
        for (own, _), found in alike.items():
            places = np.array([np.mean(mark.ends, axis=0) for mark in found])
            outlines = {size: piece[size].ring.points for size in own}
            for row in rows_of(places):
                whose = order_by_size(places[row], outlines, own) if len(row) == len(own) else None
                if whose is not None:
                    shared += 1
                    for number, size in zip(row, own[::whose], strict=True):
                        _put_mark(piece, found[number], (size,), sizes)
                elif len(row) >= len(own):
                    unclear += len(row)
    if shared:
        notes.add(
            "assumed",
            "marks in one look for all sizes, as many side by side as there are sizes, are one "
            "for each size in their order",
            file=source,
            count=shared,
        )
    if unclear:
        notes.add(
            "warning",
            "marks in one look for all sizes lie side by side, and which is of which size cannot "
            "be told: every size has all of them",
            file=source,
            count=unclear,
        )


def _count_long_rows(
    piece: Mapping[str, DrawnPiece],
    of_shape: Mapping[int, SheetMark],
    sizes: Sequence[str],
    longest: float,
) -> int:
    """How many longer lines that are on several sizes lie in rows of as many as these sizes."""
    count = 0
    for (own, _), found in _list_alike(piece, of_shape, sizes, np.inf).items():
        long = [mark for mark in found if not mark.is_short(longest)]
        places = np.array([np.mean(mark.ends, axis=0) for mark in long if len(mark.ends)])
        count += sum(len(row) for row in rows_of(places) if len(row) >= len(own))
    return count
