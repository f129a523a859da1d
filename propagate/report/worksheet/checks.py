"""What to walk and measure at the end, with the lengths to expect."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.engine import rows
from propagate.pattern.relations import Seam
from propagate.pattern.welts import WeltOpening, part_span
from propagate.report.worksheet.lengths import difference
from propagate.report.worksheet.true_steps import at_top
from propagate.report.worksheet.value import Check, CheckKind
from propagate.report.worksheet.words import Source

__all__ = ["checks_of"]


def checks_of(source: Source) -> tuple[Check, ...]:
    """Everything that the record walked, in its numbers."""
    return (
        *_seams(source),
        *_bands(source),
        *_openings(source),
        *_corners(source),
        *_girths(source),
    )


def _seams(source: Source) -> Iterator[Check]:
    relations = source.result.pattern.relations
    for row in source.result.record.seams:
        sides, seam = row.sides, relations.seams.get(row.name)
        welt = relations.welt_openings.get(row.relation)
        kind: CheckKind = "seam"
        if row.kind == "seam" and seam is not None:
            twin = "its mirrored twin" if seam.mirror else source.run(seam.follow)
            sides = (source.run(seam.lead), twin)
        elif row.kind == "notches":
            kind = "notches"
            sides = (_mark(source, sides[0]), _mark(source, sides[1]))
        elif row.kind == "welt_opening":
            kind = "welt_opening"
            sides = sides if welt is None else _of_welt(source, row, welt)
        yield Check(
            kind,
            row.name,
            *sides,
            row.first,
            row.second,
            row.ease,
            _missed(source, row, _spans_of(seam)),
        )


def _of_welt(source: Source, row: rows.Check, welt: WeltOpening) -> tuple[str, str]:
    """What is meant and what is found of a welt opening, in words."""
    line = f"{source.title(welt.on)}, {source.called(welt.line, welt.on)}"
    if row.part == "length":
        return "the length to keep", line
    if row.part == "room":
        return "the room it needs", f"{line}, to {source.in_words(row.sides[1], start=False)}"
    for part in welt.parts:
        if row.part == part.piece:
            return line, source.run((part_span(part),))
    return "nothing outside", source.in_words(row.sides[0])


def _bands(source: Source) -> Iterator[Check]:
    zones = {
        (band.name, zone.name): (band, zone)
        for band in source.result.pattern.relations.bands.values()
        for zone in band.zones
    }
    for row in source.result.record.bands:
        sides, spans = row.sides, []
        if (row.relation, row.part) in zones:
            band, zone = zones[row.relation, row.part]
            spans = [(band.piece, band.sewn), *((s.piece, s.edge) for s in zone.run)]
            called = source.called(zone.name, band.name)
            sides = (f"{source.title(band.piece)}, zone ‘{called}’", source.run(zone.run))
        yield Check(
            "band",
            row.name,
            *sides,
            row.first,
            row.second,
            row.ease,
            _missed(source, row, spans),
        )


def _openings(source: Source) -> Iterator[Check]:
    for row in source.result.record.openings:
        yield Check(
            "opening",
            row.opening,
            f"{source.title(row.piece)}, {source.called(row.edge, row.piece)}: before",
            "now",
            row.before_mm,
            row.after_mm,
        )


def _corners(source: Source) -> Iterator[Check]:
    for row in source.result.record.walked_corners:
        seam = source.result.pattern.relations.seams.get(row.name)
        said = source.in_words(" and ".join(row.sides))
        keys: list[tuple[str, str, str]] = []
        end = row.end or ""
        if seam is not None and end in seam.crossing:
            keys = [key.partition(".") for key in seam.crossing[end]]
            said = " and ".join(
                f"{source.title(piece)}, {source.called(edge, piece)}" for piece, _, edge in keys
            )
            if _as_traced(source, seam, end):
                yield Check("corner", row.name, said, "as the top was traced", row.first, row.first)
                continue
        off, note = row.first - row.second, ""
        if abs(off) > row.tolerance:
            spans = [*_spans_of(seam), *((piece, edge) for piece, _, edge in keys)]
            note = _note(source, f"{off:+.1f}°", spans)
        yield Check("corner", row.name, said, "a straight line", row.first, row.second, 0.0, note)


def _as_traced(source: Source, seam: Seam, end: str) -> bool:
    """Whether a corner is at a top that was traced as asked, so that it need not be straight."""
    return source.result.record.options.top == "traced" and at_top(source, seam, end)


def _girths(source: Source) -> Iterator[Check]:
    for row in source.result.record.girths:
        yield Check(
            "girth",
            row.girth,
            "finished, darts closed",
            f"size {row.size}",
            row.found_mm,
            row.wanted_mm,
            0.0,
            "" if row.ok else _note(source, difference(row.difference_mm, source.unit), []),
        )


def _spans_of(seam: Seam | None) -> list[tuple[str, str]]:
    return [] if seam is None else [(s.piece, s.edge) for s in (*seam.lead, *seam.follow)]


def _missed(source: Source, row: rows.Check, spans: list[tuple[str, str]]) -> str:
    """A note on two lengths that miss each other by more than is allowed."""
    if abs(row.difference) <= row.tolerance:
        return ""
    return _note(source, difference(row.difference, source.unit), spans)


def _note(source: Source, off: str, spans: list[tuple[str, str]]) -> str:
    """By how much a check is off, and whether that is new."""
    edited = "revision" if source.result.record.options.of_drawing else "edit"
    touched = any(p in source.changed and e in source.changed_edges(p) for p, e in spans)
    if spans and not touched:
        return f"drawn so before: {off}"
    return f"changed by the {edited}: {off}"


def _mark(source: Source, key: str) -> str:
    """``PIECE.LANDMARK`` in words."""
    piece, _, mark = key.partition(".")
    if piece not in source.result.pattern.pieces:
        return key
    return f"{source.title(piece)}, {source.landmark(piece, mark)}"
