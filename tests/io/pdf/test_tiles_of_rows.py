"""Tiled pages on which a row of pieces ends side by side, inside the border of the pages.

The sheet is written by reportlab and judged by the numbers it was drawn with.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from reportlab.pdfgen.canvas import Canvas

from propagate.io.begin import read_style
from propagate.io.chain import Chain
from propagate.io.pdf.cutting import cut_lines

MM = 72 / 25.4
MARGIN, WIDE, TALL = 10.0, 190.0, 277.0
COLUMNS, ROWS = 4, 2
BOTTOM, TOP = 150.0, 2 * TALL - 30.0
"""Of the pieces on the sheet: their tops are 30 mm below the border of the upper pages."""
LEFTS = (20.0, 203.0, 392.0, 571.0)
PIECE = 150.0


def paint(page: Canvas) -> None:
    for left in LEFTS:
        page.rect(left, BOTTOM, PIECE, TOP - BOTTOM)
        page.line(left + 70, BOTTOM + 40, left + 70, TOP - 40)
        for k in range(1, 6):  # ends of lines, more than there are at any border
            page.line(left + 25 * k, TOP, left + 25 * k, TOP - 5)
    page.setFont("Helvetica", 8)
    for number, left in enumerate(LEFTS):
        page.drawString(left + 20, BOTTOM + 60, f"Panel {'ABCD'[number]}")


@pytest.mark.parametrize("frame", [True, False])
def test_the_border_of_pages_is_no_row_of_pieces(tmp_path: Path, frame: bool) -> None:
    path = tmp_path / "panels.pdf"
    page = Canvas(str(path), pagesize=(210 * MM, 297 * MM))
    for row in range(ROWS):
        for column in range(COLUMNS):
            page.saveState()
            page.scale(MM, MM)
            page.setLineWidth(0.4)
            page.setFont("Helvetica", 8)
            page.drawString(100, 4, f"{'AB'[row]}{column + 1}")
            if frame:
                page.rect(MARGIN, MARGIN, WIDE, TALL)
            clip = page.beginPath()
            clip.rect(MARGIN, MARGIN, WIDE, TALL)
            page.clipPath(clip, stroke=0)
            page.translate(MARGIN - column * WIDE, MARGIN - (ROWS - 1 - row) * TALL)
            paint(page)
            page.restoreState()
            page.showPage()
    page.save()
    pattern, _ = read_style([path])
    assert len(pattern.pieces) == len(LEFTS)
    for piece in pattern.pieces.values():
        (drawn,) = piece.nest.values()
        assert np.allclose(np.ptp(drawn.outline, axis=0), (PIECE, TOP - BOTTOM), atol=0.05)
        assert len(drawn.landmarks) == 5


@pytest.mark.parametrize("off", [1e-9, 1e-10, 0.0, -1e-10])
@pytest.mark.parametrize("side", ["beside", "around"])
def test_nothing_is_left_of_a_curve_that_ends_on_the_border(off: float, side: str) -> None:
    arch = Chain((0.0, 0.0), (((3.0, 5.0), (7.0, 5.0), (10.0, 0.0)),))
    border = 10.0 - off
    box = (border, -20.0, 40.0, 20.0) if side == "beside" else (-20.0, -20.0, border, 20.0)
    (parts,) = cut_lines([arch], [box])
    parts = [arch] if parts is None else parts
    lengths = [part.length for part in parts]
    assert lengths == [] if side == "beside" else lengths == pytest.approx([arch.length])
