"""Write a work sheet as PDF: its first page, and all pages one after another."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import BinaryIO

import numpy as np

from propagate.engine.run import Result
from propagate.errors import UnknownName
from propagate.report.flow import RULE, SMALL, Head, pair_rows
from propagate.report.lead_sentence import lead_sentence
from propagate.report.pdf.document import PdfDocument
from propagate.report.pdf.fonts import FontBook
from propagate.report.pdf.paper import PAPERS, Paper
from propagate.report.scene.items import Role
from propagate.report.scene.lead import Lead, compose_lead
from propagate.report.scene.looks import SAMPLE_MM, legend_of, legend_rows, paint_scene
from propagate.report.style import PALE
from propagate.report.units import MINUS
from propagate.report.worksheet.flow import Flow
from propagate.report.worksheet.pages import THIN, check_pages, step_pages, tracing_pages
from propagate.report.worksheet.value import WorkSheet
from propagate.report.worksheet.words import Source
from propagate.values import dataclass

__all__ = ["sheet_paper", "write_sheet"]

_SHEET_PAPERS = ("a4", "letter")
_SMALL = 2.6
_STUB = 0.25
"""A last page filled by less is nearly empty."""
_TIGHTER = (0.95, 0.9)
_WHAT = (
    "How to change the old paper pieces by hand. Lengths are in {unit}, on the seam line, without "
    "allowances."
)
_READ = (
    "Every short line of a figure is a point of the new line. Of its two figures the first is how "
    "far to go along the old line, from the old place of the letter that the table names; the "
    "second is how far from there square to it: {minus} into the piece, to trim; + out of it, to "
    "tape on; 0 on the old line. A place can lie beyond the end of the old line ({minus}: before "
    "its beginning): run that straight on. Where there is room for one figure only, it is the "
    "first; the table has both. Draw one smooth line through the points, from corner to corner; at "
    "a dart draw to one leg, close the dart and go on from the other.{breaks} Where a line misses "
    "its corner, the corner wins; where drawing and figure differ, the figure."
)
_TURN = " At a ‘turn’ do not round the line."
_OLD_LEG = " At ‘old leg’ a leg of the dart met the old line."
_LEADS = ((88.0, 1.0), (80.0, 1.0), (84.0, 0.93), (76.0, 0.88), (72.0, 0.84), (68.0, 0.8))
"""Heights of the lead picture, mm, and how close the lines stand: the first that fits a page."""
_LEGEND_MM = 3.4
_BEYOND = "straight line to measure from"
"""The old line run on, or one from corner to corner."""


@dataclass(frozen=True)
class SheetSummary:
    """What was written.

    Attributes
    ----------
    missing : tuple of str
        Characters that no font has.
    """

    pages: int
    missing: tuple[str, ...]


def sheet_paper(name: str) -> Paper:
    """Return the paper of a work sheet; raises UnknownName, which lists those that are known."""
    known = name.strip().lower()
    if known not in _SHEET_PAPERS:
        raise UnknownName(
            "paper", name, list(_SHEET_PAPERS), f"the papers {', '.join(_SHEET_PAPERS)}"
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
    fonts : FontBook or None
        With further fonts for scripts that the built-in one lacks.
    """
    fonts = fonts or FontBook()
    flow, steps = Flow(fonts, paper), Flow(fonts, paper)
    source = Source(result, sheet.unit)
    held = step_pages(steps, source, sheet)
    _fit_first_page(flow, result, sheet, held)
    _write_last_pages(steps, source, sheet)
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


def _write_last_pages(flow: Flow, source: Source, sheet: WorkSheet) -> None:
    """Write tracing and checks; a few lines left over for a page are taken in by closer lines."""

    def build(own: Flow) -> None:
        tracing_pages(own, sheet)
        check_pages(own, source, sheet)

    usual, last = _probe_pages(flow, build, 1.0)
    for tight in _TIGHTER if last < _STUB else ():
        if _probe_pages(flow, build, tight)[0] < usual:
            flow.tight = tight
            break
    build(flow)
    flow.tight = 1.0


def _probe_pages(flow: Flow, build: Callable[[Flow], None], tight: float) -> tuple[int, float]:
    """Tell how many pages a text takes, and what share of the last one it fills."""
    probe = Flow(flow.fonts, flow.paper, tight=tight)
    top, probe.y = probe.y, flow.y
    build(probe)
    return len(probe.pages), (top - probe.y) / (top - probe.bottom)


