"""Lay text out in 80 columns: headings, tables, wrapped sentences.

Names come from others: what cannot be seen in them is shown (`propagate.visible`), and in
tables and lists one that is too long ends in an ellipsis.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from propagate.values import dataclass
from propagate.visible import clipped, visible, width_of

__all__ = ["WIDTH", "Column", "lay_entries", "lay_heading", "wrap_sentence", "lay_table"]

WIDTH = 80
_GAP = "  "
_WIDEST_HEAD = 20
"""Columns that the head of a first column keeps, where a table has to be made narrower."""
_NARROWEST = 8
"""Columns that are left of a name there."""


@dataclass(frozen=True)
class Column:
    """A column of a table: its head, and whether it is a number."""

    head: str
    number: bool = False


def lay_heading(text: str) -> list[str]:
    """Put a heading below a blank line."""
    return ["", clipped(visible(text[:1].upper() + text[1:]), WIDTH)]


def wrap_sentence(text: str, indent: int = 0, hang: int = 0, *, clip: bool = False) -> list[str]:
    """Wrap a sentence; `hang` indents the lines after the first further.

    Words are never broken, so a line with a very long one may be wider, as the path of a
    file has to be; `clip` ends such words in an ellipsis, for the lines of a list.
    """
    wide = textwrap.wrap(
        _clean_line(text),
        WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hang),
        break_long_words=False,
        break_on_hyphens=False,
    ) or [""]
    return [clipped(line, WIDTH) for line in wide] if clip else wide


def _clean_line(text: str) -> str:
    """Return text to be wrapped; the ends of lines in it are blanks, as they are to `textwrap`."""
    return visible(" ".join(text.split("\n")))


def lay_entries(
    pairs: Sequence[tuple[str, str]], indent: int = 2, widest: int = 20, *, whole: bool = False
) -> list[str]:
    """Lay out names and what is said of them, in two columns.

    `whole` keeps the names whole however long they are, for files.
    """
    shown = [(visible(name), _clean_line(text)) for name, text in pairs]
    width = max((width_of(name) for name, _ in shown if width_of(name) <= widest), default=0)
    hanging = " " * (indent + width + len(_GAP))
    lines = []
    for name, text in shown:
        left = f"{' ' * indent}{_pad_text(name, width)}{_GAP}"
        if width_of(name) > width:
            lines.append(" " * indent + (name if whole else clipped(name, WIDTH - indent)))
            left = hanging
        wrapped = textwrap.wrap(
            text, WIDTH - len(hanging), break_long_words=False, break_on_hyphens=False
        ) or [""]
        lines.append(clipped((left + wrapped[0]).rstrip(), WIDTH))
        lines += [clipped(hanging + line, WIDTH) for line in wrapped[1:]]
    return lines


def lay_table(
    columns: Sequence[Column], rows: Sequence[Sequence[str]], indent: int = 2, head: bool = True
) -> list[str]:
    """Lay out rows under heads; numbers to the right.

    Where the first cell is too long for 80 columns its row goes on below it.  Numbers are
    never cut: a table of more of them than fit is wider.
    """
    heads = [visible(column.head) for column in columns]
    cells = [[visible(cell) for cell in row] for row in rows]
    sized = [heads, *cells] if head else cells
    widths = [max(width_of(row[i]) for row in sized) for i in range(len(columns))]
    gaps = indent + len(_GAP) * (len(columns) - 1)
    first = min(widths[0], max(width_of(heads[0]) if head else 0, _NARROWEST), _WIDEST_HEAD)
    _make_room(columns, cells, widths, WIDTH - gaps - first)
    widths[0] = max(min(widths[0], WIDTH - gaps - sum(widths[1:])), first)
    return [line for row in sized for line in _lay_row(columns, row, widths, indent)]


def _make_room(
    columns: Sequence[Column], cells: Sequence[Sequence[str]], widths: list[int], room: int
) -> None:
    """Narrow the columns after the first, widest first, until they fit in a room."""
    least = [
        max([width_of(row[i]) for row in cells] if column.number else [], default=_NARROWEST)
        for i, column in enumerate(columns)
    ]
    while sum(widths[1:]) > room:
        spare = [i for i in range(1, len(widths)) if widths[i] > least[i]]
        if not spare:
            return
        widths[max(spare, key=lambda i: widths[i])] -= 1


def _lay_row(
    columns: Sequence[Column], row: Sequence[str], widths: Sequence[int], indent: int
) -> list[str]:
    cells = [
        _pad_text(clipped(cell, width), width, right=column.number)
        for column, cell, width in zip(columns, row, widths, strict=True)
    ]
    lead = " " * indent
    if width_of(row[0]) <= widths[0]:
        return [(lead + _GAP.join(cells)).rstrip()]
    below = lead + " " * widths[0] + _GAP + _GAP.join(cells[1:])
    return [lead + clipped(row[0], WIDTH - indent), below.rstrip()]


def _pad_text(text: str, width: int, *, right: bool = False) -> str:
    blanks = " " * (width - width_of(text))
    return blanks + text if right else text + blanks
