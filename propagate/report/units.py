"""Print lengths and areas in millimetres or inches."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from propagate.lengths import MM_PER_INCH
from propagate.values import dataclass

__all__ = [
    "INCHES",
    "MILLIMETRES",
    "Unit",
    "say_count",
    "subtract_figures",
    "add_figures",
    "say_ratio",
    "unit_of",
]


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
        return _drop_sign(f"{mm / self.mm:.{self.decimals + more}f}")

    def change(self, mm: float, more: int = 0) -> str:
        """Return a difference with its sign; none for nothing."""
        return _drop_sign(f"{mm / self.mm:+.{self.decimals + more}f}")

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


def _drop_sign(text: str) -> str:
    """Drop the sign of a number that is printed as nothing."""
    return text.lstrip("+-") if not text.strip("+-0.") else text


def subtract_figures(after: str, before: str) -> str:
    """Return the difference of two figures as printed, with its sign; none for nothing.

    Examples
    --------
    >>> subtract_figures("248.9", "251.3")
    '-2.4'
    """
    return _drop_sign(f"{Decimal(after) - Decimal(before):+f}")


def add_figures(*figures: str) -> str:
    """Return the sum of figures as printed.

    Examples
    --------
    >>> add_figures("92.2", "87.9")
    '180.1'
    """
    return f"{sum(map(Decimal, figures), Decimal(0)):f}"


def say_count(number: int, word: str) -> str:
    """Return a number with its word, which takes an s unless there is one.

    Examples
    --------
    >>> say_count(1, "piece"), say_count(0, "piece")
    ('1 piece', '0 pieces')
    """
    return f"{number} {word}{'' if number == 1 else 's'}"


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
