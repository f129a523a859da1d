"""What to walk and measure at the end, with the lengths to expect."""

from __future__ import annotations

from collections.abc import Iterator

from propagate.report.worksheet.value import Check
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
        name, kind = str(row["name"]), str(row["kind"])
        sides = _sides(str(row["what"]))
        seam = relations.seams.get(name)
        if kind == "seam" and seam is not None:
            twin = "its mirrored twin" if seam.mirror else source.run(seam.follow)
            sides = (source.run(seam.lead), twin)
        elif kind == "notches":
            sides = (_mark(source, sides[0]), _mark(source, sides[1]))
        yield Check(
            "notches" if kind == "notches" else "seam",
            name,
            *sides,
            float(row["first"]),
            float(row["second"]),
            float(row["ease"]),
        )


def _bands(source: Source) -> Iterator[Check]:
    zones = {
        f"{band.name} {zone.name}": (band, zone)
        for band in source.result.pattern.relations.bands.values()
        for zone in band.zones
    }
    for row in source.result.record.bands:
        name = str(row["name"])
        sides = _sides(str(row["what"]))
        if name in zones:
            band, zone = zones[name]
            sides = (f"{source.title(band.piece)}, zone ‘{zone.name}’", source.run(zone.run))
        yield Check(
            "band", name, *sides, float(row["first"]), float(row["second"]), float(row["ease"])
        )


def _openings(source: Source) -> Iterator[Check]:
    for row in source.result.record.openings:
        yield Check(
            "opening",
            str(row["opening"]),
            f"{source.title(row['piece'])}, {row['edge']}: before",
            "now",
            float(row["before_mm"]),
            float(row["after_mm"]),
        )


def _corners(source: Source) -> Iterator[Check]:
    for row in source.result.record.corners:
        if row["kind"] != "corner":
            continue
        name, what = str(row["name"]), str(row["what"]).partition(":")[0]
        said = what.replace(" | ", " and ")
        seam = source.result.pattern.relations.seams.get(name)
        end = what.rpartition(" at the ")[2]
        if seam is not None and end in seam.crossing:
            keys = [key.partition(".") for key in seam.crossing[end]]
            said = " and ".join(f"{source.title(piece)}, {edge}" for piece, _, edge in keys)
        yield Check(
            "corner", name, said, "a straight line", float(row["first"]), float(row["second"])
        )


def _girths(source: Source) -> Iterator[Check]:
    for row in source.result.record.girths:
        yield Check(
            "girth",
            str(row["girth"]),
            "finished, darts closed",
            f"size {row['size']}",
            float(row["found_mm"]),
            float(row["wanted_mm"]),
        )


def _sides(what: str) -> tuple[str, str]:
    first, _, second = what.partition(" | ")
    return first, second


def _mark(source: Source, key: str) -> str:
    """``PIECE.LANDMARK`` in words."""
    piece, _, mark = key.partition(".")
    if piece not in source.result.pattern.pieces:
        return key
    return f"{source.title(piece)}, {source.landmark(piece, mark)}"
