"""Which relations of a set before fit a style that is drawn like it, measured on the seam line."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from propagate.engine.walk import Check, walk
from propagate.errors import PropagateError
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.patternset import PatternSet
from propagate.pattern.taken_over import TakenOver, take_over_relations
from propagate.values import dataclass

__all__ = ["Fitted", "take_over_what_fits"]

EASE_MM, EASE_SHARE = 12.0, 0.08
"""What is off by no more, or by no more of its length, may be another ease: carried, and told."""
_NOT_OF_THE_JOIN = frozenset({"girth", "corner"})
"""Checks that compare with a body, or tell of the draft: no reason to doubt the join itself."""


@dataclass(frozen=True)
class Fitted:
    """What was carried, and what of it is to be looked at.

    Attributes
    ----------
    carried : CarriedRelations
    off : tuple of (Check, size)
        Of each relation that does not sew its worst check and the size of that.
    """

    carried: TakenOver
    off: tuple[tuple[Check, str], ...]


def take_over_what_fits(pattern: PatternSet, old: PatternSet, sure: Collection[str]) -> Fitted:
    """Carry the relations that are there and fit by all but an ease, in all sizes.

    Parameters
    ----------
    pattern, old : PatternSet
    sure : collection of str
        Pieces of `pattern` that are those of `old`.
    """
    refused: dict[tuple[str, str], str] = {}
    while True:
        found = take_over_relations(pattern, old, sure, refused)
        whole = replace(pattern, relations=found.relations)
        wrong: dict[tuple[str, str], str] = {}
        off: list[tuple[Check, str]] = []
        for key in KINDS:
            for name in relations_of(found.relations, key):
                try:
                    worst = _find_worst(whole, key, name)
                except PropagateError as error:
                    wrong[key, name] = str(error).rstrip(".")
                    continue
                if worst is None:
                    continue
                check, size = worst
                if check.kind not in _NOT_OF_THE_JOIN and not _may_be_ease(check):
                    wrong[key, name] = (
                        f"it is off by {abs(check.difference):.1f} mm in size {size}: "
                        f"{check.what}, {check.first:.1f} and {check.second:.1f} mm"
                    )
                else:
                    off.append(worst)
        if not wrong:
            return Fitted(found, tuple(off))
        refused |= wrong


def _find_worst(pattern: PatternSet, key: str, name: str) -> tuple[Check, str] | None:
    """The check that is furthest off of those that do not sew, over the sizes."""
    found: list[tuple[Check, str]] = []
    for size in pattern.sizes:
        walked = walk(pattern, size, only={key: [name]}, cut_lines=False)
        found += [(check, size) for check in walked.checks if check.verdict == "does not sew"]
    return max(
        found,
        key=lambda one: (one[0].kind not in _NOT_OF_THE_JOIN, abs(one[0].difference)),
        default=None,
    )


def _may_be_ease(check: Check) -> bool:
    longest = max(abs(check.first), abs(check.second))
    return abs(check.difference) <= max(EASE_MM, EASE_SHARE * longest)
