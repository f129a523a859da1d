"""Straight bands: slashed across inside the zones that change, spread or lapped there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from propagate.geometry.polyline import is_straight
from propagate.pattern.relations import Band
from propagate.report.units import PENCIL_MM, Unit, as_printed, is_drawable, is_shown
from propagate.report.worksheet.edges import AS_IT_IS, edge_work
from propagate.report.worksheet.value import Sentence, Step
from propagate.report.worksheet.words import Source
from propagate.values import dataclass

__all__ = [
    "ZoneWork",
    "band_steps",
    "change_words",
    "fitted_bands",
    "outline_stays",
    "spread_word",
    "zones_of",
]


@dataclass(frozen=True)
class ZoneWork:
    """A zone of a band along its sewn edge, from the start of that, mm.

    `begin` and `end` are where it lies now; `was` and `now` are its lengths, which differ by
    what is spread (or lapped) on the line square across its middle.
    """

    name: str
    marks: tuple[str, str]
    was: float
    begin: float
    end: float

    @property
    def now(self) -> float:
        """Its length, mm."""
        return abs(self.end - self.begin)

    def printed_now(self, unit: Unit) -> float:
        """Its length as printed, mm: lengths that are printed add up to the printed places."""
        return abs(as_printed(self.end, unit) - as_printed(self.begin, unit))

    @property
    def gain(self) -> float:
        """What is spread, or lapped when negative, mm."""
        return self.now - self.was

    def worked(self, unit: Unit) -> bool:
        """Whether a hand can spread or lap that much: it is printed as more than a pencil line."""
        return as_printed(abs(self.gain), unit) > PENCIL_MM


def fitted_bands(source: Source) -> dict[str, Band]:
    """Find changed bands that zones tell as a whole; a curved or revised one is redrawn."""
    found = {}
    for band in source.relations.bands.values():
        if band.piece in source.changed and band.piece not in source.given:
            pair = source.compared(band.piece)
            lines = [e.points for e in pair.now.edges] + [pair.old(n) for n in pair.now.edge_names]
            if outline_stays(source, band.piece) or all(map(is_straight, lines)):
                found[band.piece] = band
    return found


def outline_stays(source: Source, piece: str) -> bool:
    """Tell whether nothing of the outline changed that could be drawn."""
    pair = source.compared(piece)
    rows = [pair.row(edge) for edge in source.changed_edges(piece)]
    return not any(
        is_drawable(mm, source.unit)
        for row in rows
        for mm in (row.added_mm, row.trimmed_mm, row.after_mm - row.before_mm)
    )


def zones_of(source: Source, band: Band) -> list[ZoneWork]:
    """Return the zones of a band in order, with the lengths that they had."""
    now, found = source.sized(band.piece), []
    rows = [row for row in source.record.bands if row.before_mm is not None]
    was = {(row.relation, row.part): row.before_mm or 0.0 for row in reversed(rows)}
    for zone in band.zones:
        ends = zone.begin, zone.end
        begin, end = (now.distance(band.sewn, mark) for mark in ends)
        first, last = (
            source.landmark(band.piece, f"{band.sewn}.{m}" if m in ("start", "end") else m)
            for m in ends
        )
        before = was.get((band.name, zone.name), abs(end - begin))
        found.append(ZoneWork(zone.name, (first, last), before, begin, end))
    return found


def band_steps(source: Source) -> Iterable[Step]:
    """Yield the length of every zone and where its far mark comes."""
    for piece, band in fitted_bands(source).items():
        stays = outline_stays(source, piece)
        how = (
            "The outline stays as it is: do not cut it. Only the marks of its zones move along it."
            if stays
            else "Slash the band straight across in the middle of every zone that changes: spread "
            "it there and tape paper under, or lap it, by what the zone says. The marks go with "
            "the paper. Nothing more is taped on or trimmed."
        )
        if not stays and not any(zone.worked(source.unit) for zone in zones_of(source, band)):
            how = f"{AS_IT_IS} Do not slash it."
        instead = "As it is." if stays else "Comes out of the zones."
        works = tuple(edge_work(source, piece, e, instead) for e in source.changed_edges(piece))
        sentences = (Sentence(how), *_tell_zones(source, band, stays=stays))
        yield Step(0, f"Fit {source.title(piece)}", (piece,), sentences, works)


def _tell_zones(source: Source, band: Band, *, stays: bool) -> Iterator[Sentence]:
    begins = 0.0
    for zone in zones_of(source, band):
        begins += zone.was
        moved = zone.end - begins
        text = f"Zone ‘{source.called(zone.name, band.name)}’, {zone.marks[0]} to {zone.marks[1]}: "
        text += f"{change_words(source, zone, stays=stays)}. {zone.marks[1]} "
        if stays and is_shown(moved, source.unit):
            way = "away from" if moved > 0.0 else "towards"
            text += f"moves {source.said(abs(moved))} {way} the start of the band and "
        text += f"lies {source.said(zone.end)} from its start."
        facts = (
            ("length_mm", zone.now),
            ("gain_mm", zone.gain),
            ("from_start_mm", zone.end),
            ("mark_moved_mm", moved),
        )
        yield Sentence(text, facts)


def change_words(source: Source, zone: ZoneWork, *, stays: bool) -> str:
    """Tell what a hand does to a zone; nothing where it keeps its length as printed."""
    now, longer = source.said(zone.printed_now(source.unit)), zone.gain > 0.0
    if source.said(zone.was) == source.said(zone.now):
        return f"{now}, as before"
    if not stays and not zone.worked(source.unit):
        return f"as it is, {now}"
    gain = source.said(abs(zone.gain))
    if stays:
        return f"{gain} {'longer' if longer else 'shorter'}, {now}"
    return f"{spread_word(source, zone)}, to {now}"


def spread_word(source: Source, zone: ZoneWork) -> str:
    """Tell what a hand does at the slash of a zone: ``spread by 6.0 mm``."""
    return f"{'spread' if zone.gain > 0.0 else 'lap'} by {source.said(abs(zone.gain))}"
