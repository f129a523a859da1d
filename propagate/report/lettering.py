"""Letters of corners and marks: the same on every drawing, in every step, on the print."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.pattern.model import Dart, SizedPiece
from propagate.values import dataclass

__all__ = ["LetterKind", "Lettered", "count_in_letters", "in_tip", "letters_of"]

Array = npt.NDArray[np.float64]

LetterKind = Literal["corner", "notch", "dart leg", "mark", "dart tip", "drill mark", "line end"]

_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""I and O are left out: they read as figures (common practice, no source)."""
_AT_CORNER_MM = 0.05


@dataclass(frozen=True, eq=False)
class Lettered:
    """A corner or mark with its letter.

    Attributes
    ----------
    letter : str
        ``A``, ``B``, ...; two letters beyond ``Z``.
    name : str
        Of a corner the two edges that meet in it, in words; else of the mark.
    key : str
        ``EDGE.end`` of the edge that ends in a corner, the name of a landmark,
        ``DART.tip``, ``drill.NAME``, ``LINE.start`` or ``LINE.end``.
    point : (2,) array, mm
        In the frame of the piece.
    """

    letter: str
    kind: LetterKind
    name: str
    key: str
    point: Array


def letters_of(piece: SizedPiece) -> tuple[Lettered, ...]:
    """Give every corner and mark of a piece a letter.

    Corners come first, in outline order from the start of the first edge; then the marks on
    the edges, in outline order; then what lies inside.  A drill mark in the tip of a dart
    goes by the letter of the tip, and the end of a line on a mark or corner by that one's.

    Examples
    --------
    >>> import propagate
    >>> front = propagate.load(propagate.demo_path("slant_trouser")).sized("front", "42")
    >>> [(one.letter, one.name) for one in letters_of(front)][:2]
    [('A', 'centre and waist'), ('B', 'waist and mouth')]
    """
    found = tuple(_find_lettered(piece))
    marks = [point for kind, _, _, point in found if kind != "line end"]
    return tuple(
        Lettered(
            count_in_letters(i, _LETTERS), kind, name, key, np.asarray(point, dtype=np.float64)
        )
        for i, (kind, name, key, point) in enumerate(found)
        if not (kind == "drill mark" and any(in_tip(dart, point) for dart in piece.darts))
        and not (kind == "line end" and _is_near(point, marks))
    )


def _is_near(point: npt.ArrayLike, others: Sequence[npt.ArrayLike]) -> bool:
    away = np.asarray(others) - np.asarray(point)
    return float(np.hypot(away[:, 0], away[:, 1]).min()) < _AT_CORNER_MM


def in_tip(dart: Dart, point: npt.ArrayLike) -> bool:
    """Tell whether a point lies in the tip of a dart."""
    return float(np.hypot(*(np.asarray(dart.tip) - np.asarray(point)))) < _AT_CORNER_MM


def count_in_letters(index: int, letters: str) -> str:
    """Write a number, from 0 on, as spreadsheets count columns: ``A``, ``B``, ..., then ``AA``.

    Examples
    --------
    >>> count_in_letters(1, "ABC"), count_in_letters(3, "ABC")
    ('B', 'AA')
    """
    found = ""
    while index >= 0:
        index, last = divmod(index, len(letters))
        found, index = letters[last] + found, index - 1
    return found


def _find_lettered(piece: SizedPiece) -> Iterator[tuple[LetterKind, str, str, npt.ArrayLike]]:
    """Find kind, name, key and point of all that gets a letter, in the order of the letters."""
    for before, after in zip((piece.edges[-1], *piece.edges), piece.edges, strict=False):
        name = before.name if len(piece.edges) == 1 else f"{before.name} and {after.name}"
        yield "corner", name, f"{before.name}.end", after.points[0]
    for edge in piece.edges:
        rows = [(piece.distance(edge.name, m.name), m) for m in piece.landmarks_on(edge.name)]
        for along, mark in sorted(rows, key=lambda row: row[0]):
            if min(along, edge.length - along) >= _AT_CORNER_MM:
                yield mark.kind, mark.name, mark.name, mark.point
    for dart in piece.darts:
        yield "dart tip", dart.name, f"{dart.name}.tip", dart.tip
    for drill in piece.drills:
        yield "drill mark", drill.name, f"drill.{drill.name}", drill.point
    for line in piece.lines:
        yield "line end", f"start of {line.name}", f"{line.name}.start", line.points[0]
        yield "line end", f"end of {line.name}", f"{line.name}.end", line.points[-1]
