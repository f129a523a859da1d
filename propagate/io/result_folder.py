"""A result as a folder: a set in the resulting size, its record and its cut lines.

``record.json`` and ``cut_lines.json`` stand beside ``set.toml``, so that a result is a
set like any other.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from propagate.engine.finish import cut_line
from propagate.engine.record import Record, as_plain
from propagate.engine.run import Result
from propagate.errors import FormatError
from propagate.io import folder
from propagate.io.record_json import FORMAT, read_record
from propagate.pattern.patternset import PatternSet

__all__ = ["CUT_LINES_FORMAT", "RECORD_FILE", "has_record", "load_result", "save"]

RECORD_FILE = "record.json"
CUT_LINES_FILE = "cut_lines.json"
CUT_LINES_FORMAT = 1
_DECIMALS = 4


def save(source: PatternSet | Result, path: str | Path, *, replace: bool = False) -> None:
    """Write a set or a result as a folder, completely or not at all.

    Parameters
    ----------
    source : PatternSet or Result
        A result is written with its record and its cut lines.
    path : str or Path
        The folder to write; its parent must exist.
    replace : bool
        Take the place of a set that stands there already.

    Raises
    ------
    OutputError
        The folder exists and is not to be replaced, or cannot be written.
    """
    if isinstance(source, PatternSet):
        folder.save(source, path, replace=replace)
        return
    extra = {
        RECORD_FILE: _rendered({"format": FORMAT, **as_plain(source.record)}),
        CUT_LINES_FILE: _rendered(_cut_lines(source.pattern)),
    }
    folder.save(source.pattern, path, replace=replace, extra=extra)


def has_record(path: str | Path) -> bool:
    """Tell whether a folder is a result: a set with a record."""
    return (_folder(path) / RECORD_FILE).is_file()


def load_result(path: str | Path) -> Result:
    """Load a result with its record.

    Parameters
    ----------
    path : str or Path
        The result's folder, or its ``set.toml``.

    Raises
    ------
    FormatError
        There is no record, or it cannot be read, or its format is newer.
    InvalidSet
        The set breaks rules of the model.
    """
    pattern = folder.load(path)
    file = _folder(path) / RECORD_FILE
    if not file.is_file():
        raise FormatError(
            f"'{_folder(path)}' holds no {RECORD_FILE}; expected the folder of a result, "
            "as a blend writes it"
        )
    return Result(pattern, _record(file))


def _folder(path: str | Path) -> Path:
    found = Path(path)
    return found.parent if found.suffix == ".toml" else found


def _record(file: Path) -> Record:
    try:
        text = file.read_text("utf-8")
    except OSError as error:
        raise FormatError(f"{file}: cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise FormatError(f"{file}: found a byte that is not UTF-8, expected text") from error
    return read_record(text, str(file))


def _cut_lines(pattern: PatternSet) -> dict[str, Any]:
    size = pattern.base
    return {
        "format": CUT_LINES_FORMAT,
        "size": size,
        "pieces": {
            name: (
                cut_line(pattern.sized(name, size), pattern.info[name], size=size)
                .points.round(_DECIMALS)
                .tolist()
            )
            for name in pattern.pieces
        },
    }


def _rendered(value: Mapping[str, Any]) -> bytes:
    """JSON with one entry of each group a line, so that two records can be compared."""
    lines = [f"  {json.dumps(key)}: {_group(item)}" for key, item in value.items()]
    return ("{\n" + ",\n".join(lines) + "\n}\n").encode()


def _group(value: Any) -> str:
    if isinstance(value, dict) and value:
        rows = [f"    {json.dumps(key)}: {_compact(item)}" for key, item in value.items()]
        return "{\n" + ",\n".join(rows) + "\n  }"
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(f"    {_compact(item)}" for item in value) + "\n  ]"
    return _compact(value)


def _compact(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
