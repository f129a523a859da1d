"""The steps with their figures, the other way, and the checks of a work sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from propagate.pattern.titles import list_words
from propagate.report.check_words import CHECKS, words_of
from propagate.report.flow import SMALL, Head, pair_rows
from propagate.report.scene.items import Role
from propagate.report.scene.looks import paint_scene
from propagate.report.style import PALE
from propagate.report.units import (
    MINUS,
    Unit,
    as_printed,
    is_shown,
    offset_word,
    place_word,
    say_angle,
    say_number,
    say_ratio,
    within_word,
)
from propagate.report.worksheet.band_figure import BandFigure
from propagate.report.worksheet.band_steps import fitted_bands
from propagate.report.worksheet.edges import AS_IT_IS
from propagate.report.worksheet.figure import StepFigures, step_figures
from propagate.report.worksheet.flow import Flow
from propagate.report.worksheet.value import (
    Check,
    EdgeWork,
    Offset,
    PieceWork,
    Step,
    WorkSheet,
)
from propagate.report.worksheet.words import Source
from propagate.values import dataclass

__all__ = ["THIN", "check_pages", "step_pages", "tracing_pages"]

_TOLD_AT = ("old leg", "turn", "to turn", "from turn")
"""What a row says beneath its figures; corners and new legs have letters."""
THIN = 0.55
"""Lines of a work sheet against those of a picture."""
_COLUMNS = {"mm": 10, "in": 8}
_COLUMN_INDENT_MM = 9.0
_MOST_MM = 165.0
"""The tallest figures of a step."""
_LEAST_MM = 60.0
_ALONE_MM, _LARGE_MM = 80.0, 150.0
"""Where tables leave less than the first, a figure has the second and they go on overleaf."""
_HEADING_MM = 25.0
"""Of a page that crowded figures have for themselves, what the heading of the step takes."""
_AIR_MM = 3.0
_TABLE_MM = 18.0
_SMALLER = 1.6
"""Two steps share a page where their figures are smaller by no more than this factor."""
_TALL_MM = 5000.0


# ------------------------------------------------------------------------------- steps


@dataclass(frozen=True, eq=False)
class _Laid:
    """A step with what it draws, and the height of its text, mm."""

    step: Step
    work: PieceWork | None
    figures: StepFigures | BandFigure | None
    text_mm: float


def step_pages(flow: Flow, source: Source, sheet: WorkSheet) -> frozenset[Role]:
    """Write the steps by figures; two share a page where their figures stay large enough.

    Returns the roles that the figures hold.
    """
    works = {work.piece: work for work in sheet.pieces}
    laid = [_lay_step(flow, source, s, works) for s in sheet.steps[1:] if not s.way]
    held: set[Role] = set()
    for one, after in zip(laid, [*laid[1:], None], strict=True):
        height = _figure_room(flow, one, after)
        flow.need(one.text_mm if height == 0.0 and one.text_mm < _LEAST_MM else 0.0)
        _write_heading(flow, one.step, one.work)
        with flow.under(_say_title(one.step)):
            if one.figures is not None:
                held |= _draw_figures(flow, one, one.figures, height)
            _write_step(flow, source, one.step, one.work)
    return frozenset(held)


def _lay_step(flow: Flow, source: Source, step: Step, works: dict[str, PieceWork]) -> _Laid:
    own = len(step.pieces) == 1 and bool(step.edges)
    work = works[step.pieces[0]] if own else None
    figures: StepFigures | BandFigure | None = None
    if work is not None:
        band = fitted_bands(source).get(work.piece)
        figures = step_figures(source, work) if band is None else BandFigure(source, band)
    probe = Flow(flow.fonts, replace(flow.paper, height=_TALL_MM))
    top = probe.y
    _write_heading(probe, step, work)
    _write_step(probe, source, step, work)
    return _Laid(step, work, figures, top - probe.y)


def _figure_room(flow: Flow, one: _Laid, after: _Laid | None) -> float:
    """Tell how tall the figures of a step may be; begins a page where they need a new one."""
    if one.figures is None:
        return 0.0
    fresh = Flow(flow.fonts, flow.paper)
    page = fresh.y - fresh.bottom
    best, tall = one.figures.fitted((flow.width, _room_alone(flow.width, page, one)))
    left = flow.y - flow.bottom - one.text_mm - _AIR_MM
    begun = flow.y < fresh.y
    if tall <= left:
        return tall
    if begun and left >= _LEAST_MM and one.figures.fitted((flow.width, left))[0] <= best * _SMALLER:
        return left
    if begun:
        flow.page()
    if after is None or after.figures is None:
        return tall
    shared = (page - one.text_mm - after.text_mm) / 2 - _AIR_MM
    room = (flow.width, shared)
    if shared < _LEAST_MM or one.figures.fitted(room)[0] > best * _SMALLER:
        return tall
    other = after.figures.fitted((flow.width, _room_alone(flow.width, page, after)))[0]
    return shared if after.figures.fitted(room)[0] <= other * _SMALLER else tall


def _room_alone(width: float, page: float, one: _Laid) -> float:
    """Return room for the figures of a step that has a page for itself."""
    left = min(page - one.text_mm - _AIR_MM, _MOST_MM)
    if left < _ALONE_MM:
        left = _LARGE_MM
    figures = one.figures
    if isinstance(figures, StepFigures) and figures.is_crowded((width, left)):
        return max(left, page - _HEADING_MM)
    return left


def _draw_figures(
    flow: Flow, one: _Laid, figures: StepFigures | BandFigure, height: float
) -> set[Role]:
    """Paint the figures of a step; returns the roles that they hold."""
    held: set[Role] = set()
    top, lowest = flow.y, flow.y
    for figure, aside in figures.drawn(flow.fonts, (flow.width, height)):
        top = top if aside else lowest
        foot = top - figure.height
        at = np.array([flow.left + aside, foot])
        words = say_ratio(figure.scale)
        with flow.tagged("Figure", f"{one.step.title}: the new lines, drawn at {words}"):
            paint_scene(figure.scene.placed(1.0, at.__add__), flow.canvas, thin=THIN)
            corner = at + np.array([1.0, 2.0])
            flow.canvas.text("sheet", corner, words, SMALL, anchor="start", colour=PALE, halo=True)
        lowest = min(lowest, foot - 3.0)
        held |= set(figure.scene.roles)
    flow.y = lowest
    return held


def _say_title(step: Step) -> str:
    return f"{step.number}.  {step.title}"


def _write_heading(flow: Flow, step: Step, work: PieceWork | None) -> None:
    flow.heading(_say_title(step), 4.2, room=14.0)
    if work is not None:
        flow.paragraph(f"Size {work.size}; {work.words}.")


def _write_step(flow: Flow, source: Source, step: Step, work: PieceWork | None) -> None:
    for sentence in step.sentences:
        flow.paragraph(sentence.text, indent=5.0, mark="–")

    def called(edge: EdgeWork) -> str:
        return source.called(edge.edge, edge.piece)

    drawn = [edge for edge in step.edges if edge.drawn] if work is not None else []
    kept = [called(edge) for edge in step.edges if not edge.drawn]
    for edge in drawn:
        a, b = edge.letters
        flow.need(10.0 + (_TABLE_MM if edge.offsets or edge.chord else 0.0))
        flow.paragraph(edge.text, indent=5.0, lead=f"{called(edge)}, {a} to {b}:", mark="□")
        if edge.offsets:
            _write_rows(flow, edge.offsets, f"from old {edge.offsets_from}", source.unit)
        if edge.chord:
            _write_rows(flow, edge.chord, f"straight from {a}", source.unit)
    if work is not None:
        if kept and drawn:
            flow.paragraph(f"{list_words(kept)}: {AS_IT_IS.lower()}", indent=5.0)
        flow.paragraph(_say_allowances(source, work), indent=5.0)
        _write_marks(flow, source, work)
    flow.skip(2.5)


def _say_allowances(source: Source, work: PieceWork) -> str:
    """Say ``Allowance 10 mm; side 15 mm; none on centre``."""
    widths = {
        source.called(edge.edge, work.piece): source.said(edge.allowance_mm)
        if is_shown(edge.allowance_mm, source.unit)
        else ""
        for edge in work.edges
    }
    wide = [width for width in widths.values() if width]
    if not wide:
        return "No allowance."
    usual = max(dict.fromkeys(wide), key=wide.count)
    told = [f"{edge} {width}" for edge, width in widths.items() if width not in ("", usual)]
    none = [edge for edge, width in widths.items() if not width]
    parts = [f"Allowance {usual}", *([list_words(told)] if told else [])]
    return "; ".join([*parts, *([f"none on {list_words(none)}"] if none else [])]) + "."


def _write_rows(flow: Flow, rows: Sequence[Offset], origin: str, unit: Unit) -> None:
    """Write so far along, so far square to it; a few points in a row of the page."""
    heads = [f"{row.letter} {place_word(row.along_mm, unit)}".strip() for row in rows]
    told = {row.at for row in rows} & set(_TOLD_AT)
    most = _COLUMNS[unit.name]
    while most > 1 and any(
        flow.wraps(words, _COLUMN_INDENT_MM, 1.0 / (2.2 + most)) for words in (*heads, *told)
    ):
        most -= 1
    blocks = -(-len(rows) // most)
    wide = -(-len(rows) // blocks)
    for first in range(0, len(rows), wide):
        part = rows[first : first + wide]
        empty = [""] * (most - len(part))
        columns = (
            Head(origin, 2.2),
            *(Head(head, 1, right=True) for head in heads[first : first + wide]),
            *(Head("", 1) for _ in empty),
        )
        outs = (offset_word(row.out_mm, unit) for row in part)
        sides = {row.out_mm > 0.0 for row in part if is_shown(row.out_mm, unit)}
        words = [f"trim {MINUS}"] * (False in sides) + ["tape on +"] * (True in sides)
        lines: list[tuple[str, ...]] = [(", ".join(words) or "on it", *outs)]
        if any(row.at in _TOLD_AT for row in part):
            lines.append(("at", *(row.at if row.at in _TOLD_AT else "" for row in part)))
        flow.table(
            columns,
            [(*line, *empty) for line in lines],
            indent=_COLUMN_INDENT_MM,
            together=True,
        )


def _write_marks(flow: Flow, source: Source, work: PieceWork) -> None:
    """Write marks on the new lines and points inside, two in a row."""
    found = []
    for m in work.marks:
        name = source.called(m.name, work.piece)
        # A notch that is called zip end is told as zip end notch, a hip notch as it is.
        name = name if m.kind == "mark" or m.kind in name else f"{name} {m.kind}"
        on = source.called(m.edge, work.piece)
        found.append((m.letter, name, f"{source.said(m.along_mm)} from {m.origin}, on {on}"))
    found += [
        (
            p.letter,
            p.name,
            f"{source.said(p.first_mm)} from {p.first}, {source.said(p.second_mm)} from {p.second}",
        )
        for p in work.inside
    ]
    if not found:
        return
    heads = (Head("", 0.5, bold=True), Head("mark", 2.4), Head("its place now", 5))
    flow.table(*pair_rows(heads, found), together=len(found) < 18)


def tracing_pages(flow: Flow, sheet: WorkSheet) -> None:
    """Write the steps of the other way."""
    steps = [step for step in sheet.steps if step.way]
    if not steps:
        return
    flow.heading("The other way: by tracing", 5.0, room=30.0)
    for step in steps:
        _write_heading(flow, step, None)
        with flow.under(_say_title(step)):
            for sentence in step.sentences:
                flow.paragraph(sentence.text, indent=5.0, mark="–")
        flow.skip(2.0)


# ------------------------------------------------------------------------------ checks

_HEADS = (
    Head("name", 3.4),
    Head("run A", 5.4),
    Head("run B", 5.4),
    Head("A", 2, right=True),
    Head("B", 2, right=True),
    Head("ease", 1.4, right=True),
)


def check_pages(flow: Flow, source: Source, sheet: WorkSheet) -> None:
    """Write what to walk, with boxes to tick."""
    if not sheet.checks:
        return
    flow.heading("Check by walking and measuring", 5.0, room=60.0)
    flow.paragraph(
        "Pin the two sides at one end and walk one along the other, seam line on seam line, darts "
        "closed. Ease is what run B is longer on purpose. Tick what agrees within what the "
        "head of its table says. A letter is that of the piece before it."
    )
    kinds = [check.kind for check in sheet.checks]
    for kind in dict.fromkeys((*(kind for kind in CHECKS if kind in kinds), *kinds)):
        rows = [check for check in sheet.checks if check.kind == kind and not check.note]
        if not rows:
            continue
        title = words_of(kind).on_paper or words_of(kind).title
        usual, others = _say_limits(source, rows)
        title = f"{title} ({usual})" if usual else title
        flow.heading(title, 3.6, room=16.0)
        with flow.under(title):
            if others:
                flow.paragraph(others)
            flow.table(_HEADS, [_check_row(source, check) for check in rows], boxes=True)
    off = [check for check in sheet.checks if check.note]
    if off:
        title = "These do not agree: look if that is wanted"
        flow.heading(title, 3.6, room=16.0)
        with flow.under(title):
            flow.table(
                (*_HEADS[:3], Head("A", 2.6, right=True), Head("B", 2.6, right=True), Head("", 5)),
                [(*_check_row(source, check)[:-1], check.note) for check in off],
            )


def _say_limits(source: Source, rows: Sequence[Check]) -> tuple[str, str]:
    """Tell within what most of some checks agree, and which agree within something else."""
    said = [
        ""
        if row.within is None
        else f"within {say_angle(row.within)}"
        if words_of(row.kind).degrees
        else within_word(row.within, source.unit)
        for row in rows
    ]
    usual = max(dict.fromkeys(said), key=said.count)
    names: dict[str, dict[str, None]] = {}
    for row, words in zip(rows, said, strict=True):
        if words not in ("", usual):
            names.setdefault(words, {})[source.check_name(row.name)] = None
    told = [f"{list_words(list(own))} {words}" for words, own in names.items()]
    others = f"{'; '.join(told)}." if told else ""
    return usual, f"{others[:1].upper()}{others[1:]}"


def _check_row(source: Source, check: Check) -> tuple[str, ...]:
    """Return A row of figures; ease is what they differ by as printed.

    Where nothing is meant and nothing found, there is nothing to measure.
    """
    unit = source.unit
    if words_of(check.kind).degrees:
        values = (say_angle(check.first), say_angle(check.second))
    elif not (is_shown(check.first, unit) or is_shown(check.second, unit)):
        values = ("", "")
    else:
        values = (source.said(check.first), source.said(check.second))
    ease = as_printed(check.second, unit) - as_printed(check.first, unit)
    told = say_number(ease, unit) if is_shown(check.ease, unit) and not check.note else ""
    return (source.check_name(check.name), check.first_what, check.second_what, *values, told)
