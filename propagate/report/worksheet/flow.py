"""Text and tables that run from page to page inside margins."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import field, replace

from propagate.report.canvas import Stroke
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.fonts import FontBook
from propagate.report.pdf.paper import Paper
from propagate.report.style import INK, PALE
from propagate.values import dataclass

__all__ = ["BODY", "FOOT_MM", "RULE", "SMALL", "Flow", "Head", "paired", "upright"]

BODY = 3.3
SMALL = 2.8
FOOT_MM = 9.0
RULE = Stroke(INK, 0.2)
_LEADING = 1.42
_ROW = 1.3
_FAINT = Stroke("#b8b8b8", 0.15)
_BOX = Stroke(INK, 0.3)
_TOP_MM = 4.0
_UNBROKEN = re.compile(r"(?:[\d./]+\x20)+(?:mm|in)\b\S*|\S+")
"""Words of a text; a number, also a mixed one, is one with its unit."""


def upright(text: str) -> str:
    """Keep a line to the right that begins with a name written to the left."""
    strong = [way for way in map(unicodedata.bidirectional, text) if way in ("L", "R", "AL")]
    mixed = bool(strong) and strong[0] != "L" and "L" in strong
    return f"\N{LEFT-TO-RIGHT MARK}{text}" if mixed else text


@dataclass(frozen=True)
class Head:
    """A column of a table: its head, its share of the width, where its text stands."""

    text: str
    share: float
    right: bool = False
    bold: bool = False


@dataclass
class Flow:
    """Lays text out from the top of a page downwards and starts new pages.

    Attributes
    ----------
    fonts : FontBook
    paper : Paper
    pages : list of PdfCanvas
        Finished and current, one for each page.
    y : float
        Where the next line begins, mm from the lower edge.
    widths : dict
        Widths of words that were measured.
    tight : float
        Share of the usual room between lines.
    """

    fonts: FontBook
    paper: Paper
    pages: list[PdfCanvas] = field(default_factory=list)
    y: float = 0.0
    widths: dict[tuple[str, bool], float] = field(default_factory=dict)
    tight: float = 1.0

    def __post_init__(self) -> None:
        self.page()

    @property
    def left(self) -> float:
        """Left edge of the text, mm."""
        return self.paper.margin + 2.0

    @property
    def width(self) -> float:
        """Width of the text, mm."""
        return self.paper.width - 2.0 * self.left

    @property
    def bottom(self) -> float:
        """Lowest place of text, above the foot, mm."""
        return self.paper.margin + FOOT_MM

    @property
    def leading(self) -> float:
        """Height of a line in parts of the size of its text."""
        return _LEADING * self.tight

    @property
    def canvas(self) -> PdfCanvas:
        """The page that is being filled."""
        return self.pages[-1]

    def page(self) -> None:
        """Start a new page."""
        self.pages.append(PdfCanvas(hatch_pitch=1.6, fonts=self.fonts))
        self.y = self.paper.height - self.paper.margin - _TOP_MM

    def need(self, height: float) -> None:
        """Start a new page unless there is this much room."""
        if self.y - height < self.bottom:
            self.page()

    def skip(self, height: float) -> None:
        """Leave some room."""
        self.y -= height

    def lines(self, text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
        """A text in lines that fit; words are measured once for the whole sheet."""
        words = _UNBROKEN.findall(text)
        widths = [self.word_width(word, bold) * size for word in words]
        if any(width > room for width in widths):
            return self.fonts.wrapped(text, size, room, bold=bold)
        space = self.word_width(" ", bold) * size
        lines: list[list[str]] = []
        used = 0.0
        for word, width in zip(words, widths, strict=True):
            if lines and used + space + width <= room:
                lines[-1].append(word)
                used += space + width
            else:
                lines.append([word])
                used = width
        return [" ".join(line) for line in lines] or [""]

    def word_width(self, word: str, bold: bool) -> float:
        """Width of a word in parts of its size."""
        key = (word, bold)
        if key not in self.widths:
            self.widths[key] = self.fonts.width(word, 1.0, bold=bold)
        return self.widths[key]

    def heading(self, text: str, size: float = 4.4, *, most: int = 3, room: float = 12.0) -> None:
        """A bold heading that keeps room for what follows it."""
        lines = self.lines(text, size, self.width, bold=True)
        if len(lines) > most:
            rest = " ".join(lines[most - 1 :])
            lines = [*lines[: most - 1], self.fonts.fitted(rest, size, self.width, bold=True)]
        self.need(len(lines) * size * self.leading + room)
        for line in lines:
            self._line(line, size, self.left, bold=True)
        self.skip(1.0)

    def paragraph(
        self,
        text: str,
        *,
        size: float = BODY,
        indent: float = 0.0,
        lead: str = "",
        mark: str = "",
        colour: str = INK,
    ) -> None:
        """A wrapped paragraph; `lead` is bold and stands before it, `mark` hangs to its left."""
        room = self.width - indent
        first = f"{lead} " if lead else ""
        lead_lines = self.lines(lead, size, room, bold=True) if lead else []
        inline = len(lead_lines) == 1 and self.fonts.width(first, size, bold=True) < room * 0.6
        if lead_lines and not inline:
            for line in lead_lines:
                self.need(size * self.leading)
                self._line(line, size, self.left + indent, bold=True)
        offset = self.fonts.width(first, size, bold=True) if inline else 0.0
        lines = self._hanging(text, size, room, offset)
        for i, line in enumerate(lines):
            self.need(size * self.leading * (2 if i == 0 and len(lines) > 1 else 1))
            x = self.left + indent
            if i == 0 and mark:
                self._put(mark, size, x - 4.0, bold=False, colour=PALE)
            if i == 0 and inline:
                self._put(lead, size, x, bold=True, colour=colour)
                x += offset
            self._put(line, size, x, bold=False, colour=colour)
            self.y -= size * self.leading
        self.skip(size * 0.35 * self.tight**2)

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
        self.canvas.text("sheet", at, upright(text), size, anchor="start", bold=bold, colour=colour)

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
        together: bool = False,
    ) -> None:
        """A table whose cells wrap; its head is said again on every page.

        `boxes` draws an empty box to tick before every row; `together` keeps all rows on
        one page.
        """
        lead = 7.0 if boxes else 0.0
        room = self.width - indent - lead
        total = sum(head.share for head in heads)
        widths = [room * head.share / total for head in heads]
        titles = [head.text for head in heads]
        first = True
        for row in rows:
            cells = self._cells(row, heads, widths, size, most)
            height = self._height(cells, size)
            top = self._height(self._cells(titles, heads, widths, size, most), size)
            if first:
                rest = [self._height(self._cells(r, heads, widths, size, most), size) for r in rows]
                self.need(sum(rest) + top if together else height + top)
            elif self.y - height < self.bottom:
                self.page()
                first = True
            if first:
                self._row(
                    self._cells(titles, heads, widths, size, most),
                    heads,
                    widths,
                    size,
                    indent,
                    lead,
                )
                x = self.left + indent
                self.canvas.line("sheet", [(x, self.y), (x + room + lead, self.y)], RULE)
                first = False
            if boxes:
                self._box(self.left + indent, height)
            self._row(cells, heads, widths, size, indent, lead)
            x = self.left + indent
            self.canvas.line("sheet", [(x, self.y), (x + room + lead, self.y)], _FAINT)
        self.skip(3.0)

    def _cells(
        self,
        row: Sequence[str],
        heads: Sequence[Head],
        widths: Sequence[float],
        size: float,
        most: int,
    ) -> list[list[str]]:
        cells = []
        for text, width, head in zip(row, widths, heads, strict=True):
            lines = self.lines(text, size, width - 2.0, bold=head.bold)
            if len(lines) > most:
                rest = self.fonts.fitted(
                    " ".join(lines[most - 1 :]), size, width - 2.0, bold=head.bold
                )
                lines = [*lines[: most - 1], rest]
            cells.append(lines)
        return cells

    def _height(self, cells: Sequence[Sequence[str]], size: float) -> float:
        return (max(len(cell) for cell in cells) * size * _ROW + 1.2) * self.tight

    def _row(
        self,
        cells: Sequence[Sequence[str]],
        heads: Sequence[Head],
        widths: Sequence[float],
        size: float,
        indent: float,
        lead: float,
    ) -> None:
        x, top, step = self.left + indent + lead, 0.6 * self.tight, _ROW * self.tight
        for cell, head, width in zip(cells, heads, widths, strict=True):
            for i, line in enumerate(cell):
                at = (x + width - 2.0 if head.right else x, self.y - top - size * step * (0.5 + i))
                anchor = "end" if head.right else "start"
                self.canvas.text("sheet", at, upright(line), size, anchor=anchor, bold=head.bold)  # type: ignore[arg-type]
            x += width
        self.y -= self._height(cells, size)

    def _box(self, x: float, height: float) -> None:
        foot = self.y - height / 2 - 1.6
        ring = [(x, foot), (x + 3.2, foot), (x + 3.2, foot + 3.2), (x, foot + 3.2)]
        self.canvas.line("sheet", ring, _BOX, closed=True)


def paired(
    heads: tuple[Head, ...], rows: Sequence[tuple[str, ...]]
) -> tuple[tuple[Head, ...], list[tuple[str, ...]]]:
    """A long table as two beside each other."""
    half = -(-len(rows) // 2)
    other = [*rows[half:], *[("",) * len(heads)] * (2 * half - len(rows))]
    again = heads if len(rows) > 1 else tuple(replace(head, text="") for head in heads)
    return (*heads, *again), [(*a, *b) for a, b in zip(rows[:half], other, strict=True)]
