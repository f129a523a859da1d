"""The first page, the steps and the checks of a work sheet."""

from __future__ import annotations

from typing import get_args

from propagate.report.check_words import words_of
from propagate.report.units import Unit
from propagate.report.worksheet.flow import BODY, Flow, Head
from propagate.report.worksheet.lengths import angle, number, said, shown
from propagate.report.worksheet.value import Check, CheckKind, EdgeWork, Step, WorkSheet

__all__ = ["check_pages", "first_page", "offset_word", "place_word", "step_pages"]

_WHAT = (
    "This sheet tells how to change the old paper pieces by hand: what to take out, where to tape "
    "paper on, where to cut away, and what to walk at the end. Every re-cut piece has a page with "
    "its old and its new outline. Lengths are in {unit}, on the seam line. Measures are written "
    "beside the drawings and in the tables."
)
_MINUS = "\N{MINUS SIGN}"
_COLUMNS = 8
_TABLE_MM = 18.0
"""About the height of one block of a table of offsets."""
_MOST_BLOCKS = 4


def first_page(flow: Flow, sheet: WorkSheet) -> None:
    """Title, what this is, cautions, what to take out, what to cut as drawn."""
    flow.heading(f"Work sheet: {sheet.set_name}, size {sheet.size}", 6.0, room=40.0)
    flow.paragraph(sheet.edit)
    unit = "millimetres" if sheet.unit.name == "mm" else "inches, to the nearest 1/16"
    flow.paragraph(_WHAT.format(unit=unit))
    flow.skip(1.5)
    flow.heading("Before you begin")
    for text in sheet.cautions:
        flow.paragraph(text, indent=5.0, mark="•")
    flow.skip(1.5)
    flow.heading("Take out")
    flow.table(
        (Head("piece", 5, bold=True), Head("size", 2), Head("what for", 4)),
        [(row.title, row.size, row.purpose) for row in sheet.take_out],
        size=BODY,
    )
    if sheet.cut_list:
        flow.heading("Cut as drawn, in this size")
        flow.table(
            (Head("piece", 5, bold=True), Head("size", 2), Head("how many, from what", 6)),
            [(row.title, row.size, row.words) for row in sheet.cut_list],
            size=BODY,
        )


def step_pages(flow: Flow, sheet: WorkSheet) -> None:
    """Every step with its sentences, its edges and their tables."""
    flow.page()
    flow.heading("Steps, in the order of work", 5.4)
    flow.skip(1.0)
    for step in sheet.steps:
        _step(flow, step, sheet)


def _step(flow: Flow, step: Step, sheet: WorkSheet) -> None:
    flow.heading(f"{step.number}.  {step.title}", 4.0, room=14.0)
    for sentence in step.sentences:
        flow.paragraph(sentence.text, indent=7.0, mark="–")
    titles = {piece.piece: piece.title for piece in sheet.pieces}
    for edge in step.edges:
        flow.need(12.0 + (14.0 if edge.offsets else 0.0))
        lead = f"{titles[edge.piece]}, {edge.edge}:"
        flow.paragraph(edge.text, indent=7.0, lead=lead, mark="□")
        if edge.offsets:
            _offsets(flow, edge, sheet.unit)
    flow.skip(2.5)


def offset_word(mm: float, unit: Unit) -> str:
    """An offset with its sign: plus is paper to add."""
    if not shown(mm, unit):
        return "0"
    return ("+" if mm > 0 else _MINUS) + number(abs(mm), unit)


def _offsets(flow: Flow, edge: EdgeWork, unit: Unit) -> None:
    """So far along the old line, so far square to it; a few points in a row of the page."""
    blocks = -(-len(edge.offsets) // _COLUMNS)
    wide = -(-len(edge.offsets) // blocks)
    flow.need(_TABLE_MM * min(blocks, _MOST_BLOCKS) + 5.0)
    if edge.offsets_from is not None:
        flow.paragraph(f"Counted from the old {edge.offsets_from.bare}:", size=2.9, indent=14.0)
    for first in range(0, len(edge.offsets), wide):
        part = edge.offsets[first : first + wide]
        empty = [""] * (_COLUMNS - len(part))
        heads = (
            Head("along the old line", 3.4),
            *(Head(place_word(o.along_mm, unit), 1, right=True) for o in part),
            *(Head("", 1) for _ in empty),
        )
        rows = [(f"tape on + or trim {_MINUS}", *(offset_word(o.out_mm, unit) for o in part))]
        if any(o.at for o in part):
            rows.append(("this is", *(o.at for o in part)))
        flow.table(heads, [(*row, *empty) for row in rows], size=2.9, indent=14.0, together=True)


def place_word(mm: float, unit: Unit) -> str:
    """A place along the old line; minus is before its beginning."""
    return (_MINUS if mm < 0.0 and shown(mm, unit) else "") + number(abs(mm), unit)


_HEADS = (
    Head("name", 3.4),
    Head("run A", 5.4),
    Head("run B", 5.4),
    Head("A", 2, right=True),
    Head("B", 2, right=True),
    Head("ease", 1.4, right=True),
)


def check_pages(flow: Flow, sheet: WorkSheet) -> None:
    """What to walk, with boxes to tick."""
    flow.page()
    flow.heading("Check by walking and measuring", 5.4)
    flow.paragraph(
        "Pin the two sides at one end and walk one along the other, seam line on seam line, darts "
        "closed. Ease is what run B is longer on purpose. Tick what agrees."
    )
    for kind in get_args(CheckKind):
        rows = [check for check in sheet.checks if check.kind == kind and not check.note]
        if not rows:
            continue
        flow.heading(words_of(kind).on_paper, 3.8, room=16.0)
        flow.table(_HEADS, [_check(check, sheet.unit) for check in rows], boxes=True)
    off = [check for check in sheet.checks if check.note]
    if off:
        flow.heading("These do not agree: look if that is wanted", 3.8, room=16.0)
        flow.table(
            (*_HEADS[:3], Head("A", 2.6, right=True), Head("B", 2.6, right=True), Head("", 5)),
            [(*_check(check, sheet.unit)[:-1], check.note) for check in off],
        )


def _check(check: Check, unit: Unit) -> tuple[str, ...]:
    if words_of(check.kind).degrees:
        values = (angle(check.first), angle(check.second))
    else:
        values = (said(check.first, unit), said(check.second, unit))
    ease = number(check.ease, unit) if shown(check.ease, unit) else ""
    return (check.name, check.first_what, check.second_what, *values, ease)
