"""Write a style as DXF: anew, or back on the drawing that it came from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace as replaced
from pathlib import Path
from typing import Final, Literal

from propagate.errors import FormatError
from propagate.io.begin import read_dxf
from propagate.io.dxf.source import DxfSource
from propagate.io.dxf.write import write
from propagate.io.options import ReadOptions, WriteOptions
from propagate.io.origin import origin_of, source_of
from propagate.io.report import ReportNotes, WritingReport
from propagate.pattern.model import Piece
from propagate.pattern.patternset import PatternSet

__all__ = ["write_dxf"]

_KINDS: Final[dict[str, Literal["nested", "rules", "as read"]]] = {
    "dxf": "nested",
    "dxf-rules": "rules",
    "dxf-as-read": "as read",
}


def write_dxf(
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
    """Write a set as DXF; see `propagate.io.convert.write_style`."""
    source = None
    if form == "dxf-as-read":
        pattern, source = _on_its_drawing(pattern, onto, wishes)
    options = WriteOptions(
        kind=_KINDS[form],
        precision=None if decimals is None else 10.0**-decimals,
        replace=replace,
        sources=tuple(sources),
    )
    report = write(pattern, target, options, source=source)
    notes = ReportNotes()
    if source is not None and report.as_read:
        notes.add("kept", f"letter for letter: {', '.join(report.as_read)}")
    for words, names in (
        ("drawn anew, with grade rules", report.ruled),
        ("drawn anew, in every size that changed", report.nested),
    ):
        if source is not None and names:
            notes.add("found", f"{words}: {', '.join(names)}")
    notes.extend(report.lines)
    files = tuple(str(target.parent / Path(file).name) for file in report.files)
    return WritingReport("DXF", files, notes.lines)


def _on_its_drawing(
    pattern: PatternSet, onto: Path | None, wishes: ReadOptions | None
) -> tuple[PatternSet, DxfSource]:
    """The set on the drawing that it came from."""
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
    wishes = replaced(wishes or ReadOptions(), base=pattern.base)
    original, _ = read_dxf([onto], wishes)
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
