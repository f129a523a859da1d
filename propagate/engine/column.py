"""The resulting size as a set of its own, made on demand.

A piece that was re-cut is new; every other piece is taken from the size of its place.
Pieces are put together only when somebody asks for them, so that the cost of an edit
follows the change and not the set.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from propagate.engine.state import State
from propagate.engine.welts.sizes import welts_in_size
from propagate.pattern.by_size import relations_in_size
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet, Relations

__all__ = ["ColumnPieces", "column_of"]


class ColumnPieces(Mapping[str, Piece]):
    """Pieces of one resulting size.

    Parameters
    ----------
    pieces : mapping of name to Piece
        The source set's pieces.
    size : str
        Name of the resulting size.
    recut : mapping of name to SizedPiece
    taken : mapping of name to the size a piece is taken from
    default : str
        Size for all others.
    """

    def __init__(
        self,
        pieces: Mapping[str, Piece],
        size: str,
        recut: Mapping[str, SizedPiece],
        taken: Mapping[str, str],
        default: str,
    ) -> None:
        self._pieces, self._size = pieces, size
        self._recut, self._taken, self._default = dict(recut), dict(taken), default
        self._made: dict[str, Piece] = {}

    def __getitem__(self, name: str) -> Piece:
        if name not in self._made:
            sized = self._recut.get(name)
            if sized is None:
                sized = self._pieces[name].at(self.source_size(name))
            self._made[name] = Piece(name, {self._size: sized})
        return self._made[name]

    @property
    def changed(self) -> tuple[str, ...]:
        """Pieces that were re-cut, or taken in a size of their own."""
        return tuple(dict.fromkeys((*self._recut, *self._taken)))

    def source_size(self, name: str) -> str:
        """Size that a piece was taken from."""
        return self._taken.get(name, self._default)

    def __iter__(self) -> Iterator[str]:
        return iter(self._pieces)

    def __len__(self) -> int:
        return len(self._pieces)


def column_of(state: State, said: Relations) -> PatternSet:
    """The set that holds the resulting size alone, joined as the set says it."""
    pattern, job = state.pattern, state.job
    pieces = ColumnPieces(pattern.pieces, job.name, state.pieces, state.taken, job.size)
    # body measurements of the resulting size: each level's from the size it was given
    return replace(
        pattern,
        sizes=(job.name,),
        base=job.name,
        pieces=pieces,
        relations=welts_in_size(relations_in_size(said, state.size_of), state),
        chart={row: {job.name: values[job.at(row)]} for row, values in job.pattern.chart.items()},
    )
