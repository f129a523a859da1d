"""The two test squares: apart from each other, each with its own measures.

A square of 100 mm and one of 4 in differ by 1.6 mm; drawn from one corner they share two
sides, and whoever measures takes the wrong one.  So one is moved down and to the right, no
side lies near another, and every measure runs to the sides that it is of.
"""

from __future__ import annotations

import numpy as np

from propagate.lengths import MM_PER_INCH
from propagate.report.canvas import Stroke
from propagate.report.pdf.canvas import PdfCanvas
from propagate.report.style import FRAME, INK, PALE

__all__ = ["SQUARES_MM", "draw_squares"]

SQUARE_MM = 100.0
SQUARE_IN = 4.0
_INCHES = SQUARE_IN * MM_PER_INCH
_APART = 12.0
SQUARES_MM = _APART + _INCHES
"""What both squares together take, across and down."""

_DASHED = Stroke(INK, 0.3, (3.0, 1.5))
_THIN = Stroke(PALE, 0.2)
_LETTER = 4.0


def draw_squares(canvas: PdfCanvas, corner: tuple[float, float]) -> None:
    """Draw both squares from the upper left corner of their place."""
    x, y = corner
    _square(canvas, (x, y), SQUARE_MM, FRAME)
    beside = (x + _APART, y - _APART)
    _square(canvas, beside, _INCHES, _DASHED)
    near = _APART / 2
    _measure(canvas, (x, y - near), (x + SQUARE_MM, y - near), "100 mm")
    _measure(canvas, (x + near, y - SQUARE_MM), (x + near, y), "100 mm")
    far = (SQUARE_MM + SQUARES_MM) / 2
    _measure(canvas, (beside[0], y - far), (x + SQUARES_MM, y - far), "4 in")
    _measure(canvas, (x + far, y - SQUARES_MM), (x + far, beside[1]), "4 in")
    middle = x + SQUARES_MM / 2
    for down, words, size, bold, colour in (
        (44.0, "test squares", 6.0, True, INK),
        (53.0, "solid: 100 mm × 100 mm", 4.0, False, INK),
        (59.5, "dashed: 4 in × 4 in", 4.0, False, INK),
        (67.5, "measure one of them, across and down", 3.2, False, PALE),
    ):
        canvas.text("sheet", (middle, y - down), words, size, bold=bold, colour=colour)


def _square(canvas: PdfCanvas, corner: tuple[float, float], side: float, stroke: Stroke) -> None:
    x, y = corner
    ring = [(x, y - side), (x + side, y - side), (x + side, y), (x, y)]
    canvas.line("sheet", ring, stroke, closed=True)


def _measure(
    canvas: PdfCanvas, first: tuple[float, float], last: tuple[float, float], words: str
) -> None:
    """A line with an arrow at either side of the square, and the measure on it."""
    ends = np.array([first, last])
    canvas.line("sheet", ends, _THIN)
    along = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    aside = np.array([-along[1], along[0]]) * 0.8
    for tip, back in ((ends[0], along), (ends[1], -along)):
        canvas.shape("sheet", [[tip, tip + back * 3.0 + aside, tip + back * 3.0 - aside]], PALE)
    angle = 90.0 if abs(along[1]) > 0.5 else 0.0
    canvas.text("sheet", ends.mean(axis=0), words, _LETTER, angle=angle, bold=True, halo=True)
