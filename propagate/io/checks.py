"""Typed, strict reading of parsed TOML and JSON, collecting every problem.

A `Table` wraps one parsed table.  Asking it for a key checks the type, notes a
problem when it is wrong and returns a harmless stand-in, so that one pass finds
everything that is wrong with a file.  `Table.finish` then refuses the keys that
nobody asked for.  `Problems.stop_if_any` raises what was collected, so no stand-in
ever leaves the reader.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from propagate.errors import nearest_names
from propagate.io.reading import LONGEST_NAME, LONGEST_TEXT, MOST_COUNT, MOST_ITEMS, UnreadableFile
from propagate.lengths import parse_length
from propagate.pattern.names import quote_names
from propagate.visible import quoted, visible

__all__ = [
    "NAME_RULE",
    "SIZE_RULE",
    "Problems",
    "Table",
    "as_number",
    "check_format",
    "is_name",
    "is_size",
    "show_value",
]

NAME_RULE = 'text without blanks, dots or any of / \\ : * ? " < > |'
"""Also at most `LONGEST_NAME` letters, all of which can be seen."""
SIZE_RULE = f"{NAME_RULE}; a decimal point may be in it, and a stroke between two sizes: 42/48"
_DECIMAL_POINT = re.compile(r"(?<=[0-9])\.(?=[0-9])")
_NOT_IN_NAMES = re.compile(r'[\s.\x00-\x1f\x7f/\\:*?"<>|]')
_KINDS = {bool: "true/false", str: "text", int: "number", float: "number", list: "list"}
_SHOWN_CHARACTERS = 60
_SHOWN_DEPTH = 4


class Problems:
    """What is wrong with one file, in the order it was met."""

    def __init__(self, source: str) -> None:
        self.source = source
        self.lines: list[str] = []
        self.points = 0  # that path data was flattened to so far

    def add(self, where: str, text: str) -> None:
        """Note one problem at `where`."""
        self.lines.append(f"{self.source}: {where}: {text}" if where else f"{self.source}: {text}")

    def stop_if_any(self) -> None:
        """Raise UnreadableFile when a problem was noted."""
        if self.lines:
            raise UnreadableFile(*self.lines)


def show_value(value: object) -> str:
    """Return a short picture of a value with its kind, for a message."""
    if isinstance(value, Mapping):
        return "a table"
    text = _shorten_value(value)
    if len(text) > _SHOWN_CHARACTERS:
        text = text[:_SHOWN_CHARACTERS] + "..."
    return f"{text} ({_KINDS.get(type(value), type(value).__name__)})"


def _shorten_value(value: object, depth: int = 0) -> str:
    """As `repr`, but of a long or deep value only as much as is shown."""
    if isinstance(value, str):
        return quoted(value[:_SHOWN_CHARACTERS]) if visible(value) != value else repr(value[:99])
    if isinstance(value, list):
        inner = (_shorten_value(item, depth + 1) for item in value[:_SHOWN_CHARACTERS])
        return "[...]" if depth > _SHOWN_DEPTH else f"[{', '.join(inner)}]"
    if isinstance(value, Mapping):
        return "{...}"
    if isinstance(value, int) and value.bit_length() > 4 * _SHOWN_CHARACTERS:
        return f"a number of about {value.bit_length() * 30103 // 100000} digits"
    return repr(value)


@lru_cache(maxsize=4096)  # every size of a piece says the same names again
def is_name(text: str) -> bool:
    """Tell whether `text` may name a piece, edge, landmark, level or size."""
    fits = 0 < len(text) <= LONGEST_NAME
    return fits and not _NOT_IN_NAMES.search(text) and visible(text) == text


def is_size(text: str) -> bool:
    """Tell whether `text` may name a size: ``43.5`` has a decimal point, a blend is ``42/48``."""
    parts = _DECIMAL_POINT.sub("", text).split("/")
    return len(text) <= LONGEST_NAME and all(map(is_name, parts))


def as_number(value: object) -> int | float | None:
    """Return a number as it was parsed; None for anything else, true and false too."""
    return value if isinstance(value, int | float) and not isinstance(value, bool) else None


class Table:
    """One parsed table with its place in the file.

    Parameters
    ----------
    values : object
        What the parser gave; anything but a table is a problem.
    where : str
        Place for messages, such as ``seam 'side_seam'``; empty at the top.
    problems : Problems
    """

    def __init__(self, values: object, where: str, problems: Problems) -> None:
        self.where = where
        self.problems = problems
        self._asked: set[str] = set()
        if isinstance(values, Mapping):
            self.values: Mapping[str, object] = values
        else:
            self.values = {}
            problems.add(where, f"found {show_value(values)}, expected a table")

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def __iter__(self) -> Iterator[str]:
        return iter(self.values)

    def at(self, key: str) -> str:
        """Return the place of one key."""
        return f"{self.where}, {key}" if self.where else key

    def note(self, text: str, key: str = "") -> None:
        """Note a problem of the table, or of one key in it."""
        self.problems.add(self.at(key) if key else self.where, text)

    def wrong(self, key: str, expected: str) -> None:
        """Note that the value of `key` is not what was expected."""
        self.note(f"found {show_value(self.values[key])}, expected {expected}", key)

    def raw(self, key: str, *, required: bool = False) -> object:
        """Return the value as parsed; None when absent."""
        self._asked.add(key)
        if key not in self.values and required:
            self.note(f"'{key}' is missing")
        return self.values.get(key)

    def text(self, key: str, default: str | None = None, longest: int = LONGEST_TEXT) -> str:
        """Return text; required when there is no default."""
        value = self.raw(key, required=default is None)
        if isinstance(value, str) and len(value) <= longest:
            return value
        if isinstance(value, str):
            self.note(f"found text of {len(value)} letters, expected at most {longest}", key)
        elif key in self.values:
            self.wrong(key, "text")
        return default or ""

    def optional_text(self, key: str, longest: int = LONGEST_TEXT) -> str | None:
        """Return text, or None when the key is absent."""
        self._asked.add(key)
        return self.text(key, longest=longest) if key in self.values else None

    def name(self, key: str) -> str:
        """Return a name; required."""
        value = self.text(key)
        if len(value) > LONGEST_NAME:
            self.wrong(key, f"a name of at most {LONGEST_NAME} letters")
        elif value and not is_name(value):
            self.wrong(key, f"a name: {NAME_RULE}")
        return value

    def flag(self, key: str, *, required: bool = False) -> bool:
        """Return true or false; false when absent."""
        value = self.raw(key, required=required)
        if key in self.values and not isinstance(value, bool):
            self.wrong(key, "true or false")
        return value is True

    def count(self, key: str, default: int) -> int:
        """Return a whole number from 1 to `MOST_COUNT`."""
        value = self.raw(key)
        if key not in self.values:
            return default
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= MOST_COUNT:
            self.wrong(key, f"a whole number from 1 to {MOST_COUNT}")
            return default
        return value

    def length(self, key: str, default: float, *, negative: bool = False) -> float:
        """Return a length in mm, from a number or text with a unit."""
        value = self.raw(key)
        if key not in self.values:
            return default
        length = parse_length(value)
        if length is None:
            self.wrong(key, 'a length: a number of mm or text such as "10mm", "1cm", "3/8in"')
            return default
        if length < 0 and not negative:
            self.wrong(key, "a length of 0 or more")
            return default
        return length

    def lengths(self, key: str) -> tuple[float, ...]:
        """Return a list of lengths in mm, each from a number or text with a unit."""
        found = [parse_length(item) for item in self.items(key)]
        if any(length is None or length <= 0 for length in found):
            self.wrong(key, "a list of lengths above 0")
            return ()
        return tuple(length for length in found if length is not None)

    def choice(self, key: str, allowed: Sequence[str], default: str | None = None) -> str:
        """Return one of the allowed words; required when there is no default."""
        value = self.raw(key, required=default is None)
        if isinstance(value, str) and value in allowed:
            return value
        if key in self.values:
            self.wrong(key, quote_names(allowed, " or "))
        return default if default is not None else allowed[0]

    def items(self, key: str, *, required: bool = False, most: int = MOST_ITEMS) -> list[object]:
        """Return a list; empty when absent."""
        value = self.raw(key, required=required)
        if isinstance(value, list) and len(value) <= most:
            return value
        if isinstance(value, list):
            self.note(f"found a list of {len(value)} items, expected at most {most}", key)
        elif key in self.values:
            self.wrong(key, "a list")
        return []

    def texts(self, key: str, *, required: bool = False) -> tuple[str, ...]:
        """Return a list of texts."""
        found = self.items(key, required=required)
        texts = tuple(item for item in found if isinstance(item, str))
        if len(texts) < len(found):
            self.wrong(key, "a list of texts")
        return texts

    def all_texts(self) -> dict[str, str]:
        """Return the texts of all keys."""
        return {key: self.text(key) for key in self.values}

    def table(self, key: str, where: str | None = None) -> Table:
        """Return a table; empty when absent."""
        value = self.raw(key)
        place = self.at(key) if where is None else where
        return Table({} if key not in self.values else value, place, self.problems)

    def tables(self, key: str, what: str | None = None, naming: str = "name") -> list[Table]:
        """Return a list of tables, each placed by its name or its number from 1."""
        found = []
        for number, item in enumerate(self.items(key), start=1):
            name = item.get(naming) if isinstance(item, Mapping) else None
            label = f"'{name}'" if isinstance(name, str) else f"number {number}"
            place = f"{what or key} {label}"
            found.append(
                Table(item, f"{self.where}, {place}" if self.where else place, self.problems)
            )
        return found

    def finish(self) -> None:
        """Refuse every key that was not asked for."""
        asked = sorted(self._asked)
        for key in self.values:
            if key not in self._asked:
                near = nearest_names(key, asked)
                cure = f"did you mean {near}?" if near else f"known: {', '.join(asked)}"
                self.note(f"unknown key '{key}'; {cure}")


def check_format(table: Table, supported: int) -> None:
    """Refuse a file whose format is newer than `supported`, at once.

    Raises
    ------
    FormatError
        Names the found and the supported format.
    """
    value = table.raw("format", required=True)
    if isinstance(value, bool) or not isinstance(value, int):
        if value is not None:
            table.wrong("format", f"the whole number {supported}")
    elif value > supported:
        raise UnreadableFile(
            f"{table.problems.source}: format {value} is newer than this program reads "
            f"({supported}); update the program, or save the file in format {supported}"
        )
    elif value < 1:
        table.wrong("format", f"a format from 1 to {supported}")
