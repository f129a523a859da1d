"""Bands: cut at the zone marks, spread or lapped to the length of each zone."""

from __future__ import annotations

from collections.abc import Iterable

from propagate.pattern.relations import Band
from propagate.report.worksheet.edges import edge_work
from propagate.report.worksheet.lengths import shown
from propagate.report.worksheet.value import Sentence, Step
from propagate.report.worksheet.words import Source

__all__ = ["band_steps", "bands_of"]


def bands_of(source: Source) -> dict[str, Band]:
    """Changed pieces that are bands; one that was revised by a drawing is redrawn instead."""
    return {
        band.piece: band
        for band in source.result.pattern.relations.bands.values()
        if band.piece in source.changed and band.piece not in source.given
    }


def band_steps(source: Source) -> Iterable[Step]:
    """The length of every zone and where its far mark comes."""
    for piece, band in bands_of(source).items():
        stays = _outline_stays(source, piece)
        how = (
            f"The outline of {source.title(piece)}, size {source.taken(piece)}, stays as it is: do "
            "not cut it. Only the marks of its zones move along it."
            if stays
            else f"Cut {source.title(piece)}, size {source.taken(piece)}, across at every zone "
            "mark and move the parts along the band, until each zone is as long as below: "
            "spread and tape paper under where it is too short, lap where it is too long. "
            "Then redraw both long edges smoothly. Nothing more is taped on or trimmed."
        )
        sentences = [Sentence(how), *_zones(source, band, stays=stays)]
        words = dict.fromkeys(source.changed_edges(piece), "Stays as it is.")
        words[band.sewn] = "The outline stays as it is; only the marks move."
        if not stays:
            words = dict.fromkeys(words, "Comes out of the zones above.")
        works = tuple(
            edge_work(source, piece, edge, table=False, instead=words[edge])
            for edge in source.changed_edges(piece)
        )
        yield Step(0, f"Fit {source.title(piece)}", (piece,), tuple(sentences), works)


def _outline_stays(source: Source, piece: str) -> bool:
    """Whether nothing of the outline changed that could be drawn."""
    pair = source.compared(piece)
    rows = [pair.row(edge) for edge in source.changed_edges(piece)]
    return not any(
        shown(mm, source.unit)
        for row in rows
        for mm in (row.added_mm, row.trimmed_mm, row.after_mm - row.before_mm)
    )


def _zones(source: Source, band: Band, *, stays: bool) -> list[Sentence]:
    now, begins, found = source.sized(band.piece), 0.0, []
    for zone in band.zones:
        begin, end = now.distance(band.sewn, zone.begin), now.distance(band.sewn, zone.end)
        marks = [
            source.landmark(band.piece, f"{band.sewn}.{m}" if m in ("start", "end") else m)
            for m in (zone.begin, zone.end)
        ]
        now_mm = abs(end - begin)
        was_mm = next(
            (
                row.before_mm
                for row in source.result.record.bands
                if (row.relation, row.part) == (band.name, zone.name) and row.before_mm is not None
            ),
            now_mm,
        )
        begins += was_mm
        moved = end - begins
        text = (
            f"Zone ‘{zone.name}’, from {marks[0]} to {marks[1]}: "
            f"{_change(source, was_mm, now_mm, stays=stays)}. Its far mark "
        )
        if stays and shown(moved, source.unit):
            way = "away from" if moved > 0.0 else "towards"
            text += f"moves {source.said(abs(moved))} {way} the start of the band and "
        text += f"lies {source.said(end)} from the start of the band."
        facts = (
            ("length_mm", now_mm),
            ("gain_mm", now_mm - was_mm),
            ("from_start_mm", end),
            ("mark_moved_mm", moved),
        )
        found.append(Sentence(text, facts))
    return found


def _change(source: Source, was_mm: float, now_mm: float, *, stays: bool) -> str:
    """What a hand does to a zone; nothing where it keeps its length as printed."""
    now = source.said(now_mm)
    if source.said(was_mm) == now:
        return f"{now}, as before"
    gain = source.said(abs(now_mm - was_mm))
    if stays:
        return f"{gain} {'longer' if now_mm > was_mm else 'shorter'}, {now}"
    return f"{'spread' if now_mm > was_mm else 'lap'} by {gain}, to {now}"
