"""What the pages of a tiled print have in common: frames, footers, the name of a page."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Hashable, Sequence

from propagate.io.drawn_lines import DrawnLine, DrawnText
from propagate.io.pdf.pages import DrawnPage
from propagate.values import dataclass

__all__ = ["FRAME_LAYERS", "PageName", "page_names", "without_furniture"]

FRAME_LAYERS = ("page frames and glue marks",)
"""The layer in which our own prints draw frames; none of it belongs to a piece."""
_SHARE = 0.4
"""What is drawn in the same place of this share of the pages belongs to the pages: a frame is on
all of them, what marks the next page on all but those at the end of a row."""
_SAME_MM = 0.2
_LETTER_NUMBER = re.compile(r"(?:page |sheet )?\(?([A-Z])[-. ]?(\d{1,2})\)?", re.IGNORECASE)
_NUMBER_LETTER = re.compile(r"(?:page |sheet )?\(?(\d{1,2})[-. ]?([A-Z])\)?", re.IGNORECASE)
_TWO_NUMBERS = re.compile(r"\(?(\d{1,2})\s?[-,.:x]\s?(\d{1,2})\)?")
_ROW_COLUMN = re.compile(
    r"(?:r|row|reihe|rang)\W{0,2}(\d{1,2})\W{0,3}(?:c|col|column|spalte|colonne)\W{0,2}(\d{1,2})",
    re.IGNORECASE,
)
_NUMBER = re.compile(
    r"(?:page|sheet|seite|blatt|feuille|tile|p\.?)?\s?(\d{1,3})(?:\s?(?:/|of|von|de|sur)\s?\d{1,3})?",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class PageName:
    """The name that a page bears in its set.

    Attributes
    ----------
    text : str
    first, second : int
        Counted from 0; of a plain number `second` is -1.
    kind : str
        ``"letter-number"``, ``"number-letter"``, ``"numbers"``, ``"row-column"`` or ``"number"``.
    """

    text: str
    first: int
    second: int
    kind: str


def _line_key(line: DrawnLine) -> Hashable:
    """The same for lines that lie in the same place of two pages."""

    def near(value: float) -> int:
        return round(value / _SAME_MM)

    points = [line.chain.start, *(segment[-1] for segment in line.chain.segments)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    box = near(min(xs)), near(min(ys)), near(max(xs)), near(max(ys))
    return box, len(points), tuple(round(part, 1) for part in line.look.colour)


def _text_key(text: DrawnText) -> Hashable:
    words = re.sub(r"[0-9]+|\b[A-Z]\b", "#", text.text)
    return words, round(text.at[0]), round(text.at[1]), round(text.height, 1)


def without_furniture(pages: Sequence[DrawnPage]) -> list[tuple[list[DrawnLine], list[DrawnText]]]:
    """Lines and texts of each page that are not in the same place of many pages."""
    lines = Counter(key for page in pages for key in {_line_key(line) for line in page.lines})
    texts = Counter(key for page in pages for key in {_text_key(text) for text in page.texts})
    least = max(2, math.ceil(_SHARE * len(pages)))
    return [
        (
            [
                line
                for line in page.lines
                if line.layer not in FRAME_LAYERS and lines[_line_key(line)] < least
            ],
            [
                text
                for text in page.texts
                if text.layer not in FRAME_LAYERS and texts[_text_key(text)] < least
            ],
        )
        for page in pages
    ]


def page_names(pages: Sequence[DrawnPage]) -> dict[int, PageName]:
    """The names of pages by their index: texts in one place of most pages, all different."""
    found: defaultdict[tuple[str, int, int, int], dict[int, PageName]] = defaultdict(dict)
    height: Counter[tuple[str, int, int, int]] = Counter()
    for i, page in enumerate(pages):
        for text in page.texts:
            for name in _names_of(text.text):
                for dx, dy in (
                    (0, 0),
                    (1, 0),
                    (0, 1),
                    (1, 1),
                ):  # two grids: no place is on a border
                    spot = (
                        name.kind,
                        math.floor(text.at[0] / 8 + dx / 2) * 2 + dx,
                        math.floor(text.at[1] / 8 + dy / 2) * 2 + dy,
                        round(text.height),
                    )
                    found[spot].setdefault(i, name)
                    height[spot] = max(height[spot], round(10 * text.height))
    whole = {
        spot: names
        for spot, names in found.items()
        if len(names) >= 2
        and len(names) >= _SHARE * len(pages)
        and len({(n.first, n.second) for n in names.values()}) == len(names)
    }
    if not whole:
        return {}
    order = ("row-column", "letter-number", "number-letter", "numbers", "number")
    best = max(
        whole, key=lambda spot: (len(whole[spot]), -order.index(spot[0]), height[spot], spot)
    )
    return whole[best]


def _names_of(text: str) -> list[PageName]:
    text = text.strip()
    if match := _ROW_COLUMN.fullmatch(text):
        return [PageName(text, int(match[1]) - 1, int(match[2]) - 1, "row-column")]
    if match := _LETTER_NUMBER.fullmatch(text):
        return [PageName(text, _letter(match[1]), int(match[2]) - 1, "letter-number")]
    if match := _NUMBER_LETTER.fullmatch(text):
        return [PageName(text, int(match[1]) - 1, _letter(match[2]), "number-letter")]
    if match := _TWO_NUMBERS.fullmatch(text):
        return [PageName(text, int(match[1]) - 1, int(match[2]) - 1, "numbers")]
    if match := _NUMBER.fullmatch(text):
        return [PageName(text, int(match[1]) - 1, -1, "number")]
    return []


def _letter(text: str) -> int:
    return ord(text.upper()) - ord("A")
