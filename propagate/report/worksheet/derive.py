"""Derive the work sheet from a result: pure, in its relations and its record only."""

from __future__ import annotations

from propagate.engine.run import Result
from propagate.errors import EditError
from propagate.report.blend_text import edit_words, failures
from propagate.report.notices import attention
from propagate.report.set_text import cut_words
from propagate.report.units import MILLIMETRES, Unit
from propagate.report.worksheet.checks import checks_of
from propagate.report.worksheet.edges import piece_work
from propagate.report.worksheet.lay_steps import edits_told, taken_out
from propagate.report.worksheet.steps import steps_of
from propagate.report.worksheet.value import CutRow, WorkSheet
from propagate.report.worksheet.words import Source

__all__ = ["CAUTIONS", "work_sheet"]

CAUTIONS = (
    "Measure; do not trace the drawings on these pages, whatever their scale.",
    "Lines and lengths are matched; fit is not judged: sew a trial garment before cutting good "
    "cloth.",
    "Garments for children, for protection or for medical use follow their own standards; check "
    "them first.",
)


def work_sheet(result: Result, unit: Unit = MILLIMETRES) -> WorkSheet:
    """Tell a result as steps for people who work on paper.

    Parameters
    ----------
    result : Result
    unit : Unit
        Of the texts; inches are written to 1/16.

    Raises
    ------
    EditError
        When no edge changed, so that there is nothing to do.

    Examples
    --------
    >>> import propagate
    >>> trousers = propagate.load(propagate.demo_path("slant_trouser"))
    >>> result = propagate.blend(trousers, propagate.Blend({"waist": "42", "hip": "44"}))
    >>> work_sheet(result).steps[0].title
    'Take out the pieces'
    """
    source = Source(result, unit)
    record = result.record
    if not source.changed:
        raise EditError(
            f"set '{record.set_name}', size '{record.size}': no edge of any piece changed, so "
            "there is nothing to draw; expected a result in which a piece "
            "changed; print the pieces, whose allowances and marks are as the set says now"
        )
    taken = taken_out(source)
    steps = steps_of(source, taken)
    works = {(work.piece, work.edge): work for step in steps for work in step.edges}
    pieces = tuple(
        piece_work(source, piece, tuple(works[piece, edge] for edge in source.changed_edges(piece)))
        for piece in source.changed
    )
    told = [*failures(record), *(f"{where}: {text}" for where, text in attention(record))]
    return WorkSheet(
        set_name=record.set_name,
        size=record.size,
        edit=edit_words(result),
        edits=edits_told(source),
        unit=unit,
        cautions=(*CAUTIONS, *(f"{source.in_words(text).rstrip('.')}." for text in told)),
        take_out=taken,
        cut_list=_cut_list(source),
        steps=steps,
        checks=checks_of(source),
        pieces=pieces,
    )


def _cut_list(source: Source) -> tuple[CutRow, ...]:
    """Every piece that did not change, in the order of the set."""
    return tuple(
        CutRow(
            piece=name,
            title=source.title(name),
            size=source.taken(name),
            cut=info.cut,
            pair=info.pair,
            fabric=info.fabric,
            words=cut_words(info),
        )
        for name, info in source.result.pattern.info.items()
        if name not in source.changed
    )
