"""Lists in columns under a heading, long lines wrapped and never cut in a word's middle."""

from __future__ import annotations

from collections.abc import Sequence

from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.fonts import FontBook

__all__ = ["Entry", "flow_lines"]

Entry = tuple[str, str]
_Lines = list[tuple[str, float, str]]

_SMALL = 2.7
_PITCH = 1.5 * _SMALL
_HEAD = 5.5
_AFTER = 3.0
_LEAST_MM = 56.0
"""Columns are no narrower."""
_INDENT = 3.0
_LONGEST = 3
"""Lines that one entry takes at most; a name of hundreds of letters ends in an ellipsis."""


def flow_lines(
    canvas: PdfCanvas,
    heading: str,
    lines: Sequence[Entry],
    corner: tuple[float, float],
    width: float,
    room: float,
) -> float:
    """Write a list in columns under a heading; returns the height it took, mm.

    An entry is its key, a number or a letter, and its text.  What does not find room is
    counted and said.
    """
    if not lines or room < 14.0:
        return 0.0
    fit = max(int((room - _HEAD) // _PITCH), 1)
    columns = _columns(canvas.fonts, lines, width, fit)
    x, y = corner
    canvas.text("sheet", (x, y - 1.8), heading, 3.2, anchor="start", bold=True)
    for number, column in enumerate(columns):
        left, row = x + number * width / len(columns), 0
        for entry in column:
            for key, beside, words in entry:
                down = y - _HEAD - row * _PITCH - _SMALL / 2
                if key:
                    canvas.text("sheet", (left, down), key, _SMALL, anchor="start", bold=True)
                canvas.text("sheet", (left + beside, down), words, _SMALL, anchor="start")
                row += 1
    return _HEAD + _tall(columns) * _PITCH + _AFTER


def _columns(fonts: FontBook, lines: Sequence[Entry], width: float, fit: int) -> list[list[_Lines]]:
    """The columns that are least tall; entries that find no room are left out and counted."""
    most = max(int(width // _LEAST_MM), 1)
    counts = range(1, most + 1)
    keys = {key for key, _ in lines if key}
    # One width for all keys, so that the texts stand below each other.
    beside = max((fonts.width(key, _SMALL, bold=True) for key in keys), default=-_SMALL) + _SMALL
    wrapped = [
        {line: _wrapped(fonts, line, beside, width / n - 4.0) for line in lines} for n in counts
    ]
    best: list[list[_Lines]] = []
    for kept in range(min(len(lines), fit * most), 0, -1):
        more = [] if kept == len(lines) else [[("", 0.0, f"and {len(lines) - kept} more")]]
        tried = [
            _shared([*(known[line] for line in lines[:kept]), *more], n)
            for n, known in zip(counts, wrapped, strict=True)
        ]
        best = min(tried, key=_tall)
        if _tall(best) <= fit:
            break
    return best


def _tall(columns: Sequence[Sequence[_Lines]]) -> int:
    return max(sum(map(len, column)) for column in columns)


def _shared(entries: Sequence[_Lines], columns: int) -> list[list[_Lines]]:
    """Entries shared out in their order, so that the columns are about as tall."""
    total = sum(map(len, entries))
    for tall in range(-(-total // columns), total + 1):
        found: list[list[_Lines]] = [[]]
        for entry in entries:
            if sum(map(len, found[-1])) + len(entry) > tall and found[-1]:
                found.append([])
            found[-1].append(entry)
        if len(found) <= columns:
            return found + [[] for _ in range(columns - len(found))]
    return [list(entries)]


def _wrapped(fonts: FontBook, entry: Entry, beside: float, room: float) -> _Lines:
    """The lines of an entry with what each is moved in by: a key stands out to the left."""
    key, text = entry
    lines = fonts.in_lines(text, _SMALL, room - beside - _INDENT, _LONGEST) or [""]
    if fonts.width(text, _SMALL) <= room - beside:
        lines = [text]
    return [
        (key, beside, line) if not i else ("", beside + _INDENT, line)
        for i, line in enumerate(lines)
    ]
