"""The records of edits that were done one after the other, as one record.

What was measured last holds; what it was before the first edit is what it is compared with.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from propagate.engine.compare import compare_pieces
from propagate.engine.looks import latest_looks
from propagate.engine.record import EDIT, Change, ChangeKind, PieceChange, Record
from propagate.engine.rows import Check, TopCorners, TruedCorner
from propagate.pattern.model import SizedPiece
from propagate.tolerances import GIRTH_MM

__all__ = ["edit_node", "sum_records", "with_trued"]

Row = TypeVar("Row")
Lookup = Callable[[str], SizedPiece]

_TRUING = "truing"
"""Id of the stage that trues corners in the chain of causes."""


def edit_node(name: str) -> str:
    """Id of one of several edits in the chain of causes."""
    return f"edit {name}"


def sum_records(
    steps: Sequence[tuple[str, Record]],
    before: Callable[[str, str], SizedPiece],
    after: Lookup,
    words: str,
) -> Record:
    """Return one record of several edits in one size.

    Parameters
    ----------
    steps : sequence of (name of the edit, its record)
    before : callable
        A piece as it was before the first edit, in the size that it was taken from.
    after : callable
        A piece as it is after the last edit.
    words : str
        All edits in one sentence: the root of every chain of causes.
    """
    records = [record for _, record in steps]
    first, last = records[0], records[-1]
    names = sorted({piece for record in records for piece in record.edit.get("pieces", ())})
    seams = _keep_latest([r.seams for r in records], lambda row: (row.kind, row.name, row.what))
    bands = _with_first([r.bands for r in records], lambda row: row.name, _band_since)
    return Record(
        edit={
            "kind": "edits",
            "pieces": names,
            "follow": last.edit.get("follow"),
            "edits": [{"name": name, **record.edit} for name, record in steps],
        },
        set_name=first.set_name,
        size=first.size,
        changes=_sum_changes(steps, words),
        pieces=_compare_again(records, before, after),
        seams=seams,
        openings=_with_first(
            [r.openings for r in records], lambda row: row.opening, _opening_since
        ),
        stacks=_keep_latest([r.stacks for r in records], lambda row: (row.stack, row.piece)),
        bands=bands,
        girths=_with_first([r.girths for r in records], lambda row: row.girth, _girth_since),
        corners=_sum_corners(records),
        fairness=_keep_latest([r.fairness for r in records], lambda row: row.edge),
        match=last.match,
        warnings=latest_looks((n for r in records for n in r.warnings), (*seams, *bands)),
    )


def with_trued(
    record: Record,
    trued: Record,
    before: Callable[[str, str], SizedPiece],
    after: Lookup,
    source_size: Callable[[str], str],
) -> Record:
    """Return the record of an edit with that of the corners that were trued after it.

    Parameters
    ----------
    record, trued : Record
    before : callable
        A piece as it was before the edit, in a size.
    after : callable
        A piece as it is with its corners trued.
    source_size : callable
        Size that a piece was taken from.
    """
    found = {change.id: change for change in record.changes}
    for change in trued.changes if trued.trued_corners else ():
        if change.id == EDIT:
            found[_TRUING] = Change(_TRUING, ChangeKind.TRUED, change.what, EDIT)
        elif change.id in found:
            known = found[change.id]
            if change.what != known.what:
                found[change.id] = replace(known, what=f"{known.what}; then {change.what}")
        else:
            cause = _TRUING if change.cause == EDIT else change.cause
            found[change.id] = replace(change, cause=cause)
    own = {row.piece: row.size for row in record.pieces}
    more = [replace(row, size=own.get(row.piece) or source_size(row.piece)) for row in trued.pieces]
    both = (record, replace(trued, pieces=tuple(more)))
    summed = sum_records(
        [("", one) for one in both], lambda name, size: before(name, size), after, ""
    )
    return replace(
        summed, edit=record.edit, changes=tuple(found.values()), match=record.match or trued.match
    )


def _sum_changes(steps: Sequence[tuple[str, Record]], words: str) -> tuple[Change, ...]:
    """Every change with the edit that caused it; of a node that changed again, what came after."""
    found = {EDIT: Change(EDIT, ChangeKind.EDIT, words, None)}
    again: dict[str, list[str]] = {}
    for name, record in steps:
        root = edit_node(name)
        for change in record.changes:
            if change.id == EDIT:
                found[root] = replace(change, id=root, cause=EDIT)
            elif change.id in found:
                again.setdefault(change.id, []).append(f"then, by edit '{name}', {change.what}")
            else:
                found[change.id] = replace(
                    change, cause=root if change.cause == EDIT else change.cause
                )
    return tuple(
        replace(change, what="; ".join([change.what, *again.get(node, ())]))
        for node, change in found.items()
    )


def _compare_again(
    records: Sequence[Record], before: Callable[[str, str], SizedPiece], after: Lookup
) -> tuple[PieceChange, ...]:
    rows: dict[str, PieceChange] = {}
    for record in records:
        for piece in record.pieces:
            known = rows.get(piece.piece)
            if known is None or (known.status == "same" != piece.status):
                rows[piece.piece] = piece
    return tuple(
        replace(
            compare_pieces(name, row.size, before(name, row.size), after(name), row.why),
            also=row.also,
        )
        for name, row in rows.items()
    )


def _sum_corners(records: Sequence[Record]) -> tuple[Check | TopCorners | TruedCorner, ...]:
    """The last row of each corner; of one that was trued, what it was before all that."""
    first: dict[tuple[object, ...], TruedCorner] = {}
    for record in records:
        for row in record.trued_corners:
            first.setdefault(_key_corner(row), row)
    return tuple(
        replace(row, before_deg=first[_key_corner(row)].before_deg)
        if isinstance(row, TruedCorner)
        else row
        for row in _keep_latest([r.corners for r in records], _key_corner)
    )


def _key_corner(row: Check | TopCorners | TruedCorner) -> tuple[object, ...]:
    """What makes a row of the corners the same one: its words tell the angles, too."""
    return type(row), row.name, row.what if isinstance(row, TopCorners) else row.end


def _keep_latest(rows: Sequence[Sequence[Row]], key: Callable[[Row], Any]) -> tuple[Row, ...]:
    """The last row of each key, in the order in which the keys came."""
    found: dict[Any, Row] = {}
    for some in rows:
        found.update({key(row): row for row in some})
    return tuple(found.values())


def _with_first(
    rows: Sequence[Sequence[Row]], key: Callable[[Row], Any], since: Callable[[Row, Row], Row]
) -> tuple[Row, ...]:
    """The last row of each key, compared with what the first one found there before."""
    first: dict[Any, Row] = {}
    for some in rows:
        for row in some:
            first.setdefault(key(row), row)
    return tuple(since(first[key(row)], row) for row in _keep_latest(rows, key))


def _opening_since(first: Any, last: Any) -> Any:
    before = first.before_mm
    return replace(last, before_mm=before, difference_mm=last.after_mm - before)


def _band_since(first: Any, last: Any) -> Any:
    return replace(last, before_mm=first.before_mm)


def _girth_since(first: Any, last: Any) -> Any:
    difference = last.found_mm - first.wanted_mm
    return replace(
        last,
        size=first.size,
        wanted_mm=first.wanted_mm,
        difference_mm=difference,
        ok=abs(difference) <= GIRTH_MM,
    )
