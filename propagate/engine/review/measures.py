"""The measures of a set, each as a row of one value for each size.

The points of all outlines are laid into one array, so that a set is measured in a few
vector operations.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from propagate.pattern.buttons import marks_called
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["Measured", "measured"]

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


def measured(pattern: PatternSet) -> dict[str, Measured]:
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
    uneven = _uneven_buttons(pattern)
    for piece in pieces:
        shape = (len(pattern.sizes), len(names[piece]))
        here = slice(at, at + shape[0] * shape[1])
        own = slice(seen, seen + shape[0])
        marks, along = _place_landmarks(drawn[own], pattern)
        found[piece] = Measured(
            names[piece],
            lengths[here].reshape(shape).T,
            chords[here].reshape(shape).T,
            bends[here].reshape(shape).T,
            low[:, own],
            high[:, own],
            marks,
            along,
            _place_points(drawn[own], ups[own], "levels"),
            {
                name: places
                for name, places in _place_points(drawn[own], ups[own], "drills").items()
                if (piece, name) not in uneven
            },
        )
        at, seen = here.stop, own.stop
    return found


def _uneven_buttons(pattern: PatternSet) -> set[tuple[str, str]]:
    """Buttons of rows that have more of them in one size than in another: (piece, mark).

    All of the row lie elsewhere there; the walk tells whether each lies in its place.
    """
    found = set()
    for buttons in pattern.relations.buttons.values():
        for run, called in zip(buttons.sides, buttons.marks, strict=True):
            for piece in dict.fromkeys(span.piece for span in run):
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


def _place_points(
    nest: Sequence[SizedPiece], ups: npt.NDArray[np.complex128], kind: str
) -> dict[str, Array]:
    """Places of levels or drill marks, along the grain and across it."""
    rows = [
        dict(sized.levels) if kind == "levels" else {mark.name: mark.point for mark in sized.drills}
        for sized in nest
    ]
    names = [name for name in rows[0] if all(name in row for row in rows)]
    found = {}
    for name in names:
        turned = np.array([complex(*row[name]) for row in rows]) * np.conj(ups)
        found[name] = np.array([turned.real, turned.imag])
    return found
