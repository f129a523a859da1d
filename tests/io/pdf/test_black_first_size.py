"""A sheet whose first size is whole and black, as the grain and all marks are.

Written by reportlab, judged by the draft that stands here.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from propagate.io.begin import read_style
from propagate.io.report import ReadingLine
from propagate.pattern.patternset import PatternSet

MM = 72 / 25.4
SIZES = ("38", "40", "42", "44")
DASHES = ((), (6, 2), (2, 2), (8, 2, 2, 2))
COLOURS = ((0, 0, 0), (0.8, 0, 0), (0, 0, 0.8), (0, 0.5, 0))
GRAIN = ((150.0, 60.0), (150.0, 240.0))


def read(folder: Path, *, coloured: bool) -> tuple[PatternSet, list[ReadingLine]]:
    """An apron with a pocket line of each size, of its colour, or black and whole for all."""
    path = folder / "apron.pdf"
    page = Canvas(str(path), pagesize=(400 * MM, 500 * MM))
    page.translate(50 * MM, 100 * MM)
    page.scale(MM, MM)
    page.setLineWidth(0.4)
    page.setFont("Helvetica", 6)
    for number, size in enumerate(SIZES):
        page.setStrokeColorRGB(*(COLOURS[number] if coloured else (0, 0, 0)))
        page.setDash(() if coloured else DASHES[number])
        page.rect(0, 0, 200 + 10 * number, 300 + 8 * number)
        page.line(60 * number, -40, 60 * number + 30, -40)
        page.drawString(60 * number + 34, -42, size)
        page.setDash(())
        page.line(30, 100 + 5 * number, 100, 100 + 5 * number)
    page.setStrokeColorRGB(0, 0, 0)
    page.line(*GRAIN[0], *GRAIN[1])
    page.drawString(152, 150, "Grain")
    page.drawString(20, 200, "Apron")
    page.drawString(20, 190, "Cut 1")
    page.showPage()
    page.save()
    pattern, report = read_style([path])[:2]
    return pattern, list(report.lines)


def test_every_size_has_the_grain_though_each_has_a_line_of_its_own(tmp_path: Path) -> None:
    pattern, _ = read(tmp_path, coloured=True)
    assert pattern.sizes == SIZES
    (piece,) = pattern.pieces.values()
    for number, size in enumerate(SIZES):
        drawn = piece.at(size)
        origin = drawn.outline.min(axis=0)
        ends = np.array([drawn.grain.start, drawn.grain.end]) - origin
        assert np.abs(ends[np.argsort(ends[:, 1])] - GRAIN).max() <= 0.05, size
        (line,) = drawn.lines
        assert np.abs(line.points[:, 1] - origin[1] - (100 + 5 * number)).max() <= 0.05


def test_long_lines_of_all_sizes_side_by_side_are_told(tmp_path: Path) -> None:
    pattern, told = read(tmp_path, coloured=False)
    (piece,) = pattern.pieces.values()
    assert {len(piece.at(size).lines) for size in SIZES} == {len(SIZES)}
    (line,) = [one for one in told if "which is of which size cannot be told" in one.text]
    assert line.kind == "warning" and line.count == len(SIZES)
