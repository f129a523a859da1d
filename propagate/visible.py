"""Text of others made safe to print: what cannot be seen, or moves the cursor, is told by number.

A set, a drawing or a file name that somebody sent may hold control characters.  Printed as
they are, they could paint over a verdict, change the title of the window or turn the order of
letters round.  Every line that a command prints goes through here.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Mapping, Sequence

__all__ = ["clipped", "json_text", "quoted", "shell_word", "visible", "width_of"]

_BLANK_LETTERS = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0")
"""Letters and marks by their class that nevertheless show nothing."""
_JOINERS = frozenset("\u200c\u200d\ufe0e\ufe0f")
"""Shape the letter before them in many scripts and in emoji; they deceive in Latin alone."""
_LAST_LATIN = "\u024f"
_SHELL_NAMES = {"\n": r"\n", "\t": r"\t", "\\": r"\\", "'": r"\'"}


def visible(text: str) -> str:
    r"""Return one line of text in which nothing is hidden.

    Control characters (C0, C1, escape), ends of lines, marks that turn the direction of
    writing, blanks without width and halves of characters are told by their numbers.

    Examples
    --------
    >>> visible("side\x1b[2Jseam"), visible("à la carte")
    ('side<U+001B>[2Jseam', 'à la carte')
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        _tell_number(char) if _hides(char, text[place - 1 : place]) else char
        for place, char in enumerate(text)
    )


def quoted(text: str) -> str:
    r"""Return text in quotation marks; letters that cannot be seen are told by their number.

    Stricter than `visible`: of a number or a path, every blank but the common one is told.

    Examples
    --------
    >>> quoted("it's"), quoted("a\tb")
    ("'it's'", "'a<U+0009>b'")
    """
    shown = (_tell_number(c) if c.isspace() and c != " " else c for c in visible(text))
    return f"'{''.join(shown)}'"


def _tell_number(char: str) -> str:
    return f"<U+{ord(char):04X}>"


def _hides(char: str, before: str) -> bool:
    if char in _JOINERS:
        return before <= _LAST_LATIN
    if char in _BLANK_LETTERS:
        return True
    return not char.isprintable() and unicodedata.category(char) != "Zs"


def width_of(text: str) -> int:
    """Return how many columns of a terminal a line takes (Unicode Standard Annex 11)."""
    if text.isascii():
        return len(text)
    return sum(_count_columns(char) for char in text)


def _count_columns(char: str) -> int:
    if unicodedata.category(char) in ("Mn", "Me") or char in _JOINERS:
        return 0
    return 2 if unicodedata.east_asian_width(char) in "WF" else 1


def clipped(text: str, columns: int) -> str:
    """Return text that fits in some columns; longer text ends in an ellipsis.

    Examples
    --------
    >>> clipped("side_seam", 9), clipped("side_seam", 6)
    ('side_seam', 'side_…')
    """
    if width_of(text) <= columns:
        return text
    kept, room = [], columns - 1
    for char in text:
        room -= _count_columns(char)
        if room < 0:
            break
        kept.append(char)
    return "".join(kept) + "…"


def json_text(value: Mapping[str, object] | Sequence[object]) -> str:
    """Return JSON that reads the same and holds nothing but letters that can be seen."""
    lines = json.dumps(value, indent=2, ensure_ascii=False).split("\n")
    for i, line in enumerate(lines):
        if not line.isprintable():  # outside its strings JSON has ASCII alone
            lines[i] = "".join(
                json.dumps(char)[1:-1] if _hides(char, line[place - 1 : place]) else char
                for place, char in enumerate(line)
            )
    return "\n".join(lines)


def shell_word(text: str) -> str:
    r"""Return a file name as a word that a shell takes as it stands, with nothing hidden.

    What cannot be seen is written as in the quoting ``$'...'`` of POSIX (issue 8), by bytes.

    Examples
    --------
    >>> shell_word("my set"), shell_word("a\x1bb")
    ("'my set'", "$'a\\033b'")
    """
    import shlex

    if visible(text) == text:
        return shlex.quote(text)
    words = []
    for char in text:
        if re.match(r"[\w ./:-]", char) and visible(char) == char:
            words.append(char)
        elif char in _SHELL_NAMES:
            words.append(_SHELL_NAMES[char])
        else:
            words += [f"\\{byte:03o}" for byte in char.encode("utf-8", "surrogateescape")]
    return f"$'{''.join(words)}'"
