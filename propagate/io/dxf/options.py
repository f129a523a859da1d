"""What a reader or writer of the interchange standard may be told."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Literal

from propagate.io.dxf.conventions import CORNER_DEG
from propagate.io.dxf.rules import Deltas
from propagate.pattern.model import SizedPiece
from propagate.values import dataclass

__all__ = ["NameEdges", "ReadOptions", "WriteOptions"]

ROUNDING_MM = 0.001

NameEdges = Callable[[str, SizedPiece], Mapping[str, str]]
"""(piece, the piece in the base size) -> neutral edge name to the name wanted."""


@dataclass(frozen=True)
class ReadOptions:
    """Every ambiguity of the standard with its default.

    Attributes
    ----------
    units : "auto", "mm", "cm" or "in"
        ``auto``: by the text, by the header, by the size of the largest piece.
    boundary : "auto", "seam" or "cut"
        What layer 1 is where there is no layer 14: the seam line (``auto``), or the cut
        line, `allowance` mm outside the seam line.  With ``seam`` layer 1 is the seam line
        even where there is a layer 14.
    allowance : float
        mm; used with ``boundary="cut"`` where there is no layer 14.
    deltas : "from sample" or "stepwise"
        What grade deltas are measured from.
    axis : "grade line", "alternate" or "drawing"
        What gives the x axis of the deltas.
    mirror : "keep" or "unfold"
        A half piece stays a half with its fold, or is unfolded.
    quantity : "pieces" or "halves"
        What the quantity of a half piece counts.
    corners : "auto", "points" or "angle"
        Corners are the turn points; where there are none, or always, the vertices that turn
        by more than `corner_deg`.
    corner_deg : float
    darts : "join" or "edges"
        What an outline that runs around a dart, or two notches and a drill mark, are: a dart
        on one edge, or what is drawn.
    rules : Path, "beside" or None
        The rule file, or whether one with the DXF's name is looked for beside it.
    base, lay_on, name : str
        Taken from the file where empty.
    sizes : tuple of str
        The order of the sizes; empty: numbers by value, else as the file has them.
    name_edges : callable or None
        Gives names to the neutral ``edge_1``, ``edge_2``...
    """

    units: Literal["auto", "mm", "cm", "in"] = "auto"
    boundary: Literal["auto", "seam", "cut"] = "auto"
    allowance: float = 0.0
    deltas: Deltas = "from sample"
    axis: Literal["grade line", "alternate", "drawing"] = "grade line"
    mirror: Literal["keep", "unfold"] = "keep"
    quantity: Literal["pieces", "halves"] = "pieces"
    corners: Literal["auto", "points", "angle"] = "auto"
    corner_deg: float = CORNER_DEG
    darts: Literal["join", "edges"] = "join"
    rules: Path | Literal["beside"] | None = "beside"
    base: str = ""
    lay_on: str = ""
    name: str = ""
    sizes: tuple[str, ...] = ()
    name_edges: NameEdges | None = None


@dataclass(frozen=True)
class WriteOptions:
    """How a style is written.

    Attributes
    ----------
    kind : "as read", "nested" or "rules"
        One block for each piece and size, or the base size with grade rules.  ``as read``:
        as the drawing that the set was read from, else nested.
    units : "mm" or "in"
    precision : float or None
        mm to which coordinates are rounded; None: 0.001, and where a drawing is written
        back, as many decimals as it has itself when those are more.
    notches : "cut" or "seam"
        The line that notch points lie on.
    validation : "many", "none" or mapping of piece to edges
        Which edges get quality-validation curves: those of many points, none, or those
        named (the edges that were reshaped).
    names : bool
        Write names as annotation texts.
    author, date, time : str
        Written when given; no clock is read.
    replace : bool
        Take the place of files that this program wrote and nobody changed since.
    sources : tuple of path
        What was read to make this; it is never written to.
    """

    kind: Literal["as read", "nested", "rules"] = "as read"
    units: Literal["mm", "in"] = "mm"
    precision: float | None = None
    notches: Literal["cut", "seam"] = "cut"
    validation: Literal["many", "none"] | Mapping[str, tuple[str, ...]] = "many"
    names: bool = True
    author: str = ""
    date: str = ""
    time: str = ""
    replace: bool = False
    sources: tuple[str | Path, ...] = ()

    @property
    def rounding(self) -> float:
        """The precision, or its default where none was asked for, mm."""
        return ROUNDING_MM if self.precision is None else self.precision
