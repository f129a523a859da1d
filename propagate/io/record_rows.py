"""Read rows of a record into their types: strict about each key that a row has."""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Mapping
from dataclasses import MISSING, fields, replace
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

from propagate.engine.record import Change, ChangeKind
from propagate.engine.rows import BandRow, Check, Match, TopCorners, TruedCorner, is_written
from propagate.io.checks import Table, as_number

__all__ = [
    "read_change",
    "read_check",
    "read_corner",
    "read_edit",
    "read_match",
    "read_number",
    "read_row",
]

T = TypeVar("T")
C = TypeVar("C", Check, BandRow)

_BETWEEN_SIDES = " | "
_AT_END = re.compile(r"(?P<side>.*), at the (?P<end>start|end): \S+ \+ \S+")
"""How the words of a corner's second side end: at which end of the seam, and two angles."""
_LARGEST = 1e300


def read_row(table: Table, row: type[T]) -> T:
    """Read a row; a key that is missing takes its field's default, or is a problem.

    Keys that the row does not have are passed over.
    """
    kinds = _find_kinds(row)  # type: ignore[arg-type]  # a type is hashable
    found = {}
    for item in fields(row):  # type: ignore[arg-type]
        if not item.init or not is_written(item.metadata):
            continue
        required = item.default is MISSING and item.default_factory is MISSING
        if required or item.name in table:
            found[item.name] = _read_value(table, item.name, kinds[item.name])
    return row(**found)


def read_check(table: Table, row: type[C]) -> C:
    """Read what was walked; its sides one by one are found in its words."""
    check = read_row(table, row)
    relation, _, part = check.name.partition(" ")
    first, _, second = check.what.partition(_BETWEEN_SIDES)
    told = _AT_END.fullmatch(second) if check.kind == "corner" else None
    if told is None:
        return replace(check, relation=relation, part=part, sides=(first, second))
    return replace(
        check,
        difference=check.first - check.second,  # earlier versions wrote it the other way round
        relation=relation,
        part=part,
        sides=(first, told["side"]),
        end=told["end"],
    )


def read_corner(table: Table) -> Check | TopCorners | TruedCorner:
    """Read one row of the corners, of any kind."""
    kind = table.choice("kind", ("corner", "top corners", "trued corner"))
    if kind == "top corners":
        return read_row(table, TopCorners)
    if kind == "trued corner":
        return read_row(table, TruedCorner)
    return read_check(table, Check)


def read_match(table: Table) -> Match | None:
    """Read how far two sides were apart; None where nothing was matched."""
    return read_row(table, Match) if table.values else None


def read_edit(table: Table) -> Mapping[str, Any]:
    """Read the edit: every key is kept, and what reports ask for is checked."""
    table.text("kind")
    table.texts("pieces")
    sizes = table.table("sizes")
    for level in sizes:
        sizes.text(level)
    for key in ("follow", "top", "pocket", "pocket_size", "leg_size"):
        if table.raw(key) is not None:
            table.text(key)
    for key in ("rise", "hold"):
        if not isinstance(table.raw(key), (str, NoneType)):
            read_number(table, key)
    return table.values


def read_change(table: Table) -> Change:
    """Read a change; one whose kind is missing or not known yet has the kind UNTOLD."""
    kind = table.optional_text("kind") or ""
    known = kind in set(ChangeKind)
    return Change(
        id=table.text("id"),
        kind=ChangeKind(kind) if known else ChangeKind.UNTOLD,
        what=table.text("what"),
        cause=None if table.raw("cause") is None else table.text("cause"),
    )


def read_number(table: Table, key: str) -> float:
    """Read a finite number; required."""
    value = as_number(table.raw(key, required=True))
    if value is not None and abs(value) < _LARGEST:
        return float(value)
    if key in table:
        table.wrong(key, "a finite number")
    return 0.0


@cache
def _find_kinds(row: Hashable) -> Mapping[str, Any]:
    """Type of every field of a row."""
    return get_type_hints(row)


def _read_value(table: Table, key: str, kind: Any) -> Any:
    """Read the value of one field, by the type that it has."""
    if get_origin(kind) is UnionType:  # something, or None
        (kind,) = (one for one in get_args(kind) if one is not type(None))
        return None if table.raw(key) is None else _read_value(table, key, kind)
    if get_origin(kind) is Literal:
        return table.choice(key, get_args(kind))
    if get_origin(kind) is tuple:
        return tuple(read_row(row, get_args(kind)[0]) for row in table.tables(key, naming="edge"))
    return _READERS[kind](table, key)


def _read_count(table: Table, key: str) -> int:
    """Read how many; required."""
    value = table.raw(key, required=True)
    if isinstance(value, int) and not isinstance(value, bool) and 0 <= value < _LARGEST:
        return value
    if key in table:
        table.wrong(key, "a whole number of 0 or more")
    return 0


_READERS: Mapping[type, Callable[[Table, str], Any]] = {
    str: Table.text,
    bool: lambda table, key: table.flag(key, required=True),
    int: _read_count,
    float: read_number,
}
