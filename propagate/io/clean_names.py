"""Names of the set that are as near as can be to what a drawing says."""

from __future__ import annotations

import re

from propagate.io.checks import is_name, is_size
from propagate.io.reading import LONGEST_NAME
from propagate.visible import visible

__all__ = ["clean_name", "clean_size"]

_LONGEST = LONGEST_NAME - 20  # leaves room for a number behind it
_NOT_IN_NAMES = re.compile(r'[\s.\x00-\x1f\x7f/\\:*?"<>|]+')


def clean_name(text: str) -> str:
    """A text as a name of the set: characters that names do not hold become ``_``."""
    if is_name(text):
        return text
    seen = "".join(c if visible(c) == c else "_" for c in text.strip())
    return _NOT_IN_NAMES.sub("_", seen)[:_LONGEST].strip("_")


def clean_size(text: str) -> str:
    """A text as the name of a size, which may have a decimal point."""
    said = text.strip()
    return said if is_size(said) else clean_name(said)
