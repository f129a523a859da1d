"""What is being written, and its blocks."""

from __future__ import annotations

from dataclasses import dataclass, field

from propagate.io.dxf.conventions import Layer
from propagate.io.dxf.cut_lines import DrawnCut, drawn_cut
from propagate.io.dxf.number import Numbering, rule_sheet
from propagate.io.dxf.sheet import Pen, Sheet, draw_sheet, write_block
from propagate.io.dxf.texts import block_name
from propagate.io.options import WriteOptions
from propagate.io.report import ReportNotes
from propagate.pattern.model import SizedPiece
from propagate.pattern.patternset import PatternSet

__all__ = ["Written", "block_text", "block_texts", "insert_text", "sized_sheet"]


@dataclass
class Written:
    """What is being written."""

    pattern: PatternSet
    options: WriteOptions
    notes: ReportNotes
    numbering: Numbering
    taken: set[str] = field(default_factory=set)
    as_read: list[str] = field(default_factory=list)
    ruled: list[str] = field(default_factory=list)
    nested: list[str] = field(default_factory=list)


def block_text(name: str, entities: str) -> str:
    """Return a block with its entities."""
    return (
        f"  0\nBLOCK\n  8\n0\n  2\n{name}\n 70\n0\n 10\n0.0\n 20\n0.0\n 30\n0.0\n  3\n{name}\n"
        f"  1\n\n{entities}  0\nENDBLK\n  8\n0\n"
    )


def insert_text(name: str) -> str:
    """Return what puts a block into the drawing where it stands."""
    return f"  0\nINSERT\n  8\n{Layer.BOUNDARY}\n  2\n{name}\n 10\n0.0\n 20\n0.0\n 30\n0.0\n"


def block_texts(
    out: Written, name: str, pen: Pen, *, rules: bool = False, sizes: tuple[str, ...] = ()
) -> list[tuple[str, str]]:
    """Return the blocks of a piece: one with rule numbers, or one for each size.

    With `sizes` only those, and the piece is not listed as written.
    """
    nest = out.pattern.pieces[name].nest
    if rules:
        found = rule_sheet(out.pattern, name, out.numbering, pen, out.options, out.notes)
        if isinstance(found, str):
            out.notes.warn(
                f"written in every size, since grade rules would not hold: {found}",
                where=f"piece '{name}'",
            )
        else:
            out.ruled.append(name)
            block = block_name(name, "", out.taken)
            write_block(found.sheet, pen)
            for layer, at, number in found.numbers:
                pen.text(layer, at, f"# {number}", height=2.0)
            return [(block, pen.take())]
    if not sizes:
        out.nested.append(name)
    texts = []
    for size in sizes or tuple(s for s in out.pattern.sizes if s in nest):
        write_block(sized_sheet(out, name, size, nest[size]), pen)
        texts.append((block_name(name, size, out.taken), pen.take()))
    return texts


def sized_sheet(
    out: Written, name: str, size: str, piece: SizedPiece, *, words: bool = True
) -> Sheet:
    """Lay out a piece in one size."""
    info = out.pattern.info[name]
    cut = drawn_cut(piece, info, size)
    if isinstance(cut, str):
        out.notes.warn(
            f"layer 1 shows the seam line, since there is no cut line: {cut}",
            where=f"piece '{name}', size {size}",
        )
    drawn: DrawnCut | None = None if isinstance(cut, str) else cut
    return draw_sheet(piece, info, drawn, name, size, out.options, words=words)
