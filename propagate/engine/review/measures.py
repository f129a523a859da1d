"""The measures of a set, each as a row of one value for each size; those out of line in words.

The points of all outlines are laid into one array, so that a set is measured in a few vector
operations, and all rows are judged at once.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.review.line import expected_beside, out_of_line
from propagate.engine.review.taken import pieces_of
from propagate.pattern.buttons import marks_called
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import OUT_OF_LINE_MM
from propagate.values import dataclass

__all__ = ["Measured", "find_out_of_line", "measure_pieces"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Measured:
    """One piece in all sizes; every array has a column for each size, mm.

    Attributes
    ----------
    edges : tuple of str
        Names, in outline order from the base size's first edge.
    lengths : (k, n) array
    chords : (k, n) complex array
        From the start of each edge to its end, turned so that the grain points to 1.
    bends : (k, n) array
        How far each edge bulges beyond its chord, on the mean; inwards negative.
    low, high : (2, n) arrays
        The outline's reach along the grain and across it, from the file's origin.
    landmarks : tuple of (landmark, edge)
        All but the legs of darts.
    along : (m, n) array
        Distance of each landmark from the start of its edge.
    levels, drills : mapping of name to (2, n) array
        Along the grain and across it, as `low` and `high`.
    """

    edges: tuple[str, ...]
    lengths: Array
    chords: npt.NDArray[np.complex128]
    bends: Array
    low: Array
    high: Array
    landmarks: tuple[tuple[str, str], ...]
    along: Array
    levels: dict[str, Array]
    drills: dict[str, Array]


def measure_pieces(pattern: PatternSet) -> dict[str, Measured]:
    """Measure every piece of a set."""
    pieces = list(pattern.pieces)
    names = {p: pattern.pieces[p].at(pattern.base).edge_names for p in pieces}
    drawn = [pattern.pieces[piece].at(size) for piece in pieces for size in pattern.sizes]
    edges = [
        sized.edge(name).points
        for piece in pieces
        for sized in (pattern.pieces[piece].at(size) for size in pattern.sizes)
        for name in names[piece]
    ]
    if not edges:
        return {}
    counts = np.array([len(points) for points in edges])
    owner = np.repeat(np.arange(len(drawn)), [len(names[p]) for p in pieces for _ in pattern.sizes])
    grain = np.array([(s.grain.start, s.grain.end) for s in drawn])
    ups = (grain[:, 1] - grain[:, 0]).view(np.complex128)[:, 0]
    ups /= np.abs(ups)
    flat = np.concatenate(edges).view(np.complex128)[:, 0]
    flat = flat * np.conj(np.repeat(ups[owner], counts))  # along the grain is real
    first = np.cumsum(counts) - counts
    lengths, chords, bends = _measure_edges(flat, first, counts)
    outline = np.searchsorted(owner, np.arange(len(drawn)))
    low, high = (
        np.array([reach.reduceat(part, first[outline]) for part in (flat.real, flat.imag)])
        for reach in (np.minimum, np.maximum)
    )
    found, at, seen = {}, 0, 0
    uneven = _find_uneven_buttons(pattern)
    for piece in pieces:
        shape = (len(pattern.sizes), len(names[piece]))
        here = slice(at, at + shape[0] * shape[1])
        own = slice(seen, seen + shape[0])
        marks, along = _place_landmarks(drawn[own], pattern)
        levels = [sized.levels for sized in drawn[own]]
        drills = [
            {mark.name: mark.point for mark in sized.drills if (piece, mark.name) not in uneven}
            for sized in drawn[own]
        ]
        found[piece] = Measured(
            names[piece],
            lengths[here].reshape(shape).T,
            chords[here].reshape(shape).T,
            bends[here].reshape(shape).T,
            low[:, own],
            high[:, own],
            marks,
            along,
            _turn_points(levels, ups[own]),
            _turn_points(drills, ups[own]),
        )
        at, seen = here.stop, own.stop
    return found


def _find_uneven_buttons(pattern: PatternSet) -> set[tuple[str, str]]:
    """Buttons of rows that have more of them in one size than in another: (piece, mark).

    All of the row lie elsewhere there; the walk tells whether each lies in its place.
    """
    found = set()
    for buttons in pattern.relations.buttons.values():
        for run, called in zip(buttons.sides, buttons.marks, strict=True):
            for piece in pieces_of(run):
                rows = [
                    {mark.name for mark in marks_called(pattern.sized(piece, size), called)}
                    for size in pattern.sizes
                ]
                if any(row != rows[0] for row in rows):
                    found |= {(piece, name) for name in set().union(*rows)}
    return found


def _measure_edges(
    flat: npt.NDArray[np.complex128], first: npt.NDArray[np.intp], counts: npt.NDArray[np.intp]
) -> tuple[Array, npt.NDArray[np.complex128], Array]:
    """Length, chord and mean bend of every edge."""
    last = first + counts - 1
    steps = np.diff(flat, append=flat[-1:])
    steps[last] = 0.0  # from one edge to the next
    lengths = np.add.reduceat(np.abs(steps), first)
    chords = flat[last] - flat[first]
    from_start = flat - np.repeat(flat[first], counts)
    areas = np.add.reduceat((np.conj(from_start) * steps).imag, first) / 2
    wide = np.abs(chords)
    bends = np.divide(areas, wide, out=np.zeros_like(areas), where=wide > 1.0)
    return lengths, chords, bends


def _place_landmarks(
    nest: Sequence[SizedPiece], pattern: PatternSet
) -> tuple[tuple[tuple[str, str], ...], Array]:
    base = nest[pattern.sizes.index(pattern.base)]
    legs = {leg for dart in base.darts for leg in dart.legs}  # told with their dart
    marks = tuple((mark.name, mark.edge) for mark in base.landmarks if mark.name not in legs)
    if not marks:
        return marks, np.zeros((0, len(nest)))
    used = dict.fromkeys(edge for _, edge in marks)
    lines = [{edge: shapely.LineString(sized.edge(edge).points) for edge in used} for sized in nest]
    places = [[sized.landmark(name).point for name, _ in marks] for sized in nest]
    along = shapely.line_locate_point(
        [[line[edge] for _, edge in marks] for line in lines], shapely.points(places)
    )
    return marks, np.asarray(along, dtype=np.float64).T


def _turn_points(
    rows: Sequence[Mapping[str, tuple[float, float]]], ups: npt.NDArray[np.complex128]
) -> dict[str, Array]:
    """Places of what every size has, along the grain and across it."""
    found = {}
    for name in rows[0]:
        if all(name in row for row in rows):
            turned = np.array([complex(*row[name]) for row in rows]) * np.conj(ups)
            found[name] = np.array([turned.real, turned.imag])
    return found


@dataclass(frozen=True, eq=False)
class _Row:
    """One measure in all sizes.

    Attributes
    ----------
    piece, name, how : str
        How it is told: ``name 12.0 mm how``.
    seen : (t, n) array
        The measure from every side; it is out of line where every row of it is.
    shape : bool
        Told only where nothing else of that piece and size is out of line, since a corner
        that is off makes its edges jump too; and only when it is off by twice as much, since
        it is measured across the piece and gathers what its edges differ by.
    mark : bool
        A first or last size is judged more strictly: marks have no grading of their own.
    """

    piece: str
    name: str
    how: str
    seen: Array
    shape: bool = False
    mark: bool = False


def find_out_of_line(
    nest: Mapping[str, Measured], rigid: Collection[str] = ()
) -> dict[str, dict[int, list[str]]]:
    """Return what is out of line, in words: by piece and by place of the size.

    `rigid` names edges (``PIECE.EDGE``), such as openings, that have no grading of their own.
    """
    rows = [row for piece, of in nest.items() for row in _list_rows(piece, of, rigid)]
    if not rows:
        return {}
    counts = np.array([len(row.seen) for row in rows])
    marks = np.repeat([row.mark for row in rows], counts)
    least = np.repeat([OUT_OF_LINE_MM * (1 + row.shape) for row in rows], counts)
    flags = out_of_line(np.concatenate([row.seen for row in rows]), least, marks)
    off = np.logical_and.reduceat(flags, np.cumsum(counts) - counts, axis=0)
    plain: dict[str, dict[int, list[str]]] = {}
    shapes: dict[str, dict[int, list[str]]] = {}
    for which, at in np.argwhere(off).tolist():
        row = rows[which]
        found, expected = float(row.seen[0, at]), expected_beside(row.seen[0], at)
        text = (
            f"{row.name} {found:.1f} mm{row.how} instead of about {expected:.1f} "
            f"({found - expected:+.1f})"
        )
        kept = shapes if row.shape else plain
        kept.setdefault(row.piece, {}).setdefault(at, []).append(text)
    for piece, sizes in shapes.items():
        for at, texts in sizes.items():
            plain.setdefault(piece, {}).setdefault(at, texts)
    return plain


def _list_rows(piece: str, of: Measured, rigid: Collection[str]) -> Iterator[_Row]:
    for name, lengths in zip(of.edges, of.lengths, strict=True):
        mark = f"{piece}.{name}" in rigid
        yield _Row(piece, f"edge '{name}'", " long", lengths[None], mark=mark)
    for (name, edge), along in zip(of.landmarks, of.along, strict=True):
        lengths = of.lengths[of.edges.index(edge)]
        share = along / lengths * lengths.mean()
        seen = np.array([along, lengths - along, share])
        yield _Row(piece, f"mark '{name}' on edge '{edge}'", " from its start", seen, mark=True)
    for name, places in of.levels.items():
        seen = np.array([places[0] - of.low[0], of.high[0] - places[0]])
        yield _Row(piece, f"level '{name}'", " above the piece's lowest point", seen)
    for name, places in of.drills.items():
        for place, low, high in zip(places, of.low, of.high, strict=True):
            seen = np.array([place - low, high - place])
            yield _Row(piece, f"drill mark '{name}'", " from one side of the piece", seen)
    # What tells of a corner or a curve that is off though its edges are as long as before.
    if len(of.edges) > 3:
        across = np.abs(of.chords + np.roll(of.chords, -1, axis=0))
        after = (*of.edges[1:], of.edges[0])
        for first, second, wide in zip(of.edges, after, across, strict=True):
            name = f"from the start of edge '{first}' straight to the end of edge '{second}'"
            yield _Row(piece, name, "", wide[None], shape=True)
    for name, bends in zip(of.edges, of.bends, strict=True):
        yield _Row(piece, f"edge '{name}' bulges on the mean by", "", bends[None], shape=True)
