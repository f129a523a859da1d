"""Squares with their length written beside them tell whether a print has its true scale."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterator, Sequence
from itertools import islice

from propagate.errors import FormatError
from propagate.io.drawn_lines import DrawnLine, DrawnText
from propagate.io.pdf.cutting import Box, find_bounds
from propagate.io.pdf.pages import DrawnPage
from propagate.io.report import ReportNotes
from propagate.lengths import MM_PER_INCH
from propagate.values import dataclass

__all__ = ["LENGTH", "MOST_TEXTS", "Measured", "check_scale", "measured_squares", "stated_lengths"]

TRUE_SHARE = 0.01
"""Share by which a test square may be off: printers are (common practice, no source)."""
MOST_SQUARES = 500
MOST_TEXTS = 500
"""On one page; more are no test squares and lengths."""
SHORTEST_MM = 15.0
LONGEST_MM = 320.0
_SQUARE_SHARE = 0.02
_BESIDE_MM = 12.0
_FARTHEST = 3.0
"""A square that is off by more than this factor does not belong to the text."""
_MM = {"mm": 1.0, "milli": 1.0, "cm": 10.0, "centi": 10.0, "zenti": 10.0}
"""By how a unit's name begins; all others are inches."""
_NUMBER = r"(?<![\d/])((?:\d+\s+)?\d+/(?:2|4|8|16|32)(?!\d)|\d*\s?[½¼¾⅛⅜⅝⅞]|\d+(?:[.,]\d+)?)"
_UNIT = r"(millimet\w*|mm|centimet\w*|zentimet\w*|cm|inch\w*|in\b|\"|″|”|zoll|pouces?|pulgadas?)"
_TIMES = r"(?:x|×|by|\*|mal|per|sur|por)"
LENGTH = re.compile(
    rf"{_NUMBER}\s*(?:{_UNIT}\s*)?(?:{_TIMES}\s*{_NUMBER}\s*)?{_UNIT}", re.IGNORECASE
)
_ABOUT = re.compile(
    r"test|scale|square|check|gauge|calibrat|control|kontroll|quadrat|ma(?:ß|ss)stab|"
    r"carr[ée]|[ée]chelle|cuadr|escala|print|druck",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Measured:
    """A square and the length that is written beside it, mm."""

    page: int
    side: float
    stated: float

    @property
    def factor(self) -> float:
        """By what the square has to be multiplied to be true."""
        return self.stated / self.side

    @property
    def true(self) -> bool:
        """Whether it is as long as is written."""
        return abs(self.factor - 1.0) <= TRUE_SHARE


def stated_lengths(text: str) -> list[float]:
    """The lengths in a text, mm; of ``10 x 10 cm`` one, of ``3 x 5 cm`` none."""
    found = []
    for match in LENGTH.finditer(text):
        first, unit, second, last = match.groups()
        word = (last or unit).lower()
        mm = next((mm for start, mm in _MM.items() if word.startswith(start)), MM_PER_INCH)
        one, other = (
            _parse_fraction(first),
            _parse_fraction(second) if second else _parse_fraction(first),
        )
        if one == other:
            found.append(one * mm)
    return found


def _parse_fraction(text: str) -> float:
    if not text[-1].isascii():
        return float(text[:-1].strip() or 0) + unicodedata.numeric(text[-1])
    whole, _, fraction = text.rpartition(" ")
    if "/" in fraction:
        above, below = fraction.split("/")
        return float(whole.strip() or 0) + float(above) / float(below)
    return float(text.replace(",", "."))


def measured_squares(pages: Sequence[DrawnPage]) -> list[Measured]:
    """Every square with a length in it or beside it."""
    found = []
    for page in pages:
        texts = [text for text in page.texts if LENGTH.search(text.text)][:MOST_TEXTS]
        for box in islice(_find_squares(page.lines), MOST_SQUARES if texts else 0):
            side = ((box[2] - box[0]) + (box[3] - box[1])) / 2
            stated = _stated_for(box, side, texts)
            if stated is not None:
                found.append(Measured(page.number, side, stated))
    return found


def _find_squares(lines: Sequence[DrawnLine]) -> Iterator[Box]:
    seen: set[tuple[int, ...]] = set()
    for line in lines:
        if not line.closed or line.chain.curved or not 4 <= len(line.chain.segments) <= 5:
            continue
        box = find_bounds(line.chain)
        wide, tall = box[2] - box[0], box[3] - box[1]
        corners = [line.chain.start, *(segment[0] for segment in line.chain.segments)]
        upright = all(
            min(abs(x - box[0]), abs(x - box[2])) < 0.1
            and min(abs(y - box[1]), abs(y - box[3])) < 0.1
            for x, y in corners
        )
        key = tuple(round(value) for value in box)
        if (
            upright
            and key not in seen
            and abs(wide - tall) <= _SQUARE_SHARE * max(wide, tall)
            and SHORTEST_MM / 2 <= wide <= LONGEST_MM
        ):
            seen.add(key)
            yield box


def _stated_for(box: Box, side: float, texts: Sequence[DrawnText]) -> float | None:
    """The length that the texts at a square say of it; the nearest to it of several."""
    found = []
    for text in texts:
        gap = _measure_text_gap(box, text)
        if gap > _BESIDE_MM:
            continue
        plain = LENGTH.fullmatch(text.text.strip(" ()[]=:.")) is not None
        if gap > 0 and not _ABOUT.search(text.text) and not plain:
            continue
        found += [length for length in stated_lengths(text.text) if length >= SHORTEST_MM]
    near = [length for length in found if 1 / _FARTHEST <= length / side <= _FARTHEST]
    return min(near, key=lambda length: abs(math.log(length / side)), default=None)


def _measure_text_gap(box: Box, text: DrawnText) -> float:
    """How far the middle of a text lies outside a box, mm."""
    turn = math.radians(text.angle)
    along, up = text.width / 2, text.height / 3
    x = text.at[0] + along * math.cos(turn) - up * math.sin(turn)
    y = text.at[1] + along * math.sin(turn) + up * math.cos(turn)
    return math.hypot(max(box[0] - x, 0.0, x - box[2]), max(box[1] - y, 0.0, y - box[3]))


def check_scale(pages: Sequence[DrawnPage], file: str, scale: float, notes: ReportNotes) -> None:
    """Hold the test squares against what is written at them.

    Raises
    ------
    FormatError
        No square is as long as is written, with the factor that mends it.
    """
    squares = measured_squares(pages)
    if not squares:
        notes.add(
            "assumed",
            "no square with its length beside it was found: the page is taken at the scale of the "
            "file; compare a length of a piece with what you know of it",
            option="--scale",
            file=file,
        )
        return
    true = [square for square in squares if square.true]
    if true:
        best = min(true, key=lambda square: abs(square.factor - 1.0))
        notes.add(
            "found",
            f"the test square on page {best.page} is {best.side:.2f} mm, {best.stated:g} mm are "
            "written at it: the scale is true",
            file=file,
        )
        return
    first = squares[0]
    mended = f"--scale {scale * first.factor:.5g}"
    if scale == 1.0:
        made = "smaller" if first.factor > 1 else "larger"
        cure = f"this one was made {made}: take the file as it was sold, or read it with {mended}"
    else:
        cure = f"it takes {mended} in the place of {scale:.5g}"
    raise FormatError(
        f"{file}, page {first.page}: found a test square of {first.side:.1f} mm with "
        f"{first.stated:g} mm written at it, expected a print at its true scale; {cure}"
    )
