"""Text in strictly ASCII files."""

from __future__ import annotations

import re
import unicodedata

__all__ = ["block_name", "escaped", "plain"]

_APART = str.maketrans(
    {
        "ß": "ss", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "œ": "oe", "Œ": "OE", "ł": "l",
        "Ł": "L", "đ": "d", "Đ": "D", "þ": "th", "Þ": "Th", "ð": "d", "–": "-", "—": "-",
        "’": "'", "‘": "'", "“": '"', "”": '"', "…": "...", "×": "x", "°": " deg",
    }
)  # fmt: skip
_CONTROL = re.compile(r"[\x00-\x1f\x7f]+")


def plain(text: str) -> str:
    """Return the text in ASCII: accents dropped, other letters spelt out, else "?"."""
    text = _CONTROL.sub(" ", text).translate(_APART)
    apart = unicodedata.normalize("NFKD", text)
    bare = "".join(char for char in apart if not unicodedata.combining(char))
    return bare.encode("ascii", errors="replace").decode("ascii")


def escaped(text: str) -> str:
    r"""Return the text in ASCII with other letters as ``\U+XXXX``, to be read back exactly.

    A letter beyond the first 65536 is written as its two surrogates.
    """
    found = []
    for char in _CONTROL.sub(" ", text):
        if ord(char) < 128:
            found.append(char)
        else:
            units = char.encode("utf-16-be")
            found += [f"\\U+{units[i]:02X}{units[i + 1]:02X}" for i in range(0, len(units), 2)]
    return "".join(found)


def block_name(piece: str, size: str, taken: set[str]) -> str:
    """Return a free block name of letters, digits, "-" and "_", and note it as taken.

    Names that differ in capitals alone are one name in DXF.
    """
    text = plain(f"{piece}-{size}" if size else piece)
    name = re.sub(r"[^A-Za-z0-9_-]", "_", text) or "piece"
    free, count = name, 1
    while free.lower() in taken:
        count += 1
        free = f"{name}_{count}"
    taken.add(free.lower())
    return free
