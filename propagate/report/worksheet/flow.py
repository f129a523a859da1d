"""Text that runs from page to page inside margins."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from propagate.report.flow import CELL_GAP_MM, SMALL, TextFlow, space_lines
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.fonts import FontBook
from propagate.report.pdf.paper import Paper
from propagate.report.pdf.tags import Element

__all__ = ["Flow"]

_FOOT_MM = 9.0
_TOP_MM = 4.0
_AGAIN = 3.6
"""Size of a heading that is said again."""


class Flow(TextFlow):
    """Lays text out from the top of a page downwards and starts new pages.

    Attributes
    ----------
    pages : list of PdfCanvas
        Finished and current, one for each page.
    root : Element
        What was written, part by part.
    """

    canvas: PdfCanvas
    _under = ""

    def __init__(self, fonts: FontBook, paper: Paper, tight: float = 1.0) -> None:
        self.fonts, self.paper = fonts, paper
        self.pages: list[PdfCanvas] = []
        left = paper.margin + 2.0
        super().__init__(PdfCanvas(fonts=fonts), left, paper.width - 2.0 * left, 0.0, tight)
        self.root = Element("Document")
        self._open = [self.root]
        self.page()

    @property
    def bottom(self) -> float:
        """Lowest place of text, above the foot, mm."""
        return self.paper.margin + _FOOT_MM

    def page(self) -> None:
        """Start a new page."""
        inside, self.canvas.element = self.canvas.element, None
        self.canvas = PdfCanvas(hatch_pitch=1.6, fonts=self.fonts, element=inside)
        self.pages.append(self.canvas)
        self.y = self.paper.height - self.paper.margin - _TOP_MM
        if self._under:
            self._say_again(f"{self._under}, continued")

    @contextmanager
    def under(self, heading: str) -> Iterator[None]:
        """Say a heading again on every page on which what the block writes goes on."""
        before, self._under = self._under, heading
        try:
            yield
        finally:
            self._under = before

    def _say_again(self, heading: str) -> None:
        """For the eye alone: who hears the page is still in the same part."""
        inside, self.canvas.element = self.canvas.element, None
        for text in space_lines(self.lines(heading, _AGAIN, self.width, bold=True)):
            self._line(text, _AGAIN, self.left, bold=True)
        self.skip(1.0)
        self.canvas.element = inside

    def wraps(self, text: str, indent: float, share: float) -> bool:
        """Whether a text needs two lines in a column with that share of a table's width."""
        room = (self.width - indent) * share - CELL_GAP_MM
        return len(self.lines(text, SMALL, room)) > 1

    def need(self, height: float) -> bool:
        """Start a new page unless there is this much room; whether that was done."""
        full = self.y - height < self.bottom
        if full:
            self.page()
        return full

    @contextmanager
    def tagged(self, kind: str, alt: str = "") -> Iterator[None]:
        """Write what the block writes as a part of the document."""
        part, before = Element(kind, alt), self.canvas.element
        self._open[-1].kids.append(part)
        self._open.append(part)
        self.canvas.element = part
        try:
            yield
        finally:
            self._open.pop()
            self.canvas.element = before
