"""Read a length that a person wrote: a number of mm, or text with a unit."""

from __future__ import annotations

import re

__all__ = ["LENGTH_FORMS", "MM_PER_INCH", "parse_length"]

MM_PER_INCH = 25.4
LENGTH_FORMS = '770, "770mm", "77cm", "30.25in" or "30 1/4in"'
"""How a length may be written, for messages."""
LONGEST = 100
"""Letters that a length has at most; more digits measure nothing."""

_TENTHS_OF_MM_PER_UNIT = {"mm": 10, "cm": 100, "in": 254}
_LENGTH = re.compile(
    r"\s*(?P<sign>[+-]?)\s*(?:(?P<whole>\d+)\s+)?"
    r"(?P<number>\d+/\d+|\d+(?:\.\d*)?|\.\d+)\s*(?P<unit>mm|cm|in)?\s*",
    re.ASCII,
)


def parse_length(value: object, *, bare: str | None = None) -> float | None:
    """Return a length in mm, or None when `value` is not one.

    Parameters
    ----------
    value : object
        A number is millimetres.  Text needs a unit unless `bare` names one: ``"10mm"``,
        ``"1.5 cm"``, ``"0.375in"``, ``"5/8 in"``, ``"1 3/8in"`` (1 in = 25.4 mm exactly).
    bare : "mm", "cm", "in" or None
        Unit of text that states none.

    Examples
    --------
    >>> parse_length("30 1/4in"), parse_length("770", bare="mm"), parse_length("770")
    (768.35, 770.0, None)
    """
    if isinstance(value, bool):
        return None
    if isinstance(value, (int, float)):
        try:
            number = float(value)
        except OverflowError:
            return None
        return number if number - number == 0.0 else None
    short = isinstance(value, str) and len(value) <= LONGEST
    match = _LENGTH.fullmatch(value) if isinstance(value, str) and short else None
    return None if match is None else _reckon_mm(match, bare)


def _reckon_mm(match: re.Match[str], bare: str | None) -> float | None:
    unit, number, whole = match["unit"] or bare, match["number"], match["whole"]
    if unit is None or (whole and "/" not in number):
        return None
    try:
        if unit == "mm" and "/" not in number:
            mm = float(number)
        else:
            from fractions import Fraction  # a set in mm does not wait for it

            # Without rounding: 5/8 in is 15.875 mm.
            size = Fraction(number) + Fraction(whole or 0)
            mm = float(size * Fraction(_TENTHS_OF_MM_PER_UNIT[unit], 10))
    except (ZeroDivisionError, OverflowError):
        return None
    return -mm if match["sign"] == "-" else mm
