"""Sizes between the sizes of a nest: how they are called, and where they lie.

A nest whose sizes are numbers has numbers between them: 43.5.  Any nest has shares of a
step: ``S+0.4`` lies four tenths of the way from S to the next larger size, ``XS-0.5`` half
a step below XS.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from propagate.errors import EditError, UnknownName, nearest_names
from propagate.pattern.amount import Amount
from propagate.pattern.by_size import change_eases, change_widths
from propagate.pattern.ease import Ease, EaseSaid, is_by_size, mix_eases
from propagate.pattern.patternset import Relations
from propagate.values import dataclass

__all__ = [
    "FARTHEST_STEPS",
    "BetweenSize",
    "amount_with_sizes",
    "ease_with_sizes",
    "relations_with_size",
    "size_asked",
    "size_at",
]

FARTHEST_STEPS = 1.0
"""A size is drawn at most so many steps beyond the smallest or the largest of the nest."""

_DIGITS = 4
"""Decimals of the name of a size; a ten-thousandth of a step is a few thousandths of a mm."""
_STEPS_FROM = re.compile(r"(?P<size>.+?)(?P<steps>[+-](?:\d+(?:\.\d*)?|\.\d+))")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


@dataclass(frozen=True)
class BetweenSize:
    """A size that is not drawn, but lies between two that are, or goes on beyond them.

    Attributes
    ----------
    name : str
        ``43.5`` in a nest of numbers, else ``S+0.4``.
    first, second : str
        Two neighbours of the nest, the smaller one first.
    share : float
        0 is the first, 1 the second; below 0 and above 1 lie beyond the nest.
    """

    name: str
    first: str
    second: str
    share: float

    @property
    def beyond(self) -> float:
        """By how many steps it lies beyond the nest; 0 between two sizes."""
        return max(-self.share, self.share - 1.0, 0.0)

    @property
    def words(self) -> str:
        """Where it lies, plainly."""
        if not self.beyond:
            return f"between {self.first} and {self.second}, {self.share:.4g} of the way"
        near, far = (self.first, self.second) if self.share < 0 else (self.second, self.first)
        step = "a step" if self.beyond == 1.0 else f"{self.beyond:.4g} of a step"
        return f"{step} beyond {near}, going on as from {far} to {near}"


def size_asked(sizes: Sequence[str], text: str, where: str) -> str | BetweenSize:
    """Return the size of a nest that somebody asks for, or the size between that it is.

    Parameters
    ----------
    sizes : sequence of str
        Those that are drawn, smallest first.
    text : str
        A size; a number between two sizes that are numbers; or ``SIZE+SHARE``, ``SIZE-SHARE``,
        in steps of the nest.
    where : str
        Whose sizes they are, for messages.

    Raises
    ------
    UnknownName
        For text that is no size and of neither form.
    EditError
        For a size too far beyond the nest.
    """
    if text in sizes:
        return text
    if len(sizes) < 2:
        raise UnknownName("size", text, sizes, where)
    numbers = _read_numbers(sizes)
    if numbers is not None and _NUMBER.fullmatch(text) and math.isfinite(float(text)):
        value = round(float(text), _DIGITS)
        # Beyond the ends of the nest steps are those of its last two sizes.
        above = next((i for i, number in enumerate(numbers) if number > value), len(numbers))
        low = min(max(above - 1, 0), len(numbers) - 2)
        at = low + (value - numbers[low]) / (numbers[low + 1] - numbers[low])
    else:
        found = _STEPS_FROM.fullmatch(text)
        if found is None or found["size"] not in sizes:
            raise UnknownName("size", text, sizes, where)
        at = sizes.index(found["size"]) + float(found["steps"])
    nearest = min(max(at, -FARTHEST_STEPS), len(sizes) - 1 + FARTHEST_STEPS)
    size = size_at(sizes, nearest)
    name = size if isinstance(size, str) else size.name
    if abs(at - nearest) > 1e-9:
        end = sizes[0] if at < 0 else sizes[-1]
        steps = -at if at < 0 else at - len(sizes) + 1
        meant = nearest_names(text, sizes)
        raise EditError(
            f"{where}: found size '{text}', {steps:.4g} steps beyond size '{end}', expected at "
            f"most {FARTHEST_STEPS:g} beyond what is drawn; the nearest that can be is '{name}'"
            + (f", or did you mean {meant}?" if meant else "")
        )
    if name in sizes and not isinstance(size, str):
        raise EditError(
            f"{where}: found size '{text}', which would be called '{name}', as one that is drawn; "
            "ask for that one, or rename it"
        )
    return size


def size_at(sizes: Sequence[str], position: float) -> str | BetweenSize:
    """Return the size at a place of a nest: 0 is the smallest, each step counts 1.

    Its name has four decimals, and it lies where its name says.
    """
    numbers = _read_numbers(sizes)
    at = min(max(math.floor(position), 0), len(sizes) - 2)
    share = position - at
    if numbers is None:
        share = round(share, _DIGITS) + 0.0
        name = (
            f"{sizes[at]}+{_write_number(share)}"
            if share >= 0.0
            else f"{sizes[at]}-{_write_number(-share)}"
        )
        if share > 1.0:
            name = f"{sizes[at + 1]}+{_write_number(share - 1.0)}"
    else:
        step = numbers[at + 1] - numbers[at]
        value = round(numbers[at] + share * step, _DIGITS)
        name, share = _write_number(value), (value - numbers[at]) / step
    if share in (0.0, 1.0):
        return sizes[at + int(share)]
    return BetweenSize(name, sizes[at], sizes[at + 1], share)


def _read_numbers(sizes: Sequence[str]) -> list[float] | None:
    """The sizes as numbers, where they are numbers that grow."""
    if len(sizes) < 2 or not all(_NUMBER.fullmatch(size) for size in sizes):
        return None
    values = [float(size) for size in sizes]
    return values if all(a < b for a, b in pairwise(values)) else None


def _write_number(value: float) -> str:
    return f"{value:.{_DIGITS}f}".rstrip("0").rstrip(".")


# -------------------------------------------------------------- amounts and eases by size


def amount_with_sizes(
    amount: Amount, called: Mapping[str, str], sizes: Sequence[BetweenSize]
) -> Amount:
    """An amount by size that is said for sizes between, too, where it is for their neighbours.

    Parameters
    ----------
    amount : Amount
    called : mapping
        Other ways to write a size, such as ``M-0.6``, and what it is called.
    sizes : sequence of BetweenSize
    """
    said = {called.get(name, name): mm for name, mm in amount.sizes}
    for size in sizes:
        if size.name not in said and size.first in said and size.second in said:
            first, second = said[size.first], said[size.second]
            said[size.name] = first + size.share * (second - first)
    return replace(amount, sizes=tuple(said.items()))


def ease_with_sizes(
    ease: EaseSaid, called: Mapping[str, str], sizes: Sequence[BetweenSize], where: str
) -> EaseSaid:
    """The same of an ease; raises EditError when the eases of two neighbours differ in form."""
    if not isinstance(ease, Ease) or not is_by_size(ease):
        return ease
    if ease.zones:
        zones = ((to, ease_with_sizes(one, called, sizes, where)) for to, one in ease.zones)
        return replace(ease, zones=tuple(zones))
    said = {called.get(name, name): one for name, one in ease.sizes}
    for size in sizes:
        if size.name not in said and size.first in said and size.second in said:
            mixed = mix_eases(said[size.first], said[size.second], size.share)
            if mixed is None:
                raise EditError(
                    f"{where}: found an ease of one form in size '{size.first}' and of another in "
                    f"size '{size.second}', expected one form in both for a size between; say both "
                    "as mm, as shares or as ranges"
                )
            said[size.name] = mixed
    return replace(ease, sizes=tuple(said.items()))


def relations_with_size(relations: Relations, size: BetweenSize) -> Relations:
    """Relations that say eases and widths in one more size, where they say one for each.

    Raises
    ------
    EditError
        When the eases of its two neighbours are not of one form.
    """
    eased = change_eases(relations, lambda ease, _, where: ease_with_sizes(ease, {}, [size], where))
    return change_widths(eased, lambda _, width: amount_with_sizes(width, {}, [size]))
