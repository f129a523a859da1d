"""What is drawn on a sheet, whatever file it came from: lines and texts in mm, y up."""

from __future__ import annotations

from propagate.io.chain import Chain, Point
from propagate.values import dataclass

__all__ = ["DrawnLine", "DrawnSheet", "DrawnText", "Look"]


@dataclass(frozen=True)
class Look:
    """How a line or a text is painted.

    Attributes
    ----------
    colour : (red, green, blue)
        0 to 1 each; of a line its stroke, of an area or a text its filling.
    width : float
        Width of the stroke, mm; 0 of an area and of a text.
    dash : tuple of float
        On, off and so on, mm; empty of a whole line.
    filled : bool
        Painted as an area, without a stroke.
    """

    colour: tuple[float, float, float] = (0.0, 0.0, 0.0)
    width: float = 0.0
    dash: tuple[float, ...] = ()
    filled: bool = False


@dataclass(frozen=True)
class DrawnLine:
    """A line of a sheet.

    Attributes
    ----------
    chain : Chain
        Where it runs, mm, and whether it is closed (`Chain.closed`).
    look : Look
    layer : str or None
        Name of the layer that it is drawn in, the innermost one that has a name.
    sheet : int
        The page that it came from, counted from 1; of a line put together of several
        pages the first of them.
    painting : int
        What the page paints at once has one number on it: the dashes of a line, of some writers.
    """

    chain: Chain
    look: Look
    layer: str | None = None
    sheet: int = 1
    painting: int = 0

    @property
    def closed(self) -> bool:
        """Whether its last point is its first."""
        return self.chain.closed


@dataclass(frozen=True)
class DrawnText:
    """A text of a sheet.

    Attributes
    ----------
    text : str
    at : Point
        Start of its base line, mm.
    height : float
        Size of the letters (of the font), mm.
    angle : float
        Degrees, counter-clockwise from the x axis.
    width : float
        How long it is along its base line, mm.
    look : Look
    layer : str or None
    sheet : int
    """

    text: str
    at: Point
    height: float
    angle: float = 0.0
    width: float = 0.0
    look: Look = Look(filled=True)
    layer: str | None = None
    sheet: int = 1


@dataclass(frozen=True)
class DrawnSheet:
    """Everything that is drawn on one sheet.

    Attributes
    ----------
    lines : tuple of DrawnLine
        In the order in which they are painted.
    texts : tuple of DrawnText
    size : (width, height)
        mm; the origin is the lower left corner.
    source : str
        Name of the file.
    layers : tuple of str
        Names of the layers as the file lists them, those without lines too.
    words : tuple of str
        What is written anywhere in the file, also on pages that are no part of the sheet.
    """

    lines: tuple[DrawnLine, ...]
    texts: tuple[DrawnText, ...]
    size: tuple[float, float]
    source: str
    layers: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
