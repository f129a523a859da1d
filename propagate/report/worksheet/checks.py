"""What to walk and measure at the end, with the lengths to expect."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from propagate.engine.rows import Check as Row
from propagate.pattern.welts import part_span
from propagate.report.worksheet.lengths import difference
from propagate.report.worksheet.true_steps import at_top
from propagate.report.worksheet.value import Check
from propagate.report.worksheet.words import Source
from propagate.tolerances import GIRTH_MM, OPENING_LENGTH_MM

__all__ = ["checks_of"]


def checks_of(source: Source) -> tuple[Check, ...]:
    """Everything that the record walked, in its numbers."""
    return (*_walked(source), *_openings(source), *_corners(source), *_girths(source))


def _walked(source: Source) -> Iterator[Check]:
    """Two lengths that should meet; where they miss each other by too much, with a note."""
    for row in (*source.record.seams, *source.record.bands):
        note = ""
        if abs(row.difference) > row.tolerance:
            note = _note(source, difference(row.difference, source.unit), _keys_of(source, row))
        sides = _sides(source, row)
        # Room is asked for at least: there may be more.
        room = row.kind == "patch" or (row.kind == "welt_opening" and row.part == "room")
        within = None if room else row.tolerance
        yield Check(row.kind, row.name, *sides, row.first, row.second, row.ease, note, within)


def _sides(source: Source, row: Row) -> tuple[str, str]:
    """The two sides of a check in words; what is meant stands first where nothing is sewn."""
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


def _openings(source: Source) -> Iterator[Check]:
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


def _corners(source: Source) -> Iterator[Check]:
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
            note = _note(source, f"{off:+.1f}°", _keys_of(source, row))
        sides = said, "a straight line"
        yield Check(
            "corner", row.name, *sides, row.first, row.second, note=note, within=row.tolerance
        )


def _girths(source: Source) -> Iterator[Check]:
    for row in source.record.girths:
        yield Check(
            "girth",
            row.girth,
            "finished, darts closed",
            f"size {row.size}",
            row.found_mm,
            row.wanted_mm,
            0.0,
            "" if row.ok else _note(source, difference(row.difference_mm, source.unit), []),
            GIRTH_MM,
        )


def _keys_of(source: Source, row: Row) -> list[str]:
    """The edges that a check depends on, ``PIECE.EDGE``, where the set tells them."""
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


def _note(source: Source, off: str, keys: Sequence[str]) -> str:
    """By how much a check is off, and whether that is new."""
    edited = "revision" if source.record.options.of_drawing else "edit"
    changed = {f"{p}.{edge}" for p in source.changed for edge in source.changed_edges(p)}
    if keys and changed.isdisjoint(keys):
        return f"drawn so before: {off}"
    return f"changed by the {edited}: {off}"
