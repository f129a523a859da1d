"""Read ``record.json``: strict about the format number and the shape of what is used."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, replace
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, get_args, get_origin, get_type_hints

import numpy as np

from propagate.engine.record import (
    Change,
    ChangeKind,
    EdgeChange,
    Notice,
    PieceChange,
    Record,
    Status,
)
from propagate.engine.rows import (
    BandRow,
    Check,
    FairnessRow,
    GirthRow,
    LayerRow,
    Match,
    OpeningRow,
    TopCorners,
    TruedCorner,
    is_written,
)
from propagate.io.checks import Problems, Table, as_number, check_format
from propagate.io.reading import MOST_POINTS, parse_json
from propagate.pattern.model import Array, frozen_points

__all__ = ["FORMAT", "REVISED_FORMAT", "read_record", "read_revised"]

FORMAT = 1
REVISED_FORMAT = 1
_STATUSES: dict[str, Status] = {"same": "same", "moved": "moved", "reshaped": "reshaped"}

T = TypeVar("T")


def read_record(text: str, source: str) -> Record:
    """Read the text of a record; `source` is the name of its file, for messages.

    Keys that this program does not know are passed over: a format number stands for what
    must be understood, and a later version of the same format may add to it.

    Raises
    ------
    FormatError
        Broken syntax (with line and column), a newer format, or wrong types; all
        problems at once.
    """
    table = _read_table(text, source, FORMAT)
    record = _record_of(table)
    table.problems.stop_if_any()
    return record


def read_revised(text: str, source: str) -> Mapping[str, Record]:
    """Read the text of ``revised.json``: the record of a revision in each size.

    Raises
    ------
    FormatError
        As `read_record`.
    """
    table = _read_table(text, source, REVISED_FORMAT)
    rows = table.table("records")
    records = {size: _record_of(rows.table(size)) for size in rows}
    table.problems.stop_if_any()
    return records


def _read_table(text: str, source: str, supported: int) -> Table:
    table = Table(parse_json(text, source), "", Problems(source))
    check_format(table, supported)
    return table


def _record_of(table: Table) -> Record:
    """Read a record from a table; its problems are noted there."""
    match = table.table("match")
    return Record(
        edit=_read_edit(table.table("edit")),
        set_name=table.text("set_name"),
        size=table.text("size"),
        changes=_read_rows(table, "changes", "id", _read_change),
        pieces=_read_rows(table, "pieces", "piece", _read_piece),
        seams=_read_rows(table, "seams", "name", lambda row: _read_check(row, Check)),
        openings=_read_rows(table, "openings", "opening", lambda row: _read_row(row, OpeningRow)),
        stacks=_read_rows(table, "stacks", "piece", lambda row: _read_row(row, LayerRow)),
        bands=_read_rows(table, "bands", "name", lambda row: _read_check(row, BandRow)),
        girths=_read_rows(table, "girths", "girth", lambda row: _read_row(row, GirthRow)),
        corners=_read_rows(table, "corners", "name", _read_corner),
        fairness=_read_rows(table, "fairness", "edge", lambda row: _read_row(row, FairnessRow)),
        match=_read_row(match, Match) if match.values else None,
        warnings=tuple(
            Notice.read(row.text("where"), row.text("text"), row.text("typed", ""))
            for row in table.tables("warnings", naming="where")
        ),
    )


def _read_rows(table: Table, key: str, naming: str, read: Callable[[Table], T]) -> tuple[T, ...]:
    return tuple(read(row) for row in table.tables(key, naming=naming))


def _read_piece(row: Table) -> PieceChange:
    before = row.table("before")
    return PieceChange(
        piece=row.text("piece"),
        size=row.text("size"),
        status=_STATUSES[row.choice("status", tuple(_STATUSES))],
        why=row.text("why"),
        edges=_read_rows(row, "edges", "edge", lambda edge: _read_row(edge, EdgeChange)),
        added_mm2=_read_number(row, "added_mm2"),
        trimmed_mm2=_read_number(row, "trimmed_mm2"),
        before={name: _read_points(before, name) for name in before},
        also=row.texts("also"),
    )


def _read_points(table: Table, key: str) -> Array:
    """Points of one edge: at least two, all finite."""
    found = table.items(key, most=MOST_POINTS)
    sound = len(found) > 1 and all(
        isinstance(item, list) and len(item) == 2 and None not in map(as_number, item)
        for item in found
    )
    stand_in = [[0.0, 0.0], [1.0, 0.0]]
    points = frozen_points(np.array(found if sound else stand_in, dtype=np.float64))
    if not (sound and np.isfinite(points).all()):
        table.wrong(key, "a list of at least two points [x, y]")
    return points


C = TypeVar("C", Check, BandRow)

_BETWEEN_SIDES = " | "
_AT_END = re.compile(r"(?P<side>.*), at the (?P<end>start|end): \S+ \+ \S+")
"""How the words of a corner's second side end: at which end of the seam, and two angles."""
_LARGEST = 1e300
_find_types = cache(get_type_hints)  # of the fields of a row


def _read_row(table: Table, row: type[T]) -> T:
    """Read a row; a key that is missing takes its field's default, or is a problem.

    Keys that the row does not have are passed over.
    """
    kinds = _find_types(row)  # type: ignore[arg-type]  # a type is hashable
    found = {}
    for item in fields(row):  # type: ignore[arg-type]
        if not item.init or not is_written(item.metadata):
            continue
        required = item.default is MISSING and item.default_factory is MISSING
        if required or item.name in table:
            found[item.name] = _read_value(table, item.name, kinds[item.name])
    return row(**found)


def _read_check(table: Table, row: type[C]) -> C:
    """Read what was walked; its sides one by one are found in its words."""
    check = _read_row(table, row)
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


def _read_corner(table: Table) -> Check | TopCorners | TruedCorner:
    """Read one row of the corners, of any kind."""
    kind = table.choice("kind", ("corner", "top corners", "trued corner"))
    if kind == "top corners":
        return _read_row(table, TopCorners)
    if kind == "trued corner":
        return _read_row(table, TruedCorner)
    return _read_check(table, Check)


def _read_edit(table: Table) -> Mapping[str, Any]:
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
            _read_number(table, key)
    return table.values


def _read_change(table: Table) -> Change:
    """Read a change; one whose kind is missing or not known yet has the kind UNTOLD."""
    kind = table.optional_text("kind") or ""
    known = kind in set(ChangeKind)
    return Change(
        id=table.text("id"),
        kind=ChangeKind(kind) if known else ChangeKind.UNTOLD,
        what=table.text("what"),
        cause=None if table.raw("cause") is None else table.text("cause"),
    )


def _read_number(table: Table, key: str) -> float:
    """Read a finite number; required."""
    value = as_number(table.raw(key, required=True))
    if value is not None and abs(value) < _LARGEST:
        return float(value)
    if key in table:
        table.wrong(key, "a finite number")
    return 0.0


def _read_value(table: Table, key: str, kind: Any) -> Any:
    """Read the value of one field, by the type that it has."""
    if get_origin(kind) is UnionType:  # something, or None
        (kind,) = (one for one in get_args(kind) if one is not type(None))
        return None if table.raw(key) is None else _read_value(table, key, kind)
    if get_origin(kind) is Literal:
        return table.choice(key, get_args(kind))
    if get_origin(kind) is tuple:
        return tuple(_read_row(row, get_args(kind)[0]) for row in table.tables(key, naming="edge"))
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
    float: _read_number,
}
