"""What a reader took for granted and what a writer could not carry, line by line.

A reader of a foreign format returns ``(PatternSet, ReadingReport)``, a writer returns a
`WritingReport`.  Nothing is assumed silently: every assumption is a line that names the
option which changes it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Literal

from propagate.values import dataclass

__all__ = [
    "LineKind",
    "ReadingLine",
    "ReadingReport",
    "ReportNotes",
    "WritingReport",
    "rename_places",
    "told_once",
]

_TOLD = 3  # places of one line
LineKind = Literal["found", "assumed", "repaired", "kept", "ignored", "warning", "lost"]
"""``found``: a plain fact.  ``assumed``: not in the file, so a default was taken.
``repaired``: put right, with the size of the repair.  ``kept``: not understood but written
back.  ``ignored``: not understood and left out.  ``warning``: to be looked at by a person.
``lost``: of a writer, what its format cannot carry."""


@dataclass(frozen=True)
class ReadingLine:
    """One line of a report.

    Attributes
    ----------
    kind : LineKind
    text : str
        A sentence without a full stop, with numbers and units in it.
    option : str or None
        The option that changes what was assumed, as `propagate` spells it
        (``"--unit mm"``).
    file, piece, size, edge : str or None
        Where; None when the line is about everything.
    count : int
        How many times it happened; lines that are alike are told once.
    """

    kind: LineKind
    text: str
    option: str | None = None
    file: str | None = None
    piece: str | None = None
    size: str | None = None
    edge: str | None = None
    count: int = 1

    @property
    def where(self) -> str:
        """The place in words; empty when the line is about everything."""
        parts = [f"'{self.file}'"] if self.file else []
        for what in ("piece", "size", "edge"):
            name = getattr(self, what)
            if name is not None:
                parts.append(f"{what} '{name}'")
        return ", ".join(parts)

    def __str__(self) -> str:
        head = f"{self.where}: " if self.where else ""
        times = f" ({self.count} times)" if self.count > 1 else ""
        cure = f"; {self.option} changes it" if self.option else ""
        return f"{self.kind}: {head}{self.text}{times}{cure}"

    def plain(self) -> dict[str, object]:
        """The line as plain values, what is not set left out."""
        values: dict[str, object] = {"kind": self.kind, "text": self.text}
        for what in ("option", "file", "piece", "size", "edge"):
            if getattr(self, what) is not None:
                values[what] = getattr(self, what)
        if self.count > 1:
            values["count"] = self.count
        return values


@dataclass(frozen=True)
class ReadingReport:
    """What a reader found and assumed.

    Attributes
    ----------
    format : str
        ``"SVG"``, ``"DXF"``, ``"JSON"``.
    files : tuple of str
    lines : tuple of ReadingLine
    """

    format: str
    files: tuple[str, ...]
    lines: tuple[ReadingLine, ...] = ()

    def of(self, *kinds: LineKind) -> tuple[ReadingLine, ...]:
        """The lines of some kinds, in order."""
        return tuple(line for line in self.lines if line.kind in kinds)

    def plain(self) -> dict[str, object]:
        """The report as plain values."""
        return {
            "format": self.format,
            "files": list(self.files),
            "lines": [line.plain() for line in self.lines],
        }


@dataclass(frozen=True)
class WritingReport(ReadingReport):
    """What a writer wrote and could not carry; `files` are those that it wrote."""


def told_once(lines: Iterable[ReadingLine], sizes: Sequence[str]) -> tuple[ReadingLine, ...]:
    """Put lines that say the same of several sizes into one that names these sizes.

    Parameters
    ----------
    lines : lines of a report
    sizes : sequence of str
        All sizes; a line about each of them names none.
    """
    groups: dict[ReadingLine, dict[str, int]] = {}
    for line in lines:
        key = replace(line, size=None, count=1)
        groups.setdefault(key, {})[line.size or ""] = line.count
    found = []
    for key, counts in groups.items():
        said = [size for size in sizes if size in counts]
        said += [size for size in counts if size and size not in sizes]
        if "" in counts:
            found.append(replace(key, count=counts[""]))
        if said:
            every = len(said) == len(sizes) > 1
            size = None if every else ", ".join(said)
            text = f"{key.text}, in every size" if every else key.text
            alike = {counts[s] for s in said}
            count = alike.pop() if len(alike) == 1 else sum(counts[s] for s in said)
            found.append(replace(key, text=text, size=size, count=count))
    return tuple(found)


def rename_places(
    lines: Iterable[ReadingLine], names: Mapping[str, str]
) -> tuple[ReadingLine, ...]:
    """Let lines name pieces as they are called now.

    Parameters
    ----------
    lines : lines of a report
    names : mapping of new name to the name a piece was read with
    """
    now = {old: new for new, old in names.items()}
    return tuple(replace(line, piece=now.get(line.piece or "", line.piece)) for line in lines)


class ReportNotes:
    """Collects the lines of a report while a file is read or written."""

    def __init__(self) -> None:
        self._lines: dict[ReadingLine, int] = {}
        self._places: dict[ReadingLine, dict[str, None]] = {}

    def info(self, text: str, *, option: str = "", where: str = "") -> None:
        """Note a fact, or with an option what was assumed, once for all places in words."""
        self._at_places("assumed" if option else "found", text, option, where)

    def warn(self, text: str, *, option: str = "", where: str = "") -> None:
        """Note what a person should look at, once for all places in words."""
        self._at_places("warning", text, option, where)

    def _at_places(self, kind: LineKind, text: str, option: str, where: str) -> None:
        line = ReadingLine(kind, text.rstrip("."), option or None)
        self._lines[line] = 1
        places = self._places.setdefault(line, {})
        if where:
            places[where] = None

    def add(
        self,
        kind: LineKind,
        text: str,
        *,
        option: str | None = None,
        file: str | None = None,
        piece: str | None = None,
        size: str | None = None,
        edge: str | None = None,
        count: int = 1,
    ) -> None:
        """Note a line; one that was noted before is counted."""
        line = ReadingLine(kind, text, option, file, piece, size, edge)
        self._lines[line] = self._lines.get(line, 0) + count

    def extend(self, lines: Iterable[ReadingLine]) -> None:
        """Note lines that another report holds."""
        for line in lines:
            once = replace(line, count=1)
            self._lines[once] = self._lines.get(once, 0) + line.count

    @property
    def lines(self) -> tuple[ReadingLine, ...]:
        """Everything noted so far, in the order it was first met."""
        return tuple(
            replace(line, text=self._placed(line), count=count)
            for line, count in self._lines.items()
        )

    def _placed(self, line: ReadingLine) -> str:
        """The text behind the first of its places."""
        places = list(self._places.get(line, ()))
        more = f" and {len(places) - _TOLD} more" if len(places) > _TOLD else ""
        return f"{'; '.join(places[:_TOLD])}{more}: {line.text}" if places else line.text
