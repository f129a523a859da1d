"""Warn of what sews but came to be off by so much that it is worth a look."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from propagate.engine.record import Notice, Record
from propagate.engine.rows import Check
from propagate.engine.walk import walk
from propagate.pattern.patternset import PatternSet
from propagate.tolerances import GIRTH_MM

__all__ = ["latest_looks", "warn_of_looks"]

_LOOKS = "off within what is allowed"
"""What such a notice is about."""
_KINDS = ("seam", "notches", "band")


def warn_of_looks(record: Record, source: PatternSet, size: str) -> Record:
    """Warn of seams, notch pairs and zones of bands that are further off than they were.

    Parameters
    ----------
    record : Record
        With all that other parts of the engine warn of.
    source : PatternSet
        As it was before.
    size : str
        The size of it that the result was taken from.

    Returns
    -------
    Record
        The same one when nothing was left to say.
    """
    told = {notice.where for notice in record.warnings}
    rows = [
        row
        for row in (*record.seams, *record.bands)
        if row.kind in _KINDS and row.verdict == "look" and not told & {row.relation, row.name}
    ]
    if not rows:
        return record
    before = _measure_before(source, size, rows)
    said = [
        _make_notice(row, alone=row.kind == "seam" and source.relations.seams[row.relation].check)
        for row in rows
        if abs(row.difference) > abs(before.get(_make_key(row), 0.0)) + GIRTH_MM
    ]
    return replace(record, warnings=(*record.warnings, *said)) if said else record


def latest_looks(notices: Iterable[Notice], rows: Iterable[Check]) -> tuple[Notice, ...]:
    """Of several edits: what is still off after the last of them, by what it is off then.

    Parameters
    ----------
    notices : iterable of Notice
        Of all the edits, in their order.
    rows : iterable of Check
        As they were walked last.
    """
    last = {_make_key(row): row for row in rows}
    found: dict[Notice, None] = {}
    for notice in notices:
        if notice.about[:1] != (_LOOKS,):
            found[notice] = None
            continue
        _, *key, alone = notice.about
        row = last.get(tuple(key))
        if row is not None and row.verdict == "look":
            found[_make_notice(row, alone=bool(alone))] = None
    return tuple(found)


def _measure_before(
    source: PatternSet, size: str, rows: Iterable[Check]
) -> dict[tuple[str, ...], float]:
    """What each row was off by in the source, mm."""
    only: dict[str, list[str]] = {"seam": [], "band": []}
    for row in rows:
        names = only["band" if row.kind == "band" else "seam"]
        if row.relation not in names:
            names.append(row.relation)
    walked = walk(source, size, only=only, cut_lines=False)
    return {_make_key(check): check.difference for check in walked.checks}


def _make_key(row: Check) -> tuple[str, ...]:
    return row.kind, row.name, row.what


def _make_notice(row: Check, *, alone: bool) -> Notice:
    why = ": the seam is only walked, so nothing matched its two sides"
    return Notice(
        row.relation,
        f"{row.what}: they sew, but are {abs(row.difference):.2f} mm apart, and "
        f"{row.tolerance:g} mm are allowed{why if alone else ''}",
        "look at them" if alone else "look at it",
        about=(_LOOKS, row.kind, row.name, row.what, "alone" if alone else ""),
    )
