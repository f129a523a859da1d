"""A skirt front in three sizes, drawn by hand: a sheet on which one thing at a time is changed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from propagate.io.chain import Chain, Point
from propagate.io.drawn_lines import DrawnLine, DrawnSheet, DrawnText, Look
from propagate.io.options import ReadOptions
from propagate.io.report import ReadingLine, ReportNotes
from propagate.io.sheet.read import read_sheet
from propagate.pattern.patternset import PatternSet
from tests.io.sheet.sheets import box, line

SIZES = ("36", "38", "40")
BLACK = Look((0.0, 0.0, 0.0), 0.3)
FILLED = Look((0.0, 0.0, 0.0), 0.0, (), True)


def wide(size: str) -> float:
    """Width of the front in a size, mm."""
    return 200.0 + 10.0 * SIZES.index(size)


def high(size: str) -> float:
    """Height of the front in a size, mm."""
    return 500.0 + 12.0 * SIZES.index(size)


def edges(size: str, at: Point = (100.0, 100.0)) -> list[Chain]:
    """Hem, side, waist (a curve) and centre."""
    x, y = at
    right, top = x + wide(size), y + high(size)
    waist = (((right - 60.0, top - 2.0), (x + 60.0, top - 12.0), (x, top - 12.0)),)
    return [
        line((x, y), (right, y)),
        line((right, y), (right - 10.0, top)),
        Chain((right - 10.0, top), waist),
        line((x, top - 12.0), (x, y)),
    ]


def arrow(a: Point, b: Point, *, heads: str = "lines", both: bool = True) -> list[Chain]:
    """A line with a head at its end, or at both."""
    found = [line(a, b)]
    for tip, other in ((b, a), (a, b))[: 2 if both else 1]:
        found += head(tip, other, heads)
    return found


def head(tip: Point, back: Point, how: str = "lines") -> list[Chain]:
    """An arrow head: two lines, or a closed triangle."""
    length = math.dist(tip, back)
    ux, uy = (back[0] - tip[0]) / length, (back[1] - tip[1]) / length
    one = (tip[0] + 5.0 * ux - 2.0 * uy, tip[1] + 5.0 * uy + 2.0 * ux)
    two = (tip[0] + 5.0 * ux + 2.0 * uy, tip[1] + 5.0 * uy - 2.0 * ux)
    if how == "lines":
        return [line(tip, one), line(tip, two)]
    return [Chain(tip, ((one,), (two,), (tip,)), closed=True)]


def grain() -> list[Chain]:
    """A grain line that all sizes share."""
    return arrow((200.0, 200.0), (200.0, 400.0))


def layered(size: str | None, chains: Iterable[Chain], look: Look = BLACK) -> list[DrawnLine]:
    """Lines in the layer of a size."""
    return [DrawnLine(c, look, None if size is None else f"Size {size}") for c in chains]


def text(words: str, at: Point = (150.0, 300.0), angle: float = 0.0, h: float = 5.0) -> DrawnText:
    """A text of letters about as wide as most."""
    return DrawnText(words, at, h, angle, 0.55 * h * len(words))


TITLES = (text("Skirt Front", (150.0, 350.0), h=8.0), text("Cut 2 main fabric"))


def nest() -> list[DrawnLine]:
    """The outlines of all sizes, in layers, and the grain in none."""
    found = [one for size in SIZES for one in layered(size, edges(size))]
    return found + layered(None, grain())


def read(
    lines: Sequence[DrawnLine], texts: Sequence[DrawnText] = TITLES, **options: object
) -> tuple[PatternSet, list[ReadingLine]]:
    """The set that is read of a sheet, and what was told."""
    notes = ReportNotes()
    sheet = DrawnSheet(tuple(lines), tuple(texts), (900.0, 800.0), "sheet.pdf")
    pattern = read_sheet(sheet, ReadOptions(**options), notes)  # type: ignore[arg-type]
    return pattern, list(notes.lines)


__all__ = [
    "BLACK",
    "FILLED",
    "SIZES",
    "TITLES",
    "arrow",
    "box",
    "edges",
    "grain",
    "head",
    "high",
    "layered",
    "line",
    "nest",
    "read",
    "text",
    "wide",
]
