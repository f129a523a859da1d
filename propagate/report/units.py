"""Print lengths and areas in millimetres or inches."""

from __future__ import annotations

from typing import Literal

from propagate.lengths import MM_PER_INCH
from propagate.values import dataclass

__all__ = ["INCHES", "MILLIMETRES", "Unit", "counted", "unit_of"]


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
        return _plain(f"{mm / self.mm:.{self.decimals + more}f}")

    def change(self, mm: float, more: int = 0) -> str:
        """Return a difference with its sign; none for nothing."""
        return _plain(f"{mm / self.mm:+.{self.decimals + more}f}")

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


def _plain(text: str) -> str:
    """Drop the sign of a number that is printed as nothing."""
    return text.lstrip("+-") if not text.strip("+-0.") else text


def counted(number: int, word: str) -> str:
    """Return a number with its word, which takes an s unless there is one.

    Examples
    --------
    >>> counted(1, "piece"), counted(0, "piece")
    ('1 piece', '0 pieces')
    """
    return f"{number} {word}{'' if number == 1 else 's'}"


MILLIMETRES = Unit("mm", 1.0, 1)
INCHES = Unit("in", MM_PER_INCH, 2)


def unit_of(name: str) -> Unit:
    """Return the unit called ``mm`` or ``in``."""
    return INCHES if name == "in" else MILLIMETRES