def _fit_first_page(flow: Flow, result: Result, sheet: WorkSheet, held: Collection[Role]) -> None:
    """Write the lead picture, the two ways, how to read; cautions, what to take out: on one page.

    `held` are the roles of all figures, for their legend.
    """
    for mm, tight in _LEADS:
        lead = compose_lead(result, sheet.unit, width=flow.width, height=mm)
        flow.tight = tight
        probe = Flow(flow.fonts, flow.paper, tight=tight)
        _write_first_page(probe, result, sheet, held, lead)
        if len(probe.pages) == 1:
            break
    _write_first_page(flow, result, sheet, held, lead)


def _write_first_page(
    flow: Flow, result: Result, sheet: WorkSheet, held: Collection[Role], lead: Lead | None
) -> None:
    flow.heading(f"Work sheet: {sheet.set_name}, size {sheet.size}", 6.0, room=40.0)
    flow.paragraph(sheet.edit)
    for text in sheet.edits:
        flow.paragraph(text, indent=5.0, mark="•")
    flow.paragraph(lead_sentence(result, sheet.unit))
    if lead is not None:
        flow.need(lead.height)
        at = np.array([flow.left, flow.y - lead.height])
        with flow.tagged("Figure", "The pieces that changed, before and now."):
            paint_scene(lead.scene.placed(1.0, at.__add__), flow.canvas, thin=THIN)
        flow.skip(lead.height + 3.0)
        held = set(held) - set(lead.scene.roles)
    unit = "millimetres" if sheet.unit.name == "mm" else "inches, to the nearest 1/16"
    flow.paragraph(_WHAT.format(unit=unit))
    _write_ways(flow, sheet)
    flow.skip(1.5)
    flow.heading("How to read the figures")
    at_rows = {row.at for edge in sheet.edges for row in (*edge.offsets, *edge.chord)}
    breaks = _TURN * ("turn" in at_rows) + _OLD_LEG * ("old leg" in at_rows)
    flow.paragraph(_READ.format(minus=MINUS, breaks=breaks))
    _write_legend(flow, held)
    flow.skip(1.5)
    flow.heading("Before you begin")
    for text in sheet.cautions:
        flow.paragraph(text, indent=5.0, mark="•")
    flow.skip(1.5)
    _take_out(flow, sheet)


def _write_ways(flow: Flow, sheet: WorkSheet) -> None:
    """Write the choice between figures and tracing, where there is one."""
    traced = [step.number for step in sheet.steps if step.way]
    if traced:
        find, steps = "find", f"steps {traced[0]} to {traced[-1]}"
        if len(traced) == 1:
            find, steps = "finds", f"step {traced[0]}"
        elif len(traced) == 2:
            steps = f"steps {traced[0]} and {traced[1]}"
        ends = "; both end with the checks" if sheet.checks else ""
        flow.paragraph(
            f"Choose one of two ways{ends}. By figures: steps 1 to "
            f"{traced[0] - 1}. By tracing: step 1, then {steps}, which {find} most of "
            "the new lines without measuring; from step 2 on the figures show where they come out."
        )


def _take_out(flow: Flow, sheet: WorkSheet) -> None:
    """Write every piece with its size and what becomes of it, and where that is told."""
    told = {edge.piece: step.number for step in reversed(sheet.steps) for edge in step.edges}
    rows = []
    last = len(sheet.steps) + 1
    for row in sorted(
        sheet.take_out,
        key=lambda row: told.get(row.piece, last) if row.purpose == "to change" else last,
    ):
        step = f", step {told[row.piece]}" if row.piece in told else ""
        what = f"to change{step}" if row.purpose == "to change" else f"{row.purpose}, by tracing"
        rows.append((row.title, row.size, what))
    rows += [(row.title, row.size, f"as drawn: {row.words}") for row in sheet.cut_list]
    first = sheet.steps[0]
    flow.heading(f"{first.number}.  {first.title}", 4.2, room=14.0)
    for sentence in first.sentences:
        flow.paragraph(sentence.text)
    flow.table(
        *pair_rows((Head("piece", 2.6, bold=True), Head("size", 0.9), Head("for", 5.5)), rows)
    )


def _write_legend(flow: Flow, held: Collection[Role]) -> None:
    """Write what the lines and areas mean, in rows."""
    words = {
        Role.OFFSET: "along the old line | square to it",
        Role.CUT: "slashed edge",
        Role.BEYOND: _BEYOND,
    }
    roles = [role for role in Role if role in held]
    entries = legend_of(roles, SAMPLE_MM, _LEGEND_MM, words)
    legend, low = legend_rows(entries, flow.width, SMALL, flow.canvas.width)
    at = np.array([flow.left, flow.y - 2.2])
    with flow.tagged("Figure", f"What lines mean: {', '.join(entry.words for entry in entries)}."):
        paint_scene(legend.placed(1.0, at.__add__), flow.canvas, thin=THIN, layer="sheet")
    flow.skip(6.0 - low)
