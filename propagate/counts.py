"""Counts in words, wherever something is said."""

from __future__ import annotations

__all__ = ["say_count"]

_PLURALS = {"assembly": "assemblies", "notch": "notches"}


def say_count(number: int, word: str) -> str:
    """Return a number with its word, in the plural unless there is one.

    Examples
    --------
    >>> say_count(1, "band"), say_count(2, "assembly"), say_count(3, "chart row")
    ('1 band', '2 assemblies', '3 chart rows')
    """
    return f"{number} {word if number == 1 else _PLURALS.get(word, f'{word}s')}"
