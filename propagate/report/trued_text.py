"""Corners that were trued, in words."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.engine.record import Record
from propagate.engine.rows import Check, TruedCorner
from propagate.pattern.patternset import PatternSet
from propagate.report.units import Unit

__all__ = ["changed_corners", "corners_in_sizes", "trued_in_sizes", "trued_words"]


def trued_words(row: TruedCorner, unit: Unit) -> str:
    """``front.waist and back.waist, at the start: before 184.2°, now 180.0°, ...``."""
    return f"{row.what}: {_figures(row, unit)}"


def trued_in_sizes(records: Mapping[str, Record], base: str, unit: Unit) -> list[str]:
    """One sentence for each corner: its figures in the base size, or the first that has it."""
    rows: dict[tuple[str, str], dict[str, TruedCorner]] = {}
    for size, record in records.items():
        for row in record.trued_corners:
            rows.setdefault((row.name, row.what), {})[size] = row
    found = []
    for (name, what), sizes in rows.items():
        size, where = _told_in(list(sizes), base, len(records))
        found.append(f"{name}, {what}: {_figures(sizes[size], unit)} ({where})")
    return found


def changed_corners(record: Record, pattern: PatternSet) -> list[Check]:
    """Corners across seams that do not run on smoothly, of which a line changed."""
    changed = {(p.piece, e.edge) for p in record.pieces for e in p.edges if e.status != "same"}
    found = []
    for row in record.walked_corners:
        seam = pattern.relations.seams.get(row.name)
        if seam is None or abs(row.difference) <= row.tolerance:
            continue
        crossing = seam.crossing.get(row.end or "", ())
        keys = {(piece, edge) for piece, _, edge in (key.partition(".") for key in crossing)}
        spans = {(span.piece, span.edge) for span in (*seam.lead, *seam.follow)}
        if (keys | spans) & changed:
            found.append(row)
    return found


def corners_in_sizes(records: Mapping[str, Record], pattern: PatternSet, base: str) -> list[str]:
    """One sentence for each corner that a change left or made, in the sizes that have it."""
    rows: dict[tuple[str, str], dict[str, Check]] = {}
    for size, record in records.items():
        for row in changed_corners(record, pattern):
            rows.setdefault((row.name, row.end or row.what), {})[size] = row
    found = []
    for (name, _), sizes in rows.items():
        size, where = _told_in(list(sizes), base, len(records))
        row = sizes[size]
        angles = f"{row.what} = {row.first:.1f}°, straight would be {row.second:.1f}°"
        found.append(f"{name}, {angles} ({where})")
    return found


def _told_in(sizes: list[str], base: str, every: int) -> tuple[str, str]:
    """The size that figures are told of, and which others are alike."""
    size = base if base in sizes else sizes[0]
    others = [other for other in sizes if other != size]
    also = f"; as well in size {', '.join(others)}" if others else ""
    if len(sizes) == every > 1:
        also = "; as well in every other size"
    return size, f"size {size}{also}"


def _figures(row: TruedCorner, unit: Unit) -> str:
    return (
        f"before {row.before_deg:.1f}°, now {row.after_deg:.1f}°; the lines went by "
        f"{_shift(row, unit)} at most, within {unit.said(row.over_mm)} of the corner"
    )


def _shift(row: TruedCorner, unit: Unit) -> str:
    return f"{unit.length(row.shift_mm, 1)} {unit.name}"
