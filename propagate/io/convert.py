"""Write a style in any form, and say what that form cannot carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace as replaced
from pathlib import Path
from typing import TYPE_CHECKING

from propagate.errors import FormatError
from propagate.io.origin import origin_of
from propagate.io.report import ReportNotes, WritingReport
from propagate.pattern.patternset import PatternSet

if TYPE_CHECKING:
    from propagate.io.options import ReadOptions

__all__ = ["has_drawing", "write_style"]


def write_style(
    pattern: PatternSet,
    target: Path,
    form: str,
    *,
    decimals: int | None = None,
    replace: bool = False,
    onto: Path | None = None,
    wishes: ReadOptions | None = None,
    sources: Sequence[str | Path] = (),
) -> WritingReport:
    """Write a set.

    Parameters
    ----------
    form : "set", "svg", "svg-folder", "dxf", "dxf-rules", "dxf-as-read" or "json"
        ``dxf-as-read``: the drawing that the set came from, in which only the pieces that
        changed are drawn anew.
    decimals : int or None
        Decimals of a millimetre, for drawings.
    onto : Path or None
        The drawing that the set came from, where the set itself does not hold it: pieces of
        which not a point differs come back letter for letter.
    wishes : ReadOptions or None
        How `onto` is read; as the set was when it was begun.
    sources : sequence of path
        What was read to make this; it is never written to.  `onto` is one of them.

    Raises
    ------
    FormatError
        The set comes from no drawing and none is given, or it cannot be read.
    OutputError
        Something stands there and is not to be replaced, or cannot be written.
    """
    sources = (*sources, *([] if onto is None else [onto]))
    if form == "set":
        return _write_set(pattern, target, sources, replace=replace)
    if form == "json":
        return _write_json(pattern, target, sources, replace=replace)
    if form in ("svg", "svg-folder"):
        from propagate.io.options import SvgWriting
        from propagate.io.svg.write import write_drawings

        options = SvgWriting(one_file=form == "svg", replace=replace, sources=sources)
        if decimals is not None:
            options = replaced(options, decimals=decimals)
        return write_drawings(pattern, target, options)
    if form in ("dxf", "dxf-rules", "dxf-as-read"):
        from propagate.io.convert_dxf import write_dxf

        return write_dxf(
            pattern,
            target,
            form,
            decimals=decimals,
            replace=replace,
            onto=onto,
            wishes=wishes,
            sources=sources,
        )
    raise FormatError(f"found the form '{form}', expected set, svg, svg-folder, dxf or json")


def has_drawing(pattern: PatternSet) -> bool:
    """Tell whether the geometry of a set is a DXF, on which it can be written back."""
    return origin_of(pattern).drawing is not None


def _write_set(
    pattern: PatternSet, target: Path, sources: Sequence[str | Path], *, replace: bool
) -> WritingReport:
    from propagate.io.folder import save

    notes = ReportNotes()
    if has_drawing(pattern):
        notes.add("lost", "what set.toml says of the DXF: the geometry is now of our own form")
        pattern = replaced(pattern, origin=replaced(origin_of(pattern), drawing=None))
    written = save(pattern, target, replace=replace, sources=sources)
    if written.kept is not None:
        notes.add("kept", written.kept_words)
    return WritingReport("set", tuple(str(target / name) for name in written.files), notes.lines)


def _write_json(
    pattern: PatternSet, target: Path, sources: Sequence[str | Path], *, replace: bool
) -> WritingReport:
    from propagate.io.geometry_json import dump_piece
    from propagate.io.output import write_files
    from propagate.io.svg.write import lost_relations

    files = {f"{name}.json": dump_piece(piece).encode() for name, piece in pattern.pieces.items()}
    write_files(target, files, replace=replace, sources=sources)
    notes = ReportNotes()
    lost_relations(pattern, notes)
    notes.add("lost", "titles, cutting, folds and allowances of the pieces, which set.toml holds")
    return WritingReport("JSON", tuple(str(target / name) for name in files), notes.lines)
