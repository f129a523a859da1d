"""How a vector drawing is read and written, each choice with its default."""

from __future__ import annotations

from pathlib import Path

from propagate.io.wishes import Wishes
from propagate.recognise.corners import CORNER_DEG
from propagate.tolerances import DECIMALS
from propagate.values import dataclass

__all__ = ["SvgOptions", "SvgWriting"]


@dataclass(frozen=True)
class SvgOptions:
    """Choices for reading.

    Attributes
    ----------
    name : str or None
        Name of the set; the file's name when None.
    sizes : tuple of str
        Names of the groups that are sizes, or, with one file for each size, the sizes of
        the files in their order.  Found from groups and file names when empty.
    base : str or None
        The middle size when None.
    unit : "mm", "cm", "in", "pt", "px" or None
        What one unit of the drawing is; None takes it from the drawing's width and height,
        and px when it has none.
    dpi : float
        px to the inch.
    corner_angle : float
        Least turn of a corner at which an unnamed outline is split, degrees.
    join : float
        Largest gap between the ends of two edges that is closed, mm.
    notch : float
        Longest line on the outline that is a notch, mm.
    ignore : tuple of str
        Names of groups that are left out.
    """

    name: str | None = None
    sizes: tuple[str, ...] = ()
    base: str | None = None
    unit: str | None = None
    dpi: float = 96.0
    corner_angle: float = CORNER_DEG
    join: float = 0.1
    notch: float = 15.0
    ignore: tuple[str, ...] = ()

    @staticmethod
    def wished(wishes: Wishes) -> SvgOptions:
        """The choices that a user made."""
        angle = CORNER_DEG if wishes.corner_angle is None else wishes.corner_angle
        return SvgOptions(
            name=wishes.name,
            base=wishes.base,
            sizes=wishes.sizes,
            unit=wishes.unit,
            dpi=wishes.dpi,
            corner_angle=angle,
            join=wishes.join,
            notch=wishes.notch,
            ignore=wishes.ignore,
        )


@dataclass(frozen=True)
class SvgWriting:
    """Choices for writing.

    Attributes
    ----------
    one_file : bool
        One file with a group for each size; else a folder with one file for each size.
    decimals : int
        Decimals of a millimetre that are written.
    replace : bool
        Replace files of the same names that this program wrote.
    sources : tuple of path
        What was read to make this; it is never written to.
    """

    one_file: bool = True
    decimals: int = DECIMALS
    replace: bool = False
    sources: tuple[str | Path, ...] = ()
