"""Write a style in any form, and say what that form cannot carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace as replaced
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from propagate.errors import FormatError
from propagate.io.options import ReadOptions, SvgWriting, WriteOptions
from propagate.io.origin import origin_of, source_of
from propagate.io.report import ReportNotes, WritingReport
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet

if TYPE_CHECKING:
    from propagate.io.dxf.source import DxfSource

__all__ = ["has_drawing", "write_style"]

_KINDS: Final[dict[str, Literal["nested", "rules", "as read"]]] = {
    "dxf": "nested",
    "dxf-rules": "rules",
    "dxf-as-read": "as read",
}


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
        from propagate.io.svg.write import write_drawings

        options = SvgWriting(one_file=form == "svg", replace=replace, sources=sources)
        if decimals is not None:
            options = replaced(options, decimals=decimals)
        return write_drawings(pattern, target, options)
    if form in ("dxf", "dxf-rules", "dxf-as-read"):
        source = None
        if form == "dxf-as-read":
            pattern, source = _on_its_drawing(pattern, onto, wishes)
        dxf_options = WriteOptions(
            kind=_KINDS[form],
            precision=None if decimals is None else 10.0**-decimals,
            replace=replace,
            sources=sources,
        )
        return _write_dxf(pattern, target, dxf_options, source)
    raise FormatError(f"found the form '{form}', expected set, svg, svg-folder, dxf or json")


def has_drawing(pattern: PatternSet) -> bool:
    """Tell whether the geometry of a set is a DXF, on which it can be written back."""
    return origin_of(pattern).drawing is not None


def _write_dxf(
    pattern: PatternSet, target: Path, options: WriteOptions, source: DxfSource | None
) -> WritingReport:
    """Write a DXF anew, or back on the drawing that it came from."""
    from propagate.io.dxf.write import write

    report = write(pattern, target, options, source=source)
    notes = ReportNotes()
    if source is not None:
        if report.as_read:
            notes.add("kept", f"letter for letter: {', '.join(report.as_read)}")
        if report.ruled:
            notes.add("found", f"drawn anew, with grade rules: {', '.join(report.ruled)}")
        if report.nested:
            names = ", ".join(report.nested)
            notes.add("found", f"drawn anew, in every size that changed: {names}")
    notes.extend(report.lines)
    files = tuple(str(target.parent / Path(file).name) for file in report.files)
    return WritingReport("DXF", files, notes.lines)


def _on_its_drawing(
    pattern: PatternSet, onto: Path | None, wishes: ReadOptions | None
) -> tuple[PatternSet, DxfSource]:
    """The set on the drawing that it came from."""
    from propagate.io.begin import read_dxf

    drawing = origin_of(pattern).drawing
    if onto is None:
        if drawing is None:
            raise FormatError(
                f"set '{pattern.name}': it holds no drawing that it could be written back on; "
                "give the one that it came from with --onto ORIGINAL.dxf, or write it anew with "
                "--to dxf"
            )
        return pattern, drawing.source
    if not onto.is_file():
        raise FormatError(f"there is no '{onto}'; expected the DXF that the set came from")
    original, _ = read_dxf([onto], replaced(wishes or ReadOptions(), base=pattern.base))
    source = source_of(original)
    if source is None:
        raise FormatError(f"{onto}: found no piece that was read from one drawing")
    if not set(pattern.pieces) & set(original.pieces):
        raise FormatError(
            f"{onto}: none of its pieces ({', '.join(original.pieces)}) is in set "
            f"'{pattern.name}' ({', '.join(pattern.pieces)}); expected the DXF that it came from"
        )
    missing = [size for size in pattern.sizes if size not in original.sizes]
    if missing:
        raise FormatError(
            f"{onto}: found no size '{missing[0]}', expected the sizes of set '{pattern.name}' "
            f"among {', '.join(original.sizes)}; write it anew with --to dxf"
        )
    pieces = {
        name: Piece(name, {size: piece.nest[size] for size in pattern.sizes if size in piece.nest})
        for name, piece in original.pieces.items()
    }
    return replaced(pattern, origin=replaced(origin_of(original), pieces=pieces)), source


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
