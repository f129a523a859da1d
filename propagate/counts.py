"""Counts in words, wherever something is said."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["say_count", "say_numbers", "say_range"]

_PLURALS = {"assembly": "assemblies", "notch": "notches"}


def say_count(number: int, word: str) -> str:
    """Return a number with its word, in the plural unless there is one.

    Examples
    --------
    >>> say_count(1, "band"), say_count(2, "assembly"), say_count(3, "chart row")
    ('1 band', '2 assemblies', '3 chart rows')
    """
    return f"{number} {word if number == 1 else _PLURALS.get(word, f'{word}s')}"


def say_numbers(numbers: Sequence[int]) -> str:
    """Return rising numbers in words, three and more in a row by their ends.

    Examples
    --------
    >>> say_numbers([4]), say_numbers([1, 2]), say_numbers([1, 3, 4, 5, 9])
    ('4', '1 and 2', '1, 3 to 5 and 9')
    """
    rows: list[list[int]] = []
    for number in numbers:
        if rows and number == rows[-1][-1] + 1:
            rows[-1].append(number)
        else:
            rows.append([number])
    words: list[str] = []
    for row in rows:
        words += [f"{row[0]} to {row[-1]}"] if len(row) > 2 else map(str, row)
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)


def say_range(low: str, high: str) -> str:
    """Return two figures as a range, and once what is written alike.

    Examples
    --------
    >>> say_range("1.4", "1.6"), say_range("1.45", "1.45")
    ('1.4 to 1.6', '1.45')
    """
    return low if low == high else f"{low} to {high}"
