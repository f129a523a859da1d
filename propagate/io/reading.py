"""Files as they are read: which there are, their bytes, their text, and what JSON says.

Whatever cannot be read is told with its file, and with its line where there is one.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import cast

from propagate.errors import FormatError, ManyProblems

__all__ = ["UnreadableFile", "decode_text", "list_files", "parse_json", "read_limited"]


class UnreadableFile(ManyProblems, FormatError):
    """A file that breaks its format; carries every problem found in it.

    Attributes
    ----------
    problems : tuple of str
        One line each, beginning with the file's name.
    """

    def __init__(self, problems: Sequence[str]) -> None:
        super().__init__(f"{len(problems)} problems:", problems)

    def lines(self) -> list[str]:
        """Return the one problem, or all that are told under a head."""
        return [*self.problems] if len(self.problems) == 1 else super().lines()


def list_files(paths: Iterable[str | Path], *endings: str) -> list[Path]:
    """Return the files themselves, and those in the folders that have one of the endings."""
    found: list[Path] = []
    for path in map(Path, paths):
        inside = sorted(path.iterdir()) if path.is_dir() else [path]
        found += [file for file in inside if file == path or file.suffix.lower() in endings]
    return found


def read_limited(file: Path, most: int) -> bytes:
    """Return the bytes of a file that has no more of them than `most`.

    Raises
    ------
    UnreadableFile
        It is larger, or cannot be read.
    """
    try:
        with file.open("rb") as stream:
            found = stream.read(most + 1)
    except OSError as error:
        raise UnreadableFile([f"{file}: cannot be read ({error.strerror})"]) from error
    if len(found) > most:
        raise UnreadableFile(
            [
                f"{file}: found more than {most / 1e6:g} MB, expected at most that; "
                "write fewer points or decimals, or parts of the set on their own"
            ]
        )
    return found


def decode_text(source: bytes, name: str | Path) -> str:
    """Return UTF-8 text without the mark that may stand in front of it.

    Raises
    ------
    UnreadableFile
        Names the line of a byte that is none of UTF-8.
    """
    try:
        return source.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = source.count(b"\n", 0, error.start) + 1
        raise UnreadableFile(
            [f"{name}: line {line}: found byte 0x{source[error.start]:02x}, expected UTF-8 text"]
        ) from error


def parse_json(text: str, source: str) -> object:
    """Parse JSON in which no object has a key twice.

    Raises
    ------
    UnreadableFile
        With line and column, where they are known.
    """

    def check_keys(pairs: list[tuple[str, object]]) -> dict[str, object]:
        found = dict(pairs)
        if len(found) != len(pairs):
            counts = Counter(key for key, _ in pairs)
            again = next(key for key, count in counts.items() if count > 1)
            raise UnreadableFile([f"{source}: key '{again}' stands twice in one object"])
        return found

    try:
        return cast(object, json.loads(text, object_pairs_hook=check_keys))
    except json.JSONDecodeError as error:
        where = f"{source}: line {error.lineno}, column {error.colno}"
        raise UnreadableFile([f"{where}: not readable as JSON ({error.msg})"]) from error
    except FormatError:
        raise
    except RecursionError as error:
        raise UnreadableFile([f"{source}: not readable as JSON (nested too deeply)"]) from error
    except ValueError as error:  # a number of thousands of digits
        why = str(error).partition(";")[0]
        raise UnreadableFile([f"{source}: not readable as JSON ({why})"]) from error
