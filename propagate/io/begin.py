"""Read a style from whatever files it is in: a set, vector drawings, PDF, DXF, our JSON."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from propagate.errors import FormatError
from propagate.io.options import ReadOptions, dxf_choices
from propagate.io.reading import MOST_BYTES, MOST_TOML_BYTES, decode_text, list_files, read_limited
from propagate.io.report import ReadingReport, ReportNotes, told_once
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo

if TYPE_CHECKING:
    pass

__all__ = ["kind_of", "read_dxf", "read_style", "relations_source", "with_relations"]

_BY_SUFFIX = {".svg": "svg", ".svgz": "svg", ".dxf": "dxf", ".rul": "dxf", ".json": "json"}
_BY_SUFFIX |= {".toml": "set", ".pdf": "pdf"}
_KINDS = {"svg": "SVG", "pdf": "PDF", "dxf": "DXF", "json": "JSON", "set": "set"}


def kind_of(paths: Sequence[Path]) -> str:
    """``"set"``, ``"svg"``, ``"pdf"``, ``"dxf"`` or ``"json"``.

    Raises
    ------
    FormatError
        Files of several kinds or of none, or a path that is not there.
    """
    if not paths:
        raise FormatError("found no file to read, expected at least one")
    kinds: set[str] = set()
    for path in paths:
        if not path.exists():
            raise FormatError(f"there is no '{path}'; expected a file or folder to read")
        inside = path.iterdir() if path.is_dir() else [path]
        drawn = {kind for file in inside if (kind := _BY_SUFFIX.get(file.suffix.lower()))}
        if path.is_dir():
            drawn = drawn - {"pdf"} or drawn  # beside drawings a PDF is a print of them
            drawn = {"set"} if (path / "set.toml").is_file() else drawn
        kinds |= drawn
    if len(kinds) != 1:
        said = " and ".join(sorted(_KINDS[kind] for kind in kinds))
        found = f"files of {said}" if said else "no drawing"
        raise FormatError(
            f"found {found} in {', '.join(map(str, paths[:4]))}, expected files of one "
            "kind: a set, .svg, .pdf, .dxf (with its .rul) or .json"
        )
    return kinds.pop()


def read_style(
    paths: Sequence[str | Path], wishes: ReadOptions | None = None
) -> tuple[PatternSet, ReadingReport]:
    """Read a style; the set is not validated unless it was one already.

    Raises
    ------
    FormatError
        A file cannot be read; InvalidSet for a set that breaks rules of the model.
    """
    from propagate.io.cut_boundary import allowances_wished, with_seam_lines

    chosen = wishes or ReadOptions()
    found = [Path(path) for path in paths]
    kind = kind_of(found)
    said = None if kind == "dxf" else allowances_wished(chosen)  # what is none is refused first
    pattern, report = _read_kind(kind, found, chosen)
    if said is None or kind in ("set", "dxf"):  # a DXF may have both lines: its reader sees
        return pattern, report
    told = ReportNotes()
    pattern = with_seam_lines(pattern, said, told)
    notes = ReportNotes()
    notes.extend((*report.lines, *told_once(told.lines, pattern.sizes)))
    return pattern, replace(report, lines=notes.lines)


def _read_kind(
    kind: str, paths: Sequence[Path], wishes: ReadOptions
) -> tuple[PatternSet, ReadingReport]:
    """Read files of one kind by their reader, which is loaded only then."""
    if kind == "json":
        return _read_json(paths, wishes)
    if kind == "dxf":
        from propagate.io.begin import read_dxf

        return read_dxf(paths, wishes)
    if kind == "svg":
        from propagate.io.svg.read import read_drawings

        return read_drawings(paths, wishes)
    if kind == "pdf":
        from propagate.io.pdf.read import read_sheet_of_pdf
        from propagate.io.sheet.read import read_sheet

        notes, files = ReportNotes(), list_files(paths, ".pdf")
        pattern = read_sheet(read_sheet_of_pdf(files, wishes, notes), wishes, notes)
        return pattern, ReadingReport("PDF", tuple(map(str, files)), notes.lines)
    from propagate.io.folder import load, reading_of

    if len(paths) > 1:
        raise FormatError(f"found {len(paths)} sets, expected one")
    pattern = load(paths[0])
    reading = reading_of(pattern)
    return pattern, ReadingReport("set", (str(paths[0]),), reading.lines if reading else ())


def with_relations(pattern: PatternSet, file: Path) -> PatternSet:
    """Give pieces that were read the name, sizes, chart and relations of a relations file.

    Raises
    ------
    FormatError
        The file cannot be read, or names a size that was not read.
    """
    from propagate.errors import InvalidSet
    from propagate.io import set_toml
    from propagate.io.geometry_toml import with_levels
    from propagate.io.origin import Origin

    source = relations_source(file)
    head = set_toml.parse_set(decode_text(source, file), str(file))
    if head.drawn:
        raise FormatError(
            f"{file}: geometry = '{head.geometry}' asks for the DXF itself as the geometry of the "
            "set; keep it with --keep-dxf, or take this line and [dxf] out"
        )
    missing = [size for size in head.sizes if size not in pattern.sizes]
    if missing:
        raise FormatError(
            f"{file}: found size '{missing[0]}', which was not read, expected sizes among "
            f"{', '.join(pattern.sizes)}"
        )
    pieces = {
        name: Piece(name, {size: piece.nest[size] for size in head.sizes})
        for name, piece in pattern.pieces.items()
    }
    pieces, wrong = with_levels(pieces, head.levels)
    if wrong:
        raise InvalidSet(head.name, tuple(wrong))
    return replace(
        pattern,
        name=head.name,
        sizes=head.sizes,
        base=head.base,
        lay_on=head.lay_on,
        info=head.info,
        relations=head.relations,
        chart=head.chart,
        pieces=pieces,
        origin=Origin(text=source),
    )


def relations_source(file: Path) -> bytes:
    """Return the bytes of a relations file.

    Raises
    ------
    FormatError
        It cannot be read, or is not UTF-8.
    """
    source = read_limited(file, MOST_TOML_BYTES)
    decode_text(source, file)
    return source


def _read_json(paths: Sequence[Path], wishes: ReadOptions) -> tuple[PatternSet, ReadingReport]:
    from propagate.io.geometry_json import load_piece
    from propagate.io.geometry_toml import first_level
    from propagate.io.svg.files import choose_base, sorted_sizes

    files = list_files(paths, ".json")
    if wishes.unit not in (None, "mm"):
        raise FormatError(
            f"found --unit {wishes.unit} beside {files[0] if files else 'JSON'}, expected mm or no "
            "unit: our JSON is in millimetres; multiply its coordinates instead"
        )
    if not files:
        raise FormatError(f"{', '.join(map(str, paths))}: found no .json, expected a piece in each")
    notes = ReportNotes()
    pieces: dict[str, Piece] = {}
    for file in files:
        piece = load_piece(decode_text(read_limited(file, MOST_BYTES), file), file.name)
        if piece.name in pieces:
            raise FormatError(f"{file}: found piece '{piece.name}' twice, expected it once")
        pieces[piece.name] = piece
    drawn = list(dict.fromkeys(size for piece in pieces.values() for size in piece.nest))
    sizes = sorted_sizes(drawn, wishes, notes)
    for name, piece in pieces.items():
        missing = [size for size in sizes if size not in piece.nest]
        if missing:
            raise FormatError(
                f"piece '{name}': found no geometry in size '{missing[0]}', expected every size: "
                f"{', '.join(sizes)}"
            )
    base = choose_base(sizes, wishes, notes)
    pattern = PatternSet(
        name=wishes.name or files[0].absolute().parent.name or "pattern",
        sizes=sizes,
        base=base,
        lay_on=first_level(pieces.values(), base),
        pieces={name: Piece(name, {s: p.nest[s] for s in sizes}) for name, p in pieces.items()},
        info={name: PieceInfo(name) for name in pieces},
    )
    return pattern, ReadingReport("JSON", tuple(map(str, files)), notes.lines)


_NEUTRAL = re.compile(r"edge_\d+")


def read_dxf(paths: Sequence[Path], wishes: ReadOptions) -> tuple[PatternSet, ReadingReport]:
    """Read a DXF with its rule file; edges without names are named by their place.

    Raises
    ------
    FormatError
        The files cannot be read, or an option is none of the reader's.
    """
    from propagate.io.dxf.read import read
    from propagate.recognise.edge_names import name_edges, turn_upright
    from propagate.recognise.way_up import way_up

    files = list_files(paths, ".dxf", ".rul")
    drawings = [file for file in files if file.suffix.lower() == ".dxf"]
    rules = [wishes.rules] if wishes.rules else [f for f in files if f.suffix.lower() == ".rul"]
    if wishes.unit not in (None, "mm", "cm", "in"):
        raise FormatError(f"found the unit '{wishes.unit}', expected mm, cm or in for a DXF")
    dxf_choices(wishes)  # one that is none is refused first
    stems = {file.resolve().with_suffix("") for file in drawings}
    alone = [file for file in rules if file.resolve().with_suffix("") not in stems]
    if len(rules) > 1 and alone:
        raise FormatError(
            f"found {len(rules)} rule files ({', '.join(file.name for file in rules[:4])}), "
            f"expected one, or each with the name of its DXF: '{alone[0].name}' has none"
        )
    own = not rules or (len(drawings) > 1 and not alone)
    by_place: list[str] = []

    def names_by_place(piece: str, sized: SizedPiece) -> Mapping[str, str]:
        if not all(_NEUTRAL.fullmatch(name) for name in sized.edge_names):
            return {}
        by_place.append(piece)
        names = name_edges(
            [edge.points for edge in sized.edges], turn_upright(sized.grain.direction)
        )
        return dict(zip(sized.edge_names, names, strict=True))

    options = replace(wishes, rules=None if own else rules[0])
    pattern, report = read(drawings, options, name_edges=names_by_place)
    notes = ReportNotes()
    notes.extend(report.lines)
    nests = {name: pattern.pieces[name].nest for name in by_place}
    bases = {n: nest.get(pattern.base) or next(iter(nest.values())) for n, nest in nests.items()}
    said, doubts = way_up(bases)
    for words in (said, *doubts) if said else ():
        notes.add("assumed", words)
    return pattern, ReadingReport("DXF", tuple(map(str, [*drawings, *rules])), notes.lines)
