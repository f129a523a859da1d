"""What the user should look at, and which pieces it concerns."""

from __future__ import annotations

from propagate.engine.record import Record
from propagate.engine.run import Result
from propagate.pattern.patternset import PatternSet

__all__ = ["attention", "notices_of"]


def attention(record: Record) -> list[tuple[str, str]]:
    """Everything to look at, as (where, text); the same text is said once."""
    where: dict[str, list[str]] = {}
    for notice in record.warnings:
        places = where.setdefault(notice.text, [])
        if notice.where not in places:
            places.append(notice.where)
    return [(", ".join(places), text) for text, places in where.items()]


def notices_of(result: Result, piece: str) -> list[str]:
    """What concerns one piece: its own, its seams', its pocket's, its silhouette's.

    A text says what it is of, unless it is of the piece itself.
    """
    found = [
        notice.text if notice.where == piece else f"{notice.where}: {notice.text}"
        for notice in result.record.warnings
        if piece in _pieces(result.pattern, notice.where)
    ]
    return list(dict.fromkeys(found))


def _pieces(pattern: PatternSet, where: str) -> set[str]:
    """Pieces behind a name: a piece, ``PIECE.EDGE``, ``SILHOUETTE/EDGE`` or a relation."""
    relations = pattern.relations
    name = where.partition("/")[0].partition(".")[0].strip()
    if name in pattern.pieces:
        return {name}
    if name in relations.assemblies:
        assembly = relations.assemblies[name]
        return {assembly.lead, *(part.piece for part in assembly.parts)}
    if name in relations.seams:
        seam = relations.seams[name]
        return {span.piece for span in (*seam.lead, *seam.follow)}
    if name in relations.openings:
        return {relations.openings[name].piece}
    if name in relations.stacks:
        return {layer.piece for layer in relations.stacks[name].layers}
    band = relations.bands.get(name)
    return {band.piece} if band else set()
