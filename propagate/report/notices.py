"""What the user should look at, and which pieces it concerns."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.engine.record import Notice, Record
from propagate.engine.run import Result
from propagate.pattern.patternset import PatternSet
from propagate.report.units import MILLIMETRES, Unit, subtract_figures
from propagate.tolerances import GIRTH_MM

__all__ = ["list_warnings", "changed_girths", "notices_of", "pieces_of_girth"]


def list_warnings(record: Record) -> list[tuple[str, str]]:
    """Return everything to look at, as (where, text); the same text is said once."""
    where: dict[str, list[str]] = {}
    for notice in record.warnings:
        places = where.setdefault(notice.text, [])
        if notice.where not in places:
            places.append(notice.where)
    return [(", ".join(places), text) for text, places in where.items()]


def changed_girths(records: Mapping[str, Record], unit: Unit = MILLIMETRES) -> list[Notice]:
    """Return girths that a revision or edits changed by more than is allowed, each with its sizes.

    Parameters
    ----------
    records : mapping of size to Record
        Those of a blend give nothing: a blend that misses a girth warns of it itself.

    Returns
    -------
    list of Notice
        One for each girth.
    """
    more = int(unit.name == "in")
    found: dict[str, list[str]] = {}
    for size, record in records.items():
        for row in record.girths if record.options.changes_girths else ():
            if not row.ok:
                before, now = unit.length(row.wanted_mm, more), unit.length(row.found_mm, more)
                said = f"size {size} {subtract_figures(now, before)} (before {before}, now {now})"
                found.setdefault(row.girth, []).append(said)
    allowed = f"{unit.length(GIRTH_MM, more)} {unit.name}"
    return [
        Notice(
            girth,
            f"the girth changed by more than {allowed}: {', '.join(sizes)}",
            "look whether that was wanted",
        )
        for girth, sizes in found.items()
    ]


def pieces_of_girth(pattern: PatternSet, name: str) -> set[str]:
    """Return pieces that a girth is measured on."""
    girth = pattern.relations.girths[name]
    pieces = {span.piece for run in girth.runs for span in run}
    for silhouette in girth.silhouettes:
        assembly = pattern.relations.assemblies.get(silhouette)
        pieces |= {silhouette} if assembly is None else set(assembly.pieces)
    return pieces


def notices_of(result: Result, piece: str) -> list[str]:
    """Tell what concerns one piece: its own, its seams', its pocket's, its silhouette's.

    A text says what it is of, unless it is of the piece itself.
    """
    found = [
        notice.text if notice.where == piece else f"{notice.where}: {notice.text}"
        for notice in result.record.warnings
        if piece in _find_pieces(result.pattern, notice.where)
    ]
    return list(dict.fromkeys(found))


def _find_pieces(pattern: PatternSet, where: str) -> set[str]:
    """Return pieces behind a name: a piece, ``PIECE.EDGE``, ``SILHOUETTE/EDGE`` or a relation."""
    relations = pattern.relations
    name = where.partition("/")[0].partition(".")[0].strip()
    if name in pattern.pieces:
        return {name}
    if name in relations.assemblies:
        return set(relations.assemblies[name].pieces)
    if name in relations.seams:
        seam = relations.seams[name]
        return {span.piece for span in (*seam.lead, *seam.follow)}
    if name in relations.openings:
        return {relations.openings[name].piece}
    if name in relations.stacks:
        return {layer.piece for layer in relations.stacks[name].layers}
    band = relations.bands.get(name)
    return {band.piece} if band else set()
