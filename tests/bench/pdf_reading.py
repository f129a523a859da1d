"""Measure reading of PDF against its library: ``python -m tests.bench.pdf_reading``.

Prints seconds of processor time and never passes or fails. A nest of 12 pieces in 9 sizes, on
one large page and on pages of A4 with what two of them share; written by reportlab, with layers,
colours and dashes. The library parses the same pages into operators with their numbers, and does
nothing with them.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pikepdf

from propagate.io.options import ReadOptions
from propagate.io.pdf.read import read_sheet_of_pdf
from propagate.io.report import ReportNotes
from tests.bench.dxf_reading import _sized
from tests.io.pdf.drafts import (
    COLOURS,
    DASHES,
    Draft,
    DraftLine,
    Tiling,
    by_reportlab,
    tiled_by_reportlab,
)

PIECES, SIZES, RUNS = 12, 9, 5


def made_draft() -> Draft:
    """12 pieces in 9 sizes, in two rows."""
    lines = []
    for piece in range(PIECES):
        corner = np.array([30.0 + 330 * (piece % 6), 30.0 + 560 * (piece // 6)])
        for size in range(SIZES):
            look = size % len(COLOURS)
            lines += [
                DraftLine(np.asarray(edge.points) + corner, COLOURS[look], DASHES[look], str(size))
                for edge in _sized(piece, size).edges
            ]
    return Draft(tuple(lines), (6 * 330 + 60.0, 1150.0))


def parse(file: Path) -> int:
    """All that the library does: operators, and their operands as numbers."""
    count = 0
    with pikepdf.open(file) as pdf:
        for page in pdf.pages:
            for word in pikepdf.parse_content_stream(page):
                count += len([str(word.operator), *word.operands])
    return count


def read(file: Path) -> int:
    """The lines on one sheet."""
    return len(read_sheet_of_pdf([file], ReadOptions(), ReportNotes()).lines)


def _least(work: Callable[[Path], object], file: Path) -> float:
    seconds = []
    for _ in range(RUNS):
        start = time.process_time()
        work(file)
        seconds.append(time.process_time() - start)
    return min(seconds)


def main() -> None:
    """Print the table."""
    draft = made_draft()
    points = sum(len(line.points) for line in draft.lines)
    print(f"{PIECES} pieces, {SIZES} sizes, {len(draft.lines)} lines, {points} points\n")
    with tempfile.TemporaryDirectory() as name:
        files = {
            "one page": by_reportlab(draft, Path(name) / "one.pdf", layered=True),
            "pages of A4": tiled_by_reportlab(draft, Path(name) / "tiled.pdf", Tiling()),
            "A4 without names": tiled_by_reportlab(
                draft, Path(name) / "bare.pdf", Tiling(names="", frame=False)
            ),
        }
        print(f"{'':<18}{'kB':>7}{'words':>9}{'library':>10}{'read':>9}{'times':>7}{'lines':>7}")
        for what, file in files.items():
            library, whole = _least(parse, file), _least(read, file)
            print(
                f"{what:<18}{file.stat().st_size / 1024:>7.0f}{parse(file):>9}{library:>8.3f} s"
                f"{whole:>7.3f} s{whole / library:>7.1f}{read(file):>7}"
            )


if __name__ == "__main__":
    main()
