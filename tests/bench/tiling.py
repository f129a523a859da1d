"""Tile a set: many copies of its pieces and relations, renamed, each with levels of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from propagate.pattern.ease import Ease
from propagate.pattern.kinds import KINDS, relations_of
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Place

__all__ = ["tile"]

_NAMING = {
    "Span": ("piece",),
    "AssemblyPart": ("piece",),
    "Assembly": ("name", "lead"),
    "Seam": ("name", "notches", "crossing"),
    "Opening": ("name", "silhouette", "piece"),
    "StackLayer": ("piece",),
    "Stack": ("name", "opening"),
    "Band": ("name", "piece"),
    "Place": ("piece", "level"),
    "Girth": ("name", "silhouettes"),
    "SeamOpening": ("name",),
    "Derived": ("piece", "of"),
    "Patch": ("name", "on", "piece"),
    "Alike": ("name", "pieces"),
    "Buttons": ("name",),
    "Pleats": ("name",),
    "Tape": ("name",),
    "WeltPart": ("piece",),
    "WeltOpening": ("name", "on"),
}
"""The fields that name a piece or a relation, alone or before a dot."""


def _renamed(value: Any, prefix: str) -> Any:
    """Put a prefix before every name of a piece or relation inside a relation."""
    if isinstance(value, Mapping):
        return {key: _renamed(item, prefix) for key, item in value.items()}
    if isinstance(value, tuple):
        return tuple(_renamed(item, prefix) for item in value)
    if isinstance(value, Ease):
        zones = [(_prefixed(at, prefix) if "." in at else at, own) for at, own in value.zones]
        return replace(value, zones=tuple(zones))
    if not is_dataclass(value) or isinstance(value, type):
        return value
    naming = _NAMING.get(type(value).__name__, ())
    return replace(
        value,
        **{
            field.name: (_prefixed if field.name in naming else _renamed)(
                getattr(value, field.name), prefix
            )
            for field in fields(value)
        },
    )


def _prefixed(names: Any, prefix: str) -> Any:
    """Put a prefix before a name, or before each of several."""
    if isinstance(names, Mapping):
        return {key: _prefixed(name, prefix) for key, name in names.items()}
    if isinstance(names, tuple):
        return tuple(_prefixed(name, prefix) for name in names)
    return prefix + names if names else names


def _copied(piece: Piece, prefix: str, place: Place | None) -> Piece:
    """A copy of a piece; what it is placed by is a level of its own, which no blend names."""
    if place is None:
        return Piece(prefix + piece.name, piece.nest)
    return Piece(
        prefix + piece.name,
        {
            size: replace(
                sized,
                levels={
                    **sized.levels,
                    prefix + place.level: sized.levels.get(place.level, sized.grain.start),
                },
            )
            for size, sized in piece.nest.items()
        },
    )


def tile(pattern: PatternSet, copies: int) -> PatternSet:
    """Return a set with `copies` copies; the blend plan stays that of the first."""
    pieces, info, old = dict(pattern.pieces), dict(pattern.info), pattern.relations
    groups = {kind.kept: dict(relations_of(old, key)) for key, kind in KINDS.items()}
    for k in range(1, copies):
        prefix = f"copy{k}_"
        for name, piece in pattern.pieces.items():
            pieces[prefix + name] = _copied(piece, prefix, old.places.get(name))
            info[prefix + name] = pattern.info[name]
        for key, kind in KINDS.items():
            for name, relation in relations_of(old, key).items():
                groups[kind.kept][prefix + name] = _renamed(relation, prefix)
    return replace(pattern, pieces=pieces, info=info, relations=replace(old, **groups))
