"""How large our own TOML and JSON may be: what no pattern needs is refused with the reason.

The limits of drawings stand with their readers (`io.svg`, `io.dxf`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from propagate.errors import FormatError

__all__ = [
    "LONGEST_NAME",
    "LONGEST_TEXT",
    "MOST_BYTES",
    "MOST_COUNT",
    "MOST_EDGE_POINTS",
    "MOST_ITEMS",
    "MOST_PIECES",
    "MOST_POINTS",
    "MOST_SIZES",
    "MOST_TOML_BYTES",
    "check_plain",
    "check_toml_text",
]

MOST_TOML_BYTES = 4_000_000
MOST_BYTES = 64_000_000
"""Of one JSON file; of all geometry files of a set together four times as many."""
MOST_SIZES = 200
MOST_PIECES = 1_000
MOST_ITEMS = 10_000
"""Items of one list: relations of a kind, spans of a run, marks on a piece, edges."""
MOST_EDGE_POINTS = 100_000
MOST_POINTS = 2_000_000
"""Of one piece in all its sizes."""
MOST_COUNT = 1_000
"""Pieces to cut, times that a run is counted in a girth."""
LONGEST_NAME = 200
LONGEST_TEXT = 1_000
DEEPEST = 16
"""Tables and lists in each other."""
_LARGEST_WHOLE = 2**63
"""TOML v1.0.0, section Integer: 64 bits with a sign."""
_LONG_KEY = re.compile(r"""(?:\.[ \t]{0,8}[\w"'-]{1,64}[ \t]{0,8}){32}""")


def check_toml_text(text: str, source: str) -> None:
    """Refuse TOML whose keys have more parts than a set has, before it is parsed.

    Raises
    ------
    FormatError
        It is too long, or a dotted key has dozens of parts.
    """
    if len(text) > MOST_TOML_BYTES:
        raise FormatError(
            f"{source}: found {len(text) / 1e6:.1f} million letters, expected at most "
            f"{MOST_TOML_BYTES / 1e6:g} million"
        )
    found = _LONG_KEY.search(text)
    if found:
        line = text.count("\n", 0, found.start()) + 1
        raise FormatError(
            f"{source}: line {line}: found a key of dozens of parts, expected a few, as in "
            "'pieces.front.allowance'"
        )


def check_plain(values: object, source: str) -> None:
    """Refuse parsed TOML that is nested too deeply or has whole numbers beyond 64 bits.

    Raises
    ------
    FormatError
        Names the place.
    """
    waiting: list[tuple[object, str, int]] = [(values, "", 0)]
    while waiting:
        value, where, depth = waiting.pop()
        place = f"{source}: {where}" if where else source
        if depth > DEEPEST:
            raise FormatError(f"{place}: nested more than {DEEPEST} deep, expected a set")
        if isinstance(value, Mapping):
            head = f"{where}." if where else ""
            waiting += [(item, f"{head}{key}", depth + 1) for key, item in value.items()]
        elif isinstance(value, Sequence) and not isinstance(value, str):
            waiting += [(item, where, depth + 1) for item in value]
        elif isinstance(value, int) and not -_LARGEST_WHOLE <= value < _LARGEST_WHOLE:
            raise FormatError(
                f"{place}: found a whole number of about {value.bit_length() * 30103 // 100000} "
                "digits, expected one of 64 bits, as TOML has them"
            )
