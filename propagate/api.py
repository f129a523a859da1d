"""What a program asks for in one line: files in, files out, with the plain words of the commands.

Each function here is a command without its terminal; everything else that is public is the
engine's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet

if TYPE_CHECKING:
    from propagate.engine.result import Result
    from propagate.io.report import ReadingReport

__all__ = ["begin", "print_pieces", "read_pieces", "write_piece", "write_sheet"]


def begin(
    paths: str | Path | Sequence[str | Path],
    *,
    name: str | None = None,
    sizes: Sequence[str] = (),
    base: str | None = None,
    unit: str | None = None,
) -> tuple[PatternSet, ReadingReport]:
    """Read a style from drawings: DXF, SVG, JSON, or a set.

    Parameters
    ----------
    paths : path or sequence of paths
    name, base : str or None
        Of the set; told from the files when left out.
    sizes : sequence of str
        Smallest first: names of the size groups, or one for each file.
    unit : str or None
        What one unit of the files is: mm, cm, in, pt or px.

    Returns
    -------
    pattern : PatternSet
    reading : ReadingReport
        What was taken for granted, put right or left out.

    Raises
    ------
    FormatError
        A file cannot be read.
    InvalidSet
        The style breaks rules of the model.
    """
    from propagate.io.begin import read_style
    from propagate.io.options import ReadOptions
    from propagate.pattern.validate import check_set

    given = [paths] if isinstance(paths, (str, Path)) else list(paths)
    wishes = ReadOptions(name=name, base=base, sizes=tuple(sizes), unit=unit)
    pattern, reading = read_style(given, wishes)
    check_set(pattern)
    return pattern, reading


def read_pieces(
    pattern: PatternSet, paths: str | Path | Sequence[str | Path], *, unit: str | None = None
) -> dict[str, Piece]:
    """Read revised pieces of a set, as `revise` takes them; names that the set lacks are left out.

    Parameters
    ----------
    pattern : PatternSet
        The set that they are meant for: it says how its drawing is read.
    paths : path or sequence of paths
    unit : str or None

    Raises
    ------
    FormatError
        A file cannot be read.
    """
    from propagate.io.options import ReadOptions
    from propagate.io.sent import read_sent

    given = [paths] if isinstance(paths, (str, Path)) else list(paths)
    sent, _ = read_sent(pattern, [str(path) for path in given], ReadOptions(unit=unit))
    return {name: piece for name, piece in sent.pieces.items() if name in pattern.pieces}


def write_piece(piece: Piece, path: str | Path, *, replace: bool = False) -> None:
    """Write a piece in all its sizes as JSON, the form in which a set keeps it.

    Raises
    ------
    OutputError
        When the file stands there already, or cannot be written.
    """
    from propagate.io.geometry_json import dump_piece
    from propagate.io.output import open_file

    with open_file(path, replace=replace) as out:
        out.write(dump_piece(piece).encode())


def print_pieces(
    source: PatternSet | Result,
    path: str | Path,
    *,
    paper: str = "a4",
    sizes: Sequence[str] = (),
    pieces: Sequence[str] = (),
    names: bool = False,
    replace: bool = False,
) -> int:
    """Print pieces at true scale into a PDF, and return the number of its pages.

    Parameters
    ----------
    source : PatternSet or Result
    path : str or Path
    paper : str
        As ``propagate print --paper`` takes it.
    sizes, pieces : sequence of str
        The base size and every piece when left out.
    names : bool
        Write names of edges and levels, and the letters that the work sheet uses.
    replace : bool
        Take the place of a print that stands there.

    Raises
    ------
    UnknownName
        For a size or a piece that the set does not have.
    EditError
        When there is nothing to draw, or a piece is larger than the paper.
    OutputError
        When the file stands there already, or cannot be written.
    """
    from propagate.io.output import open_file
    from propagate.report.pdf.paper import paper_of
    from propagate.report.printing.plan import PrintOptions
    from propagate.report.printing.print_file import print_pieces as write
    from propagate.report.units import MILLIMETRES

    options = PrintOptions(
        paper_of(paper), MILLIMETRES, sizes=tuple(sizes), pieces=tuple(pieces), names=names
    )
    with open_file(path, replace=replace) as out:
        return write(source, out, options).pages


def write_sheet(
    result: Result, path: str | Path, *, paper: str = "a4", replace: bool = False
) -> int:
    """Write the work sheet of a result into a PDF, and return the number of its pages.

    Raises
    ------
    OutputError
        When the file stands there already, or cannot be written.
    """
    from propagate.io.output import open_file
    from propagate.report.worksheet.derive import work_sheet
    from propagate.report.worksheet.write import sheet_paper
    from propagate.report.worksheet.write import write_sheet as write

    with open_file(path, replace=replace) as out:
        return write(result, work_sheet(result), out, sheet_paper(paper)).pages
