"""Small drawings written by hand for the tests, and how they are read."""

from __future__ import annotations

from pathlib import Path

from propagate.io.options import ReadOptions
from propagate.io.report import ReadingReport
from propagate.io.svg.read import read_drawings
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet

PAGE = 'xmlns="http://www.w3.org/2000/svg" width="500mm" height="500mm" viewBox="0 0 500 500"'


def svg(body: str, page: str = PAGE) -> str:
    return f"<svg {page}>{body}</svg>"


def read_text(
    folder: Path, text: str | bytes, options: ReadOptions | None = None, name: str = "style_38.svg"
) -> tuple[PatternSet, ReadingReport]:
    file = folder / name
    file.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_drawings([file], options)


def only(pattern: PatternSet) -> SizedPiece:
    """The only piece of a set in its base size."""
    (piece,) = pattern.pieces.values()
    return piece.at(pattern.base)
