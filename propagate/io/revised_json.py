"""``revised.json``: what a revision changed, with a record for each size."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.engine.record import Record
from propagate.io.checks import Problems, Table, check_format
from propagate.io.record_json import parsed, record_of

__all__ = ["FORMAT", "read_revised"]

FORMAT = 1


def read_revised(text: str, source: str) -> Mapping[str, Record]:
    """Read the records of a revision by size.

    Parameters
    ----------
    text : str
    source : str
        Name of the file, for messages.

    Raises
    ------
    FormatError
        Broken syntax, a newer format, or wrong types; all problems at once.
    """
    problems = Problems(source)
    table = Table(parsed(text, source), "", problems)
    check_format(table, FORMAT)
    rows = table.table("records")
    records = {size: record_of(rows.table(size)) for size in rows}
    problems.stop_if_any()
    return records
