"""Read ``record.json``: strict about the format number and the shape of what is used."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

import numpy as np

from propagate.engine.record import EdgeChange, Notice, PieceChange, Record, Status
from propagate.engine.rows import BandRow, Check, FairnessRow, GirthRow, LayerRow, OpeningRow
from propagate.io.checks import Problems, Table, as_number, check_format
from propagate.io.limits import MOST_POINTS
from propagate.io.reading import parse_json
from propagate.io.record_rows import (
    read_change,
    read_check,
    read_corner,
    read_edit,
    read_match,
    read_number,
    read_row,
)
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
    return Record(
        edit=read_edit(table.table("edit")),
        set_name=table.text("set_name"),
        size=table.text("size"),
        changes=_read_rows(table, "changes", "id", read_change),
        pieces=_read_rows(table, "pieces", "piece", _read_piece),
        seams=_read_rows(table, "seams", "name", lambda row: read_check(row, Check)),
        openings=_read_rows(table, "openings", "opening", lambda row: read_row(row, OpeningRow)),
        stacks=_read_rows(table, "stacks", "piece", lambda row: read_row(row, LayerRow)),
        bands=_read_rows(table, "bands", "name", lambda row: read_check(row, BandRow)),
        girths=_read_rows(table, "girths", "girth", lambda row: read_row(row, GirthRow)),
        corners=_read_rows(table, "corners", "name", read_corner),
        fairness=_read_rows(table, "fairness", "edge", lambda row: read_row(row, FairnessRow)),
        match=read_match(table.table("match")),
        warnings=tuple(
            Notice.read(row.text("where"), row.text("text"))
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
        edges=_read_rows(row, "edges", "edge", lambda edge: read_row(edge, EdgeChange)),
        added_mm2=read_number(row, "added_mm2"),
        trimmed_mm2=read_number(row, "trimmed_mm2"),
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
