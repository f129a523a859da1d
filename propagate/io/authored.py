"""Mappings that remember the text they were read from.

A piece that no edit touched is written back byte for byte, however its file was laid
out by hand.  The text travels with the mapping that was read from it: an edit makes a
new mapping and so leaves the old text behind by itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeVar

__all__ = ["Authored"]

_Value = TypeVar("_Value")


class Authored(Mapping[str, _Value]):
    """A read-only mapping with the bytes of the file it was read from.

    Equal to any mapping with the same content.

    Attributes
    ----------
    name : str
        Of the piece or set that the file belongs to.
    source : bytes
    """

    def __init__(self, name: str, values: Mapping[str, _Value], source: bytes) -> None:
        self._values = dict(values)
        self.name = name
        self.source = source

    def with_values(self, values: Mapping[str, _Value]) -> Authored[_Value]:
        """The same text with other values, of which the text says nothing."""
        return Authored(self.name, values, self.source)

    def __getitem__(self, key: str) -> _Value:
        return self._values[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def __repr__(self) -> str:
        return f"Authored({self._values!r})"
