"""Lists in columns under a heading, long lines wrapped and never cut in a word's middle."""

from __future__ import annotations

from collections.abc import Sequence

from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.fonts import FontBook

__all__ = ["flow_lines"]

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
    lines: Sequence[str],
    corner: tuple[float, float],
    width: float,
    room: float,
) -> float:
    """Write a list in columns under a heading; returns the height it took, mm.

    What does not find room is counted and said.
    """
    if not lines or room < 14.0:
        return 0.0
    assert canvas.fonts is not None
    fit = max(int((room - _HEAD) // _PITCH), 1)
    columns = _columns(canvas.fonts, list(lines), width, fit)
    x, y = corner
    canvas.text("sheet", (x, y - 1.8), heading, 3.2, anchor="start", bold=True)
    for number, column in enumerate(columns):
        left, row = x + number * width / len(columns), 0
        for entry in column:
            for i, words in enumerate(entry):
                place = (left + (_INDENT if i else 0.0), y - _HEAD - row * _PITCH - _SMALL / 2)
                canvas.text("sheet", place, words, _SMALL, anchor="start")
                row += 1
    return _HEAD + _tall(columns) * _PITCH + _AFTER


_Entry = list[str]


def _columns(fonts: FontBook, lines: Sequence[str], width: float, fit: int) -> list[list[_Entry]]:
    """The columns that are least tall; entries that find no room are left out and counted."""
    most = max(int(width // _LEAST_MM), 1)
    wrapped = [
        {line: _wrapped(fonts, line, width / n - 4.0) for line in lines} for n in _upto(most)
    ]
    best: list[list[_Entry]] = []
    for kept in range(min(len(lines), fit * most), 0, -1):
        more = [] if kept == len(lines) else [[f"and {len(lines) - kept} more"]]
        tried = [
            _shared([*(known[line] for line in lines[:kept]), *more], n)
            for n, known in zip(_upto(most), wrapped, strict=True)
        ]
        best = min(tried, key=_tall)
        if _tall(best) <= fit:
            break
    return best


def _upto(most: int) -> range:
    return range(1, most + 1)


def _tall(columns: Sequence[Sequence[_Entry]]) -> int:
    return max(sum(map(len, column)) for column in columns)


def _shared(entries: Sequence[_Entry], columns: int) -> list[list[_Entry]]:
    """Entries shared out in their order, so that the columns are about as tall."""
    total = sum(map(len, entries))
    for tall in range(-(-total // columns), total + 1):
        found: list[list[_Entry]] = [[]]
        for entry in entries:
            if sum(map(len, found[-1])) + len(entry) > tall and found[-1]:
                found.append([])
            found[-1].append(entry)
        if len(found) <= columns:
            return found + [[] for _ in range(columns - len(found))]
    return [list(entries)]


def _wrapped(fonts: FontBook, line: str, room: float) -> _Entry:
    found = fonts.wrapped(line, _SMALL, room - _INDENT) or [""]
    if fonts.width(line, _SMALL) <= room:
        return [line]
    if len(found) > _LONGEST:
        rest = " ".join(found[_LONGEST - 1 :])
        found = [*found[: _LONGEST - 1], fonts.fitted(rest, _SMALL, room - _INDENT)]
    return found
