"""By how much an edit changes something: millimetres, a share of a length, or size by size."""

from __future__ import annotations

from typing import Any, Literal

from propagate.values import dataclass

__all__ = ["Amount", "Grading", "amount_divided", "amount_mm", "amount_plain", "amount_words"]

Grading = Literal["same", "proportion"]
"""How an amount that is said once holds in other sizes than the base size."""


@dataclass(frozen=True)
class Amount:
    """An amount that may differ by size; exactly one of its forms is said.

    Attributes
    ----------
    mm : float or None
        In the base size; in the others the same, or in proportion, as the edit says.
    share : float or None
        Share of the length that is changed: 0.02 is 2 mm in 100.
    sizes : tuple of (size, mm)
        An amount for each size.
    """

    mm: float | None = None
    share: float | None = None
    sizes: tuple[tuple[str, float], ...] = ()

    @property
    def least(self) -> float:
        """The smallest value said, in its own measure: its sign is the edit's."""
        said = [self.mm, self.share, *(mm for _, mm in self.sizes)]
        return min(value for value in said if value is not None)


def amount_mm(
    amount: Amount, size: str, length_mm: float, base_mm: float, graded: Grading
) -> float:
    """The amount in one size, mm; raises KeyError for a size of which nothing is said.

    Parameters
    ----------
    amount : Amount
    size : str
    length_mm, base_mm : float
        What is changed, in the size and in the base size.
    graded : "same" or "proportion"
    """
    if amount.sizes:
        return dict(amount.sizes)[size]
    if amount.share is not None:
        return amount.share * length_mm
    mm = 0.0 if amount.mm is None else amount.mm
    return mm * length_mm / base_mm if graded == "proportion" else mm


def amount_divided(amount: Amount, parts: int) -> Amount:
    """One of so many equal parts of an amount."""
    return Amount(
        mm=None if amount.mm is None else amount.mm / parts,
        share=None if amount.share is None else amount.share / parts,
        sizes=tuple((size, mm / parts) for size, mm in amount.sizes),
    )


def amount_plain(amount: Amount) -> float | str | dict[str, Any]:
    """The amount as a file says it."""
    if amount.sizes:
        return dict(amount.sizes)
    return (amount.mm or 0.0) if amount.share is None else f"{100.0 * amount.share:.12g}%"


def amount_words(amount: Amount) -> str:
    """The amount as a person would say it."""
    if amount.sizes:
        return ", ".join(f"{mm:g} mm in size {size}" for size, mm in amount.sizes)
    return f"{100.0 * amount.share:g}%" if amount.share is not None else f"{amount.mm or 0.0:g} mm"
