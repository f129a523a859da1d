"""Papers by name, their size and the margin that printers leave; points and colours of a PDF."""

from __future__ import annotations

from propagate.errors import UnknownName, nearest_names
from propagate.lengths import MM_PER_INCH
from propagate.values import dataclass

__all__ = [
    "LONGEST_PAGE_MM",
    "PAPERS",
    "POINTS_PER_MM",
    "Paper",
    "SMALLEST_MM",
    "colour_parts",
    "paper_of",
]

LONGEST_PAGE_MM = 200.0 * MM_PER_INCH
"""Readers of PDF stop at 14 400 points a side."""
_HOME_MARGIN = 10.0  # home printers leave 5 to 7 mm white; common practice, no source
_SHOP_MARGIN = 10.0
POINTS_PER_MM = 72.0 / 25.4
"""A point is 1/72 inch."""
SMALLEST_MM = 6.0 / POINTS_PER_MM
"""No letter on paper is smaller than 6 points: what many print rules ask (common practice)."""


@dataclass(frozen=True)
class Paper:
    """A paper.

    Attributes
    ----------
    width, height : float
        mm; of a roll, `height` is the longest page.
    margin : float
        mm at every side that stay white.
    roll : bool
        Cut off to the length that is needed.
    tiled : bool
        Small: a drawing goes over several pages that are put together.
    """

    name: str
    width: float
    height: float
    margin: float
    roll: bool = False
    tiled: bool = False

    @property
    def usable(self) -> tuple[float, float]:
        """Width and height that are printed on, mm."""
        return self.width - 2 * self.margin, self.height - 2 * self.margin


PAPERS = {
    paper.name: paper
    for paper in (
        Paper("a4", 210.0, 297.0, _HOME_MARGIN, tiled=True),
        Paper("letter", 8.5 * MM_PER_INCH, 11.0 * MM_PER_INCH, _HOME_MARGIN, tiled=True),
        Paper("legal", 8.5 * MM_PER_INCH, 14.0 * MM_PER_INCH, _HOME_MARGIN, tiled=True),
        Paper("a3", 297.0, 420.0, _HOME_MARGIN, tiled=True),
        Paper("tabloid", 11.0 * MM_PER_INCH, 17.0 * MM_PER_INCH, _HOME_MARGIN, tiled=True),
        Paper("a2", 420.0, 594.0, _SHOP_MARGIN),
        Paper("a1", 594.0, 841.0, _SHOP_MARGIN),
        Paper("a0", 841.0, 1189.0, _SHOP_MARGIN),
        Paper("36in-roll", 36.0 * MM_PER_INCH, LONGEST_PAGE_MM, _SHOP_MARGIN, roll=True),
        Paper("a0-roll", 841.0, LONGEST_PAGE_MM, _SHOP_MARGIN, roll=True),
    )
}
"""Sizes of ISO 216 and ANSI Y14.1."""


def paper_of(name: str) -> Paper:
    """Return a paper by its name; raises UnknownName, which lists those that are known."""
    found = PAPERS.get(name.strip().lower())
    if found is not None:
        return found
    where = f"the papers {', '.join(PAPERS)}" if nearest_names(name, list(PAPERS)) else ""
    raise UnknownName("paper", name, list(PAPERS), where)


def colour_parts(colour: str) -> tuple[float, float, float]:
    """Return red, green and blue of ``#rrggbb``, from 0 to 1."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return red, green, blue
