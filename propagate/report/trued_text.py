"""Corners that were trued, in words."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.engine.record import Record
from propagate.engine.rows import TruedCorner
from propagate.report.units import Unit

__all__ = ["trued_in_sizes", "trued_words"]


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
        size = base if base in sizes else next(iter(sizes))
        others = [other for other in sizes if other != size]
        also = f"; as well in size {', '.join(others)}" if others else ""
        if len(sizes) == len(records) > 1:
            also = "; as well in every other size"
        found.append(f"{name}, {what}: {_figures(sizes[size], unit)} (size {size}{also})")
    return found


def _figures(row: TruedCorner, unit: Unit) -> str:
    return (
        f"before {row.before_deg:.1f}°, now {row.after_deg:.1f}°; the lines went by "
        f"{_shift(row, unit)} at most, within {unit.said(row.over_mm)} of the corner"
    )


def _shift(row: TruedCorner, unit: Unit) -> str:
    return f"{unit.length(row.shift_mm, 1)} {unit.name}"
