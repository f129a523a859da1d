"""Names in the drawing: annotation texts that begin with "@" and stand at what they name.

The standard has no names for edges, notches or levels.  Ours ride as TEXT on layer 15,
each at the place it names, so that another program shows them and hands them back.

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

from collections.abc import Iterable
from dataclasses import field
from typing import Final

import numpy as np

from propagate.io.dxf.shapes import Text
from propagate.pattern.model import Array, LandmarkKind
from propagate.values import dataclass

__all__ = ["KINDS", "MARKER", "Named", "Ours", "read_ours"]

MARKER: Final = "@"
KINDS: Final[dict[str, LandmarkKind]] = {"notch": "notch", "leg": "dart leg", "mark": "mark"}
_WORDS: Final = {  # keyword to the number of names behind it
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


def places(items: Iterable[Named]) -> Array:
    """(n, 2) where texts stand."""
    return np.array([item.at for item in items], dtype=np.float64).reshape(-1, 2)


def read_ours(texts: Iterable[Text]) -> tuple[Ours, list[Text]]:
    """Return the texts of ours and the others."""
    found: list[Named] = []
    others: list[Text] = []
    for text in texts:
        named = _read(text) if text.text.startswith(MARKER) else None
        if named is None:
            others.append(text)
        else:
            found.append(named)
    return Ours(tuple(found)), others


def _read(text: Text) -> Named | None:
    word, _, rest = text.text[len(MARKER) :].partition(" ")
    at = (float(text.at[0]), float(text.at[1]))
    if word in _OPEN and rest.strip():
        return Named(word, (rest.strip(),), at, text.angle)
    names = tuple(rest.split())
    if word in _WORDS and len(names) == _WORDS[word]:
        return Named(word, names, at, text.angle)
    return None
