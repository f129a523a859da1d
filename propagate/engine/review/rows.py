"""Every measure of every piece as rows, of which those out of line are put into words.

All rows of a set are judged at once: one call instead of one for each piece and kind.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

import numpy as np
import numpy.typing as npt

from propagate.engine.review.line import expected_beside, out_of_line
from propagate.engine.review.measures import Measured
from propagate.tolerances import OUT_OF_LINE_MM
from propagate.values import dataclass

__all__ = ["out_of_line_words"]

Array = npt.NDArray[np.float64]


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


def out_of_line_words(
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
    yield from _list_shapes(piece, of)


def _list_shapes(piece: str, of: Measured) -> Iterator[_Row]:
    """What tells of a corner or a curve that is off though its edges are as long as before."""
    if len(of.edges) > 3:
        across = np.abs(of.chords + np.roll(of.chords, -1, axis=0))
        after = (*of.edges[1:], of.edges[0])
        for first, second, wide in zip(of.edges, after, across, strict=True):
            name = f"from the start of edge '{first}' straight to the end of edge '{second}'"
            yield _Row(piece, name, "", wide[None], shape=True)
    for name, bends in zip(of.edges, of.bends, strict=True):
        yield _Row(piece, f"edge '{name}' bulges on the mean by", "", bends[None], shape=True)
