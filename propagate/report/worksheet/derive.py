"""Derive the work sheet and its steps from a result: pure, in its relations and its record."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from propagate.engine.run import Result
from propagate.errors import EditError
from propagate.pattern.titles import say_turn
from propagate.report.blend_text import edit_words, failures
from propagate.report.notices import attention
from propagate.report.set_text import cut_words
from propagate.report.units import MILLIMETRES, Unit
from propagate.report.worksheet.band_steps import band_steps, fitted_bands
from propagate.report.worksheet.checks import checks_of
from propagate.report.worksheet.edges import AS_IT_IS, KEPT, edge_work, piece_work
from propagate.report.worksheet.lay_steps import (
    edits_told,
    lay_steps,
    take_step,
    taken_out,
    tape_steps,
)
from propagate.report.worksheet.pocket_steps import cut_apart_steps, layer_steps, opening_steps
from propagate.report.worksheet.true_steps import corner_steps
from propagate.report.worksheet.value import CutRow, EdgeWork, Sentence, Step, Taken, WorkSheet
from propagate.report.worksheet.words import Source

__all__ = ["CAUTIONS", "steps_of", "work_sheet"]

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
        cut_list=tuple(
            CutRow(
                name,
                source.title(name),
                source.taken(name),
                info.cut,
                info.pair,
                info.fabric,
                cut_words(info),
            )
            for name, info in source.pattern.info.items()
            if name not in source.changed
        ),
        steps=steps,
        checks=checks_of(source),
        pieces=pieces,
    )


_TRACING: tuple[Callable[[Source], Iterable[Step]], ...] = (
    tape_steps,
    lay_steps,
    corner_steps,
    opening_steps,
    layer_steps,
    cut_apart_steps,
)


def steps_of(source: Source, taken: tuple[Taken, ...]) -> tuple[Step, ...]:
    """Every step, numbered: by figures first, then what tracing does instead."""
    text = "Draw the cut line anew along every edge that changed, at its allowance, and cut."
    if len(source.changed) < len(source.pattern.info):
        text += " Cut all other pieces as drawn, in the size that step 1 gives."
    cut = Step(0, "Add the allowances and cut", tuple(source.changed), (Sentence(text),))
    found = [take_step(taken), *_piece_steps(source), *band_steps(source), cut]
    traced = {build: tuple(build(source)) for build in ((lay_steps,) if source.given else _TRACING)}
    # Corners alone are no other way: the checks have them.
    if any(steps for build, steps in traced.items() if build is not corner_steps):
        found += (replace(step, way="by tracing") for own in traced.values() for step in own)
    return tuple(replace(step, number=i + 1) for i, step in enumerate(found))


def _piece_steps(source: Source) -> Iterator[Step]:
    """One step for every re-cut piece, then those of which a pencil draws nothing anew."""
    bands = fitted_bands(source)
    left: list[EdgeWork] = []
    turned: list[Step] = []
    for piece in source.changed:
        if piece in bands:
            continue
        degrees = source.turned_deg(piece)
        instead = "" if degrees is None else f"{KEPT}."
        works = tuple(edge_work(source, piece, e, instead) for e in source.changed_edges(piece))
        if degrees is not None:
            title = f"Keep {source.title(piece)}"
            text = "Leave the outline as it is: it lies elsewhere in the garment, that is all."
            if round(degrees, 1):
                text += f" Draw the grain line anew, turned {say_turn(-degrees)}."
            said = Sentence(text, (("grain_turned_deg", -degrees),))
            turned.append(Step(0, title, (piece,), (said,), works))
        elif any(work.drawn for work in works):
            yield Step(0, f"Change {source.title(piece)}", (piece,), (), works)
        else:
            left += works
    yield from turned
    if left:
        names = tuple(dict.fromkeys(work.piece for work in left))
        text = f"{source.titles(names)}: {AS_IT_IS.lower()}"
        yield Step(0, "Leave as they are", names, (Sentence(text),), tuple(left))
