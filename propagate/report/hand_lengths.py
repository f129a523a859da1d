"""Write lengths as a hand measures them: millimetres, or inches to 1/16."""

from __future__ import annotations

import math

from propagate.lengths import MM_PER_INCH
from propagate.report.units import Unit

__all__ = [
    "PENCIL_MM",
    "PER_INCH",
    "say_angle",
    "say_signed",
    "is_drawable",
    "say_number",
    "offset_word",
    "place_word",
    "as_printed",
    "say_length",
    "is_shown",
    "within_word",
]

_MINUS = "\N{MINUS SIGN}"
PENCIL_MM = 0.2
"""Two lines closer than this are one: a fine pencil draws one as wide (common practice, no
source)."""

PER_INCH = 16
"""Inches are written to 1/16, the finest division of a dressmaker's tape (from memory)."""


def say_number(mm: float, unit: Unit) -> str:
    """Return a length without its unit: ``41.3``, ``1 3/16``.

    Halves of the last place are rounded away from nothing in inches.

    Examples
    --------
    >>> from propagate.report.units import INCHES, MILLIMETRES
    >>> say_number(30.16, INCHES), say_number(19.05, INCHES), say_number(0.2, INCHES)
    ('1 3/16', '3/4', '0')
    """
    if unit.name == "mm":
        return unit.length(mm)
    parts = math.floor(abs(mm) / MM_PER_INCH * PER_INCH + 0.5)
    whole, rest = divmod(parts, PER_INCH)
    words = [str(whole)] if whole or not rest else []
    if rest:
        common = math.gcd(rest, PER_INCH)
        words.append(f"{rest // common}/{PER_INCH // common}")
    return ("-" if mm < 0 and parts else "") + " ".join(words)


def say_length(mm: float, unit: Unit) -> str:
    """Return a length with its unit, for a sentence."""
    return f"{say_number(mm, unit)} {unit.name}"


def as_printed(mm: float, unit: Unit) -> float:
    """Return a length as it is printed, in mm: differences of those add up on paper."""
    if unit.name == "mm":
        return float(unit.length(mm))
    step = MM_PER_INCH / PER_INCH
    return math.copysign(math.floor(abs(mm) / step + 0.5) * step, mm)


def say_signed(mm: float, unit: Unit) -> str:
    """Return a length with its sign and unit: ``+6.3 mm``."""
    return f"{'-' if mm < 0.0 else '+'}{say_length(abs(mm), unit)}"


def is_shown(mm: float, unit: Unit) -> bool:
    """Tell whether a length is printed as more than nothing."""
    return say_number(abs(mm), unit).strip("0.") != ""


def is_drawable(mm: float, unit: Unit) -> bool:
    """Tell whether a hand can draw a difference: printed, and wider than a pencil line."""
    return abs(mm) >= PENCIL_MM and is_shown(mm, unit)


def within_word(mm: float, unit: Unit) -> str:
    """Return by how much two lengths that agree may differ: ``within 1.5 mm``.

    Examples
    --------
    >>> from propagate.report.units import INCHES, MILLIMETRES
    >>> within_word(1.5, MILLIMETRES), within_word(0.01, MILLIMETRES)
    ('within 1.5 mm', 'within a pencil line')
    >>> within_word(1.5, INCHES), within_word(0.5, INCHES)
    ('within 1/16 in', 'within less than 1/16 in')
    """
    if mm <= PENCIL_MM:
        return "within a pencil line"
    if is_shown(mm, unit):
        return f"within {say_length(mm, unit)}"
    return f"within less than {say_length(MM_PER_INCH / PER_INCH, unit)}"


def place_word(mm: float, unit: Unit) -> str:
    """Return a place along an old line; minus is before its beginning."""
    return (_MINUS if mm < 0.0 and is_shown(mm, unit) else "") + say_number(abs(mm), unit)


def offset_word(mm: float, unit: Unit) -> str:
    """Return an offset with its sign: plus is paper to add."""
    if not is_shown(mm, unit):
        return "0"
    return ("+" if mm > 0 else _MINUS) + say_number(abs(mm), unit)


def say_angle(degrees: float) -> str:
    """Return an angle with one decimal: ``92.8°``."""
    return f"{degrees:.1f}°"
