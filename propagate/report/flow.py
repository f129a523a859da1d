"""Text and tables that run downwards on a canvas, a picture's or paper's."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace

from propagate.report.canvas import Anchor, Canvas
from propagate.report.style import INK, PALE, Stroke
from propagate.values import dataclass

__all__ = [
    "CELL_GAP_MM",
    "RULE",
    "SAMPLE_MM",
    "SMALL",
    "Head",
    "TextFlow",
    "pair_rows",
    "space_lines",
]

_BODY = 3.3
SMALL = 2.8
CELL_GAP_MM = 2.0
RULE = Stroke(INK, 0.2)
_LEADING = 1.42
_ROW = 1.3
SAMPLE_MM = 16.0
_FAINT = Stroke("#b8b8b8", 0.15)
_BOX = Stroke(INK, 0.3)


def _keep_order(text: str) -> str:
    """Keep a line to the right that begins with a name written to the left."""
    strong = [way for way in map(unicodedata.bidirectional, text) if way in ("L", "R", "AL")]
    mixed = bool(strong) and strong[0] != "L" and "L" in strong
    return f"\N{LEFT-TO-RIGHT MARK}{text}" if mixed else text


def space_lines(lines: Sequence[str]) -> list[str]:
    """Put a space after each line but the last, so that words stay apart when they are read."""
    return [f"{line} " for line in lines[:-1]] + list(lines[-1:])


@dataclass(frozen=True)
class Head:
    """A column of a table: its head, its share of the width, where its text stands."""

    text: str
    share: float
    right: bool = False
    bold: bool = False


_Column = tuple[Head, float]
"""A column and its width, mm."""


@dataclass
class TextFlow:
    """Lays text out downwards, from some place on a canvas.

    Attributes
    ----------
    canvas : Canvas
        What is being filled.
    left, width : float
        Left edge and width of the text, mm.
    y : float
        Where the next line begins, mm from the lower edge.
    tight : float
        Share of the usual room between lines.
    """

    canvas: Canvas
    left: float
    width: float
    y: float
    tight: float = 1.0

    @property
    def leading(self) -> float:
        """Height of a line in parts of the size of its text."""
        return _LEADING * self.tight

    def tagged(self, kind: str, alt: str = "") -> AbstractContextManager[None]:  # noqa: ARG002
        """Say what is written inside the block; to a picture nothing is said."""
        return nullcontext()

    def need(self, height: float) -> bool:  # noqa: ARG002 - pages have an end, this has none
        """Go on elsewhere unless there is this much room; whether that was done."""
        return False

    def skip(self, height: float) -> None:
        """Leave some room."""
        self.y -= height

    def lines(
        self, text: str, size: float, room: float, *, bold: bool = False, most: int = 1000
    ) -> list[str]:
        """A text in lines that fit, one at least."""
        return self.canvas.in_lines(text, size, room, most, bold=bold) or [""]

    def heading(self, text: str, size: float = 4.4, *, most: int = 3, room: float = 12.0) -> None:
        """A bold heading that keeps room for what follows it."""
        lines = self.lines(text, size, self.width, bold=True, most=most)
        self.need(len(lines) * size * self.leading + room)
        with self.tagged("H1" if size > 5.5 else "H2" if size > 4.0 else "H3"):
            for line in space_lines(lines):
                self._line(line, size, self.left, bold=True)
        self.skip(1.0)

    def paragraph(
        self,
        text: str,
        *,
        size: float = _BODY,
        indent: float = 0.0,
        lead: str = "",
        mark: str = "",
        colour: str = INK,
    ) -> None:
        """A wrapped paragraph; `lead` is bold and stands before it, `mark` hangs to its left."""
        with self.tagged("P"):
            self._paragraph(text, size, indent, lead, mark, colour)
        self.skip(size * 0.35 * self.tight**2)

    def _paragraph(
        self, text: str, size: float, indent: float, lead: str, mark: str, colour: str
    ) -> None:
        room = self.width - indent
        first = f"{lead} " if lead else ""
        lead_lines = self.lines(lead, size, room, bold=True) if lead else []
        inline = len(lead_lines) == 1 and self.canvas.width(first, size, bold=True) < room * 0.6
        if lead_lines and not inline:
            for line in space_lines([*lead_lines, ""])[:-1]:
                self.need(size * self.leading)
                self._line(line, size, self.left + indent, bold=True)
        offset = self.canvas.width(first, size, bold=True) if inline else 0.0
        lines = self._hanging(text, size, room, offset)
        for i, line in enumerate(space_lines(lines)):
            self.need(size * self.leading * (2 if i == 0 and len(lines) > 1 else 1))
            x = self.left + indent
            if i == 0 and mark:
                self._put(f"{mark} ", size, x - max(4.0, size), bold=False, colour=PALE)
            if i == 0 and inline:
                self._put(first, size, x, bold=True, colour=colour)
                x += offset
            self._put(line, size, x, bold=False, colour=colour)
            self.y -= size * self.leading

    def _hanging(self, text: str, size: float, room: float, offset: float) -> list[str]:
        """Lines of which the first is shorter by what stands before it."""
        if offset == 0.0:
            return self.lines(text, size, room)
        first = self.lines(text, size, room - offset)[0]
        rest = text.split()[len(first.split()) :]
        if " ".join(text.split()[: len(first.split())]) != first:  # a word was cut
            rest = ("".join(text.split())[len(first.replace(" ", "")) :]).split()
        return [first, *(self.lines(" ".join(rest), size, room) if rest else [])]

    def _line(self, text: str, size: float, x: float, *, bold: bool = False) -> None:
        self._put(text, size, x, bold=bold, colour=INK)
        self.y -= size * self.leading

    def _put(self, text: str, size: float, x: float, *, bold: bool, colour: str) -> None:
        at = (x, self.y - size * self.leading / 2)
        self.canvas.text(
            "sheet", at, _keep_order(text), size, anchor="start", bold=bold, colour=colour
        )

    # ---------------------------------------------------------------------- tables

    def table(
        self,
        heads: Sequence[Head],
        rows: Sequence[Sequence[str]],
        *,
        size: float = SMALL,
        indent: float = 0.0,
        most: int = 4,
        boxes: bool = False,
        samples: Sequence[Stroke] = (),
        together: bool = False,
    ) -> None:
        """A table whose cells wrap; its head is said again on every page.

        `boxes` draws an empty box to tick before every row, `samples` a line of its own;
        `together` keeps all rows on one page.
        """
        lead = 7.0 if boxes else SAMPLE_MM + size if samples else 0.0
        room, total = self.width - indent - lead, sum(head.share for head in heads)
        columns = [(head, room * head.share / total) for head in heads]
        top = self._cells([head.text for head in heads], columns, size, most)
        cells = [self._cells(row, columns, size, most) for row in rows]
        heights = [self._height(row, size) for row in cells]
        x = self.left + indent

        def begin(after: float) -> None:
            self.need(self._height(top, size) + after)
            self._row(top, columns, size, x + lead, "TH")
            self.canvas.line("sheet", [(x, self.y), (x + room + lead, self.y)], RULE)

        with self.tagged("Table"):
            for i, (row, height) in enumerate(zip(cells, heights, strict=True)):
                if i == 0:
                    begin(sum(heights) if together else height)
                elif self.need(height):
                    begin(height)
                if boxes:
                    self._box(x, height)
                if samples:
                    middle = self.y - height / 2
                    self.canvas.line("sheet", [(x, middle), (x + SAMPLE_MM, middle)], samples[i])
                self._row(row, columns, size, x + lead)
                self.canvas.line("sheet", [(x, self.y), (x + room + lead, self.y)], _FAINT)
        self.skip(3.0)

    def _cells(
        self, row: Sequence[str], columns: Sequence[_Column], size: float, most: int
    ) -> list[list[str]]:
        return [
            self.lines(text, size, width - CELL_GAP_MM, bold=head.bold, most=most)
            for text, (head, width) in zip(row, columns, strict=True)
        ]

    def _height(self, cells: Sequence[Sequence[str]], size: float) -> float:
        return (max(len(cell) for cell in cells) * size * _ROW + 1.2) * self.tight

    def _row(
        self,
        cells: Sequence[Sequence[str]],
        columns: Sequence[_Column],
        size: float,
        x: float,
        kind: str = "TD",
    ) -> None:
        top, step = 0.6 * self.tight, _ROW * self.tight
        with self.tagged("TR"):
            for cell, (head, width) in zip(cells, columns, strict=True):
                anchor: Anchor = "end" if head.right else "start"
                with self.tagged(kind):
                    for i, line in enumerate(cell if head.right else space_lines(cell)):
                        y = self.y - top - size * step * (0.5 + i)
                        at = (x + width - CELL_GAP_MM if head.right else x, y)
                        words = _keep_order(line)
                        self.canvas.text("sheet", at, words, size, anchor=anchor, bold=head.bold)
                x += width
        self.y -= self._height(cells, size)

    def _box(self, x: float, height: float) -> None:
        foot = self.y - height / 2 - 1.6
        ring = [(x, foot), (x + 3.2, foot), (x + 3.2, foot + 3.2), (x, foot + 3.2)]
        self.canvas.line("sheet", ring, _BOX, closed=True)


def pair_rows(
    heads: tuple[Head, ...], rows: Sequence[tuple[str, ...]]
) -> tuple[tuple[Head, ...], list[tuple[str, ...]]]:
    """Lay a long table out as two beside each other."""
    half = -(-len(rows) // 2)
    other = [*rows[half:], *[("",) * len(heads)] * (2 * half - len(rows))]
    again = heads if len(rows) > 1 else tuple(replace(head, text="") for head in heads)
    return (*heads, *again), [(*a, *b) for a, b in zip(rows[:half], other, strict=True)]
