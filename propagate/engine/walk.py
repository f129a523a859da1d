"""Walk a set: does everything that is sewn together fit.

Seams, notch pairs, openings, girths, corner angles and bands are measured on the seam
line.  For every seam the walk also tells what the *cut lines* would have said: matching
them is the classic mistake.  The walk measures and never changes anything.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Literal

from propagate.engine.kinds import WORK
from propagate.engine.rows import Check, Verdict
from propagate.engine.walk_checks import Walked
from propagate.pattern.kinds import relations_of
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["Check", "Kind", "Verdict", "Walk", "walk"]

Kind = Literal["seam", "notches", "opening", "corner", "band", "girth"]
"""What the checks of a set are told by; the checks of another kind have its word."""


@dataclass(frozen=True)
class Walk:
    """Everything that was walked in one size."""

    set_name: str
    size: str
    checks: tuple[Check, ...]

    @property
    def sews(self) -> bool:
        """Whether everything sews together."""
        return all(check.verdict != "does not sew" for check in self.checks)

    def of(self, kind: str) -> tuple[Check, ...]:
        """Checks of one kind."""
        return tuple(check for check in self.checks if check.kind == kind)


def walk(
    pattern: PatternSet,
    size: str | None = None,
    *,
    only: Mapping[str, Collection[str]] | None = None,
    cut_lines: bool = True,
) -> Walk:
    """Walk a set in one size.

    Parameters
    ----------
    pattern : PatternSet
    size : str or None
        None takes the base size.
    only : mapping of relation kind to names, or None
        Restrict the walk to these relations.
    cut_lines : bool
        Also tell what the cut lines would have said.

    Raises
    ------
    UnknownName
        For a size that the set does not have.
    """
    size = pattern.base if size is None else size
    pattern.check_size(size)
    on = Walked(pattern, size, cut_lines)
    checks: list[Check] = []
    for key, work in WORK.items():
        if work.walk is None:
            continue
        group = relations_of(pattern.relations, key)
        for name in group if only is None else only.get(key, ()):
            checks += work.walk(on, group[name])
    return Walk(pattern.name, size, tuple(checks))
