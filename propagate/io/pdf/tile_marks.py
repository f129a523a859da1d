"""What the pages of a tiled print have in common: frames, footers, the name of a page."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Mapping, Sequence
from typing import TypeVar

from propagate.io.drawn_lines import DrawnLine, DrawnText
from propagate.io.pdf.pages import DrawnPage
from propagate.values import dataclass

__all__ = [
    "FRAME_LAYERS",
    "PageName",
    "page_names",
    "round_size",
    "sets_of_pages",
    "text_key",
    "without_furniture",
]

FRAME_LAYERS = ("page frames and glue marks",)
"""The layer in which our own prints draw frames; none of it belongs to a piece."""
_SHARE = 0.4
"""What is drawn in the same place of this share of the pages belongs to the pages: a frame is on
all of them, what marks the next page on all but those at the end of a row."""
_SAME_MM = 0.2
_SAME_SIZE_MM = 1.0
_ALIKE = 0.6
"""Share of all names that each set of pages has."""
_PLACE_MM = 8.0
_GRIDS = ((0, 0), (1, 0), (0, 1), (1, 1))
"""Two grids each way, half a step apart: what lies on the border of one does not in the other."""
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
_COUNTED = re.compile(r"[0-9]+|(?<![^\W\d_])[A-Z](?![^\W\d_])", re.IGNORECASE)
"""What names of pages count by: numbers and single letters, also side by side as in ``B4``."""

_Drawn = TypeVar("_Drawn", DrawnLine, DrawnText)


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


def text_key(text: DrawnText) -> Hashable:
    """The same for texts that lie in the same place of two pages, whatever they count."""
    words = _COUNTED.sub("#", text.text)
    return words, round(text.at[0]), round(text.at[1]), round(text.height, 1)


def without_furniture(
    pages: Sequence[DrawnPage], names: Mapping[int, PageName]
) -> list[tuple[list[DrawnLine], list[DrawnText]]]:
    """Lines and texts of each page that are not in the same place of many pages, nor its name."""
    least = max(2, math.ceil(_SHARE * len(pages)))
    lines = _find_in_few([page.lines for page in pages], _line_key, least)
    texts = _find_in_few([page.texts for page in pages], text_key, least)
    kept = [
        [text for text in of_page if not _is_name(text, names.get(i))]
        for i, of_page in enumerate(texts)
    ]
    return list(zip(lines, kept, strict=True))


def _is_name(text: DrawnText, name: PageName | None) -> bool:
    """Whether a text is its page's name; a plain number may be anything else as well."""
    return name is not None and name.kind != "number" and text.text.strip() == name.text


def _find_in_few(
    pages: Sequence[Sequence[_Drawn]], find_key: Callable[[_Drawn], Hashable], many: int
) -> list[list[_Drawn]]:
    """What of each page is outside of the layer of frames and in its place on few pages."""
    keys = [[find_key(one) for one in page] for page in pages]
    counts = Counter(key for of_page in keys for key in set(of_page))
    return [
        [
            one
            for one, key in zip(page, of_page, strict=True)
            if one.layer not in FRAME_LAYERS and counts[key] < many
        ]
        for page, of_page in zip(pages, keys, strict=True)
    ]


_Spot = tuple[str, int, int, int]
"""Kind of a name, place on the page and height of the letters, roughly."""
_KINDS = ("row-column", "letter-number", "number-letter", "numbers", "number")


def page_names(pages: Sequence[DrawnPage]) -> list[dict[int, PageName]]:
    """What may be the names of pages, by their index: texts in one place of most, all different.

    Those in the place that names most pages come first; among equals the plainest names.
    """
    spots = {
        spot: names
        for spot, names in _find_spots(pages).items()
        if len({(name.first, name.second) for name in names.values()}) == len(names)
    }
    order = sorted(
        spots,
        key=lambda spot: (len(spots[spot]), -_KINDS.index(spot[0]), spot[3], spot),
        reverse=True,
    )
    found: list[dict[int, PageName]] = []
    for spot in order:
        if spots[spot] not in found:
            found.append(spots[spot])
    return found


def round_size(page: DrawnPage) -> tuple[int, int]:
    """The size of a page, near enough to tell papers apart."""
    return round(page.size[0] / _SAME_SIZE_MM), round(page.size[1] / _SAME_SIZE_MM)


def sets_of_pages(pages: Sequence[DrawnPage]) -> list[list[DrawnPage]]:
    """The pages in several sets, each with the same names again; empty when there are not.

    Sets on paper of different sizes show one pattern for printers here and there.
    """
    spots = {
        spot: runs
        for spot, names in _find_spots(pages).items()
        if spot[0] != "number" and len(runs := _find_runs(names)) > 1
    }
    if not spots:
        return []
    runs = spots[max(spots, key=lambda spot: (sum(map(len, spots[spot])), spot))]
    papers = [{round_size(pages[i]) for i in run} for run in runs]
    if set.intersection(*papers) != set.union(*papers):
        return []
    return [[pages[i] for i in run] for run in runs]


def _find_runs(names: Mapping[int, PageName]) -> list[list[int]]:
    """Pages in runs that end where a name comes again; none when the runs are not alike."""
    runs: list[list[int]] = []
    seen: set[tuple[int, int]] = set()
    for i in sorted(names):
        name = names[i].first, names[i].second
        if not runs or name in seen:
            runs.append([])
            seen = set()
        seen.add(name)
        runs[-1].append(i)
    every = {(name.first, name.second) for name in names.values()}
    alike = all(len(run) >= max(2, _ALIKE * len(every)) for run in runs)
    return runs if alike else []


def _find_spots(pages: Sequence[DrawnPage]) -> dict[_Spot, dict[int, PageName]]:
    """What looks like names of pages, by its place, where most pages have one."""
    found: defaultdict[_Spot, dict[int, PageName]] = defaultdict(dict)
    for i, page in enumerate(pages):
        for text in page.texts:
            for name in _names_of(text.text):
                for dx, dy in _GRIDS:
                    x = math.floor(text.at[0] / _PLACE_MM + dx / 2) * 2 + dx
                    y = math.floor(text.at[1] / _PLACE_MM + dy / 2) * 2 + dy
                    found[name.kind, x, y, round(text.height)].setdefault(i, name)
    least = max(2, _SHARE * len(pages))
    return {spot: names for spot, names in found.items() if len(names) >= least}


def _names_of(text: str) -> list[PageName]:
    text = text.strip()
    if match := _ROW_COLUMN.fullmatch(text):
        return [PageName(text, int(match[1]) - 1, int(match[2]) - 1, "row-column")]
    if match := _LETTER_NUMBER.fullmatch(text):
        return [PageName(text, _count_letter(match[1]), int(match[2]) - 1, "letter-number")]
    if match := _NUMBER_LETTER.fullmatch(text):
        return [PageName(text, int(match[1]) - 1, _count_letter(match[2]), "number-letter")]
    if match := _TWO_NUMBERS.fullmatch(text):
        return [PageName(text, int(match[1]) - 1, int(match[2]) - 1, "numbers")]
    if match := _NUMBER.fullmatch(text):
        return [PageName(text, int(match[1]) - 1, -1, "number")]
    return []


def _count_letter(text: str) -> int:
    return ord(text.upper()) - ord("A")
