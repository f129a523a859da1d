"""Lay text out in 80 columns: headings, tables, wrapped sentences."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["WIDTH", "Column", "entries", "heading", "sentence", "table"]

WIDTH = 80
_GAP = "  "


@dataclass(frozen=True)
class Column:
    """A column of a table: its head, and whether it is a number."""

    head: str
    number: bool = False


def heading(text: str) -> list[str]:
    """A blank line and a heading."""
    return ["", text[:1].upper() + text[1:]]


def sentence(text: str, indent: int = 0, hang: int = 0) -> list[str]:
    """Wrap a sentence; `hang` indents the lines after the first further.

    Names are never broken, so a line with a very long one may be wider.
    """
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hang),
        break_long_words=False,
        break_on_hyphens=False,
    ) or [""]


def entries(pairs: Sequence[tuple[str, str]], indent: int = 2, widest: int = 20) -> list[str]:
    """Lay out names and what is said of them, in two columns."""
    width = max((len(name) for name, _ in pairs if len(name) <= widest), default=0)
    lines = []
    for name, text in pairs:
        left = f"{' ' * indent}{name.ljust(width)}{_GAP}"
        if len(name) > width:
            lines.append(" " * indent + name)
            left = " " * (indent + width + len(_GAP))
        wrapped = textwrap.wrap(
            text, WIDTH - len(left), break_long_words=False, break_on_hyphens=False
        ) or [""]
        lines.append((left + wrapped[0]).rstrip())
        lines += [" " * (indent + width + len(_GAP)) + line for line in wrapped[1:]]
    return lines


def table(
    columns: Sequence[Column], rows: Sequence[Sequence[str]], indent: int = 2, head: bool = True
) -> list[str]:
    """Lay out rows under heads; numbers to the right.

    Where the first cell is too long for 80 columns its row goes on below it.
    """
    heads = [column.head for column in columns]
    sized = [heads, *rows] if head else list(rows)
    widths = [max(len(row[i]) for row in sized) for i in range(len(columns))]
    rest = sum(widths[1:]) + len(_GAP) * (len(columns) - 1)
    widths[0] = max(min(widths[0], WIDTH - indent - rest), len(heads[0]) if head else 0, 8)
    return [line for row in sized for line in _row(columns, row, widths, indent)]


def _row(
    columns: Sequence[Column], row: Sequence[str], widths: Sequence[int], indent: int
) -> list[str]:
    cells = [
        cell.rjust(width) if column.number else cell.ljust(width)
        for column, cell, width in zip(columns, row, widths, strict=True)
    ]
    lead = " " * indent
    if len(row[0]) <= widths[0]:
        return [(lead + _GAP.join(cells)).rstrip()]
    return [lead + row[0], (lead + " " * widths[0] + _GAP + _GAP.join(cells[1:])).rstrip()]
