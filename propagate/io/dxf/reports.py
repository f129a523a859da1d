"""What reading or writing a file of the interchange standard has to say."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import field
from typing import Literal

from propagate.values import dataclass

__all__ = ["Kind", "Note", "Notes", "ReadingReport", "Severity", "WritingReport"]

Severity = Literal["info", "warning"]
Kind = Literal["nested", "rules", "mixed"]


@dataclass(frozen=True)
class Note:
    """One choice, ambiguity or thing that was not understood.

    Attributes
    ----------
    severity : "info" or "warning"
    text : str
        What was found and what was made of it.
    option : str
        Name of the option that decides it otherwise; empty when there is none.
    where : str
        File, piece and size, as far as they apply.
    """

    severity: Severity
    text: str
    option: str = ""
    where: str = ""

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        cure = f" (option {self.option})" if self.option else ""
        return f"{self.severity}: {place}{self.text}{cure}"


class Notes:
    """Notes in the order they were met; the same note is kept once, with its places."""

    def __init__(self) -> None:
        self._places: dict[tuple[Severity, str, str], dict[str, None]] = {}

    def info(self, text: str, *, option: str = "", where: str = "") -> None:
        """Note a choice that does no harm."""
        self._add("info", text, option, where)

    def warn(self, text: str, *, option: str = "", where: str = "") -> None:
        """Note what a person should look at."""
        self._add("warning", text, option, where)

    def _add(self, severity: Severity, text: str, option: str, where: str) -> None:
        places = self._places.setdefault((severity, text, option), {})
        if where:
            places[where] = None

    def __iter__(self) -> Iterator[Note]:
        for (severity, text, option), places in self._places.items():
            shown = "; ".join(itertools.islice(places, 3))
            more = f" and {len(places) - 3} more" if len(places) > 3 else ""
            yield Note(severity, text, option, shown + more)


@dataclass(frozen=True)
class ReadingReport:
    """How a style was read.

    Attributes
    ----------
    notes : tuple of Note
    kind : "nested", "rules" or "mixed"
    unit_mm : float
        Millimetres in one unit of the file.
    curve_tolerance_mm : float or None
        As the file states it.
    style : mapping of keyword (lower case) to value
        The style's system text.
    recovered : bool
        The file was damaged and read by the recovery reader.
    """

    notes: tuple[Note, ...]
    kind: Kind
    unit_mm: float
    curve_tolerance_mm: float | None = None
    style: Mapping[str, str] = field(default_factory=dict)
    recovered: bool = False

    @property
    def warnings(self) -> tuple[Note, ...]:
        """The notes that a person should look at."""
        return tuple(note for note in self.notes if note.severity == "warning")


@dataclass(frozen=True)
class WritingReport:
    """How a style was written.

    Attributes
    ----------
    notes : tuple of Note
    files : tuple of str
        Names of the files written.
    as_read : tuple of str
        Pieces that were written exactly as they were read.
    ruled, nested : tuple of str
        Pieces written in the base size with grade rules, and in every size.
    """

    notes: tuple[Note, ...]
    files: tuple[str, ...]
    as_read: tuple[str, ...] = ()
    ruled: tuple[str, ...] = ()
    nested: tuple[str, ...] = ()
