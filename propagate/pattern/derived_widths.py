"""Derived pieces with a width for each size, in one size or in one more."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from propagate.pattern.amount import Amount
from propagate.pattern.derived import Derived, Width, width_in_size
from propagate.pattern.patternset import Relations

__all__ = ["widths_in_size", "with_widths"]


def with_widths(relations: Relations, change: Callable[[Derived, Amount], Width]) -> Relations:
    """Relations in which each width that is said for each size is another one."""
    every = relations.derived
    if not any(_is_by_size(derived) for derived in every.values()):
        return relations

    def changed(derived: Derived, width: Width) -> Width:
        return change(derived, width) if isinstance(width, Amount) else width

    def with_edges(derived: Derived) -> Derived:
        edges = tuple(
            replace(one, out=changed(derived, one.out), inside=changed(derived, one.inside))
            for one in derived.edges
        )
        return replace(derived, edges=edges)

    found = {n: with_edges(one) if _is_by_size(one) else one for n, one in every.items()}
    return replace(relations, derived=found)


def widths_in_size(relations: Relations, size_of: Callable[[str], str]) -> Relations:
    """Widths of the size that the main piece was taken from."""

    def held(derived: Derived, width: Amount) -> Width:
        assembly = relations.assemblies.get(derived.of)
        return width_in_size(width, size_of(derived.of if assembly is None else assembly.lead))

    return with_widths(relations, held)


def _is_by_size(derived: Derived) -> bool:
    return any(isinstance(w, Amount) for one in derived.edges for w in (one.out, one.inside))
