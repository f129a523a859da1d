"""Read a pattern from PDF: one large page, tiled pages, or several pages, in mm on one sheet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from propagate.counts import say_count, say_numbers
from propagate.errors import FormatError
from propagate.io.drawn_lines import DrawnLine, DrawnSheet
from propagate.io.options import ReadOptions
from propagate.io.pdf.assemble import assemble_pages
from propagate.io.pdf.cutting import find_bounds
from propagate.io.pdf.dashes import dashed_lines
from propagate.io.pdf.limits import MOST_LINES, paused_collector
from propagate.io.pdf.outlined import count_thin_areas, outlined_as_lines
from propagate.io.pdf.pages import MM, Document, DrawnPage, read_pages
from propagate.io.pdf.size_pages import (
    Laid,
    in_layers,
    on_one_another,
    side_by_side,
    sizes_of_pages,
    sizes_of_sets,
)
from propagate.io.pdf.strips import strips_as_lines
from propagate.io.pdf.strokes import strokes_as_lines
from propagate.io.pdf.tile_marks import FRAME_LAYERS, sets_of_pages
from propagate.io.pdf.tiles import tiled_pages
from propagate.io.pdf.true_scale import check_scale
from propagate.io.pdf.written_overlap import WrittenOverlap, find_written_overlaps
from propagate.io.report import LineKind, ReportNotes
from propagate.io.svg.scale import MM_PER_UNIT

__all__ = ["read_sheet_of_pdf"]

_LETTER_MM = 15.0
_MANY_LETTERS = 40
_MANY_THIN = 5
_LEFT_OUT = {
    "pictures": "pictures",
    "shadings": "shaded areas",
    "white": "white lines",
    "white areas": "white areas",
    "clipped": "lines that lie off their page, where nobody sees them",
    "unseen texts": "texts that nobody sees",
    "clips": "clips of too many points: what they hide is read",
    "forms": "drawings that hold themselves",
    "annotations": "notes that a viewer draws in its own way, or that show no drawing",
    "operators": "words of drawing that make no sense",
}
_DOUBTFUL: dict[str, tuple[LineKind, str]] = {
    "shown without": (
        "assumed",
        "what is shown while a layer is switched off is taken for all sizes",
    ),
    "letters": (
        "warning",
        "letters in a font without a table of its letters, which cannot be read",
    ),
}
"""What pages count that may be read otherwise than it is meant."""


def read_sheet_of_pdf(
    paths: Sequence[Path], options: ReadOptions, notes: ReportNotes
) -> DrawnSheet:
    """Read the lines and texts of a pattern.

    Parameters
    ----------
    paths : sequence of Path
        One file, or one for each size.
    options : ReadOptions
    notes : ReportNotes
        Takes what was found, assumed and left out.

    Raises
    ------
    FormatError
        A file cannot be read, holds no lines, is not at its true scale, or its pages cannot be
        put together.
    """
    with paused_collector():
        if len(paths) == 1:
            return _one_file(paths[0], options, notes)
        return _file_for_each_size(paths, options, notes)


def _file_for_each_size(
    paths: Sequence[Path], options: ReadOptions, notes: ReportNotes
) -> DrawnSheet:
    from propagate.io.svg.files import size_of_files

    sizes = size_of_files(paths, options, notes)
    each = replace(options, sizes=())
    sheets = [_one_file(path, each, notes) for path in paths]
    pairs = list(zip(sheets, sizes, strict=True))
    return DrawnSheet(
        tuple(replace(line, layer=size) for sheet, size in pairs for line in sheet.lines),
        tuple(replace(text, layer=size) for sheet, size in pairs for text in sheet.texts),
        (max(sheet.size[0] for sheet in sheets), max(sheet.size[1] for sheet in sheets)),
        ", ".join(path.name for path in paths),
        tuple(sizes),
        tuple(words for sheet in sheets for words in sheet.words),
    )


def _one_file(path: Path, options: ReadOptions, notes: ReportNotes) -> DrawnSheet:
    scale = options.scale
    if options.unit is not None:
        unit = 25.4 / options.dpi if options.unit == "px" else MM_PER_UNIT[options.unit]
        scale *= unit / MM
        notes.add("found", f"one unit of the pages is {unit:.6g} mm, as asked for", file=path.name)
    if options.scale != 1.0:
        notes.add(
            "found", f"every length is taken {options.scale:g} times, as asked for", file=path.name
        )
    document = read_pages(path, scale)
    file = document.file
    _tell_pages(document, notes)
    pages = [_with_strips(page, file, notes) for page in document.pages]
    _refuse_without_lines(pages, file)
    check_scale(pages, file, scale, notes)
    written = find_written_overlaps(pages)
    lines, texts, size = _laid_out(pages, file, options, written, notes)
    lines, dashed = dashed_lines(lines)
    if dashed:
        notes.add(
            "found",
            f"{say_count(dashed, 'dashed line')} drawn stroke by stroke put together",
            file=file,
        )
    lines, whole = strokes_as_lines(lines)
    if whole:
        notes.add(
            "found",
            f"{say_count(whole, 'line')} drawn in many strokes put together",
            file=file,
        )
    if len(lines) > MOST_LINES:
        raise FormatError(
            f"{file}: found {len(lines)} lines, expected at most {MOST_LINES}; take hatchings and "
            "pictures out of it"
        )
    _tell_letters(lines, len(texts), file, notes)
    if (thin := count_thin_areas(lines)) >= _MANY_THIN:
        notes.add(
            "warning",
            f"{thin} areas are as thin as lines and long, and are not read as lines: save the file "
            "with strokes as strokes, not as outlines",
            file=file,
        )
    layers = tuple(name for name in document.layers.names if name not in FRAME_LAYERS)
    words = tuple(text.text for page in pages for text in page.texts)
    return DrawnSheet(tuple(lines), tuple(texts), size, file, layers, words)


def _with_strips(page: DrawnPage, file: str, notes: ReportNotes) -> DrawnPage:
    lines, count = strips_as_lines(page.lines)
    lines, more = outlined_as_lines(lines)
    count += more
    if count:
        notes.add(
            "assumed", "narrow areas are taken as lines along their middle", file=file, count=count
        )
    return replace(page, lines=tuple(lines))


def _laid_out(
    pages: Sequence[DrawnPage],
    file: str,
    options: ReadOptions,
    written: Sequence[WrittenOverlap],
    notes: ReportNotes,
) -> Laid:
    """All that belongs to the pattern on one sheet."""
    drawn = [page for page in pages if page.lines]
    sets = sets_of_pages(pages) if options.tiles is None else []
    if sets:
        sizes_said = sizes_of_sets(sets, file, options, notes)
        used = {page.number for one in sets for page in one}
        _tell_left_out([page for page in pages if page.number not in used], file, notes)
        each = replace(options, sizes=())
        laid = [_laid_out(one, file, each, written, notes) for one in sets]
        return on_one_another(laid, sizes_said)
    if len(drawn) > 1 or options.tiles is not None:
        tiled = tiled_pages(pages, file, options.tiles, options.overlap, written, notes)
        if tiled is not None:
            return assemble_pages(tiled, file, notes)
    _tell_left_out([page for page in pages if not page.lines], file, notes)
    if len(drawn) == 1:
        return list(drawn[0].lines), list(drawn[0].texts), drawn[0].size
    sizes = sizes_of_pages(drawn, file, options, notes)
    if sizes is not None:
        return in_layers(drawn, sizes)
    notes.add(
        "assumed",
        f"no line runs from page to page: the {len(drawn)} pages are laid side by side",
        option="--tiles",
        file=file,
    )
    return side_by_side(drawn)


# ------------------------------------------------------------------------ what is told


def _tell_left_out(pages: Sequence[DrawnPage], file: str, notes: ReportNotes) -> None:
    kinds = {
        "without lines": [page for page in pages if not page.lines],
        "not a tile: cover, instructions or the like": [page for page in pages if page.lines],
    }
    for what, some in kinds.items():
        if some:
            numbers = say_numbers([page.number for page in some])
            notes.add(
                "ignored", f"{say_count(len(some), 'page')} left out ({what}): {numbers}", file=file
            )


def _refuse_without_lines(pages: Sequence[DrawnPage], file: str) -> None:
    if any(page.lines for page in pages):
        return
    pictures = sum(page.counts["pictures"] for page in pages)
    if pictures:
        raise FormatError(
            f"{file}: found {say_count(pictures, 'picture')} and no line, expected a drawing; a "
            "scan or photograph has no lines to follow: trace it in a drawing program first"
        )
    texts = sum(len(page.texts) for page in pages)
    what = f"{say_count(texts, 'text')} and no line" if texts else "nothing drawn on the pages"
    raise FormatError(f"{file}: found {what}, expected the lines of a pattern")


def _tell_pages(document: Document, notes: ReportNotes) -> None:
    file, pages = document.file, document.pages
    sizes = Counter(tuple(round(side) for side in page.size) for page in pages)
    said = ", ".join(f"{count} of {w} x {h} mm" for (w, h), count in sizes.most_common(4))
    lines, texts = (sum(len(getattr(page, what)) for page in pages) for what in ("lines", "texts"))
    notes.add(
        "found",
        f"{say_count(len(pages), 'page')} ({said}), {say_count(lines, 'line')}, "
        f"{say_count(texts, 'text')}",
        file=file,
    )
    if document.layers.names:
        notes.add("found", f"layers: {', '.join(document.layers.names)}", file=file)
    if document.layers.off:
        off = ", ".join(document.layers.off)
        notes.add(
            "assumed", f"layers that are switched off are read all the same: {off}", file=file
        )
    if document.damaged:
        notes.add("warning", "the file is damaged; what could be read of it is here", file=file)
    if document.unreadable:
        notes.add("warning", "drawings that cannot be read", file=file, count=document.unreadable)
    _tell_counts(pages, file, notes)


def _tell_counts(pages: Sequence[DrawnPage], file: str, notes: ReportNotes) -> None:
    counts: Counter[str] = Counter()
    for page in pages:
        counts.update(page.counts)
    for what, word in _LEFT_OUT.items():
        if counts[what]:
            notes.add("ignored", word, file=file, count=counts[what])
    if counts["cut"]:
        notes.add(
            "found",
            f"{say_count(counts['cut'], 'line')} cut where the page shows no more",
            file=file,
        )
    for what, (kind, words) in _DOUBTFUL.items():
        if counts[what]:
            notes.add(kind, words, file=file, count=counts[what])
    for ink in sorted({ink for page in pages for ink in page.inks}):
        notes.add(
            "assumed", f"the colour of the ink '{ink}' is not computed: one was chosen", file=file
        )


def _tell_letters(lines: Sequence[DrawnLine], texts: int, file: str, notes: ReportNotes) -> None:
    """Say that what looks like letters drawn as outlines is not read."""
    small = 0
    for line in lines:
        if line.look.filled and line.chain.curved:
            left, bottom, right, top = find_bounds(line.chain)
            small += max(right - left, top - bottom) <= _LETTER_MM
    if small >= _MANY_LETTERS and small > texts:
        notes.add(
            "warning",
            f"{small} small filled shapes look like letters drawn as outlines; they are not read "
            "as text, so names and sizes written that way have to be said",
            option="--sizes",
            file=file,
        )
