"""Texts of a page description (ISO 32000-1, 9.4), put together where they go on."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from propagate.geometry.affine import UNMOVED, Affine
from propagate.io.drawn_lines import DrawnText
from propagate.io.pdf.state import State

__all__ = ["TextPlace", "joined_texts", "part_texts", "placed_text"]

_SPACE = 0.18
"""A gap of this share of the letters' height or more parts two words."""
_GAP = 0.7
"""A gap of more than this parts two texts."""
_LIGATURES = {code: unicodedata.normalize("NFKC", chr(code)) for code in range(0xFB00, 0xFB07)}
"""Letters that a font draws as one, such as fl and ffi, are letters."""


class TextPlace:
    """The text matrices between BT and ET."""

    def __init__(self) -> None:
        self.line = self.here = UNMOVED

    def begin(self) -> None:
        """BT."""
        self.line = self.here = UNMOVED

    def put(self, matrix: Affine) -> None:
        """Tm."""
        self.line = self.here = matrix

    def next_line(self, x: float, y: float) -> None:
        """Td."""
        self.line = self.here = self.line @ Affine(e=x, f=y)

    def move(self, along: float) -> None:
        """Go on along the base line, in text space."""
        self.here = self.here @ Affine(e=along)

    def show(self, parts: Iterable[bytes | float], state: State) -> tuple[str, Affine, float, int]:
        """Show strings and the gaps between them.

        Returns
        -------
        text, matrix at its start (to mm), its length in text space, letters that nothing tells
        """
        font = state.font
        start = state.ctm @ self.here @ Affine(f=state.rise)
        words, along, unknown, upto = "", 0.0, 0, 0.0
        for part in parts:
            if not isinstance(part, bytes):
                along -= part / 1000 * state.size * state.stretch
                continue
            for glyph in font.glyphs(part) if font is not None else ():
                if along - upto > _SPACE * abs(state.size) and words and not words.endswith(" "):
                    words += " "
                words += glyph.text or ""
                unknown += glyph.text is None
                wide = glyph.width * state.size + state.char + (state.word if glyph.blank else 0.0)
                along += wide * state.stretch
                upto = along
        self.move(along)
        return words.translate(_LIGATURES), start, along, unknown


def part_texts(parts: Sequence[bytes | float], state: State) -> Iterator[list[bytes | float]]:
    """Strings and gaps, parted at wide gaps: some writers show a whole row of texts in one go."""
    run: list[bytes | float] = []
    for part in parts:
        if isinstance(part, bytes) or -part / 1000 * state.stretch <= _GAP:
            run.append(part)
            continue
        yield run
        yield [part]
        run = []
    yield run


def placed_text(
    words: str, matrix: Affine, along: float, size: float
) -> tuple[tuple[float, float], float, float, float]:
    """Where a text starts, the height of its letters, its angle and its length, in mm."""
    width = along * math.hypot(matrix.a, matrix.b)
    height = abs(size) * abs(matrix.a * matrix.d - matrix.b * matrix.c)
    height /= math.hypot(matrix.a, matrix.b) or 1.0
    turn = math.degrees(math.atan2(matrix.b, matrix.a)) if words else 0.0
    return (matrix.e, matrix.f), height, width, turn


def joined_texts(texts: Sequence[DrawnText]) -> list[DrawnText]:
    """Put together what follows one another on one base line: writers show words in parts."""
    found: list[DrawnText] = []
    for text in texts:
        if not text.text:
            continue
        gap = _measure_gap_behind(found[-1], text) if found else None
        if gap is None:
            found.append(text)
            continue
        last = found[-1]
        parted = gap > _SPACE * text.height or last.text.endswith(" ") or text.text[0] == " "
        words = last.text.rstrip() + (" " if parted else "") + text.text.lstrip()
        found[-1] = replace(last, text=words, width=last.width + gap + text.width)
    tidied = (replace(text, text=" ".join(text.text.split())) for text in found)
    return [text for text in tidied if text.text]


def _measure_gap_behind(one: DrawnText, other: DrawnText) -> float | None:
    """How far a text starts behind the end of another; None when it does not go on there."""
    if one.layer != other.layer or abs(one.height - other.height) > 0.05 * one.height:
        return None
    if one.look != other.look or math.cos(math.radians(one.angle - other.angle)) < 0.9999:
        return None
    cos, sin = math.cos(math.radians(one.angle)), math.sin(math.radians(one.angle))
    dx, dy = other.at[0] - one.at[0], other.at[1] - one.at[1]
    gap = dx * cos + dy * sin - one.width
    off = abs(dy * cos - dx * sin)
    near = off < 0.05 * one.height and -0.3 * one.height < gap < _GAP * one.height
    return gap if near else None
