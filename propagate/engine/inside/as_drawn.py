"""What the lines inside a piece rest on and run along, as the set has them: found out once."""

from __future__ import annotations

from functools import cached_property
from weakref import WeakKeyDictionary

from propagate.engine.inside.contacts import Contact, contacts_of
from propagate.engine.inside.parallels import Parallel, parallel_of
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["AsDrawn", "as_drawn"]

_KNOWN: WeakKeyDictionary[PatternSet, dict[tuple[str, str], AsDrawn]] = WeakKeyDictionary()
"""Sets are immutable, and a line follows the outline in one edit after the other."""


class AsDrawn:
    """Lines inside one piece in one size.

    Parameters
    ----------
    others : list of SizedPiece
        The piece in its other sizes.
    """

    def __init__(self, piece: SizedPiece, others: list[SizedPiece]) -> None:
        self.others = others
        self._piece = piece
        self._parallels: dict[str, Parallel | None] = {}

    @cached_property
    def contacts(self) -> dict[str, tuple[Contact, Contact]]:
        """What the ends of each line rest on."""
        lines = {line.name: line.points for line in self._piece.lines}
        return {
            name: contacts_of(
                self._piece, points, {n: other for n, other in lines.items() if n != name}
            )
            for name, points in lines.items()
        }

    def parallel(self, line: str) -> Parallel | None:
        """Return the edge that a line is parallel to in every size, or None."""
        if line not in self._parallels:
            self._parallels[line] = parallel_of(line, self._piece, self.others)
        return self._parallels[line]


def as_drawn(pattern: PatternSet, piece: str, size: str) -> AsDrawn:
    """Return what is known of the lines inside a piece of a set in one size."""
    known = _KNOWN.setdefault(pattern, {})
    if (piece, size) not in known:
        nest = pattern.piece(piece).nest
        others = [other for name, other in nest.items() if name != size]
        known[piece, size] = AsDrawn(nest[size], others)
    return known[piece, size]
