"""How much a PDF may hold: what no pattern needs is refused with the reason, before it is drawn."""

from __future__ import annotations

import gc
import logging
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import numpy as np
import pikepdf

from propagate.errors import FormatError
from propagate.io.chain import Chain
from propagate.io.pdf.fonts import Font, font_of
from propagate.io.pdf.words import Instruction, content_of, instructions_of
from propagate.pattern.model import Array

__all__ = [
    "MOST_BYTES",
    "MOST_LINES",
    "Budget",
    "NOT_READABLE",
    "bounded_library",
    "near_pairs",
    "paused_collector",
]

MOST_BYTES = 128 * 1024 * 1024
MOST_PAGES = 1_000
MOST_CONTENT_BYTES = 128_000_000
MOST_WORDS = 12_000_000  # operators and operands of all pages, forms counted as often as drawn
MOST_HELD_WORDS = 3_000_000  # of one page, and of all forms
MOST_STROKES = 100_000  # before dashes are put together
MOST_LINES = 30_000
MOST_POINTS = 1_500_000  # segments, before doubled lines are taken out
SIMPLE_CLIP_POINTS = 12
MOST_CLIP_POINTS = 20_000
MOST_TEXTS = 100_000
MOST_LETTERS = 2_000_000
MOST_FLATE_BYTES = 256_000_000
NOT_READABLE = (
    ArithmeticError,
    AttributeError,
    IndexError,
    KeyError,
    RuntimeError,
    TypeError,
    ValueError,
    pikepdf.PdfError,
)
"""What a file that is damaged leads to, in the library and where its values are used."""
_DELIMITERS = bytes.maketrans(b"[]()<>/{}%", b" " * 10)


@contextmanager
def bounded_library() -> Iterator[list[warnings.WarningMessage]]:
    """Keep the library within bounds while a file is read; they are put back after it.

    What it warns of is in the list that is handed out: damages are told in the report, in words.
    """
    before: dict[str, Any] = pikepdf.settings.set_qpdf_limits(
        doc_max_warnings=5_000,
        flate_max_memory=MOST_FLATE_BYTES,
        png_max_memory=MOST_FLATE_BYTES,
        run_length_max_memory=MOST_FLATE_BYTES,
        tiff_max_memory=MOST_FLATE_BYTES,
        parser_max_container_size=1_000_000,
    )
    logger = logging.getLogger("pikepdf")
    level = logger.level
    logger.setLevel(logging.CRITICAL)
    try:
        with warnings.catch_warnings(record=True) as told:
            warnings.simplefilter("always")
            yield told
    finally:
        logger.setLevel(level)
        pikepdf.settings.set_qpdf_limits(**before)


@contextmanager
def paused_collector() -> Iterator[None]:
    """Let no garbage be looked for: lines refer to nothing that refers to them.

    The collector would go through all points that were read again and again.
    """
    was_running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_running:
            gc.enable()


def near_pairs(points: Array, reach: float) -> int:
    """About how many pairs of points lie within a distance: so much memory a search takes."""
    if not len(points):
        return 0
    cells = np.floor(points / reach)
    counts = np.unique(cells, axis=0, return_counts=True)[1].astype(float)
    return int(9 * (counts**2).sum())


class Budget:
    """Counts what the pages of one file take, and keeps what they share.

    Parameters
    ----------
    file : str
        Named in messages.
    """

    def __init__(self, file: str) -> None:
        self._file = file
        self._words = self._bytes = self._strokes = self._points = self._texts = self._letters = (
            self._clip
        ) = self._held = 0
        self._parsed: dict[tuple[int, int], tuple[list[Instruction], int]] = {}
        self._fonts: dict[tuple[int, int], Font | None] = {}
        self.unreadable = 0

    def instructions(self, stream: Any) -> list[Instruction]:
        """The operators of a page or a form with their operands.

        Raises
        ------
        FormatError
            More than a pattern holds.
        """
        key = stream.objgen if not isinstance(stream, pikepdf.Page) else (0, 0)
        if key in self._parsed and key != (0, 0):
            found, words = self._parsed[key]
            self._count(words)
            return found
        data = content_of(stream, NOT_READABLE)
        words = len(data[:MOST_CONTENT_BYTES].translate(_DELIMITERS).split())
        self._bytes += len(data)
        self._count(words, words)
        try:
            found = instructions_of(stream, data)
        except NOT_READABLE:
            self.unreadable += 1
            found = []
        if key != (0, 0):
            self._parsed[key] = (found, words)
            self._held += words
        return found

    def _count(self, words: int, new: int = 0) -> None:
        self._words += words
        if self._bytes > MOST_CONTENT_BYTES:
            raise self._too_much(f"more than {MOST_CONTENT_BYTES // 1_000_000} MB of drawing")
        if self._held + new > MOST_HELD_WORDS:
            raise self._too_much(f"more than {MOST_HELD_WORDS} words of drawing on one page")
        if self._words > MOST_WORDS:
            raise self._too_much(f"more than {MOST_WORDS} words of drawing")

    def _too_much(self, found: str) -> FormatError:
        return FormatError(
            f"{self._file}: found {found}, expected a sewing pattern; take pictures, hatchings and "
            "other pages out of it"
        )

    def font(self, font: Any) -> Font | None:
        """A font, read once."""
        key = font.objgen
        if key == (0, 0):
            return font_of(font)
        if key not in self._fonts:
            self._fonts[key] = None  # a font that cannot be read is not tried again
            self._fonts[key] = font_of(font)
        return self._fonts[key]

    def take_line(self, chain: Chain) -> None:
        """Count a line."""
        self._strokes += 1
        self._points += len(chain.segments)
        if self._strokes > MOST_STROKES:
            raise self._too_much(f"more than {MOST_STROKES} lines")
        if self._points > MOST_POINTS:
            raise self._too_much(f"more than {MOST_POINTS} points")

    def takes_clip(self, path: Sequence[Chain]) -> bool:
        """Count a path that is clipped to; whether it is one that can be worked out in time."""
        points = sum(len(chain.segments) for chain in path)
        self._clip += points if points > SIMPLE_CLIP_POINTS else 0
        return self._clip <= MOST_CLIP_POINTS

    def take_text(self, text: str) -> None:
        """Count a text."""
        self._texts += 1
        self._letters += len(text)
        if self._texts > MOST_TEXTS or self._letters > MOST_LETTERS:
            raise self._too_much(f"more than {MOST_TEXTS} texts")
