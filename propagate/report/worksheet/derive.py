"""Derive the work sheet from a result, its steps and its checks: pure, by relations and record."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from propagate.engine.rows import Check as Row
from propagate.engine.run import Result
from propagate.errors import EditError
from propagate.pattern.titles import say_turn
from propagate.pattern.welts import part_span
from propagate.report.blend_text import edit_words, list_failures
from propagate.report.notices import list_warnings
from propagate.report.set_text import cut_words
from propagate.report.units import MILLIMETRES, Unit, say_signed
from propagate.report.worksheet.band_steps import band_steps, fitted_bands
from propagate.report.worksheet.edges import AS_IT_IS, KEPT, edge_work, piece_work
from propagate.report.worksheet.lay_steps import (
    edits_told,
    lay_steps,
    take_step,
    taken_out,
    tape_steps,
)
from propagate.report.worksheet.traced_steps import (
    at_top,
    corner_steps,
    cut_apart_steps,
    layer_steps,
    opening_steps,
)
from propagate.report.worksheet.value import (
    Check,
    CutRow,
    EdgeWork,
    Sentence,
    Step,
    Taken,
    WorkSheet,
)
from propagate.report.worksheet.words import Source
from propagate.tolerances import GIRTH_MM, OPENING_LENGTH_MM

__all__ = ["work_sheet"]

_CAUTIONS = (
    "Measure; do not trace the drawings on these pages, whatever their scale.",
    "Lines and lengths are matched; fit is not judged: sew a trial garment before cutting good "
    "cloth.",
    "Garments for children, for protection or for medical use follow their own standards; check "
    "them first.",
)
_TRACING: tuple[Callable[[Source], Iterable[Step]], ...] = (
    tape_steps,
    lay_steps,
    corner_steps,
    opening_steps,
    layer_steps,
    cut_apart_steps,
)


def work_sheet(result: Result, unit: Unit = MILLIMETRES) -> WorkSheet:
    """Tell a result as steps for people who work on paper.

    Parameters
    ----------
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
    steps = _steps_of(source, taken)
    works = {(work.piece, work.edge): work for step in steps for work in step.edges}
    pieces = tuple(
        piece_work(source, piece, tuple(works[piece, edge] for edge in source.changed_edges(piece)))
        for piece in source.changed
    )
    told = [source.in_words(text) for text in list_failures(record)]
    told += [f"{one.where}: {one.text}" for one in list_warnings(source.pattern, record)]
    return WorkSheet(
        set_name=record.set_name,
        size=record.size,
        edit=edit_words(result),
        edits=edits_told(source),
        unit=unit,
        cautions=(*_CAUTIONS, *(f"{text[:1].upper()}{text[1:].rstrip('.')}." for text in told)),
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
        checks=_checks_of(source),
        pieces=pieces,
    )


def _steps_of(source: Source, taken: tuple[Taken, ...]) -> tuple[Step, ...]:
    """Return every step, numbered: by figures first, then what tracing does instead."""
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
    """Yield one step for every re-cut piece, then those of which a pencil draws nothing anew."""
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


def _checks_of(source: Source) -> tuple[Check, ...]:
    """Return everything that the record walked, in its numbers."""
    return (
        *_check_walked(source),
        *_check_openings(source),
        *_check_corners(source),
        *_check_girths(source),
    )


def _check_walked(source: Source) -> Iterator[Check]:
    """Yield two lengths that should meet; where they miss each other by too much, with a note."""
    for row in (*source.record.seams, *source.record.bands):
        note = ""
        if abs(row.difference) > row.tolerance:
            note = _say_note(source, say_signed(row.difference, source.unit), _keys_of(source, row))
        sides = _say_sides(source, row)
        # Room is asked for at least: there may be more.
        room = row.kind == "patch" or (row.kind == "welt_opening" and row.part == "room")
        within = None if room else row.tolerance
        yield Check(row.kind, row.name, *sides, row.first, row.second, row.ease, note, within)


def _say_sides(source: Source, row: Row) -> tuple[str, str]:
    """Say the two sides of a check; what is meant stands first where nothing is sewn."""
    first, second = (source.run(side) for side in (row.sides if any(row.sides) else (row.what, "")))
    relations = source.relations
    if row.kind == "welt_opening" and row.relation in relations.welt_openings:
        if row.part == "length":
            return "the length to keep", first
        opening = relations.welt_openings[row.relation]
        if row.part == "room":
            nearest = row.sides[1].split("'")[1]
            return "the room it needs", f"{first}, to {source.called(nearest, opening.on)}"
        for part in opening.parts:
            if row.part == part.piece:
                return first, source.run(str(part_span(part)))
        bag, main = map(source.title, row.sides)
        return "nothing outside", f"{bag} under {main}"
    if row.kind == "band" and row.relation in relations.bands:
        band = relations.bands[row.relation]
        first = f"{source.title(band.piece)}, zone ‘{source.called(row.part, band.name)}’"
    if row.kind == "seam_opening" and not second:
        return "the length to buy", first
    return first, second


def _check_openings(source: Source) -> Iterator[Check]:
    for row in source.record.openings:
        edge = source.run(f"{row.piece}.{row.edge}")
        yield Check(
            "opening",
            row.opening,
            f"{edge}: before",
            "now",
            row.before_mm,
            row.after_mm,
            within=OPENING_LENGTH_MM,
        )


def _check_corners(source: Source) -> Iterator[Check]:
    for row in source.record.walked_corners:
        seam = source.relations.seams.get(row.name)
        said = " and ".join(source.run(side) for side in row.sides)
        # A corner at a top that was traced as asked need not be straight.
        traced = source.record.options.top == "traced"
        if traced and seam is not None and row.end and at_top(source, seam, row.end):
            yield Check(
                "corner",
                row.name,
                said,
                "as the top was traced",
                row.first,
                row.first,
                within=row.tolerance,
            )
            continue
        off, note = row.first - row.second, ""
        if abs(off) > row.tolerance:
            note = _say_note(source, f"{off:+.1f}°", _keys_of(source, row))
        sides = said, "a straight line"
        yield Check(
            "corner", row.name, *sides, row.first, row.second, note=note, within=row.tolerance
        )


def _check_girths(source: Source) -> Iterator[Check]:
    for row in source.record.girths:
        yield Check(
            "girth",
            row.girth,
            "finished, darts closed",
            f"size {row.size}",
            row.found_mm,
            row.wanted_mm,
            0.0,
            "" if row.ok else _say_note(source, say_signed(row.difference_mm, source.unit), []),
            GIRTH_MM,
        )


def _keys_of(source: Source, row: Row) -> list[str]:
    """Return the edges that a check depends on, ``PIECE.EDGE``, where the set tells them."""
    relations, keys = source.relations, list[str]()
    if row.relation in relations.seams:
        seam = relations.seams[row.relation]
        keys = [span.key for span in (*seam.lead, *seam.follow)]
        keys += seam.crossing.get(row.end or "", ())
    elif row.relation in relations.bands:
        band = relations.bands[row.relation]
        zones = [zone for zone in band.zones if zone.name == row.part]
        keys = [f"{band.piece}.{band.sewn}", *(span.key for zone in zones for span in zone.run)]
    return keys


def _say_note(source: Source, off: str, keys: Sequence[str]) -> str:
    """Tell by how much a check is off, and whether that is new."""
    edited = "revision" if source.record.options.of_drawing else "edit"
    changed = {f"{p}.{edge}" for p in source.changed for edge in source.changed_edges(p)}
    if keys and changed.isdisjoint(keys):
        return f"drawn so before: {off}"
    return f"changed by the {edited}: {off}"
