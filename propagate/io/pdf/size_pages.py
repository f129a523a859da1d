"""Several pages that are no tiles: one size on each, or pieces spread over them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from propagate.errors import FormatError
from propagate.io.drawn_lines import DrawnLine, DrawnText
from propagate.io.options import ReadOptions
from propagate.io.pdf.assemble import moved
from propagate.io.pdf.pages import DrawnPage
from propagate.io.report import ReportNotes
from propagate.io.words import counted

__all__ = ["Laid", "in_layers", "side_by_side", "sizes_of_pages"]

Laid = tuple[list[DrawnLine], list[DrawnText], tuple[float, float]]
BETWEEN_MM = 50.0
_SIZE = re.compile(
    r"(?:size|sz|gr(?:ö|oe)(?:ß|ss)e|gr|taille|talla|taglia|maat|t)\W{0,3}"
    r"(\d{1,3}(?:[-/]\d{1,3})?|\d?X{0,4}[SL]|M)",
    re.IGNORECASE,
)


def sizes_of_pages(
    pages: Sequence[DrawnPage], file: str, options: ReadOptions, notes: ReportNotes
) -> dict[int, str] | None:
    """The size of each page, by its number; None when the pages are not one size each.

    Raises
    ------
    FormatError
        The user's sizes are not as many as the pages.
    """
    said = _said(pages)
    if said is None:
        return None
    if options.sizes and len(options.sizes) != len(pages):
        raise FormatError(
            f"{file}: found {counted(len(pages), 'page')} with one size on each, and "
            f"{counted(len(options.sizes), 'size')} asked for; name a size for each page with "
            "--sizes"
        )
    found = dict(zip(said, options.sizes or said.values(), strict=True))
    pairs = ", ".join(f"page {page} is {size}" for page, size in found.items())
    notes.add(
        "assumed",
        f"one size on each page, by the words on it: {pairs}",
        option="--sizes",
        file=file,
    )
    return found


def _said(pages: Sequence[DrawnPage]) -> dict[int, str] | None:
    """The only size that the words on each page name, another one on each."""
    found: dict[int, str] = {}
    for page in pages:
        named = {m[1].upper() for text in page.texts for m in _SIZE.finditer(text.text)}
        if len(named) != 1:
            return None
        found[page.number] = named.pop()
    return found if len(pages) > 1 and len(set(found.values())) == len(pages) else None


def in_layers(pages: Sequence[DrawnPage], sizes: Mapping[int, str]) -> Laid:
    """The pages on one another, the size of each in the place of its layers."""
    lines = [replace(line, layer=sizes[page.number]) for page in pages for line in page.lines]
    texts = [replace(text, layer=sizes[page.number]) for page in pages for text in page.texts]
    wide, tall = (max(page.size[axis] for page in pages) for axis in (0, 1))
    return lines, texts, (wide, tall)


def side_by_side(pages: Sequence[DrawnPage]) -> Laid:
    """The pages in a row, from left to right."""
    lines: list[DrawnLine] = []
    texts: list[DrawnText] = []
    x = 0.0
    for page in pages:
        lines += [replace(line, chain=moved(line.chain, x, 0.0)) for line in page.lines]
        texts += [replace(text, at=(text.at[0] + x, text.at[1])) for text in page.texts]
        x += page.size[0] + BETWEEN_MM
    return lines, texts, (x - BETWEEN_MM, max(page.size[1] for page in pages))
