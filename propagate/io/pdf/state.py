"""The graphics state of a page description (ISO 32000-1, 8.4 and 9.3)."""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING, Any

from propagate.geometry.affine import UNMOVED, Affine

if TYPE_CHECKING:
    from propagate.io.pdf.clip import Clip
    from propagate.io.pdf.fonts import Font

__all__ = ["BLACK", "Colour", "Paint", "State", "read_box", "read_matrix"]

Colour = tuple[float, float, float]
BLACK: Colour = (0.0, 0.0, 0.0)


class Paint:
    """What strokes or fills: a colour space, the colour in it, how opaque it is."""

    __slots__ = ("alpha", "colour", "space")

    def __init__(self, space: Any = None) -> None:
        self.space = space
        self.colour: Colour = BLACK
        self.alpha = 1.0


class State:
    """Everything that ``q`` keeps and ``Q`` brings back.

    Attributes
    ----------
    ctm : Affine
        From user space to the page in mm, y up.
    clip : Clip
        Outside of it nothing is painted.
    stroke, fill : Paint
    width : float
        Width of lines, in user space.
    dash : tuple of float
        On, off and so on in user space; empty of a whole line.
    font : Font or None
    size, char, word, stretch, leading, rise, mode
        The state of text: Tf, Tc, Tw, Tz (1 is 100 %), TL, Ts and Tr.
    """

    __slots__ = (
        "char",
        "clip",
        "ctm",
        "dash",
        "fill",
        "font",
        "leading",
        "mode",
        "rise",
        "size",
        "stretch",
        "stroke",
        "width",
        "word",
    )

    def __init__(self, ctm: Affine, clip: Clip) -> None:
        self.ctm, self.clip = ctm, clip
        self.stroke, self.fill = Paint(), Paint()
        self.width = 1.0
        self.dash: tuple[float, ...] = ()
        self.font: Font | None = None
        self.size = self.char = self.word = self.leading = self.rise = 0.0
        self.stretch = 1.0
        self.mode = 0

    def kept(self) -> State:
        """A copy that later operators do not touch."""
        twin = copy.copy(self)
        twin.stroke, twin.fill = copy.copy(self.stroke), copy.copy(self.fill)
        return twin


def read_matrix(matrix: Any) -> Affine:
    """Six numbers as a matrix; the unit matrix when they are none.

    Raises
    ------
    ValueError
        When they are not six finite numbers.
    """
    if matrix is None:
        return UNMOVED
    values = [float(value) for value in matrix]
    if len(values) != 6 or not all(-1e9 < value < 1e9 for value in values):
        raise ValueError(matrix)
    return Affine(*values)


def read_box(values: Any) -> tuple[float, float, float, float]:
    """Two opposite corners, in any order, as left, bottom, right and top."""
    a, b, c, d = (float(value) for value in values)
    return min(a, c), min(b, d), max(a, c), max(b, d)
