"""Choices for reading PDF."""

from __future__ import annotations

from propagate.io.options import ReadOptions
from propagate.values import dataclass

__all__ = ["PdfOptions"]


@dataclass(frozen=True)
class PdfOptions:
    """What the user says of the pages.

    Attributes
    ----------
    sizes : tuple of str
        The size of each file, or of each page that shows one size.
    tiles : (columns, rows) or None
        The grid of a tiled print whose pages do not tell it, row by row.
    overlap : float or None
        What two pages beside one another both show, mm; None finds it.
    scale : float
        By which every length is multiplied, of a print that was made smaller or larger.
    unit : str or None
        What one unit of the page is; None is a point, 72 to the inch, as PDF says.
    dpi : float
        px to the inch.
    """

    sizes: tuple[str, ...] = ()
    tiles: tuple[int, int] | None = None
    overlap: float | None = None
    scale: float = 1.0
    unit: str | None = None
    dpi: float = 96.0

    @staticmethod
    def wished(wishes: ReadOptions) -> PdfOptions:
        """The choices that a user made."""
        return PdfOptions(
            sizes=wishes.sizes,
            tiles=wishes.tiles,
            overlap=wishes.overlap,
            scale=wishes.scale,
            unit=wishes.unit,
            dpi=wishes.dpi,
        )
