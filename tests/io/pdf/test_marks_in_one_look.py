"""Notches and drill marks of all sizes that are drawn whole and black, as they mostly are.

Only the outlines tell the sizes, by dash or by colour.  The sheet is written by reportlab, and
judged by the draft that stands here.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from reportlab.pdfgen.canvas import Canvas

from propagate.io.begin import read_style
from propagate.pattern.patternset import PatternSet

MM = 72 / 25.4
SIZES = ("38", "40", "42", "44")
DASHES = ((), (6, 2), (2, 2), (8, 2, 2, 2))
COLOURS = ((0, 0, 0), (0.8, 0, 0), (0, 0, 0.8), (0, 0.5, 0))
TICK = 6.0


def measures(number: int) -> tuple[float, float]:
    """Width and height of the piece; two of its edges lie on those of the other sizes."""
    return 200.0 + 10.0 * number, 300.0 + 8.0 * number


def marks(number: int) -> dict[str, tuple[float, float]]:
    """Where the draft has its notches and its drill mark."""
    width, height = measures(number)
    return {
        "on the side, as even as dashes": (width, 150.0),
        "on the line of all sizes": (0.4 * width, 0.0),
        "of all sizes, in one place": (0.0, 120.0),
        "drill": (0.5 * width, 0.3 * height),
    }


def write(path: Path, by: str) -> None:
    """Draw the nest with a legend and one grain line."""
    page = Canvas(str(path), pagesize=(400 * MM, 500 * MM))
    page.translate(50 * MM, 100 * MM)
    page.scale(MM, MM)
    for number, size in enumerate(SIZES):
        width, height = measures(number)
        colour = COLOURS[number] if by == "colour" else (0, 0, 0)
        page.setStrokeColorRGB(*colour)
        page.setLineWidth(0.4)
        page.setDash(DASHES[number] if by == "dash" else ())
        page.rect(0, 0, width, height)
        page.line(60 * number, -40, 60 * number + 30, -40)
        page.setFont("Helvetica", 6)
        page.drawString(60 * number + 34, -42, size)
        page.setDash(())
        page.setLineWidth(0.2 if by == "colour" else 0.4)
        side, base, left, drill = marks(number).values()
        page.line(*side, side[0] - TICK, side[1])
        page.line(*base, base[0], base[1] + TICK)
        page.line(*left, left[0] + TICK, left[1])
        page.circle(*drill, 2)
        stem = (60.0, height)  # a T as wide as it is long, on the upper edge
        page.line(*stem, stem[0], stem[1] - TICK)
        page.line(stem[0] - TICK / 2, stem[1] - TICK, stem[0] + TICK / 2, stem[1] - TICK)
    page.setStrokeColorRGB(0, 0, 0)
    page.line(150, 60, 150, 240)
    for end, way in ((60, 8), (240, -8)):
        page.line(150, end, 147, end + way)
        page.line(150, end, 153, end + way)
    page.drawString(20, 200, "Apron")
    page.drawString(20, 190, "Cut 1")
    page.showPage()
    page.save()


def read(folder: Path, by: str) -> PatternSet:
    path = folder / "apron.pdf"
    write(path, by)
    return read_style([path])[0]


@pytest.mark.parametrize("by", ["dash", "colour"])
def test_every_size_has_its_own_marks(tmp_path: Path, by: str) -> None:
    pattern = read(tmp_path, by)
    assert pattern.sizes == SIZES
    (piece,) = pattern.pieces.values()
    for number, size in enumerate(SIZES):
        drawn = piece.at(size)
        origin = drawn.outline.min(axis=0)
        *notches, drill = marks(number).values()
        notches.append((60.0, measures(number)[1]))
        found = np.array([mark.point for mark in drawn.landmarks]) - origin
        assert len(found) == len(notches), (size, found)
        for place in notches:
            assert np.hypot(*(found - place).T).min() <= 0.05, (size, place, found)
        (mark,) = drawn.drills
        assert np.hypot(*(np.array(mark.point) - origin - drill)) <= 0.05, (size, mark)
        assert not drawn.lines
