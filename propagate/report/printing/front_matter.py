"""What a print says of itself: titles, the block on its first page, the cover of a tiled one."""

from __future__ import annotations

from collections.abc import Sequence

from propagate.engine.run import Result
from propagate.pattern.patternset import PatternSet
from propagate.report.blend_text import size_taken
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.document import PdfDocument
from propagate.report.pdf.fonts import FontBook
from propagate.report.printing.edge_texts import allowance_words
from propagate.report.printing.grid import Grid
from propagate.report.printing.lists import flow_lines
from propagate.report.printing.placed_piece import PaperPiece
from propagate.report.printing.plan import PrintOptions, TilePlan
from propagate.report.printing.printed_piece import printed_roles, size_layer
from propagate.report.printing.seam_numbers import SeamNumber
from propagate.report.printing.sheet_map import MapPiece, draw_map, piece_key
from propagate.report.printing.title_block import BlockText, draw_block
from propagate.report.set_text import cut_words
from propagate.report.units import counted
from propagate.values import dataclass

__all__ = ["FrontMatter"]

_LISTS_MM = 70.0
_READ_MM = 7.6
"""A page on the map is at least this wide where the map can have a page of its own: its name
takes 0.28 of that, which is 6 points."""


@dataclass(frozen=True)
class FrontMatter:
    """Titles, block and cover of one print."""

    pattern: PatternSet
    result: Result | None
    options: PrintOptions
    fonts: FontBook
    sizes: tuple[str, ...]
    pieces: Sequence[PaperPiece]
    numbers: Sequence[SeamNumber]

    def heading(self, piece: PaperPiece) -> list[str]:
        """The lines of a piece, its name first."""
        sizes = ", ".join(self.sizes)
        if self.result is not None:
            taken = size_taken(self.result, piece.name)
            sizes = sizes if taken == sizes else f"{sizes} (from {taken})"
        word = "size" if len(self.sizes) == 1 else "sizes"
        return [piece.info.title, f"{word} {sizes}", cut_words(piece.info), self.pattern.name]

    def cover(self, document: PdfDocument, plan: TilePlan) -> None:
        """Write the first page of a tiled print: block, lists and map."""
        paper = self.options.paper
        wide, tall = paper.usable
        if paper.roll:
            tall = 420.0
        canvas = document.canvas()
        top = paper.margin + tall
        down = (
            top - self.block(canvas, (paper.margin, top), wide, lists=_LISTS_MM, keyed=True) - 4.0
        )
        words = f"The assembled sheet: {counted(len(plan.tiles), 'page')}"
        blank = plan.grid.columns * plan.grid.rows - len(plan.tiles)
        if blank:
            words += f"; {counted(blank, 'blank page')} left out (dashed)"
        page = tall + 2 * paper.margin
        if down - 6.0 - paper.margin < _least_map(plan.grid, wide, tall):
            document.add_page(paper.width, page, canvas, label="cover")
            canvas, down = document.canvas(), top
        canvas.text("sheet", (paper.margin, down - 1.8), words, 3.2, anchor="start", bold=True)
        known = {p.name: (piece_key(i), p.info.title) for i, p in enumerate(self.pieces)}
        shapes = [MapPiece(*known[spot.item.name], spot.shape) for spot in plan.spots]
        corner = (paper.margin, down - 6.0)
        room = (wide, down - 6.0 - paper.margin)
        draw_map(canvas, plan.grid, set(plan.tiles), shapes, corner, room)
        label = "map" if down == top else "cover"
        document.add_page(paper.width, page, canvas, label=label)

    def block(
        self,
        canvas: PdfCanvas,
        corner: tuple[float, float],
        width: float,
        lists: float = 200.0,
        *,
        keyed: bool = False,
    ) -> float:
        """Draw the block and the lists below it; returns the height, mm.

        `keyed` writes before every piece the letter that stands for it on the map.
        """
        x, y = corner
        down = y - draw_block(canvas, self._block_text(), corner, width) - 5.0
        seams = [(str(entry.number), entry.words(self.pattern)) for entry in self.numbers]
        cuts = [
            (piece_key(i) if keyed else "", f"{piece.info.title}: {cut_words(piece.info)}")
            for i, piece in enumerate(self.pieces)
        ]
        # Each list takes at least half of the room, and what the other one leaves.
        need = flow_lines(PdfCanvas(fonts=self.fonts), "", seams, (x, down), width, lists)
        room = max(lists / 2, lists - need)
        first = flow_lines(canvas, "Pieces", cuts, (x, down), width, room)
        down -= first
        down -= flow_lines(canvas, "Matching numbers", seams, (x, down), width, lists - first)
        return y - down

    def _block_text(self) -> BlockText:
        several = len(self.sizes) > 1
        order = self.pattern.sizes
        series = [(size_layer(size), order.index(size)) for size in self.sizes]
        lines = [
            f"{'sizes' if several else 'size'} {', '.join(self.sizes)}; "
            f"{counted(len(self.pieces), 'piece')}",
            "Print at 100 % (actual size, no fitting to the page). Measure a test square "
            "across and down: when a side is off by more than 0.5 mm (1/50 in), do not cut.",
        ]
        if self.options.chosen == "tiled":
            lines.append(self._joining())
        if several:
            lines.append(
                "Every size has a line of its own, thick where it is sewn and thin where it is "
                "cut, with its name on it; and is a layer: switch off in the reader what is not "
                "wanted."
            )
        if self.options.names:
            lines.append("The letters of corners and marks are those of the work sheet.")
        lines.append(
            "Lengths and lines are matched; fit is not judged: sew a trial garment before "
            "cutting good cloth."
        )
        roles = printed_roles(self.pieces, names=self.options.names)
        return BlockText(self.pattern.name, tuple(lines), roles, tuple(series) if several else ())

    def _joining(self) -> str:
        if self.options.join == "trim":
            return (
                "Cut the pages along their frames and butt them together: the halves of the "
                "glue marks meet, and the small letters name the page that joins there."
            )
        return (
            f"Pages lie {allowance_words(self.options.overlap, self.options.unit)} over each "
            "other, to the dashed line: the glue marks lie on each other, and the small letters "
            "name the page that joins there."
        )

    def title(self) -> str:
        """The title of the file."""
        return f"{self.pattern.name}, {', '.join(self.sizes)}"

    def foot(self, words: str) -> str:
        """The small line at the foot of a page."""
        name = self.fonts.fitted(self.pattern.name, 2.2, 34.0)
        sizes = self.fonts.fitted(", ".join(self.sizes), 2.2, 24.0)
        return f"{name}, {sizes}; {words}; print at 100 %"


def _least_map(grid: Grid, wide: float, tall: float) -> float:
    """Height that a map needs to be read, mm; no more than what a page of its own has."""
    across, down = grid.size
    read = _READ_MM / grid.width
    return min(down * min(read, wide / across), tall - 12.0)
