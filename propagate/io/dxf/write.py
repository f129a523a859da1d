"""Write a style of the interchange standard: a DXF file and, when asked, its rule file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from propagate.counts import say_count
from propagate.errors import FormatError, OutputError
from propagate.io.dxf.conventions import (
    ENGLISH,
    LAYERS,
    METRIC,
    RULE_SUFFIXES,
    VERSION_LINE,
    Layer,
)
from propagate.io.dxf.number import Numbering
from propagate.io.dxf.rules import RuleTable, render_rules
from propagate.io.dxf.sheet import Pen
from propagate.io.dxf.source import DxfSource
from propagate.io.dxf.splice import splice_drawing
from propagate.io.dxf.texts import MARKER, escape_text, plain_text
from propagate.io.dxf.written import Written, block_text, block_texts, insert_text
from propagate.io.options import WriteOptions
from propagate.io.origin import origin_of, source_of
from propagate.io.output import write_files
from propagate.io.report import ReportNotes, WritingReport
from propagate.lengths import MM_PER_INCH
from propagate.pattern.patternset import PatternSet
from propagate.values import dataclass

__all__ = ["DxfWriting", "render_drawing", "write"]

_STYLE_HEIGHT = 5.0


@dataclass(frozen=True)
class DxfWriting(WritingReport):
    """How a style was written.

    Attributes
    ----------
    as_read : tuple of str
        Pieces that were written exactly as they were read.
    ruled, nested : tuple of str
        Pieces written in the base size with grade rules, and in every size.
    """

    as_read: tuple[str, ...] = ()
    ruled: tuple[str, ...] = ()
    nested: tuple[str, ...] = ()


def write(
    pattern: PatternSet,
    path: str | Path,
    options: WriteOptions | None = None,
    *,
    source: DxfSource | None = None,
) -> DxfWriting:
    """Write a set as DXF.

    Parameters
    ----------
    pattern : PatternSet
    path : str or Path
        The DXF file; a rule file gets its name with ``.rul``.
    options : WriteOptions
    source : DxfSource
        The drawing that the set came from; found by itself where it is one.

    Returns
    -------
    DxfWriting
        What was written how, and what the file cannot carry.

    Raises
    ------
    OutputError
        A file exists and is not to be replaced, or cannot be written.
    """
    options = options or WriteOptions()
    path = Path(path)
    if not 1e-6 <= options.rounding <= 1.0:
        raise FormatError(f"found the precision {options.rounding:g} mm, expected 0.000001 to 1 mm")
    if not pattern.pieces:
        raise OutputError(f"set '{pattern.name}' has no piece to write")
    if path.suffix.lower() in ("", ".rul"):
        raise OutputError(f"'{path}': expected a file name that ends in .dxf")
    files, report = render_drawing(pattern, options, source)
    named = {
        path.name if end == ".dxf" else path.with_suffix(end).name: data
        for end, data in files.items()
    }
    # Rules that stand beside a drawing are read with it, so old ones must not stay.
    rules = {path.with_suffix(end).name for end in RULE_SUFFIXES} - set(named)
    write_files(
        path.absolute().parent,
        named,
        replace=options.replace,
        sources=options.sources,
        never_beside=sorted(rules),
    )
    return replace(report, files=tuple(named))


def render_drawing(
    pattern: PatternSet, options: WriteOptions, source: DxfSource | None = None
) -> tuple[dict[str, bytes], DxfWriting]:
    """Return a set as DXF: the files by their endings, and how they are written."""
    notes = ReportNotes()
    unit_mm = MM_PER_INCH if options.units == "in" else 1.0
    decimals = Pen(unit_mm, options.rounding).decimals
    numbering = Numbering(pattern.sizes, pattern.base, unit_mm, decimals=decimals)
    out = Written(pattern, options, notes, numbering)
    if options.kind == "as read":
        source = source or source_of(pattern)
        files = splice_drawing(out, source) if source is not None else None
        if files is None:
            if origin_of(pattern).sources:
                notes.info(
                    "the set does not come from one drawing that can be written back: it is "
                    "written anew"
                )
            files = _write_anew(out, unit_mm, rules=False)
    else:
        files = _write_anew(out, unit_mm, rules=options.kind == "rules")
    _tell_lost(pattern, out)
    report = DxfWriting(
        "DXF",
        tuple(files),
        notes.lines,
        tuple(out.as_read),
        tuple(out.ruled),
        tuple(out.nested),
    )
    return files, report


# ------------------------------------------------------------------------------------ fresh


def _write_anew(out: Written, unit_mm: float, *, rules: bool) -> dict[str, bytes]:
    pen = Pen(unit_mm, out.options.rounding)
    blocks: list[str] = []
    inserts: list[str] = []
    for name in out.pattern.pieces:
        for block, text in block_texts(out, name, pen, rules=rules):
            blocks.append(block_text(block, text))
            inserts.append(insert_text(block))
    _style_text(out, pen)
    inside = pen.take()
    text = (
        "  0\nSECTION\n  2\nHEADER\n  9\n$ACADVER\n  1\nAC1009\n"
        "  9\n$INSBASE\n 10\n0.0\n 20\n0.0\n 30\n0.0\n"
        f"  9\n$MEASUREMENT\n 70\n{int(unit_mm == 1.0)}\n  0\nENDSEC\n"
        + _write_tables()
        + f"  0\nSECTION\n  2\nBLOCKS\n{''.join(blocks)}  0\nENDSEC\n"
        + f"  0\nSECTION\n  2\nENTITIES\n{inside}{''.join(inserts)}  0\nENDSEC\n  0\nEOF\n"
    )
    files = {".dxf": text.encode("ascii")}
    if out.ruled:
        options = out.options
        table = RuleTable(
            plain_text(out.pattern.name),
            tuple(plain_text(size) for size in out.pattern.sizes),
            plain_text(out.pattern.base),
            out.numbering.rules,
            ENGLISH if options.units == "in" else METRIC,
            {"author": plain_text(options.author), "date": options.date, "time": options.time},
        )
        files[".rul"] = render_rules(table, decimals=pen.decimals).encode("ascii")
    return files


def _style_text(out: Written, pen: Pen) -> None:
    pattern, options = out.pattern, out.options
    inches = options.units == "in"
    lines = [
        VERSION_LINE,
        f"Style Name: {plain_text(pattern.name)}",
        *([f"Creation Date: {plain_text(options.date)}"] if options.date else []),
        *([f"Creation Time: {plain_text(options.time)}"] if options.time else []),
        *([f"Author: {plain_text(options.author)}"] if options.author else []),
        f"Sample Size: {plain_text(pattern.base)}",
        *([f"Grade Rule Table: {plain_text(pattern.name)}"] if out.ruled else []),
        f"Units: {'ENGLISH' if inches else 'METRIC'}",
    ]
    for index, line in enumerate(lines):
        pen.text(Layer.BOUNDARY, (0.0, -1.4 * _STYLE_HEIGHT * index), line, height=_STYLE_HEIGHT)
    if options.names:
        own = {"unit": options.units, "set": pattern.name, "lay_on": pattern.lay_on}
        for word, value in own.items():
            pen.text(
                Layer.ANNOTATION, (0.0, 0.0), f"{MARKER}{word} {escape_text(value)}", height=2.0
            )


def _write_tables() -> str:
    layers = "".join(
        f"  0\nLAYER\n  2\n{name}\n 70\n0\n 62\n7\n  6\nCONTINUOUS\n" for name in ("0", *LAYERS)
    )
    return (
        "  0\nSECTION\n  2\nTABLES\n"
        "  0\nTABLE\n  2\nLTYPE\n 70\n1\n  0\nLTYPE\n  2\nCONTINUOUS\n 70\n0\n  3\nSolid line\n"
        " 72\n65\n 73\n0\n 40\n0.0\n  0\nENDTAB\n"
        f"  0\nTABLE\n  2\nLAYER\n 70\n{len(LAYERS) + 1}\n{layers}  0\nENDTAB\n"
        "  0\nTABLE\n  2\nSTYLE\n 70\n1\n  0\nSTYLE\n  2\nSTANDARD\n 70\n0\n 40\n0.0\n 41\n1.0\n"
        " 50\n0.0\n 71\n0\n 42\n2.5\n  3\ntxt\n  4\n\n  0\nENDTAB\n"
        "  0\nENDSEC\n"
    )


def _tell_lost(pattern: PatternSet, out: Written) -> None:
    """Say what the standard cannot carry."""
    relations = pattern.relations
    counts = {
        "assembly": len(relations.assemblies),
        "seam": len(relations.seams),
        "opening": len(relations.openings),
        "stack": len(relations.stacks),
        "band": len(relations.bands),
        "place": len(relations.places),
        "girth": len(relations.girths),
        "chart row": len(pattern.chart),
    }
    kept = ", ".join(say_count(count, what) for what, count in counts.items() if count)
    if kept:
        out.notes.info(f"the format has no place for relations, which stay in the set: {kept}")
    texts = [pattern.name, *(info.title for info in pattern.info.values())]
    texts += [info.fabric for info in pattern.info.values()]
    texts += [*pattern.pieces, *pattern.sizes]
    for text in dict.fromkeys(text for text in texts if not text.isascii()):
        out.notes.info(f"'{text}' is written in ASCII letters as '{plain_text(text)}'")
    for name in (*out.ruled, *out.nested):
        info = pattern.info[name]
        if info.allowance.turned or info.allowance.corners or info.anchors:
            out.notes.info(
                "how its hem is turned up, its corners' styles and its anchors show in the cut "
                "line only; they stay in the set",
                where=f"piece '{name}'",
            )
        if any(edge.path for piece in pattern.pieces[name].nest.values() for edge in piece.edges):
            out.notes.info(
                "edges drawn with path data are written as points", where=f"piece '{name}'"
            )
