"""Write the print file of a set or a result: pieces at true scale on paper."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import BinaryIO

import numpy as np
import shapely

from propagate.engine.run import Result
from propagate.errors import EditError
from propagate.pattern.patternset import PatternSet
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.document import Form, PdfDocument, Placed
from propagate.report.pdf.fonts import FontBook
from propagate.report.printing.cover import (
    BLOCK_WIDTH_MM,
)
from propagate.report.printing.front_matter import FrontMatter
from propagate.report.printing.packing import Item, Spot
from propagate.report.printing.placed_piece import (
    PaperPiece,
    SeamNumber,
    numbers_on,
    on_paper,
    seam_numbers,
    turn_piece,
)
from propagate.report.printing.plan import (
    PrintOptions,
    TilePlan,
    check_one,
    plan_sheets,
    plan_tiles,
)
from propagate.report.printing.printed_piece import draw_piece, size_layer
from propagate.report.printing.tile_frame import FRAMES_LAYER, draw_frame, pages_under
from propagate.values import dataclass

__all__ = ["PrintSummary", "print_pieces"]

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class PrintSummary:
    """What was printed.

    Attributes
    ----------
    width, height : float
        mm of the sheet that the pages make up, or of the largest page.
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
    return _Printer(source, options, fonts or FontBook(), progress or (lambda *_: None)).write(out)


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
        self.sizes, names = _choose_printed(self.pattern, options)
        self.pieces: list[PaperPiece] = []
        for i, name in enumerate(names):
            progress("reading pieces", i, len(names))
            self.pieces.append(on_paper(self.pattern, name, self.sizes))
        self.titles = {piece.name: piece.info.title for piece in self.pieces}
        self.numbers: list[SeamNumber] = seam_numbers(self.pattern, set(names))
        self.items = [
            Item(piece.name, piece.footprint, may_turn=not options.nap) for piece in self.pieces
        ]
        self.front = FrontMatter(
            self.pattern, self.result, options, fonts, self.sizes, self.pieces, self.numbers
        )
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
        with PdfDocument(out, self.front.title(), self.fonts) as document:
            self._layers(document)
            document.layer(FRAMES_LAYER)
            document.bookmark("Cover")
            self.front.cover(document, plan)
            self._bookmark_pieces(document, plan)
            forms = self._forms(document, plan.spots, plan)
            printed = set(plan.tiles)
            for i, tile in enumerate(plan.tiles):
                self.progress("writing pages", i, len(plan.tiles))
                left, bottom, _, _ = grid.box(tile)
                high = grid.height
                shift = (paper.margin - left, paper.margin - bottom)
                canvas = document.canvas()
                words = self.front.foot(f"page {tile.label}, {i + 1} of {len(plan.tiles)}")
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
        block = self.front.block(probe, (0.0, 0.0), block_width)
        width = max(plan.width, block_width) + 2 * margin
        height = plan.length + block + 10.0 + 2 * margin
        check_one(width, height)
        with PdfDocument(out, self.front.title(), self.fonts) as document:
            self._layers(document)
            forms = self._forms(document, plan.spots, plan)
            canvas = document.canvas()
            self.front.block(canvas, (margin, height - margin), block_width)
            shift = (margin, margin + plan.length)
            placed = _on_page(forms, plan.spots, shift, None)
            document.add_page(width, height, canvas, placed=placed)
        return self._summary(1, (width, height), plan.width * plan.length)

    def _sheets(self, out: BinaryIO) -> PrintSummary:
        paper = self.options.paper
        wide, tall = paper.usable
        probe = PdfCanvas(fonts=self.fonts)
        block_width = min(BLOCK_WIDTH_MM, wide)
        block = self.front.block(probe, (0.0, 0.0), block_width)
        area = shapely.box(0.0, -block, block_width, 0.0)
        plan = plan_sheets(self.items, area, self.options, self._tick)
        lengths = [max(length, 10.0) if paper.roll else tall for length in plan.lengths]
        with PdfDocument(out, self.front.title(), self.fonts) as document:
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
                    self.front.block(canvas, corner, block_width)
                foot = self.front.foot(f"sheet {number + 1} of {len(lengths)}")
                canvas.text("sheet", (paper.margin, 5.0), foot, 2.6, anchor="start")
                placed = _on_page(forms, spots, shift, None)
                for spot in spots:
                    document.bookmark(self.titles[spot.item.name])
                document.add_page(paper.width, page, canvas, placed=placed)
        size = (paper.width, max(lengths) + 2 * paper.margin)
        return self._summary(len(lengths), size, wide * sum(lengths))

    # -------------------------------------------------------------------- the parts

    def _forms(
        self, document: PdfDocument, spots: Sequence[Spot], plan: TilePlan | None = None
    ) -> list[Form]:
        """Write every piece once; pages show it as often as they need."""
        by_name = {piece.name: piece for piece in self.pieces}
        forms = []
        for i, spot in enumerate(spots):
            self.progress("drawing pieces", i, len(spots))
            piece = by_name[spot.item.name]
            canvas = document.canvas()
            draw_piece(
                canvas,
                turn_piece(piece) if spot.turned else piece,
                order=self.pattern.sizes,
                numbers=numbers_on(self.numbers, piece.name),
                heading=self.front.heading(piece),
                unit=self.options.unit,
                named_by=self.pattern if self.options.names else None,
                pages=pages_under(plan, spot) if plan is not None else None,
            )
            forms.append(document.form(canvas))
        return forms

    def _bookmark_pieces(self, document: PdfDocument, plan: TilePlan) -> None:
        """Lead to the first page that shows each piece; only the cover is written by now."""
        first = document.page_count
        for spot in plan.spots:
            boxes = (shapely.box(*plan.grid.box(tile)) for tile in plan.tiles)
            on = next((i for i, box in enumerate(boxes) if spot.shape.intersects(box)), 0)
            tile = plan.tiles[on].label
            document.bookmark(f"{self.titles[spot.item.name]}, from page {tile}", first + on)

    def _layers(self, document: PdfDocument) -> None:
        if len(self.sizes) > 1:
            for size in self.sizes:
                document.layer(size_layer(size))

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


def _choose_printed(
    pattern: PatternSet, options: PrintOptions
) -> tuple[tuple[str, ...], list[str]]:
    """Return sizes in order of the nest, and pieces; raises UnknownName and EditError."""
    for size in options.sizes:
        pattern.check_size(size)
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
    """Return the forms that show on a page."""
    found = []
    for form, spot in zip(forms, spots, strict=True):
        moved = np.array(form.box) + np.array([*spot.shift, *spot.shift])
        if box is not None and not shapely.box(*moved).intersects(shapely.box(*box)):
            continue
        x, y = spot.shift
        found.append(Placed(form, (x + shift[0], y + shift[1])))
    return found
