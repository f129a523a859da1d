"""What a page is about: a result, or a set in one size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from functools import cached_property
from typing import Literal

from propagate.engine.record import PieceChange, Record
from propagate.engine.run import Result
from propagate.engine.walk import Walk, walk
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.report.lead_sentence import largest_changes
from propagate.report.scene.piece import shown_changes
from propagate.report.units import Unit
from propagate.values import dataclass

__all__ = ["STATUS_WORDS", "State", "Subject", "subject_of"]

State = Literal["changed", "touched", "untouched"]
STATUS_WORDS: Mapping[State, str] = {
    "changed": "changed",
    "touched": "as drawn, checked",
    "untouched": "as drawn",
}


@dataclass(frozen=True)
class Subject:
    """A result or a set, in the size that is shown.

    Attributes
    ----------
    result : Result or None
        None when a set is shown that nothing was done to.
    records : mapping of size to Record
        Of a revised set, the records of all its sizes.
    """

    pattern: PatternSet
    size: str
    unit: Unit
    result: Result | None = None
    records: Mapping[str, Record] = field(default_factory=dict)

    @property
    def revised(self) -> bool:
        """Whether pieces were revised or edited, so that girths may have changed."""
        return self.record is not None and self.record.options.changes_girths

    @property
    def record(self) -> Record | None:
        """The record of a result."""
        return self.result.record if self.result is not None else None

    @cached_property
    def walked(self) -> Walk:
        """Every relation, walked in the size that is shown."""
        return walk(self.pattern, self.size)

    @cached_property
    def changes(self) -> Mapping[str, PieceChange]:
        """What became of each piece that was reached."""
        return {change.piece: change for change in self.record.pieces} if self.record else {}

    @cached_property
    def largest(self) -> Mapping[str, Sequence[str]]:
        """The largest figures of each piece that has any."""
        return largest_changes(self.result, self.unit) if self.result is not None else {}

    @cached_property
    def ids(self) -> Mapping[str, str]:
        """A short id for every piece, safe to stand in a page whatever its name."""
        return {name: f"p{i}" for i, name in enumerate(self.pattern.pieces)}

    def sized(self, piece: str) -> SizedPiece:
        """A piece in the size that is shown."""
        return self.pattern.sized(piece, self.size)

    def state(self, piece: str) -> State:
        """Whether a piece changed, was only looked at, or was not reached."""
        change = self.changes.get(piece)
        if change is None:
            return "untouched"
        return "touched" if change.status == "same" else "changed"

    @cached_property
    def shown(self) -> Mapping[str, PieceChange]:
        """What became of each piece of which there is something to show."""
        return shown_changes(self.record) if self.record is not None else {}

    def changed_edge(self, key: str) -> bool:
        """Whether ``PIECE.EDGE`` was moved or reshaped."""
        piece, _, edge = key.partition(".")
        change = self.changes.get(piece)
        return change is not None and any(
            item.edge == edge and item.status != "same" for item in change.edges
        )


def subject_of(
    source: PatternSet | Result,
    size: str | None,
    unit: Unit,
    records: Mapping[str, Record] | None = None,
) -> Subject:
    """Choose the size to show; raises UnknownName for one that the set does not have."""
    pattern = source.pattern if isinstance(source, Result) else source
    if size is not None:
        pattern.check_size(size)
    result = source if isinstance(source, Result) else None
    shown = size or (pattern.base if result is None else result.record.size)
    if result is not None and not records:
        records = {shown: result.record}
    return Subject(pattern, shown, unit, result, records or {})
