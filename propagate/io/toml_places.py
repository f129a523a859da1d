"""Where each value of a TOML text stands in it.

The standard library says what a text means, not where it says so; to change one value and leave
every other byte alone, its place is needed.  The text is one that `tomllib` has read: what would
be wrong in it is not looked for again.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import field
from typing import cast

from propagate.values import dataclass

__all__ = ["Part", "Range", "Table", "Tables", "TextOf", "Value"]

Range = tuple[int, int]
Path = tuple[str, ...]

_BLANK = re.compile(r"(?:[ \t\r\n\ufeff]|#[^\n]*)*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'', re.DOTALL
)
_WORD = re.compile(r"[^\s,\]}#=.]+")
_PLAIN = re.compile(r"[^\s,\]}#]+")
_ALONE = re.compile(r"[ \t]*,?[ \t]*(?:#[^\n]*)?(?:\r?\n|$)")


@dataclass(frozen=True, eq=False)
class Value:
    """A value on the right of an equals sign, or in an array.

    Attributes
    ----------
    begin, end : int
    item : (int, int)
        From its key on, where it has one of its own.
    lines : (int, int) or None
        The whole lines that say it and nothing else.
    parts : mapping or list or None
        The values in an inline table or an array.
    """

    begin: int
    end: int
    item: Range
    lines: Range | None
    parts: dict[str, Part] | list[Part] | None


@dataclass(frozen=True, eq=False)
class Table:
    """A table with a header, or one that dotted keys or headers below it imply.

    Attributes
    ----------
    path : tuple of str
        Its header, whether it is there or not.
    dotted : tuple of str
        What stands in front of its keys.
    headers : list of (int, int)
    parts : mapping of key to what it says
    """

    path: Path
    dotted: Path = ()
    headers: list[Range] = field(default_factory=list)
    parts: dict[str, Part] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Tables:
    """A list of tables, each with a header."""

    parts: list[Part] = field(default_factory=list)


Part = Value | Table | Tables


def lines_of(part: Part) -> Iterator[Range]:
    """Yield the lines of everything that a part says, in no order."""
    if isinstance(part, Value):
        if part.lines is not None:
            yield part.lines
        return
    if isinstance(part, Table):
        yield from part.headers
    for one in part.parts.values() if isinstance(part, Table) else part.parts:
        yield from lines_of(one)


class TextOf:
    """A TOML text and the places of its values.

    Attributes
    ----------
    text : str
    root : Table
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self.root = Table(())
        self._read()
        self._begins = sorted(begin for begin, _ in lines_of(self.root))

    def runs(self, part: Part) -> list[Range]:
        """The lines of a part, put together where nothing of another part stands between."""
        found: list[Range] = []
        for begin, end in sorted(lines_of(part)):
            if found and bisect_left(self._begins, found[-1][1]) == bisect_left(
                self._begins, begin
            ):
                found[-1] = (found[-1][0], end)
            else:
                found.append((begin, end))
        return found

    def end(self, part: Part) -> int:
        """Where the last line of a part ends."""
        return max((end for _, end in lines_of(part)), default=0)

    # ------------------------------------------------------------------------- reading

    def _read(self) -> None:
        here, at = self.root, self._skip(0)
        while at < len(self.text):
            begin = self.text.rfind("\n", 0, at) + 1
            if self.text[at] == "[":
                many = self.text.startswith("[[", at)
                path, at = self._keys(at + 1 + many)
                at += 1 + many
                here = self._opened(path, many=many)
                here.headers.append((begin, self._line_end(at)))
            else:
                path, begins = self._keys(at)
                value = self._value(begins + 1, key=at)
                lines = (begin, self._line_end(value.end))
                told = Value(value.begin, value.end, value.item, lines, value.parts)
                table = here
                for key in path[:-1]:
                    made = Table((*table.path, key), (*table.dotted, key))
                    table = cast(Table, table.parts.setdefault(key, made))
                table.parts[path[-1]] = told
                at = value.end
            at = self._skip(at)

    def _opened(self, path: Path, *, many: bool) -> Table:
        """The table that a header opens."""
        table = self.root
        for count, key in enumerate(path[: len(path) - many], start=1):
            found = table.parts.setdefault(key, Table(path[:count]))
            table = cast(Table, found.parts[-1] if isinstance(found, Tables) else found)
        if many:
            tables = cast(Tables, table.parts.setdefault(path[-1], Tables()))
            table = Table(path)
            tables.parts.append(table)
        return table

    def _skip(self, at: int) -> int:
        """Past blanks, line ends and comments."""
        return cast(re.Match[str], _BLANK.match(self.text, at)).end()

    def _line_end(self, at: int) -> int:
        found = self.text.find("\n", at)
        return len(self.text) if found < 0 else found + 1

    def _keys(self, at: int) -> tuple[Path, int]:
        """The words of a dotted key, and where what follows it begins."""
        found: list[str] = []
        while True:
            at = self._skip(at)
            match = _STRING.match(self.text, at) or _WORD.match(self.text, at)
            word = cast(re.Match[str], match)[0]
            found.append(next(iter(tomllib.loads(f"{word} = 0"))) if word[0] in "'\"" else word)
            at = self._skip(at + len(word))
            if self.text[at] != ".":
                return tuple(found), at
            at += 1

    def _value(self, at: int, key: int | None = None) -> Value:
        begin = self._skip(at)
        first = begin if key is None else key
        parts: dict[str, Part] | list[Part] | None = None
        if self.text[begin] == "[":
            parts, end = self._items(begin)
        elif self.text[begin] == "{":
            parts, end = self._pairs(begin)
        else:
            match = _STRING.match(self.text, begin) or _PLAIN.match(self.text, begin)
            end = cast(re.Match[str], match).end()
        return Value(begin, end, (first, end), self._alone(first, end), parts)

    def _alone(self, begin: int, end: int) -> Range | None:
        """The whole lines of an item when nothing else stands on them."""
        start = self.text.rfind("\n", 0, begin) + 1
        after = _ALONE.match(self.text, end)
        if self.text[start:begin].strip() or after is None:
            return None
        return start, after.end()

    def _items(self, at: int) -> tuple[list[Part], int]:
        found: list[Part] = []
        at = self._skip(at + 1)
        while self.text[at] != "]":
            found.append(self._value(at))
            at = self._after_comma(found[-1])
        return found, at + 1

    def _pairs(self, at: int) -> tuple[dict[str, Part] | None, int]:
        """What is in an inline table; None where keys have dots: it is changed as a whole."""
        found: dict[str, Part] | None = {}
        at = self._skip(at + 1)
        while self.text[at] != "}":
            path, equals = self._keys(at)
            value = self._value(equals + 1, key=at)
            found = None if found is None or len(path) > 1 else {**found, path[0]: value}
            at = self._after_comma(value)
        return found, at + 1

    def _after_comma(self, value: Part) -> int:
        at = self._skip(cast(Value, value).end)
        return self._skip(at + 1) if self.text[at] == "," else at
