"""Files as they are read: which there are, their bytes, their text, and what JSON and TOML say.

Whatever cannot be read is told with its file, and with its line where there is one.  What no
pattern needs is refused with the reason; the limits of drawings stand with their readers.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import cast

from propagate.errors import FormatError, ManyProblems

__all__ = [
    "DEEPEST",
    "LONGEST_NAME",
    "LONGEST_TEXT",
    "MOST_BYTES",
    "MOST_COUNT",
    "MOST_EDGE_POINTS",
    "MOST_ITEMS",
    "MOST_PIECES",
    "MOST_POINTS",
    "MOST_SIZES",
    "MOST_TOML_BYTES",
    "UnreadableFile",
    "decode_text",
    "list_files",
    "parse_json",
    "parse_toml",
    "read_limited",
]


class UnreadableFile(ManyProblems, FormatError):
    """A file that breaks its format; carries every problem found in it.

    Attributes
    ----------
    problems : tuple of str
        One line each, beginning with the file's name.
    """

    def __init__(self, *problems: str) -> None:
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
    except FileNotFoundError as error:
        raise UnreadableFile(f"there is no file '{file}'; look at its name and folder") from error
    except OSError as error:
        raise UnreadableFile(f"{file}: cannot be read ({error.strerror})") from error
    if len(found) > most:
        raise UnreadableFile(
            f"{file}: found more than {most / 1e6:g} MB, expected at most that; "
            "write fewer points or decimals, or parts of the set on their own"
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
            f"{name}: line {line}: found byte 0x{source[error.start]:02x}, expected UTF-8 text"
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
            raise UnreadableFile(f"{source}: key '{again}' stands twice in one object")
        return found

    try:
        return cast(object, json.loads(text, object_pairs_hook=check_keys))
    except json.JSONDecodeError as error:
        where = f"{source}: line {error.lineno}, column {error.colno}"
        raise UnreadableFile(f"{where}: not readable as JSON ({error.msg})") from error
    except FormatError:
        raise
    except RecursionError as error:
        raise UnreadableFile(f"{source}: not readable as JSON (nested too deeply)") from error
    except ValueError as error:  # a number of thousands of digits
        why = str(error).partition(";")[0]
        raise UnreadableFile(f"{source}: not readable as JSON ({why})") from error


MOST_TOML_BYTES = 4_000_000
MOST_BYTES = 64_000_000
"""Of one JSON file; of all geometry files of a set together four times as many."""
MOST_SIZES = 200
MOST_PIECES = 1_000
MOST_ITEMS = 10_000
"""Items of one list: relations of a kind, spans of a run, marks on a piece, edges."""
MOST_EDGE_POINTS = 100_000
MOST_POINTS = 2_000_000
"""Of one piece in all its sizes."""
MOST_COUNT = 1_000
"""Pieces to cut, times that a run is counted in a girth."""
LONGEST_NAME = 200
LONGEST_TEXT = 1_000
DEEPEST = 16
"""Tables and lists in each other."""
_LARGEST_WHOLE = 2**63
"""TOML v1.0.0, section Integer: 64 bits with a sign."""
_AT_LINE = re.compile(r"(.*) \(at line (\d+), column (\d+)\)", re.DOTALL)
_LONG_KEY = re.compile(r"""(?:\.[ \t]{0,8}[\w"'-]{1,64}[ \t]{0,8}){32}""")


def _check_plain(values: object, source: str) -> None:
    """Refuse parsed TOML that is nested too deeply or has whole numbers beyond 64 bits.

    Raises
    ------
    FormatError
        Names the place.
    """
    waiting: list[tuple[object, str, int]] = [(values, "", 0)]
    while waiting:
        value, where, depth = waiting.pop()
        place = f"{source}: {where}" if where else source
        if depth > DEEPEST:
            raise FormatError(f"{place}: nested more than {DEEPEST} deep, expected a set")
        if isinstance(value, Mapping):
            head = f"{where}." if where else ""
            waiting += [(item, f"{head}{key}", depth + 1) for key, item in value.items()]
        elif isinstance(value, Sequence) and not isinstance(value, str):
            waiting += [(item, where, depth + 1) for item in value]
        elif isinstance(value, int) and not -_LARGEST_WHOLE <= value < _LARGEST_WHOLE:
            raise FormatError(
                f"{place}: found a whole number of about {value.bit_length() * 30103 // 100000} "
                "digits, expected one of 64 bits, as TOML has them"
            )


def parse_toml(text: str, source: str) -> dict[str, object]:
    """Parse TOML that is no longer, deeper or larger in its numbers than a set is.

    Raises
    ------
    UnreadableFile
        With line and column, where they are known.
    """
    if len(text) > MOST_TOML_BYTES:
        raise UnreadableFile(
            f"{source}: found {len(text) / 1e6:.1f} million letters, expected at most "
            f"{MOST_TOML_BYTES / 1e6:g} million"
        )
    long_key = _LONG_KEY.search(text)
    if long_key:
        line = text.count("\n", 0, long_key.start()) + 1
        raise UnreadableFile(
            f"{source}: line {line}: found a key of dozens of parts, expected a few, as in "
            "'pieces.front.allowance'"
        )
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        lines = text.split("\n")
        match = _AT_LINE.fullmatch(str(error))
        what, *place = match.groups() if match else (str(error), len(lines), len(lines[-1]) + 1)
        where = f"{source}: line {place[0]}, column {place[1]}"
        raise UnreadableFile(f"{where}: not readable as TOML ({what})") from error
    except RecursionError as error:
        raise UnreadableFile(f"{source}: not readable as TOML (nested too deeply)") from error
    except ValueError as error:  # a number of thousands of digits
        why = str(error).partition(";")[0]
        raise UnreadableFile(f"{source}: not readable as TOML ({why})") from error
    _check_plain(found, source)
    return found
