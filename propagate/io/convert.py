"""Write a style in any form, and say what that form cannot carry."""

from __future__ import annotations

from pathlib import Path

from propagate.errors import FormatError
from propagate.io.report import LineKind, ReportNotes, WritingReport
from propagate.pattern.patternset import PatternSet

__all__ = ["write_style"]


def write_style(
    pattern: PatternSet,
    target: Path,
    form: str,
    *,
    decimals: int | None = None,
    replace: bool = False,
) -> WritingReport:
    """Write a set.

    Parameters
    ----------
    pattern : PatternSet
    target : Path
    form : "set", "svg", "svg-folder", "dxf", "dxf-rules" or "json"
    decimals : int or None
        Decimals of a millimetre, for drawings.
    replace : bool

    Raises
    ------
    OutputError
        Something stands there and is not to be replaced, or cannot be written.
    """
    if form == "set":
        return _set(pattern, target, replace=replace)
    if form == "json":
        return _json(pattern, target, replace=replace)
    if form in ("svg", "svg-folder"):
        from propagate.io.svg.options import SvgWriting
        from propagate.io.svg.write import write

        options = SvgWriting(one_file=form == "svg", replace=replace)
        if decimals is not None:
            options = SvgWriting(one_file=form == "svg", replace=replace, decimals=decimals)
        return write(pattern, target, options)
    if form in ("dxf", "dxf-rules"):
        return _dxf(pattern, target, form, decimals, replace=replace)
    raise FormatError(f"found the form '{form}', expected set, svg, svg-folder, dxf or json")


def _set(pattern: PatternSet, target: Path, *, replace: bool) -> WritingReport:
    from propagate.io.folder import save

    save(pattern, target, replace=replace)
    files = ["set.toml", *(f"geometry/{name}.json" for name in pattern.pieces)]
    return WritingReport("set", tuple(str(target / name) for name in files))


def _json(pattern: PatternSet, target: Path, *, replace: bool) -> WritingReport:
    from propagate.io.files import write_files
    from propagate.io.geometry_json import dumps
    from propagate.io.svg.write import lost_relations

    files = {f"{name}.json": dumps(piece).encode() for name, piece in pattern.pieces.items()}
    write_files(target, files, replace=replace)
    notes = ReportNotes()
    lost_relations(pattern, notes)
    notes.add("lost", "titles, cutting, folds and allowances of the pieces, which set.toml holds")
    return WritingReport("JSON", tuple(str(target / name) for name in files), notes.lines)


def _dxf(
    pattern: PatternSet, target: Path, form: str, decimals: int | None, *, replace: bool
) -> WritingReport:
    from propagate.io.dxf.options import WriteOptions
    from propagate.io.dxf.write import write

    options = WriteOptions(
        kind="rules" if form == "dxf-rules" else "nested",
        precision=0.001 if decimals is None else 10.0**-decimals,
        replace=replace,
    )
    report = write(pattern, target, options)
    notes = ReportNotes()
    for note in report.notes:
        kind: LineKind = "warning" if note.severity == "warning" else "found"
        where = f"{note.where}: " if note.where else ""
        notes.add(kind, f"{where}{note.text}".rstrip("."), option=note.option or None)
    files = tuple(str(target.parent / Path(file).name) for file in report.files)
    return WritingReport("DXF", files, notes.lines)
