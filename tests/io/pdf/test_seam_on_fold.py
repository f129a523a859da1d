"""Both lines of half a piece in every size: they run on one another along the fold.

The sheet is written by reportlab and judged by the numbers it was drawn with.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from reportlab.pdfgen.canvas import Canvas

from propagate.io.begin import read_style
from propagate.io.chain import Chain
from propagate.io.drawn_lines import DrawnLine, DrawnText, Look
from propagate.io.options import ReadOptions
from propagate.io.sheet.looks import key_of, sizes_in_legend

MM = 72 / 25.4
SIZES = {"38": (0, 0, 0), "40": (0.8, 0, 0), "42": (0, 0, 0.8)}
SIDE, HEM, TOP = 12.0, 40.0, 10.0


def measures(number: int) -> tuple[float, float]:
    return 210.0 + 11.0 * number, 400.0 + 6.0 * number


def test_the_seam_line_of_half_a_piece_is_taken_as_drawn(tmp_path: Path) -> None:
    path = tmp_path / "panel.pdf"
    page = Canvas(str(path), pagesize=(400 * MM, 600 * MM))
    page.translate(50 * MM, 100 * MM)
    page.scale(MM, MM)
    page.setFont("Helvetica", 6)
    for number, (size, colour) in enumerate(SIZES.items()):
        width, height = measures(number)
        page.setStrokeColorRGB(*colour)
        page.setLineWidth(0.4)
        page.setDash(())
        page.rect(0, -HEM, width + SIDE, height + HEM + TOP)
        page.line(60 * number, -80, 60 * number + 30, -80)
        page.drawString(60 * number + 34, -82, size)
        page.setLineWidth(0.2)
        page.setDash((3, 1.5))
        page.rect(0, 0, width, height)
    page.setStrokeColorRGB(0, 0, 0)
    page.setDash(())
    page.line(80, 60, 80, 240)
    page.drawString(82, 150, "Grain")
    page.drawString(20, 300, "Back")
    page.drawString(20, 292, "Cut 1")
    page.saveState()
    page.translate(6, 150)
    page.rotate(90)
    page.drawString(0, 0, "Place on fold")
    page.restoreState()
    page.save()
    pattern, _ = read_style([path], ReadOptions(boundary="cut"))
    assert pattern.sizes == tuple(SIZES)
    ((name, piece),) = pattern.pieces.items()
    info = pattern.info[name]
    fold = info.fold
    assert fold is not None
    for number, size in enumerate(SIZES):
        outline = piece.at(size).outline
        assert np.allclose(np.ptp(outline, axis=0), measures(number), atol=0.05)
        assert not piece.at(size).lines
    edges = set(piece.at("38").edge_names) - {fold}
    assert sorted(map(info.allowance.of, edges)) == [TOP, SIDE, HEM]


def test_a_sample_of_a_legend_may_be_drawn_dash_by_dash() -> None:
    """Browsers draw every dash by itself; put together they make a line of many parts."""
    looks = {"38": Look(dash=(6.0, 2.0)), "40": Look(dash=(2.0, 2.0))}
    lines, texts = [], []
    for number, (size, look) in enumerate(looks.items()):
        parts = tuple(((4.0 * k, 20.0 * number),) for k in range(1, 11))
        lines.append(DrawnLine(Chain((0.0, 20.0 * number), parts), look))
        texts.append(DrawnText(size, (44.0, 20.0 * number - 2.0), 6.0))
    assert sizes_in_legend(lines, texts) == {size: key_of(look) for size, look in looks.items()}
