"""A set of all sizes that was changed, and the record of each size."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from typing import Literal

from propagate.engine.darts.changes import DartChange
from propagate.engine.record import Notice, Record, Status
from propagate.engine.result import Result
from propagate.engine.revising.marks import RevisedMark
from propagate.errors import EditError
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["Carried", "Revised", "RevisedEdge", "SizedDart", "SizedMark", "merged_sizes"]

Carried = Literal["as drawn", "edited", "millimetres", "proportion"]
"""How a piece came into a size: as drawn or as edited there, or how a change was carried."""


@dataclass(frozen=True)
class RevisedEdge:
    """What became of one edge of a revised piece in one size.

    `carried` is "as drawn" or "edited", or how the base size's change came here:
    "millimetres" or "proportion"; `moved_mm` is how far the edge went at most.
    """

    piece: str
    size: str
    edge: str
    status: Status
    carried: Carried
    moved_mm: float = 0.0


@dataclass(frozen=True)
class SizedMark:
    """What the drawing moved or added on a piece, in one size; see `RevisedMark`."""

    piece: str
    size: str
    carried: Carried
    mark: RevisedMark


@dataclass(frozen=True)
class SizedDart:
    """What the drawing did to a dart of a piece, in one size; see `DartChange`."""

    piece: str
    size: str
    carried: Carried
    dart: DartChange


@dataclass(frozen=True)
class Revised:
    """A revised set and how it came about.

    Attributes
    ----------
    pattern : PatternSet
        All sizes.
    edges : tuple of RevisedEdge
    records : mapping of size to Record
        Of the sizes in which something changed.
    marks : tuple of SizedMark
    darts : tuple of SizedDart
    notices : mapping of size to Notices
        What the drawing leaves open, also of sizes in which nothing changed.
    within : float
        mm within which an edge counted as the same.
    edits : tuple of str
        The edits that were done, in order, a sentence each; empty for a revised drawing.
    """

    pattern: PatternSet
    edges: tuple[RevisedEdge, ...]
    records: Mapping[str, Record]
    marks: tuple[SizedMark, ...] = ()
    darts: tuple[SizedDart, ...] = ()
    notices: Mapping[str, tuple[Notice, ...]] = field(default_factory=dict)
    within: float = 0.05
    edits: tuple[str, ...] = ()

    @property
    def changed(self) -> bool:
        """Whether anything was revised at all."""
        return bool(self.records)

    @property
    def sews(self) -> bool:
        """Whether everything that was reached sews together, in every size."""
        return all(Result(self.pattern, record).sews for record in self.records.values())


def merged_sizes(pattern: PatternSet, results: Mapping[str, Result]) -> PatternSet:
    """Return the set with the changed pieces of every size; the others are the same objects.

    Raises
    ------
    EditError
        When a dart came or went in some sizes alone.
    """
    pieces = dict(pattern.pieces)
    for size, result in results.items():
        for change in result.record.pieces:
            new = result.pattern.sized(change.piece, size)
            if new != pattern.sized(change.piece, size):
                nest = {**pieces[change.piece].nest, size: new}
                pieces[change.piece] = Piece(change.piece, nest)
    for name, piece in pieces.items():
        if piece is not pattern.pieces[name]:
            _check_darts(pattern, piece)
    return replace(pattern, pieces=pieces)


def _check_darts(pattern: PatternSet, piece: Piece) -> None:
    """Check that a dart came or went in every size alike.

    Raises
    ------
    EditError
    """
    alike: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for size in pattern.sizes:
        darts = tuple(sorted((dart.name, dart.edge) for dart in piece.at(size).darts))
        alike.setdefault(darts, []).append(size)
    if len(alike) > 1:
        found = "; ".join(
            f"in size {', '.join(sizes)} "
            + (", ".join(f"'{name}' on '{edge}'" for name, edge in darts) or "none")
            for darts, sizes in alike.items()
        )
        raise EditError(
            f"set '{pattern.name}', piece '{piece.name}': found darts that differ from size to "
            f"size ({found}), expected the same in all; do an edit in every size; of a "
            "drawing send the base size alone, from which the "
            "change is carried, or every size with the same darts"
        )
