"""What an edit gives: the set in its resulting size, and the record of what changed."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

from propagate.engine.record import Record
from propagate.pattern.patternset import PatternSet

__all__ = ["Result"]


class Result:
    """What an edit gives.

    The record is put together when somebody asks for it: measuring what is told costs more
    than the edit itself.

    Parameters
    ----------
    pattern : PatternSet
        The set in the resulting size alone, same pieces and relations.
    record : Record or callable
        The record, or what makes it.
    """

    def __init__(self, pattern: PatternSet, record: Record | Callable[[], Record]) -> None:
        self._pattern, self._told = pattern, record

    @property
    def pattern(self) -> PatternSet:
        """The set in the resulting size alone, same pieces and relations."""
        return self._pattern

    @cached_property
    def record(self) -> Record:
        """Everything that is known of the propagation."""
        return self._told if isinstance(self._told, Record) else self._told()

    @property
    def sews(self) -> bool:
        """Whether everything that was reached sews together."""
        rows = (*self.record.seams, *self.record.bands)
        sewn = all(row.verdict != "does not sew" for row in rows)
        # A layer that was revised itself is not re-cut and may miss the opening.
        sewn &= all(row.fits is not False for row in self.record.stacks)
        return sewn and all(row.ok for row in self.record.openings)
