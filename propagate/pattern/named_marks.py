"""Which landmarks of a piece the relations of a set name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Span

__all__ = ["named_landmarks"]

_SAID = frozenset({"title", "titles"})
"""Fields that are read by people: a title points at nothing, it waits for what it is of."""


def named_landmarks(pattern: PatternSet, piece: str) -> frozenset[str]:
    """Names that relations, and what is said of the piece, use for places on it.

    A name that stands alone, as that of a zone's end does, counts for every piece: rather
    one too many than a relation that points at nothing.
    """
    told = [pattern.relations, pattern.info.get(piece)]
    return frozenset(name for one in told for name in _find_names(one, piece, pattern))


def _find_names(value: Any, piece: str, pattern: PatternSet) -> Iterator[str]:
    if isinstance(value, Span):
        if value.piece == piece:
            yield from (value.begin, value.end)
    elif isinstance(value, str):
        owner, dot, name = value.partition(".")
        if not dot:
            yield value
        elif owner == piece or owner not in pattern.pieces:
            yield name
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from _find_names(key, piece, pattern)
            yield from _find_names(item, piece, pattern)
    elif isinstance(value, tuple | list | set | frozenset):
        for item in value:
            yield from _find_names(item, piece, pattern)
    elif is_dataclass(value) and not isinstance(value, type):
        for one in fields(value):
            if one.name in _SAID:
                continue
            yield from _find_names(getattr(value, one.name), piece, pattern)
