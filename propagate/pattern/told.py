"""What a relation tells of its own fields, once.

A field of a relation carries its form, a sentence and, as its dataclass default, what it is
when nothing is said.  From this follow the reading and the writing of TOML, the JSON Schema
and the reference tables of the documentation.
"""

from __future__ import annotations

from dataclasses import MISSING, fields
from typing import Any, Literal

from propagate.values import dataclass

__all__ = ["TITLE", "Form", "Told", "ToldField", "either_of", "told", "told_fields"]

Form = Literal[
    "edge",  # PIECE.EDGE, or ASSEMBLY.EDGE
    "dart",  # PIECE.DART
    "place",  # on an edge: start, end, a landmark, a level, a length
    "places",
    "amount",  # mm, a share of the length, or mm by size
    "amounts",  # one, or a list of them
    "angle",  # degrees
    "name",  # of a piece, an edge, a landmark: no blanks, no dots
    "levels",  # the name of one, or a list of them
    "text",
    "texts",
    "length",  # mm, 0 or more
    "width",  # mm, 0 or more, or one for each size
    "lengths",
    "ease",  # of a seam: an amount, a share, a range, by size, by zones
    "zone ease",  # as that, but for the zones
    "flag",
    "count",
    "choice",
    "run",  # spans sewn as one line
    "runs",
    "pairs",
    "names",  # a small table of name = "name"
    "runs by name",  # a table of its own, of name = run
    "pairs by end",  # a table of its own: start and end of a run, a pair of edges each
    "rows",  # a list of small tables, written one a line
    "tables",  # a list of tables of their own
    "table",  # one table of its own
]


@dataclass(frozen=True)
class Told:
    """What is told of one field.

    Attributes
    ----------
    form : Form
    doc : str
        What the field says, in one sentence without its full stop.
    key : str
        Its key in TOML where that is not its name.
    of : type or None
        The dataclass of the tables in it.
    label : str
        What messages call one of these tables; empty: as the key.
    choices : tuple of str
        The words of a choice.
    pair : str
        What a pair is, in words.
    at_least : int
        The fewest pairs.
    always : bool
        Written also where it is the default.
    unless : (str, str) or None
        The flag beside which the field is left out, and what is expected then.
    """

    form: Form
    doc: str
    key: str = ""
    of: type[Any] | None = None
    label: str = ""
    choices: tuple[str, ...] = ()
    pair: str = ""
    at_least: int = 0
    always: bool = False
    unless: tuple[str, str] | None = None


@dataclass(frozen=True)
class ToldField:
    """A field of a relation: its name in Python, key in TOML, default and what is told."""

    name: str
    key: str
    told: Told
    default: Any

    @property
    def required(self) -> bool:
        """Whether it has to be said."""
        return self.default is MISSING


_KNOWN: dict[type[Any], tuple[ToldField, ...]] = {}


def told(form: Form, doc: str, **more: Any) -> dict[str, Told]:
    """Metadata for ``dataclasses.field``: see `Told`."""
    return {"told": Told(form, doc, **more)}


TITLE = told("text", "what it is called where a person reads; else its name, made readable")
"""What a relation that people read of tells of its title."""


def told_fields(relation: type[Any]) -> tuple[ToldField, ...]:
    """Fields of a relation in their order; each tells of itself."""
    known = _KNOWN.get(relation)
    if known is not None:
        return known
    found = []
    for one in fields(relation):
        if one.name in getattr(relation, "untold", ()):
            continue
        words: Told = one.metadata["told"]
        default = one.default
        if one.default_factory is not MISSING:
            default = one.default_factory()
        found.append(ToldField(one.name, words.key or one.name, words, default))
    _KNOWN[relation] = tuple(found)
    return _KNOWN[relation]


def either_of(relation: type[Any]) -> tuple[tuple[str, ...], ...]:
    """Groups of keys of which exactly one is said; none where there is no choice."""
    found: tuple[tuple[str, ...], ...] = getattr(relation, "either", ())
    return found
