"""What the user said about files that are read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from pathlib import Path

from propagate.values import dataclass

__all__ = ["Wishes"]


@dataclass(frozen=True)
class Wishes:
    """What the user said about the files; None and empty leave it to the reader.

    Attributes
    ----------
    name, base : str or None
    sizes : tuple of str
    unit : str or None
        Unit of the numbers in the files.
    dpi : float
    corner_angle : float or None
    join, notch : float
        mm; see `SvgOptions`.
    ignore : tuple of str
    rules : Path or None
        The grade-rule file of a DXF.
    tiles : (columns, rows) or None
        The grid of a tiled PDF, row by row.
    overlap : float or None
        What two of its pages both show, mm.
    scale : float
        By which every length of a PDF is multiplied.
    dxf : mapping of option to value
        Further options of reading DXF by their names, see `propagate.io.dxf.options`.
    """

    name: str | None = None
    base: str | None = None
    sizes: tuple[str, ...] = ()
    unit: str | None = None
    dpi: float = 96.0
    corner_angle: float | None = None
    join: float = 0.1
    notch: float = 15.0
    ignore: tuple[str, ...] = ()
    rules: Path | None = None
    tiles: tuple[int, int] | None = None
    overlap: float | None = None
    scale: float = 1.0
    dxf: Mapping[str, str] = field(default_factory=dict)
