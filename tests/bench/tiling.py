"""Tile a set: many copies of its pieces, relations and levels of place, renamed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import (
    Assembly,
    AssemblyPart,
    Band,
    Girth,
    Opening,
    Place,
    Seam,
    Span,
    Stack,
    StackLayer,
)

__all__ = ["tile"]

_NAMED = {
    Span: ("piece",),
    AssemblyPart: ("piece",),
    Assembly: ("name", "lead"),
    Seam: ("name",),
    Opening: ("name", "silhouette", "piece"),
    StackLayer: ("piece",),
    Stack: ("name", "opening"),
    Band: ("name", "piece"),
    Place: ("piece", "level"),
    Girth: ("name", "silhouettes"),
}


def _renamed(value: Any, prefix: str) -> Any:
    """Put a prefix before every name of a piece or relation inside a relation."""
    if isinstance(value, tuple):
        return tuple(_renamed(item, prefix) for item in value)
    if not is_dataclass(value) or isinstance(value, type):
        return value
    changes: dict[str, Any] = {}
    names = _NAMED.get(type(value), ())
    for field in fields(value):
        old = getattr(value, field.name)
        if field.name in names:
            new: Any = tuple(prefix + n for n in old) if isinstance(old, tuple) else prefix + old
        elif field.name == "notches":
            new = tuple((prefix + a, prefix + b) for a, b in old)
        elif field.name == "crossing":
            new = {end: (prefix + a, prefix + b) for end, (a, b) in old.items()}
        elif field.name == "edges" and isinstance(old, Mapping):
            new = {edge: _renamed(run, prefix) for edge, run in old.items()}
        else:
            new = _renamed(old, prefix)
        changes[field.name] = new
    return replace(value, **changes)


def tile(pattern: PatternSet, copies: int) -> PatternSet:
    """Return a set with `copies` copies; the blend plan stays that of the first."""
    pieces, info = dict(pattern.pieces), dict(pattern.info)
    groups: dict[str, dict[str, Any]] = {
        group: dict(getattr(pattern.relations, group))
        for group in ("assemblies", "seams", "openings", "stacks", "bands", "places", "girths")
    }
    for k in range(1, copies):
        prefix = f"copy{k}_"
        for name, piece in pattern.pieces.items():
            pieces[prefix + name] = Piece(prefix + name, piece.nest)
            info[prefix + name] = pattern.info[name]
        for group, relations in groups.items():
            for name, relation in list(getattr(pattern.relations, group).items()):
                relations[prefix + name] = _renamed(relation, prefix)
    return replace(
        pattern, pieces=pieces, info=info, relations=replace(pattern.relations, **groups)
    )
