"""Several pages that are no tiles: one size on each, or pieces spread over them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from propagate.counts import say_count
from propagate.errors import FormatError
from propagate.io.drawn_lines import DrawnLine, DrawnText
from propagate.io.options import ReadOptions
from propagate.io.pdf.assemble import move_chain
from propagate.io.pdf.pages import DrawnPage
from propagate.io.report import ReportNotes

__all__ = ["Laid", "in_layers", "on_one_another", "side_by_side", "sizes_of_pages", "sizes_of_sets"]

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
    named = [_find_named_sizes(page) for page in pages]
    said = {page.number: min(sizes) for page, sizes in zip(pages, named, strict=True) if sizes}
    alone = all(len(sizes) == 1 for sizes in named)
    if len(pages) < 2 or not alone or len(set(said.values())) < len(pages):
        return None
    if options.sizes and len(options.sizes) != len(pages):
        raise FormatError(
            f"{file}: found {say_count(len(pages), 'page')} with one size on each, and "
            f"{say_count(len(options.sizes), 'size')} asked for; name a size for each page with "
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


def sizes_of_sets(
    sets: Sequence[Sequence[DrawnPage]], file: str, options: ReadOptions, notes: ReportNotes
) -> list[str]:
    """The size of each set of tiled pages: by what its words alone name, or as asked for.

    Raises
    ------
    FormatError
        The words do not tell, and the user does not say as many sizes as there are sets.
    """
    told = [
        set.intersection(*named)
        if (named := [n for page in pages if (n := _find_named_sizes(page))])
        else set()
        for pages in sets
    ]
    one_each = all(len(sizes) == 1 for sizes in told) and len(set.union(*told)) == len(told)
    if options.sizes and len(options.sizes) == len(sets):
        found = list(options.sizes)
    elif one_each and not options.sizes:
        found = [next(iter(sizes)) for sizes in told]
    else:
        firsts = " and ".join(str(pages[0].number) for pages in sets)
        raise FormatError(
            f"{file}: found {len(sets)} sets of pages with the same names, from pages {firsts} on, "
            "expected to be told the size of each: type them in this order, as in --sizes "
            f"{','.join(f'SIZE{i}' for i in range(1, len(sets) + 1))}; or, where each set is "
            "another garment or view, print the pages of one into a file of its own"
        )
    pairs = ", ".join(
        f"from page {pages[0].number} on {size}" for pages, size in zip(sets, found, strict=True)
    )
    notes.add("assumed", f"a set of pages for each size: {pairs}", option="--sizes", file=file)
    return found


def _find_named_sizes(page: DrawnPage) -> set[str]:
    """The sizes that the words on a page name."""
    return {match[1].upper() for text in page.texts for match in _SIZE.finditer(text.text)}


def in_layers(pages: Sequence[DrawnPage], sizes: Mapping[int, str]) -> Laid:
    """The pages on one another, the size of each in the place of its layers."""
    laid = [(list(page.lines), list(page.texts), page.size) for page in pages]
    return on_one_another(laid, [sizes[page.number] for page in pages])


def on_one_another(sheets: Sequence[Laid], sizes: Sequence[str]) -> Laid:
    """Sheets of one size each on one another, the size in the place of their layers."""
    pairs = list(zip(sheets, sizes, strict=True))
    return (
        [replace(line, layer=size) for (lines, _, _), size in pairs for line in lines],
        [replace(text, layer=size) for (_, texts, _), size in pairs for text in texts],
        (max(size[0] for _, _, size in sheets), max(size[1] for _, _, size in sheets)),
    )


def side_by_side(pages: Sequence[DrawnPage]) -> Laid:
    """The pages in a row, from left to right."""
    lines: list[DrawnLine] = []
    texts: list[DrawnText] = []
    x = 0.0
    for page in pages:
        lines += [replace(line, chain=move_chain(line.chain, x, 0.0)) for line in page.lines]
        texts += [replace(text, at=(text.at[0] + x, text.at[1])) for text in page.texts]
        x += page.size[0] + BETWEEN_MM
    return lines, texts, (x - BETWEEN_MM, max(page.size[1] for page in pages))
