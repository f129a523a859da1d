"""What texts of a drawing say: system text, and names of ours; and letters that a file holds.

System text is "Keyword: value".  The standard has no names for edges, notches or levels.  Ours
ride as TEXT on layer 15, each at the place it names, so that another program shows them and
hands them back.

    @edge NAME                at the middle of the edge
    @turn                     at a corner inside an edge
    @notch NAME EDGE          at the notch on the seam line; also @leg and @mark
    @dart NAME EDGE LEG LEG   at the tip
    @line NAME                at the first point of an internal line
    @drill NAME               at a drill mark
    @level NAME               at a point of the level
    @label                    in the middle of the piece's text, at its angle
    @piece NAME, @size NAME   when the system text cannot carry the name
    @title TEXT               what is printed on the piece
    @lay_on NAME, @set NAME, @unit mm     of the style, in the section ENTITIES
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import field
from typing import Final

import numpy as np

from propagate.io.dxf.conventions import PIECE_WORDS, STYLE_WORDS, SYSTEM_TEXT, VERSION_WORDS
from propagate.io.dxf.shapes import Text
from propagate.pattern.model import Array, LandmarkKind
from propagate.values import dataclass

__all__ = [
    "KINDS",
    "MARKER",
    "Named",
    "Ours",
    "block_name",
    "escape_text",
    "split_keyword",
    "plain_text",
    "parse_quantity",
    "read_ours",
    "sort_text",
]

_BLANKS = re.compile(r"[\s_]+")


def split_keyword(text: str) -> tuple[str, str] | None:
    """Split "Keyword: value"; the keyword in lower case with single blanks."""
    match = SYSTEM_TEXT.fullmatch(text)
    if match is None:
        return None
    return _BLANKS.sub(" ", match[1].strip().lower()), match[2]


def sort_text(texts: Iterable[Text]) -> tuple[dict[str, str], list[Text]]:
    """Return the system text by keyword and the texts that are none.

    The first of a repeated keyword counts.  A version line is kept as ``version``.
    """
    known: dict[str, str] = {}
    others: list[Text] = []
    for text in texts:
        if text.text.strip().lower().startswith(VERSION_WORDS):
            known.setdefault("version", text.text)
            continue
        pair = split_keyword(text.text)
        if pair is not None and pair[0] in (*STYLE_WORDS, *PIECE_WORDS):
            known.setdefault(*pair)
        else:
            others.append(text)
    return known, others


def parse_quantity(words: Mapping[str, str]) -> tuple[int, int] | None:
    """Return the two counts (as drawn, mirrored), or None when there are none."""
    counts = [int(word) for word in re.findall(r"\d+", words.get("quantity", ""))[:2]]
    if not counts or max(counts) > 1000 or sum(counts) == 0:
        return None
    return counts[0], (counts[1] if len(counts) > 1 else 0)


# ---------------------------------------------------------------------------------- names of ours

MARKER: Final = "@"
KINDS: Final[dict[str, LandmarkKind]] = {"notch": "notch", "leg": "dart leg", "mark": "mark"}
_NAMES_BEHIND: Final = {  # keyword to the number of names behind it
    "edge": 1,
    "turn": 0,
    "notch": 2,
    "leg": 2,
    "mark": 2,
    "dart": 4,
    "line": 1,
    "drill": 1,
    "level": 1,
    "label": 0,
    "piece": 1,
    "size": 1,
}
_OPEN: Final = ("title", "lay_on", "set", "unit")  # the rest of the text belongs to it


@dataclass(frozen=True)
class Named:
    """One text of ours: its keyword, its names, where it stands."""

    word: str
    names: tuple[str, ...]
    at: tuple[float, float]
    angle: float = 0.0


@dataclass(frozen=True)
class Ours:
    """The texts of ours in one block."""

    items: tuple[Named, ...] = ()
    _by_word: dict[str, list[Named]] = field(default_factory=dict, compare=False)

    def of(self, *words: str) -> list[Named]:
        """Return the texts with one of the keywords, in the order of the file."""
        if not self._by_word and self.items:
            for item in self.items:
                self._by_word.setdefault(item.word, []).append(item)
        return [item for word in words for item in self._by_word.get(word, [])]

    def first(self, word: str) -> str:
        """Return the first name behind a keyword, or nothing."""
        found = self.of(word)
        return found[0].names[0] if found and found[0].names else ""


def list_places(items: Iterable[Named]) -> Array:
    """(n, 2) where texts stand."""
    return np.array([item.at for item in items], dtype=np.float64).reshape(-1, 2)


def read_ours(texts: Iterable[Text]) -> tuple[Ours, list[Text]]:
    """Return the texts of ours and the others."""
    found: list[Named] = []
    others: list[Text] = []
    for text in texts:
        named = _read_ours(text) if text.text.startswith(MARKER) else None
        if named is None:
            others.append(text)
        else:
            found.append(named)
    return Ours(tuple(found)), others


def _read_ours(text: Text) -> Named | None:
    word, _, rest = text.text[len(MARKER) :].partition(" ")
    at = (float(text.at[0]), float(text.at[1]))
    if word in _OPEN and rest.strip():
        return Named(word, (rest.strip(),), at, text.angle)
    names = tuple(rest.split())
    if word in _NAMES_BEHIND and len(names) == _NAMES_BEHIND[word]:
        return Named(word, names, at, text.angle)
    return None


# ---------------------------------------------------------------------------------------- letters

_APART = str.maketrans(
    {
        "ß": "ss", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "œ": "oe", "Œ": "OE", "ł": "l",
        "Ł": "L", "đ": "d", "Đ": "D", "þ": "th", "Þ": "Th", "ð": "d", "–": "-", "—": "-",
        "’": "'", "‘": "'", "“": '"', "”": '"', "…": "...", "×": "x", "°": " deg",
    }
)  # fmt: skip
_CONTROL = re.compile(r"[\x00-\x1f\x7f]+")


def plain_text(text: str) -> str:
    """Return the text in ASCII: accents dropped, other letters spelt out, else "?"."""
    text = _CONTROL.sub(" ", text).translate(_APART)
    apart = unicodedata.normalize("NFKD", text)
    bare = "".join(char for char in apart if not unicodedata.combining(char))
    return bare.encode("ascii", errors="replace").decode("ascii")


def escape_text(text: str) -> str:
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
    text = plain_text(f"{piece}-{size}" if size else piece)
    name = re.sub(r"[^A-Za-z0-9_-]", "_", text) or "piece"
    free, count = name, 1
    while free.lower() in taken:
        count += 1
        free = f"{name}_{count}"
    taken.add(free.lower())
    return free
