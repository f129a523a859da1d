"""The kinds of relations: one line for each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from propagate.pattern import relations as told_by
from propagate.pattern.told import told_fields

__all__ = ["BLEND", "KINDS", "Kind", "kind_of"]


@dataclass(frozen=True)
class Kind:
    """A kind of relation.

    Attributes
    ----------
    key : str
        Its word: the key of its tables in TOML, and what messages call it.
    kept : str
        Where a set keeps its relations of the kind: a field of `Relations`.
    relation : type
        The dataclass, each field of which tells of itself.
    """

    key: str
    kept: str
    relation: type[Any]

    @property
    def naming(self) -> str:
        """The field that names one of its relations: the first."""
        return told_fields(self.relation)[0].name


KINDS: dict[str, Kind] = {
    kind.key: kind
    for kind in (
        Kind("assembly", "assemblies", told_by.Assembly),
        Kind("seam", "seams", told_by.Seam),
        Kind("opening", "openings", told_by.Opening),
        Kind("stack", "stacks", told_by.Stack),
        Kind("band", "bands", told_by.Band),
        Kind("place", "places", told_by.Place),
        Kind("girth", "girths", told_by.Girth),
    )
}
"""By their word, in the order in which they are written and checked."""

BLEND = Kind("blend", "blend", told_by.BlendPlan)
"""What a set says of blends: one table, not a list."""


def kind_of(relation: object) -> Kind:
    """Return the kind of a relation."""
    return next(kind for kind in KINDS.values() if kind.relation is type(relation))
