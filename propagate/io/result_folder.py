"""A result as a folder: a set in the resulting size, its record and its cut lines.

``record.json`` and ``cut_lines.json`` stand beside ``set.toml``, so that a result is a
set like any other.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace as replace_fields
from pathlib import Path
from typing import Any

from propagate.engine.finish import cut_line
from propagate.engine.record import Record, as_plain
from propagate.engine.run import Result
from propagate.errors import FormatError
from propagate.io import folder
from propagate.io.output import Written, read_from
from propagate.io.output.sources import Source
from propagate.io.reading import MOST_BYTES, decode_text, read_limited
from propagate.io.record_json import FORMAT, REVISED_FORMAT, read_record, read_revised
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet

__all__ = [
    "CUT_LINES_FORMAT",
    "RECORD_FILE",
    "REVISED_FILE",
    "has_record",
    "has_revision",
    "load_result",
    "revised_bytes",
    "save",
]

RECORD_FILE = "record.json"
REVISED_FILE = "revised.json"
CUT_LINES_FILE = "cut_lines.json"
CUT_LINES_FORMAT = 1
_DECIMALS = 4


def save(
    source: PatternSet | Result,
    path: str | Path,
    *,
    replace: bool = False,
    sources: Sequence[Source] = (),
) -> Written:
    """Write a set or a result as a folder, completely or not at all.

    Parameters
    ----------
    source : PatternSet or Result
        A result is written with its record and its cut lines.
    path : str or Path
        The folder to write; its parent must exist.
    replace : bool
        Take the place of a set that this program wrote there and that nobody changed
        since.  A ``set.toml`` that somebody changed is kept as ``set.toml.1``, ``.2``, ...
    sources : sequence of path
        Files and folders that were read to make this; they are never written to.

    Returns
    -------
    Written
        Names of the files written, and of the ``set.toml`` that was kept.

    Raises
    ------
    OutputError
        The folder exists and is not to be replaced, or cannot be written.
    """
    if isinstance(source, PatternSet):
        return folder.save(source, path, replace=replace, sources=sources)
    pattern, size = source.pattern, source.pattern.base
    lines = {
        name: cut_line(pattern.sized(name, size), pattern.info[name], size=size).points
        for name in pattern.pieces
    }
    pieces = {name: points.round(_DECIMALS).tolist() for name, points in lines.items()}
    cut = {"format": CUT_LINES_FORMAT, "size": size, "pieces": pieces}
    record = {"format": FORMAT, **as_plain(source.record)}
    extra = {RECORD_FILE: _write_json(record), CUT_LINES_FILE: _write_json(cut)}
    return folder.save(pattern, path, replace=replace, extra=extra, sources=sources)


def has_record(path: str | Path) -> bool:
    """Tell whether a folder is a result: a set with a record."""
    return (read_from(path) / RECORD_FILE).is_file()


def has_revision(path: str | Path) -> bool:
    """Tell whether a folder is a revised set: one with a record for each size."""
    return not has_record(path) and (read_from(path) / REVISED_FILE).is_file()


def revised_bytes(value: Mapping[str, Any]) -> bytes:
    """Return the content of ``revised.json``; `value` is plain, without its format."""
    return _write_json({"format": REVISED_FORMAT, **value})


def load_result(path: str | Path, size: str | None = None, *, whole: bool = False) -> Result:
    """Load a result with its record.

    Parameters
    ----------
    path : str or Path
        The result's folder, or its ``set.toml``.
    size : str or None
        Of a revised set, whose sizes have a record each, the size to take; None takes the
        base size.
    whole : bool
        Of a revised set, keep all sizes beside the one that is taken.

    Raises
    ------
    FormatError
        There is no record, or it cannot be read, or its format is newer.
    UnknownName
        For a size that the set does not have.
    InvalidSet
        The set breaks rules of the model.
    """
    pattern = folder.load(path)
    if size is not None:
        pattern.check_size(size)
    file = read_from(path) / RECORD_FILE
    if file.is_file():
        return Result(pattern, read_record(_read_text(file), str(file)))
    file = read_from(path) / REVISED_FILE
    if not file.is_file():
        raise FormatError(
            f"'{read_from(path)}' holds no {RECORD_FILE}; expected the folder of a result, "
            "as a blend or a revision writes it"
        )
    records = read_revised(_read_text(file), str(file))
    chosen = size or pattern.base
    edit = {"kind": "revise", "pieces": []}
    untouched = Record(edit=edit, set_name=pattern.name, size=chosen)
    record = records.get(chosen, untouched)
    if not whole:
        pattern = replace_fields(
            pattern,
            sizes=(chosen,),
            base=chosen,
            pieces={n: Piece(n, {chosen: pattern.sized(n, chosen)}) for n in pattern.pieces},
            chart={row: {chosen: values[chosen]} for row, values in pattern.chart.items()},
        )
    return Result(pattern, record)


def _read_text(file: Path) -> str:
    return decode_text(read_limited(file, 4 * MOST_BYTES), file)


def _write_json(value: Mapping[str, Any]) -> bytes:
    """JSON with one entry of each group a line, so that two records can be compared."""
    groups = []
    for key, item in value.items():
        text = _spell_value(item)
        if isinstance(item, dict) and item:
            rows = [f"    {json.dumps(name)}: {_spell_value(one)}" for name, one in item.items()]
            text = "{\n" + ",\n".join(rows) + "\n  }"
        elif isinstance(item, list) and item:
            text = "[\n" + ",\n".join(f"    {_spell_value(one)}" for one in item) + "\n  ]"
        groups.append(f"  {json.dumps(key)}: {text}")
    return ("{\n" + ",\n".join(groups) + "\n}\n").encode()


def _spell_value(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
