"""The tapes of a set that have an ease for each size, in one size or in one more."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from propagate.pattern.ease import EaseSaid, ease_in_size, is_by_size
from propagate.pattern.patternset import Relations
from propagate.pattern.tape import Tape

__all__ = ["tapes_in_size", "with_eases_of_tapes"]


def with_eases_of_tapes(relations: Relations, change: Callable[[Tape], EaseSaid]) -> Relations:
    """Relations in which each tape that has an ease for each size gets another one."""
    tapes = relations.tapes
    if not any(is_by_size(tape.ease) for tape in tapes.values()):
        return relations
    changed = {
        name: replace(tape, ease=change(tape)) if is_by_size(tape.ease) else tape
        for name, tape in tapes.items()
    }
    return replace(relations, tapes=changed)


def tapes_in_size(relations: Relations, size_of: Callable[[str], str]) -> Relations:
    """Tapes with the ease of the size that the first piece of their run was taken from."""
    return with_eases_of_tapes(
        relations, lambda tape: ease_in_size(tape.ease, size_of(tape.run[0].piece))
    )
