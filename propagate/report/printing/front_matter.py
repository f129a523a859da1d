"""What a print says of itself: titles, block and lists on its first page, a tiled one's cover."""

from __future__ import annotations

from collections.abc import Sequence

from propagate.counts import say_count
from propagate.engine.run import Result
from propagate.pattern.patternset import PatternSet
from propagate.report.blend_text import size_taken
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.pdf.document import PdfDocument
from propagate.report.pdf.fonts import FontBook
from propagate.report.printing.cover import BlockText, MapPiece, draw_block, draw_map, piece_key
from propagate.report.printing.edge_texts import allowance_words
from propagate.report.printing.placed_piece import PaperPiece, SeamNumber
from propagate.report.printing.plan import PrintOptions, TilePlan
from propagate.report.printing.printed_piece import printed_roles, size_layer
from propagate.report.set_text import cut_words
from propagate.values import dataclass

__all__ = ["FrontMatter"]

_LISTS_MM = 70.0
_READ_MM = 7.6
"""A page on the map is at least this wide where the map can have a page of its own: its name
takes 0.28 of that, which is 6 points."""
Entry = tuple[str, str]
_Lines = list[tuple[str, float, str]]
_SMALL = 2.7
_PITCH = 1.5 * _SMALL
_HEAD = 5.5
_AFTER = 3.0
_LEAST_MM = 56.0
"""Columns are no narrower."""
_INDENT = 3.0
_LONGEST = 3
"""Lines that one entry takes at most; a name of hundreds of letters ends in an ellipsis."""


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
        words = f"The assembled sheet: {say_count(len(plan.tiles), 'page')}"
        blank = plan.grid.columns * plan.grid.rows - len(plan.tiles)
        if blank:
            words += f"; {say_count(blank, 'blank page')} left out (dashed)"
        page = tall + 2 * paper.margin
        # What a map needs to be read, and no more than what a page of its own has.
        across, below = plan.grid.size
        least = min(below * min(_READ_MM / plan.grid.width, wide / across), tall - 12.0)
        if down - 6.0 - paper.margin < least:
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
        need = _flow_lines(PdfCanvas(fonts=self.fonts), "", seams, (x, down), width, lists)
        room = max(lists / 2, lists - need)
        first = _flow_lines(canvas, "Pieces", cuts, (x, down), width, room)
        down -= first
        down -= _flow_lines(canvas, "Matching numbers", seams, (x, down), width, lists - first)
        return y - down

    def _block_text(self) -> BlockText:
        several = len(self.sizes) > 1
        order = self.pattern.sizes
        series = [(size_layer(size), order.index(size)) for size in self.sizes]
        lines = [
            f"{'sizes' if several else 'size'} {', '.join(self.sizes)}; "
            f"{say_count(len(self.pieces), 'piece')}",
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


def _flow_lines(
    canvas: PdfCanvas,
    heading: str,
    lines: Sequence[Entry],
    corner: tuple[float, float],
    width: float,
    room: float,
) -> float:
    """Write a list in columns under a heading; returns the height it took, mm.

    An entry is its key, a number or a letter, and its text.  What does not find room is
    counted and said.
    """
    if not lines or room < 14.0:
        return 0.0
    fit = max(int((room - _HEAD) // _PITCH), 1)
    columns = _fill_columns(canvas.fonts, lines, width, fit)
    x, y = corner
    canvas.text("sheet", (x, y - 1.8), heading, 3.2, anchor="start", bold=True)
    for number, column in enumerate(columns):
        left, row = x + number * width / len(columns), 0
        for entry in column:
            for key, beside, words in entry:
                down = y - _HEAD - row * _PITCH - _SMALL / 2
                if key:
                    canvas.text("sheet", (left, down), key, _SMALL, anchor="start", bold=True)
                canvas.text("sheet", (left + beside, down), words, _SMALL, anchor="start")
                row += 1
    return _HEAD + _count_lines(columns) * _PITCH + _AFTER


def _fill_columns(
    fonts: FontBook, lines: Sequence[Entry], width: float, fit: int
) -> list[list[_Lines]]:
    """Fill columns as low as can be; entries that find no room are left out and counted."""
    most = max(int(width // _LEAST_MM), 1)
    counts = range(1, most + 1)
    keys = {key for key, _ in lines if key}
    # One width for all keys, so that the texts stand below each other.
    beside = max((fonts.width(key, _SMALL, bold=True) for key in keys), default=-_SMALL) + _SMALL
    wrapped = [
        {line: _wrap_entry(fonts, line, beside, width / n - 4.0) for line in lines} for n in counts
    ]
    best: list[list[_Lines]] = []
    for kept in range(min(len(lines), fit * most), 0, -1):
        more = [] if kept == len(lines) else [[("", 0.0, f"and {len(lines) - kept} more")]]
        tried = [
            _share_out([*(known[line] for line in lines[:kept]), *more], n)
            for n, known in zip(counts, wrapped, strict=True)
        ]
        best = min(tried, key=_count_lines)
        if _count_lines(best) <= fit:
            break
    return best


def _count_lines(columns: Sequence[Sequence[_Lines]]) -> int:
    return max(sum(map(len, column)) for column in columns)


def _share_out(entries: Sequence[_Lines], columns: int) -> list[list[_Lines]]:
    """Share entries out in their order, so that the columns are about as tall."""
    total = sum(map(len, entries))
    for tall in range(-(-total // columns), total + 1):
        found: list[list[_Lines]] = [[]]
        for entry in entries:
            if sum(map(len, found[-1])) + len(entry) > tall and found[-1]:
                found.append([])
            found[-1].append(entry)
        if len(found) <= columns:
            return found + [[] for _ in range(columns - len(found))]
    return [list(entries)]


def _wrap_entry(fonts: FontBook, entry: Entry, beside: float, room: float) -> _Lines:
    """Return the lines of an entry with what each is moved in by: a key stands out to the left."""
    key, text = entry
    lines = fonts.in_lines(text, _SMALL, room - beside - _INDENT, _LONGEST) or [""]
    if fonts.width(text, _SMALL) <= room - beside:
        lines = [text]
    return [
        (key, beside, line) if not i else ("", beside + _INDENT, line)
        for i, line in enumerate(lines)
    ]
