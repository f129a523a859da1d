"""Print lengths and areas: in a unit's decimals, or as a hand measures them, inches to 1/16."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from propagate.lengths import MM_PER_INCH
from propagate.values import dataclass

__all__ = [
    "INCHES",
    "drop_sign",
    "MILLIMETRES",
    "MINUS",
    "PENCIL_MM",
    "PER_INCH",
    "Unit",
    "add_figures",
    "as_printed",
    "is_drawable",
    "is_shown",
    "offset_word",
    "place_word",
    "say_angle",
    "say_length",
    "say_number",
    "say_ratio",
    "say_signed",
    "subtract_figures",
    "unit_of",
    "within_word",
]
MINUS = "\N{MINUS SIGN}"
PENCIL_MM = 0.2
"""Two lines closer than this are one: a fine pencil draws one as wide (common practice, no
source)."""
PER_INCH = 16
"""Inches are written to 1/16, the finest division of a dressmaker's tape (from memory)."""


@dataclass(frozen=True)
class Unit:
    """A unit to print in.

    Attributes
    ----------
    name : "mm" or "in"
    mm : float
        Millimetres of one unit.
    decimals : int
        Decimals of an ordinary length; a difference gets one more.

    Examples
    --------
    >>> MILLIMETRES.length(41.26), INCHES.length(25.4), MILLIMETRES.change(-0.001)
    ('41.3', '1.00', '0.0')
    """

    name: Literal["mm", "in"]
    mm: float
    decimals: int

    def length(self, mm: float, more: int = 0) -> str:
        """Return a length without its unit."""
        return drop_sign(f"{mm / self.mm:.{self.decimals + more}f}")

    def change(self, mm: float, more: int = 0) -> str:
        """Return a difference with its sign; none for nothing."""
        return drop_sign(f"{mm / self.mm:+.{self.decimals + more}f}")

    def difference(self, before_mm: float, after_mm: float, more: int = 0) -> str:
        """Return by how much a length changed, from both as they are printed.

        Examples
        --------
        >>> MILLIMETRES.difference(251.34, 248.86), MILLIMETRES.difference(100.04, 99.96)
        ('-2.4', '0.0')
        """
        return subtract_figures(self.length(after_mm, more), self.length(before_mm, more))

    def small(self, mm: float) -> str:
        """Return a difference that is expected to be nothing, with more decimals."""
        return self.change(mm, 1)

    def said(self, mm: float) -> str:
        """Return a length with its unit, for a sentence."""
        return f"{self.length(mm)} {self.name}"

    def area(self, mm2: float) -> str:
        """Return an area in cm² or in²."""
        if self.name == "mm":
            return f"{mm2 / 100:.1f} cm²"
        return f"{mm2 / self.mm**2:.2f} in²"


def drop_sign(text: str) -> str:
    """Drop the sign of a number that is printed as nothing."""
    return text.lstrip("+-") if not text.strip("+-0.") else text


def subtract_figures(after: str, before: str) -> str:
    """Return the difference of two figures as printed, with its sign; none for nothing.

    Examples
    --------
    >>> subtract_figures("248.9", "251.3")
    '-2.4'
    """
    return drop_sign(f"{Decimal(after) - Decimal(before):+f}")


def add_figures(*figures: str) -> str:
    """Return the sum of figures as printed.

    Examples
    --------
    >>> add_figures("92.2", "87.9")
    '180.1'
    """
    return f"{sum(map(Decimal, figures), Decimal(0)):f}"


def say_ratio(scale: float) -> str:
    """Return how large a drawing is, 4.0 for one that is four times smaller.

    Examples
    --------
    >>> say_ratio(4.0), say_ratio(2.5), say_ratio(0.5)
    ('1:4', '1:2.5', '2:1')
    """
    return f"1:{scale:g}" if scale >= 1.0 else f"{1.0 / scale:g}:1"


MILLIMETRES = Unit("mm", 1.0, 1)
INCHES = Unit("in", MM_PER_INCH, 2)


def unit_of(name: str) -> Unit:
    """Return the unit called ``mm`` or ``in``."""
    return INCHES if name == "in" else MILLIMETRES


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
    whole, rest = divmod(Fraction(parts, PER_INCH), 1)
    words = " ".join(str(part) for part in (whole, rest) if part) or "0"
    return f"-{words}" if mm < 0 and parts else words


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
    return (MINUS if mm < 0.0 and is_shown(mm, unit) else "") + say_number(abs(mm), unit)


def offset_word(mm: float, unit: Unit) -> str:
    """Return an offset with its sign: plus is paper to add."""
    if not is_shown(mm, unit):
        return "0"
    return ("+" if mm > 0 else MINUS) + say_number(abs(mm), unit)


def say_angle(degrees: float) -> str:
    """Return an angle with one decimal: ``92.8°``."""
    return f"{degrees:.1f}°"
