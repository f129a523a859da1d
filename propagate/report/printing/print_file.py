"""Write the print file of a set or a result: pieces at true scale on paper."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np
import shapely

from propagate.engine.run import Result
from propagate.errors import EditError, UnknownName
from propagate.pattern.patternset import PatternSet
from propagate.report.blend_text import size_taken
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.document import Form, PdfDocument, Placed
from propagate.report.pdf.fonts import FontBook
from propagate.report.printing.packing import Item, Spot
from propagate.report.printing.placed_piece import PaperPiece, on_paper, turned
from propagate.report.printing.plan import (
    PrintOptions,
    TilePlan,
    check_one,
    plan_sheets,
    plan_tiles,
)
from propagate.report.printing.printed_piece import draw_piece, size_layer, size_strokes
from propagate.report.printing.seam_numbers import SeamNumber, numbers_on, seam_numbers
from propagate.report.printing.sheet_map import draw_map
from propagate.report.printing.tile_frame import FRAMES_LAYER, draw_frame
from propagate.report.printing.title_block import (
    BLOCK_WIDTH_MM,
    BlockText,
    draw_block,
    flow_lines,
)
from propagate.report.set_text import cut_words

__all__ = ["PrintSummary", "print_pieces"]

Progress = Callable[[str, int, int], None]

_LISTS_MM = 70.0


@dataclass(frozen=True)
class PrintSummary:
    """What was printed.

    Attributes
    ----------
    pages : int
    width, height : float
        mm of the sheet that the pages make up, or of the largest page.
    pieces, sizes : tuple of str
    left_out : int
        Blank pages that were left out of the grid.
    missing : tuple of str
        Characters that no font has.
    used : float
        Share of the paper that pieces take, 0 to 1.
    """

    pages: int
    width: float
    height: float
    pieces: tuple[str, ...]
    sizes: tuple[str, ...]
    left_out: int
    missing: tuple[str, ...]
    used: float


def print_pieces(
    source: PatternSet | Result,
    out: BinaryIO,
    options: PrintOptions,
    *,
    fonts: FontBook | None = None,
    progress: Progress | None = None,
) -> PrintSummary:
    """Write pieces as PDF at true scale.

    Parameters
    ----------
    source : PatternSet or Result
    out : binary file
    options : PrintOptions
    fonts : FontBook or None
        With further fonts for scripts that the built-in one lacks.
    progress : callable or None
        Called with what is being done, how much of it is done, and how much there is.

    Raises
    ------
    UnknownName
        For a size or a piece that the set does not have.
    EditError
        When there is nothing to draw, or a piece is larger than the paper.
    """
    return _Printer(source, options, fonts or FontBook(), progress or _silent).write(out)


def _silent(_what: str, _done: int, _total: int) -> None:
    """Tell nobody."""


class _Printer:
    """Holds what all pages of one print share."""

    def __init__(
        self,
        source: PatternSet | Result,
        options: PrintOptions,
        fonts: FontBook,
        progress: Progress,
    ) -> None:
        self.result = source if isinstance(source, Result) else None
        self.pattern = source.pattern if isinstance(source, Result) else source
        self.options, self.fonts, self.progress = options, fonts, progress
        self.sizes, names = _chosen(self.pattern, options)
        self.pieces: list[PaperPiece] = []
        for i, name in enumerate(names):
            progress("reading pieces", i, len(names))
            self.pieces.append(on_paper(self.pattern, name, self.sizes))
        self.numbers: list[SeamNumber] = seam_numbers(self.pattern, set(names))
        self.items = [
            Item(piece.name, piece.footprint, may_turn=not options.nap) for piece in self.pieces
        ]
        self._laid = 0

    def write(self, out: BinaryIO) -> PrintSummary:
        layout = self.options.chosen
        if layout == "sheets":
            return self._sheets(out)
        plan = plan_tiles(self.items, self.options, self._tick)
        return self._one(out, plan) if layout == "one" else self._tiled(out, plan)

    # ------------------------------------------------------------------ the layouts

    def _tiled(self, out: BinaryIO, plan: TilePlan) -> PrintSummary:
        paper, grid = self.options.paper, plan.grid
        with PdfDocument(out, self._title(), self.fonts) as document:
            self._layers(document)
            document.layer(FRAMES_LAYER)
            self._cover(document, plan)
            forms = self._forms(document, plan.spots)
            printed = set(plan.tiles)
            for i, tile in enumerate(plan.tiles):
                self.progress("writing pages", i, len(plan.tiles))
                left, bottom, _, _ = grid.box(tile)
                high = grid.height
                shift = (paper.margin - left, paper.margin - bottom)
                canvas = document.canvas()
                words = self._foot(f"page {tile.label}, {i + 1} of {len(plan.tiles)}")
                draw_frame(canvas, grid, tile, printed, words, shift)
                clip = (
                    paper.margin,
                    paper.margin,
                    paper.margin + grid.width,
                    paper.margin + high,
                )
                document.add_page(
                    paper.width,
                    high + 2 * paper.margin if paper.roll else paper.height,
                    under=canvas,  # never over the lines of a piece
                    placed=_on_page(forms, plan.spots, shift, grid.box(tile)),
                    clip=clip,
                    label=tile.label,
                )
            pages = document.page_count
        area = len(plan.tiles) * grid.width * grid.height
        return self._summary(pages, grid.size, area, grid.columns * grid.rows - len(plan.tiles))

    def _one(self, out: BinaryIO, plan: TilePlan) -> PrintSummary:
        margin = self.options.paper.margin
        probe = PdfCanvas(fonts=self.fonts)
        block_width = max(BLOCK_WIDTH_MM, min(plan.width, 2 * BLOCK_WIDTH_MM))
        block = self._block(probe, (0.0, 0.0), block_width)
        width = max(plan.width, block_width) + 2 * margin
        height = plan.length + block + 10.0 + 2 * margin
        check_one(width, height)
        with PdfDocument(out, self._title(), self.fonts) as document:
            self._layers(document)
            forms = self._forms(document, plan.spots)
            canvas = document.canvas()
            self._block(canvas, (margin, height - margin), block_width)
            shift = (margin, margin + plan.length)
            placed = _on_page(forms, plan.spots, shift, None)
            document.add_page(width, height, canvas, placed=placed)
        return self._summary(1, (width, height), plan.width * plan.length)

    def _sheets(self, out: BinaryIO) -> PrintSummary:
        paper = self.options.paper
        wide, tall = paper.usable
        probe = PdfCanvas(fonts=self.fonts)
        block_width = min(BLOCK_WIDTH_MM, wide)
        block = self._block(probe, (0.0, 0.0), block_width)
        area = shapely.box(0.0, -block, block_width, 0.0)
        plan = plan_sheets(self.items, area, self.options, self._tick)
        lengths = [max(length, 10.0) if paper.roll else tall for length in plan.lengths]
        with PdfDocument(out, self._title(), self.fonts) as document:
            self._layers(document)
            for number, length in enumerate(lengths):
                self.progress("writing pages", number, len(lengths))
                page = length + 2 * paper.margin if paper.roll else paper.height
                shift = (paper.margin, page - paper.margin)
                spots = [spot for spot in plan.spots if spot.sheet == number]
                forms = self._forms(document, spots)
                canvas = document.canvas()
                if number == 0:
                    corner = (shift[0] + plan.block.shift[0], shift[1] + plan.block.shift[1])
                    self._block(canvas, corner, block_width)
                foot = self._foot(f"sheet {number + 1} of {len(lengths)}")
                canvas.text("sheet", (paper.margin, 5.0), foot, 2.6, anchor="start")
                placed = _on_page(forms, spots, shift, None)
                document.add_page(paper.width, page, canvas, placed=placed)
        size = (paper.width, max(lengths) + 2 * paper.margin)
        return self._summary(len(lengths), size, wide * sum(lengths))

    # -------------------------------------------------------------------- the parts

    def _forms(self, document: PdfDocument, spots: Sequence[Spot]) -> list[Form]:
        """Write every piece once; pages show it as often as they need."""
        by_name = {piece.name: piece for piece in self.pieces}
        forms = []
        for i, spot in enumerate(spots):
            self.progress("drawing pieces", i, len(spots))
            piece = by_name[spot.item.name]
            canvas = document.canvas()
            draw_piece(
                canvas,
                turned(piece) if spot.turned else piece,
                order=self.pattern.sizes,
                numbers=numbers_on(self.numbers, piece.name),
                heading=self._heading(piece),
                unit=self.options.unit,
            )
            forms.append(document.form(canvas))
        return forms

    def _heading(self, piece: PaperPiece) -> list[str]:
        sizes = ", ".join(self.sizes)
        if self.result is not None:
            taken = size_taken(self.result, piece.name)
            sizes = sizes if taken == sizes else f"{sizes} (from {taken})"
        word = "size" if len(self.sizes) == 1 else "sizes"
        return [piece.info.title, f"{word} {sizes}", cut_words(piece.info), self.pattern.name]

    def _cover(self, document: PdfDocument, plan: TilePlan) -> None:
        paper = self.options.paper
        wide, tall = paper.usable
        if paper.roll:
            tall = 420.0
        canvas = document.canvas()
        top = paper.margin + tall
        down = top - self._block(canvas, (paper.margin, top), wide, lists=_LISTS_MM) - 4.0
        words = f"The assembled sheet: {len(plan.tiles)} pages"
        blank = plan.grid.columns * plan.grid.rows - len(plan.tiles)
        if blank:
            words += f"; {blank} blank page{'' if blank == 1 else 's'} left out (dotted)"
        canvas.text("sheet", (paper.margin, down - 1.8), words, 3.2, anchor="start", bold=True)
        titles = {piece.name: piece.info.title for piece in self.pieces}
        shapes = [(titles[spot.item.name], spot.shape) for spot in plan.spots]
        corner = (paper.margin, down - 6.0)
        room = (wide, down - 6.0 - paper.margin)
        draw_map(canvas, plan.grid, set(plan.tiles), shapes, corner, room)
        page = tall + 2 * paper.margin
        document.add_page(paper.width, page, canvas, label="cover")

    def _block(
        self,
        canvas: PdfCanvas,
        corner: tuple[float, float],
        width: float,
        lists: float = 200.0,
    ) -> float:
        """The block and the lists below it; returns the height, mm."""
        x, y = corner
        down = y - draw_block(canvas, self._block_text(), corner, width) - 5.0
        seams = [f"{entry.number}  {entry.words(self.pattern)}" for entry in self.numbers]
        cuts = [f"{piece.info.title}: {cut_words(piece.info)}" for piece in self.pieces]
        down -= flow_lines(canvas, "Pieces", cuts, (x, down), width, lists * 0.4)
        down -= flow_lines(canvas, "Matching numbers", seams, (x, down), width, lists * 0.6)
        return y - down

    def _block_text(self) -> BlockText:
        several = len(self.sizes) > 1
        strokes = tuple(
            (size_layer(size), size_strokes(self.pattern.sizes, size, True)[1])
            for size in self.sizes
        )
        lines = [
            f"{'sizes' if several else 'size'} {', '.join(self.sizes)}; "
            f"{len(self.pieces)} piece{'' if len(self.pieces) == 1 else 's'}",
            "Print at 100 % (actual size, no fitting to the page). Measure both test squares "
            "across and down: when a side is off by more than 0.5 mm, do not cut.",
        ]
        if self.options.chosen == "tiled":
            lines.append(self._joining())
        if several:
            lines.append("Every size is a layer: switch off in the reader what is not wanted.")
        lines.append(
            "Lengths and lines are matched; fit is not judged: sew a trial garment before "
            "cutting good cloth."
        )
        return BlockText(self.pattern.name, tuple(lines), strokes if several else ())

    def _joining(self) -> str:
        if self.options.join == "trim":
            return (
                "Cut the pages along their frames and butt them together: the halves of the "
                "glue marks meet, and the small letters name the page that joins there."
            )
        return (
            f"Pages lie {self.options.unit.said(self.options.overlap)} over each other, to the "
            "dashed line: the glue marks lie on each other, and the small letters name the "
            "page that joins there."
        )

    def _layers(self, document: PdfDocument) -> None:
        if len(self.sizes) > 1:
            for size in self.sizes:
                document.layer(size_layer(size))

    def _title(self) -> str:
        return f"{self.pattern.name}, {', '.join(self.sizes)}"

    def _foot(self, words: str) -> str:
        name = self.fonts.fitted(self.pattern.name, 2.2, 60.0)
        return f"{name}, {', '.join(self.sizes)}; {words}; print at 100 %"

    def _tick(self) -> None:
        self._laid += 1
        self.progress("laying pieces", self._laid, 0)

    def _summary(
        self, pages: int, size: tuple[float, float], area: float, left_out: int = 0
    ) -> PrintSummary:
        taken = sum(float(item.shape.area) for item in self.items)
        return PrintSummary(
            pages,
            *size,
            tuple(piece.name for piece in self.pieces),
            self.sizes,
            left_out,
            tuple(sorted(self.fonts.missing)),
            taken / area,
        )


def _chosen(pattern: PatternSet, options: PrintOptions) -> tuple[tuple[str, ...], list[str]]:
    """Sizes in order of the nest, and pieces; raises UnknownName and EditError."""
    for size in options.sizes:
        if size not in pattern.sizes:
            raise UnknownName("size", size, pattern.sizes, f"set '{pattern.name}'")
    for name in options.pieces:
        pattern.piece(name)
    names = list(dict.fromkeys(options.pieces)) or list(pattern.pieces)
    if not names:
        raise EditError(
            f"set '{pattern.name}' has no pieces, so there is nothing to print; "
            "expected at least one piece"
        )
    asked = options.sizes or (pattern.base,)
    return tuple(size for size in pattern.sizes if size in asked), names


def _on_page(
    forms: Sequence[Form],
    spots: Sequence[Spot],
    shift: tuple[float, float],
    box: tuple[float, float, float, float] | None,
) -> list[Placed]:
    """The forms that show on a page."""
    found = []
    for form, spot in zip(forms, spots, strict=True):
        moved = np.array(form.box) + np.array([*spot.shift, *spot.shift])
        if box is not None and not shapely.box(*moved).intersects(shapely.box(*box)):
            continue
        x, y = spot.shift
        found.append(Placed(form, (x + shift[0], y + shift[1])))
    return found
