"""Bands: cut at the zone marks, spread or lapped to the length of each zone."""

from __future__ import annotations

from collections.abc import Iterable

from propagate.pattern.relations import Band, Zone
from propagate.report.worksheet.edges import edge_work
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
        sentences = [
            Sentence(
                f"Cut {source.title(piece)}, size {source.taken(piece)}, across at every zone "
                "mark and move the parts along the band, until each zone is as long as below: "
                "spread and tape paper under where it is too short, lap where it is too long. "
                "Then redraw both long edges smoothly."
            )
        ]
        sentences += [_zone(source, band, zone) for zone in band.zones]
        works = tuple(
            edge_work(source, piece, edge, table=False) for edge in source.changed_edges(piece)
        )
        yield Step(0, f"Fit {source.title(piece)}", (piece,), tuple(sentences), works)


def _zone(source: Source, band: Band, zone: Zone) -> Sentence:
    now = source.sized(band.piece)
    begin, end = now.distance(band.sewn, zone.begin), now.distance(band.sewn, zone.end)
    marks = [
        source.landmark(band.piece, f"{band.sewn}.{m}" if m in ("start", "end") else m)
        for m in (zone.begin, zone.end)
    ]
    now_mm = abs(end - begin)
    was_mm = next(
        (row["before_mm"] for row in source.result.record.bands
         if row["name"] == f"{band.name} {zone.name}" and "before_mm" in row),
        now_mm,
    )  # fmt: skip
    text = (
        f"Zone ‘{zone.name}’, from {marks[0]} to {marks[1]}: {_change(source, was_mm, now_mm)}. "
        f"Its far mark lies {source.said(end)} from the start of the band."
    )
    facts = (("length_mm", now_mm), ("gain_mm", now_mm - was_mm), ("from_start_mm", end))
    return Sentence(text, facts)


def _change(source: Source, was_mm: float, now_mm: float) -> str:
    """What a hand does to a zone; nothing where it keeps its length as printed."""
    now = source.said(now_mm)
    if source.said(was_mm) == now:
        return f"{now}, as before"
    verb = "spread" if now_mm > was_mm else "lap"
    return f"{verb} by {source.said(abs(now_mm - was_mm))}, to {now}"
