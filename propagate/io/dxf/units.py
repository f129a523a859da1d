"""The unit of a file: by its text, by its header, by the size of its largest piece."""

from __future__ import annotations

from collections.abc import Mapping

from propagate.io.dxf.conventions import (
    CENTIMETRES_BELOW_MM,
    ENGLISH,
    METRIC,
    USUAL_PIECE_MM,
)
from propagate.io.dxf.options import ReadOptions
from propagate.io.dxf.ours import Ours
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.rules import RuleTable
from propagate.lengths import MM_PER_INCH
from propagate.values import dataclass

__all__ = ["Units", "file_units", "rule_unit"]

_MM = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH}
_HEADER = {"1": "in", "4": "mm", "5": "cm"}  # $INSUNITS of general CAD
_NAMES = {"mm": "millimetres", "cm": "centimetres", "in": "inches"}


@dataclass(frozen=True)
class Units:
    """`mm` in one unit of the file, and its name."""

    name: str
    mm: float


def file_units(
    largest: float,
    words: Mapping[str, str],
    header: Mapping[str, str],
    ours: Ours,
    options: ReadOptions,
    notes: Notes,
    where: str,
) -> Units:
    """Decide the unit of a file and say by what."""
    name, why = _decide(largest, words, header, ours, options)
    text = f"lengths are in {_NAMES[name]}: {why}"
    low, high = USUAL_PIECE_MM
    size = largest * _MM[name]
    if largest and not low <= size <= high:
        notes.warn(
            f"{text}; the largest piece then measures {size:.0f} mm, expected {low:.0f} to "
            f"{high:.0f}",
            option="units",
            where=where,
        )
    elif why.startswith("guessed") or "although" in why:
        notes.warn(text, option="units", where=where)
    else:
        notes.info(text, option="units", where=where)
    return Units(name, _MM[name])


def _decide(
    largest: float,
    words: Mapping[str, str],
    header: Mapping[str, str],
    ours: Ours,
    options: ReadOptions,
) -> tuple[str, str]:
    if options.units != "auto":
        return options.units, "as asked"
    own = ours.first("unit")
    if own in _MM:
        return own, f"the file says '@unit {own}'"
    stated = words.get("units", "").strip().lower()
    if stated.startswith(ENGLISH) or stated.startswith("inch"):
        return "in", f"the file says '{stated}'"
    if stated in _MM or stated.startswith("cent"):
        return ("cm" if stated.startswith("c") else stated), f"the file says '{stated}'"
    if stated.startswith(METRIC):
        if 0 < largest < CENTIMETRES_BELOW_MM:
            return "cm", (
                f"the file says '{stated}', although that usually means millimetres: the largest "
                f"piece measures {largest:.1f} units"
            )
        return "mm", f"the file says '{stated}'"
    if header.get("$INSUNITS") in _HEADER:
        return _HEADER[header["$INSUNITS"]], "the file's header says so"
    low, high = USUAL_PIECE_MM
    fits = [name for name in ("mm", "cm", "in") if low <= largest * _MM[name] <= high]
    name = fits[0] if fits else "mm"
    return name, f"guessed, the file states none and its largest piece measures {largest:.1f}"


def rule_unit(table: RuleTable, units: Units, notes: Notes, where: str) -> float:
    """Millimetres in one unit of the rule table."""
    if table.units.startswith(ENGLISH):
        name = "in"
    elif table.units.startswith(METRIC) and units.name in ("mm", "cm"):
        name = units.name
    elif table.units.startswith(METRIC):
        name = "mm"
    else:
        name = units.name
    if name != units.name or not table.units:
        notes.warn(
            f"the rule table is read in {_NAMES[name]} "
            + (f"('{table.units}')" if table.units else "(it states no unit)")
            + f", the drawing in {_NAMES[units.name]}",
            where=where,
        )
    return _MM[name]
