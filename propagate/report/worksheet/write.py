"""Write a work sheet as PDF."""

from __future__ import annotations

from collections.abc import Callable
from typing import BinaryIO

from propagate.engine.run import Result
from propagate.errors import UnknownName
from propagate.report.flow import RULE
from propagate.report.pdf.document import PdfDocument
from propagate.report.pdf.fonts import FontBook
from propagate.report.pdf.paper import PAPERS, Paper
from propagate.report.style import PALE
from propagate.report.worksheet.first_page import first_page
from propagate.report.worksheet.flow import Flow
from propagate.report.worksheet.pages import check_pages, step_pages, tracing_pages
from propagate.report.worksheet.value import WorkSheet
from propagate.report.worksheet.words import Source
from propagate.values import dataclass

__all__ = ["SHEET_PAPERS", "SheetSummary", "sheet_paper", "write_sheet"]

SHEET_PAPERS = ("a4", "letter")
_SMALL = 2.6
_STUB = 0.25
"""A last page filled by less is nearly empty."""
_TIGHTER = (0.95, 0.9)


@dataclass(frozen=True)
class SheetSummary:
    """What was written.

    Attributes
    ----------
    pages : int
    missing : tuple of str
        Characters that no font has.
    """

    pages: int
    missing: tuple[str, ...]


def sheet_paper(name: str) -> Paper:
    """Return the paper of a work sheet; raises UnknownName, which lists those that are known."""
    known = name.strip().lower()
    if known not in SHEET_PAPERS:
        raise UnknownName(
            "paper", name, list(SHEET_PAPERS), f"the papers {', '.join(SHEET_PAPERS)}"
        )
    return PAPERS[known]


def write_sheet(
    result: Result,
    sheet: WorkSheet,
    out: BinaryIO,
    paper: Paper,
    *,
    fonts: FontBook | None = None,
) -> SheetSummary:
    """Write a work sheet as PDF; the same input gives the same bytes.

    Parameters
    ----------
    result : Result
        The one that the sheet was derived from; its outlines are drawn.
    sheet : WorkSheet
    out : binary file
    paper : Paper
    fonts : FontBook or None
        With further fonts for scripts that the built-in one lacks.
    """
    fonts = fonts or FontBook()
    flow, steps = Flow(fonts, paper), Flow(fonts, paper)
    source = Source(result, sheet.unit)
    held = step_pages(steps, source, sheet)
    first_page(flow, result, sheet, held)
    _without_stub(steps, lambda own: _last_pages(own, source, sheet))
    flow.pages += steps.pages
    flow.root.kids += steps.root.kids
    title = f"Work sheet: {sheet.set_name}, {sheet.size}"
    with PdfDocument(out, title, fonts, flow.root) as document:
        for i, canvas in enumerate(flow.pages):
            # Set name and page number below a thin line.
            y, right = paper.margin + 2.0, flow.left + flow.width
            canvas.line("sheet", [(flow.left, y + 3.0), (right, y + 3.0)], RULE)
            number = f"{i + 1} of {len(flow.pages)}"
            room = flow.width - fonts.width(number, _SMALL) - 8.0
            name = fonts.fitted(title, _SMALL, room)
            canvas.text("sheet", (flow.left, y), name, _SMALL, anchor="start", colour=PALE)
            canvas.text("sheet", (right, y), number, _SMALL, anchor="end", colour=PALE)
            document.add_page(paper.width, paper.height, canvas)
    return SheetSummary(len(flow.pages), tuple(sorted(fonts.missing)))


def _last_pages(flow: Flow, source: Source, sheet: WorkSheet) -> None:
    tracing_pages(flow, sheet)
    check_pages(flow, source, sheet)


def _without_stub(flow: Flow, build: Callable[[Flow], None]) -> None:
    """Lay text out; a few lines left over for a last page are taken in by closer lines."""
    usual, last = _probed(flow, build, 1.0)
    for tight in _TIGHTER if last < _STUB else ():
        if _probed(flow, build, tight)[0] < usual:
            flow.tight = tight
            break
    build(flow)
    flow.tight = 1.0


def _probed(flow: Flow, build: Callable[[Flow], None], tight: float) -> tuple[int, float]:
    """How many pages a text takes, and what share of the last one it fills."""
    probe = Flow(flow.fonts, flow.paper, tight=tight)
    top, probe.y = probe.y, flow.y
    build(probe)
    return len(probe.pages), (top - probe.y) / (top - probe.bottom)
