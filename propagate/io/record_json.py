"""Read ``record.json``: strict about the format number and the shape of what is used."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np

from propagate.engine.record import Change, EdgeChange, Notice, PieceChange, Record, Status
from propagate.errors import FormatError
from propagate.io.checks import Problems, Table, check_format
from propagate.io.limits import MOST_POINTS
from propagate.pattern.model import Array, frozen_points

__all__ = ["FORMAT", "REVISED_FORMAT", "read_record", "read_revised"]

FORMAT = 1
REVISED_FORMAT = 1
_GROUPS = ("seams", "openings", "stacks", "bands", "girths", "corners", "fairness")
_STATUSES: dict[str, Status] = {"same": "same", "moved": "moved", "reshaped": "reshaped"}


def read_record(text: str, source: str) -> Record:
    """Read the text of a record.

    Keys that this program does not know are passed over: a format number stands for what
    must be understood, and a later version of the same format may add to it.

    Parameters
    ----------
    text : str
    source : str
        Name of the file, for messages.

    Raises
    ------
    FormatError
        Broken syntax (with line and column), a newer format, or wrong types; all
        problems at once.
    """
    problems = Problems(source)
    table = Table(_parsed(text, source), "", problems)
    check_format(table, FORMAT)
    record = _record_of(table)
    problems.stop_if_any()
    return record


def read_revised(text: str, source: str) -> Mapping[str, Record]:
    """Read the text of ``revised.json``: the record of a revision in each size.

    Parameters
    ----------
    text : str
    source : str
        Name of the file, for messages.

    Raises
    ------
    FormatError
        As `read_record`.
    """
    problems = Problems(source)
    table = Table(_parsed(text, source), "", problems)
    check_format(table, REVISED_FORMAT)
    rows = table.table("records")
    records = {size: _record_of(rows.table(size)) for size in rows}
    problems.stop_if_any()
    return records


def _record_of(table: Table) -> Record:
    """Read a record from a table; its problems are noted there."""
    return Record(
        edit=_mapping(table, "edit"),
        set_name=table.text("set_name"),
        size=table.text("size"),
        changes=tuple(_change(row) for row in _rows(table, "changes", "id")),
        pieces=tuple(_piece(row) for row in _rows(table, "pieces", "piece")),
        **{group: tuple(row.values for row in _rows(table, group, "name")) for group in _GROUPS},
        match=_mapping(table, "match"),
        warnings=tuple(
            Notice(row.text("where"), row.text("text")) for row in _rows(table, "warnings", "where")
        ),
    )


def _parsed(text: str, source: str) -> object:
    """Parse JSON; raises FormatError with line and column."""
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        raise FormatError(
            f"{source}: line {error.lineno}, column {error.colno}: not readable as JSON "
            f"({error.msg})"
        ) from error
    except RecursionError as error:
        raise FormatError(f"{source}: not readable as JSON (nested too deeply)") from error
    except ValueError as error:  # a number of thousands of digits
        why = str(error).partition(";")[0]
        raise FormatError(f"{source}: not readable as JSON ({why})") from error


def _rows(table: Table, key: str, naming: str) -> list[Table]:
    return table.tables(key, naming=naming)


def _mapping(table: Table, key: str) -> Mapping[str, Any]:
    return table.table(key).values


def _number(table: Table, key: str) -> float:
    value = table.raw(key)
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return float(value)
    if key in table:
        table.wrong(key, "a number")
    return 0.0


def _change(row: Table) -> Change:
    return Change(row.text("id"), row.text("what"), _cause(row))


def _cause(row: Table) -> str | None:
    return None if row.raw("cause") is None else row.text("cause")


def _piece(row: Table) -> PieceChange:
    before = row.table("before")
    return PieceChange(
        piece=row.text("piece"),
        size=row.text("size"),
        status=_STATUSES[row.choice("status", tuple(_STATUSES))],
        why=row.text("why"),
        edges=tuple(_edge(edge) for edge in row.tables("edges", naming="edge")),
        added_mm2=_number(row, "added_mm2"),
        trimmed_mm2=_number(row, "trimmed_mm2"),
        before={name: _points(before, name) for name in before},
    )


def _edge(row: Table) -> EdgeChange:
    return EdgeChange(
        edge=row.text("edge"),
        status=_STATUSES[row.choice("status", tuple(_STATUSES))],
        before_mm=_number(row, "before_mm"),
        after_mm=_number(row, "after_mm"),
        added_mm=_number(row, "added_mm"),
        trimmed_mm=_number(row, "trimmed_mm"),
    )


def _points(table: Table, key: str) -> Array:
    """Points of one edge: at least two, all finite."""
    found = table.items(key, most=MOST_POINTS)
    sound = len(found) > 1 and all(
        isinstance(item, list)
        and len(item) == 2
        and all(isinstance(v, (int, float)) and not isinstance(v, bool) for v in item)
        for item in found
    )
    stand_in = [[0.0, 0.0], [1.0, 0.0]]
    points = frozen_points(np.array(found if sound else stand_in, dtype=np.float64))
    if not (sound and np.isfinite(points).all()):
        table.wrong(key, "a list of at least two points [x, y]")
    return points
