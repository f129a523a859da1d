"""What may be said about files that are read or written, each choice with its default."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import Any, Literal, get_args, get_type_hints

from propagate.errors import FormatError
from propagate.tolerances import DECIMALS
from propagate.values import dataclass

__all__ = [
    "Deltas",
    "DxfChoices",
    "ReadOptions",
    "SvgWriting",
    "WriteOptions",
    "allowance_said",
    "dxf_choices",
    "dxf_words",
]

ROUNDING_MM = 0.001
Deltas = Literal["from sample", "stepwise"]

# --------------------------------------------------------------------------------- reading


@dataclass(frozen=True)
class ReadOptions:
    """What the user said about files, whatever their format; the reader tells the rest itself.

    Attributes
    ----------
    name : str or None
        Of the set; the file says it, or its name, when None.
    base : str or None
        The base size; the file says it, else it is the middle one.
    sizes : tuple of str
        Their order, smallest first.  Of vector drawings the names of the groups that are sizes,
        or, with one file for each size, the sizes of the files in their order.
    unit : "mm", "cm", "in", "pt", "px" or None
        What one unit of the files is.
    dpi : float
        px to the inch.
    corner_angle : float or None
        Least turn of a corner at which an outline without names is split, degrees; None: 10 in
        a DXF, 25 in a vector drawing.
    join : float
        Largest gap between the ends of two edges of a vector drawing that is closed, mm.
    notch : float
        Longest line on the outline of a vector drawing that is a notch, mm.
    ignore : tuple of str
        Names of groups of a vector drawing that are left out.
    rules : Path or None
        The rule file of a DXF; None looks for one with its name beside it.
    tiles : (columns, rows) or None
        The grid of a tiled PDF whose pages do not tell it, row by row.
    overlap : float or None
        What two pages of a tiled PDF beside one another both show, mm; None finds it.
    scale : float
        By which every length of a PDF is multiplied, of a print that was made smaller or larger.
    dxf : mapping of choice to word
        As they were said, see `DxfChoices`.
    boundary : "auto", "seam" or "cut"
        What an outline is that is drawn alone: with ``cut`` the line that is cut along, and the
        seam line lies inside it by the allowances.
    allowances : tuple of str
        As they were said, with ``boundary="cut"``: a length for all edges, ``EDGE=LENGTH`` or
        ``PIECE.EDGE=LENGTH``.
    allowances_of_set : tuple of str
        Those of edges that the set says for which the files were sent; files that show other
        pieces need not have these edges.
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
    boundary: Literal["auto", "seam", "cut"] = "auto"
    allowances: tuple[str, ...] = ()
    allowances_of_set: tuple[str, ...] = ()


@dataclass(frozen=True)
class DxfChoices:
    """Every ambiguity of the interchange standard with its default.

    Attributes
    ----------
    boundary : "auto", "seam" or "cut"
        What layer 1 is where there is no layer 14: the seam line (``auto``), or the cut
        line, `allowance` mm outside the seam line.  With ``seam`` layer 1 is the seam line
        even where there is a layer 14.
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
        by more than the corner angle.
    darts : "join" or "edges"
        What an outline that runs around a dart, or two notches and a drill mark, are: a dart
        on one edge, or what is drawn.
    allowance : float
        mm; used with ``boundary="cut"`` where there is no layer 14, for all edges that
        `ReadOptions.allowances` does not name.
    corner_deg : float
        The corner angle, degrees.
    """

    boundary: Literal["auto", "seam", "cut"] = "auto"
    deltas: Deltas = "from sample"
    axis: Literal["grade line", "alternate", "drawing"] = "grade line"
    mirror: Literal["keep", "unfold"] = "keep"
    quantity: Literal["pieces", "halves"] = "pieces"
    corners: Literal["auto", "points", "angle"] = "auto"
    darts: Literal["join", "edges"] = "join"
    allowance: float = 0.0
    corner_deg: float = 10.0


def dxf_words() -> Mapping[str, tuple[str, ...]]:
    """The choices of the DXF reader that are one of some words, with the words."""
    hints = get_type_hints(DxfChoices)
    return {key: words for key, hint in hints.items() if (words := get_args(hint))}


def dxf_choices(options: ReadOptions) -> DxfChoices:
    """Return the choices of the DXF reader as they were said.

    Raises
    ------
    FormatError
        One is none of the reader's, or not one of its words.
    """
    words = dxf_words()
    found: dict[str, Any] = {}
    for key, value in options.dxf.items():
        if key == "allowance":
            found[key] = allowance_said(value)
        elif value in words.get(key, ()):
            found[key] = value
        else:
            known = "; ".join(f"{k}={'|'.join(of)}" for k, of in words.items())
            raise FormatError(
                f"found '{key}={value}' for a DXF, expected {known}; allowance=LENGTH"
            )
    said = found.setdefault("boundary", options.boundary)
    if options.boundary not in ("auto", said):
        raise FormatError(
            f"found --boundary {options.boundary} and --dxf boundary={said}, expected one of them"
        )
    for all_edges in (text for text in options.allowances if "=" not in text):
        found.setdefault("allowance", allowance_said(all_edges))
    if options.corner_angle is not None:
        found["corner_deg"] = options.corner_angle
    return DxfChoices(**found)


def allowance_said(text: str) -> float:
    """Return an allowance, mm.

    Raises
    ------
    FormatError
        The text is no length, or one below 0.
    """
    from propagate.lengths import parse_length

    length = parse_length(text, bare="mm")
    if length is None or length < 0:
        raise FormatError(f"found the allowance '{text}', expected a length of 0 or more")
    return length


# --------------------------------------------------------------------------------- writing


@dataclass(frozen=True)
class WriteOptions:
    """How a style is written as DXF.

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


@dataclass(frozen=True)
class SvgWriting:
    """How a set is written as vector drawings.

    Attributes
    ----------
    one_file : bool
        One file with a group for each size; else a folder with one file for each size.
    decimals : int
        Decimals of a millimetre that are written.
    replace, sources
        As `WriteOptions` has them.
    """

    one_file: bool = True
    decimals: int = DECIMALS
    replace: bool = False
    sources: tuple[str | Path, ...] = ()
