"""Read vector drawings (SVG): one file for each size, or one with a group for each size."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from propagate.errors import FormatError
from propagate.io.clean_names import clean_name
from propagate.io.drawn_lines import DrawnText
from propagate.io.geometry_toml import first_level
from propagate.io.options import ReadOptions
from propagate.io.reading import list_files
from propagate.io.report import ReadingReport, ReportNotes, told_once
from propagate.io.sheet.piece_words import put_words, tell_allowance_words
from propagate.io.sheet.texts import said_by, texts_on
from propagate.io.svg.build import assemble_piece, named_by_place
from propagate.io.svg.drawing import read_drawing
from propagate.io.svg.files import choose_base, size_of_files, sorted_sizes
from propagate.io.svg.grains import Marked, mark_pieces
from propagate.io.svg.marks import Place, assume_grain
from propagate.io.svg.nest import SizeDrawing, edges_have_names, edges_of_sizes
from propagate.io.svg.shared import pieces_of_sizes
from propagate.io.svg.sorting import DrawnPiece, pieces_in, size_groups
from propagate.io.svg.xml_tree import read_xml
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.names import free_name, quote_names
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import PieceInfo
from propagate.recognise.darts import MOST_TIPS, find_darts
from propagate.recognise.edge_names import name_edges, rename_edges, turn_upright
from propagate.recognise.way_up import way_up
from propagate.values import dataclass

__all__ = ["SizeSheet", "outlines_are", "pattern_of_sheets", "read_drawings"]

MOST_MARK_WORK = 10_000_000  # lines on a piece times points of its outline
_SEAM_INSIDE = "; a line inside an outline whose name has 'seam' in it is taken in its place"


@dataclass(frozen=True, eq=False)
class SizeSheet:
    """The pieces that are drawn in one size, and the file that they and its texts are in."""

    file: str
    pieces: list[DrawnPiece]
    texts: tuple[DrawnText, ...] = ()

    def name_by_texts(self) -> None:
        """Name pieces whose lines have no name by the texts on them."""
        nameless = {k: piece for k, piece in enumerate(self.pieces) if not piece.name}
        areas = {k: piece.ring.polygon for k, piece in nameless.items()}
        for k, texts in texts_on(self.texts, areas).items():
            nameless[k].name = clean_name(said_by(texts).title).lower() or None

    def name_pieces(self, size: str, notes: ReportNotes) -> None:
        """Give every piece a name of its own."""
        used: set[str] = set()
        for number, piece in enumerate(self.pieces, start=1):
            said = clean_name(piece.name or "")
            wanted = said or f"piece_{number}"
            plain = wanted.casefold()
            name = wanted + free_name(plain, used).removeprefix(plain)
            if not said:
                text = "a piece without a name is numbered in the order of drawing"
                notes.add("assumed", text, file=self.file, piece=name, size=size)
            elif name != said:
                text = f"two pieces are called '{said}'; one is now '{name}'"
                notes.add("warning", text, file=self.file, size=size)
            used.add(name.casefold())
            piece.name = name


def read_drawings(
    paths: Sequence[str | Path], options: ReadOptions | None = None
) -> tuple[PatternSet, ReadingReport]:
    """Read a style from SVG files.

    Parameters
    ----------
    paths : sequence of str or Path
        Files, or folders with files.

    Returns
    -------
    PatternSet, ReadingReport
        The set has no relations; it is not validated.

    Raises
    ------
    FormatError
        A file cannot be read, or the sizes do not have the same pieces, edges or corners.
    """
    chosen = options or ReadOptions()
    files = list_files(paths, ".svg")
    if not files:
        where = f" in {', '.join(map(str, paths))}" if paths else ""
        raise FormatError(f"found no file to read{where}, expected at least one SVG file")
    notes = ReportNotes()
    sheets = _read_sheets(files, chosen, notes)
    sizes = sorted_sizes(list(sheets), chosen, notes)
    base = choose_base(sizes, chosen, notes)
    _take_size_words_away(sheets, notes)
    for size in sizes:
        sheets[size].name_by_texts()
        sheets[size].name_pieces(size, notes)
    names = {piece.name or "" for piece in sheets[base].pieces}
    unlike = []
    for size, sheet in sheets.items():
        own = {piece.name or "" for piece in sheet.pieces}
        if names - own:
            unlike.append(f"size '{size}' lacks {quote_names(sorted(names - own))}")
        if own - names:
            more = quote_names(sorted(own - names))
            unlike.append(f"size '{size}' has {more}, which size '{base}' lacks")
    if unlike:
        raise FormatError(
            f"the sizes do not have the same pieces: {'; '.join(unlike)}; name the pieces "
            "alike in every size (the id or label of each piece's group)"
        )
    notes.add("assumed", outlines_are(chosen, _SEAM_INSIDE), option="--boundary")
    if chosen.boundary != "cut":
        written = (text.text for text in sheets[base].texts)
        tell_allowance_words(written, sheets[base].file, notes)
    _put_words(sheets, sizes, base, notes)
    told = files[0].stem if len(files) == 1 else files[0].absolute().parent.name
    name = chosen.name or clean_name(told) or "pattern"
    pattern = pattern_of_sheets(name, sheets, sizes, base, chosen, notes)
    lines = told_once(notes.lines, sizes)
    return pattern, ReadingReport("SVG", tuple(map(str, files)), lines)


def outlines_are(options: ReadOptions, inside: str = "") -> str:
    """What the outlines of a drawing are taken for, in words."""
    if options.boundary == "cut":
        return "the outlines are taken as cut lines; the seam lines lie inside by the allowances"
    return f"the outlines are taken as seam lines, without allowances{inside}"


def pattern_of_sheets(
    name: str,
    sheets: Mapping[str, SizeSheet],
    sizes: Sequence[str],
    base: str,
    options: ReadOptions,
    notes: ReportNotes,
) -> PatternSet:
    """Put a set together from the pieces drawn in every size, whatever drawing they are of.

    Parameters
    ----------
    sheets : mapping of size to SizeSheet
        The same pieces in each, by their names.
    sizes : sequence of str
        In their order.

    Returns
    -------
    PatternSet
        It has no relations and is not validated.
    """
    pieces: dict[str, Piece] = {}
    info: dict[str, PieceInfo] = {}
    by_place: dict[str, SizedPiece] = {}
    for size, sheet in sheets.items():  # each mark is looked for along the whole outline
        work = sum(len(piece.shapes) * len(piece.ring.points) for piece in sheet.pieces)
        if work > MOST_MARK_WORK:
            raise FormatError(
                f"{sheet.file}, size '{size}': found so many lines on so long outlines that "
                f"{work / 1e6:.0f} million pairs of a line and a point would have to be looked at, "
                f"expected at most {MOST_MARK_WORK / 1e6:.0f} million; take hatchings out"
            )
    by_name = {size: {piece.name: piece for piece in sheets[size].pieces} for size in sizes}
    in_sizes = {
        name: {size: by_name[size][name] for size in sizes} for name in by_name[base] if name
    }
    files = {size: sheets[size].file for size in sizes}
    marked = mark_pieces(in_sizes, files, sheets[base].texts, base, options)
    for drawn in sheets[base].pieces:
        assert drawn.name is not None
        own, marks = in_sizes[drawn.name], marked[drawn.name]
        piece, fold, placed = _nest(drawn.name, own, marks, files, base, options, notes)
        pieces[drawn.name] = piece
        cut = drawn.data.get("cut", "1")
        info[drawn.name] = PieceInfo(
            title=drawn.data.get("title") or drawn.name,
            cut=int(cut) if cut.isdecimal() and int(cut[:6]) > 0 else 1,
            pair=drawn.data.get("pair") == "true",
            fabric=drawn.data.get("fabric", ""),
            fold=fold,
        )
        by_place |= {drawn.name: piece.at(base)} if placed else {}
    said, doubts = way_up(by_place)
    for words in (said, *doubts) if said else ():
        notes.add("assumed", words)
    return PatternSet(
        name=name,
        sizes=tuple(sizes),
        base=base,
        lay_on=first_level(pieces.values(), base),
        pieces=pieces,
        info=info,
    )


def _read_sheets(
    files: Sequence[Path], options: ReadOptions, notes: ReportNotes
) -> dict[str, SizeSheet]:
    """The pieces of every size."""
    sheets: dict[str, SizeSheet] = {}
    plain: list[tuple[Path, SizeSheet]] = []
    for file in files:
        whole = read_drawing(read_xml(file), file.name, options, notes)
        found = size_groups(whole, options)
        groups, left_out = found.groups, found.left_out
        texts = tuple(whole.all_texts())
        if not groups:
            own = SizeSheet(
                file.name, pieces_in(whole, options, notes, file.name, file.stem), texts
            )
            plain.append((file, own))
        of_sizes = pieces_of_sizes(found, texts, options, notes, file.name)
        for name, pieces in of_sizes.items():
            if name in sheets:
                raise FormatError(f"{file}: found size '{name}' twice, expected each size once")
            sheets[name] = SizeSheet(file.name, pieces, texts)
        if groups:
            names = ", ".join(size for size, _ in groups)
            notes.add("found", f"a group for each size: {names}", option="--sizes", file=file.name)
        if left_out:
            text = f"sizes that --sizes does not name are left out: {', '.join(left_out)}"
            notes.add("ignored", text, option="--sizes", file=file.name)
    named = size_of_files([file for file, _ in plain], options, notes)
    for size, (file, sheet) in zip(named, plain, strict=True):
        if size in sheets:
            raise FormatError(
                f"{file}: found size '{size}' twice, expected each size once; name the sizes in "
                "the order of the files with --sizes"
            )
        sheets[size] = sheet
    for size, sheet in sheets.items():
        if not sheet.pieces:
            raise FormatError(
                f"{sheet.file}, size '{size}': found no outline, expected closed lines, or edges "
                f"that meet end to end within {options.join:g} mm; a larger --join closes gaps"
            )
    return sheets


def _take_size_words_away(sheets: Mapping[str, SizeSheet], notes: ReportNotes) -> None:
    """Call pieces alike in all sizes: an id is told once in a file, so ids often end in the size.

    That is done where the names are the same in every size then, and were not before.
    """
    plain = {
        size: [_without_size(piece.name, size) for piece in sheet.pieces]
        for size, sheet in sheets.items()
    }
    drawn = {frozenset(piece.name or "" for piece in sheet.pieces) for sheet in sheets.values()}
    if len(sheets) < 2 or len(drawn) < 2 or len({frozenset(names) for names in plain.values()}) > 1:
        return
    for size, sheet in sheets.items():
        for piece, name in zip(sheet.pieces, plain[size], strict=True):
            piece.name = name or None
    notes.add("assumed", "the size in the name of a piece is no part of its name")


def _without_size(name: str | None, size: str) -> str:
    found = re.fullmatch(
        rf"(?:{re.escape(size)}[-_. ]+)?(.+?)(?:[-_. ]+{re.escape(size)})?", name or ""
    )
    return found[1] if found else name or ""


def _put_words(
    sheets: Mapping[str, SizeSheet], sizes: Sequence[str], base: str, notes: ReportNotes
) -> None:
    """Put down what the texts on the pieces of the base size say of cutting."""
    sheet = sheets[base]
    by_name = {size: {piece.name: piece for piece in sheets[size].pieces} for size in sizes}
    areas = {k: piece.ring.polygon for k, piece in enumerate(sheet.pieces)}
    held = texts_on(sheet.texts, areas)
    for k, texts in held.items():
        if texts:
            name = sheet.pieces[k].name or ""
            drawn = {size: by_name[size][name] for size in sizes}
            put_words(drawn, said_by(texts), sizes, name, notes, sheet.file)
    lost = len(sheet.texts) - sum(map(len, held.values()))
    if lost:
        notes.add("ignored", "a text that stands on no piece", file=sheet.file, count=lost)


def _nest(
    name: str,
    in_sizes: Mapping[str, DrawnPiece],
    marked: Mapping[str, Marked],
    files: Mapping[str, str],
    base: str,
    options: ReadOptions,
    notes: ReportNotes,
) -> tuple[Piece, str | None, bool]:
    """A piece in all its sizes, the edge on its fold, and whether edges were named by place."""
    drawings = {}
    for size, drawn in in_sizes.items():
        place = Place(notes, files[size], name, size)
        if drawn.ring.gap > 1e-6:
            place.note("repaired", f"gaps of up to {drawn.ring.gap:.3g} mm were closed", "--join")
        notes.extend(marked[size].place.notes.lines)
        marks = marked[size].marks
        if marks.grain is None:
            marks.grain = assume_grain(drawn.ring.points, place)
        drawings[size] = SizeDrawing(drawn.ring, marks, place)
    edges, fold = edges_of_sizes(drawings, base, options)
    nest = {
        size: assemble_piece(edges[size], drawing.marks, drawing.place)
        for size, drawing in drawings.items()
    }
    same = _in_all_sizes(name, named_by_place(nest, base), notes)
    named = edges_have_names(drawings)
    same, fold = with_darts(same, base, fold, drawings[base].place, named=named)
    return Piece(name, same), fold, not named


def _in_all_sizes(
    name: str, nest: Mapping[str, SizedPiece], notes: ReportNotes
) -> Mapping[str, SizedPiece]:
    """Leave out landmarks, darts and levels that some size lacks, and say so."""
    every = nest.values()
    marks = set.intersection(*({m.name for m in sized.landmarks} for sized in every))
    darts = set.intersection(*({d.name for d in sized.darts} for sized in every))
    levels = set.intersection(*(set(sized.levels) for sized in every))
    found = {}
    for size, sized in nest.items():
        keep = marks - {leg for dart in sized.darts if dart.name not in darts for leg in dart.legs}
        lost = [m.name for m in sized.landmarks if m.name not in keep]
        lost += [dart.name for dart in sized.darts if dart.name not in darts]
        lost += [level for level in sized.levels if level not in levels]
        for word in lost:
            text = f"'{word}' is not drawn in every size and was left out"
            notes.add("warning", text, piece=name, size=size)
        found[size] = replace(
            sized,
            landmarks=tuple(m for m in sized.landmarks if m.name in keep),
            darts=tuple(dart for dart in sized.darts if dart.name in darts),
            levels={level: point for level, point in sized.levels.items() if level in levels},
        )
    return found


def with_darts(
    nest: Mapping[str, SizedPiece],
    base: str,
    fold: str | None,
    place: Place,
    *,
    named: bool,
) -> tuple[Mapping[str, SizedPiece], str | None]:
    """Find darts, say what was taken for one and what was not, and name the edges anew.

    Parameters
    ----------
    nest : mapping of size to SizedPiece
    fold : str or None
        The edge on the fold.
    place : Place
        Where messages point.
    named : bool
        The drawing has names for the edges: they stay, and what looks like a dart is told.

    Returns
    -------
    nest : mapping of size to SizedPiece
        Itself where no dart was found.
    fold : str or None
    """
    if len(nest[base].drills) > MOST_TIPS:
        place.note("warning", f"it has more than {MOST_TIPS} drill marks: no darts were looked for")
        return nest, fold
    darts = find_darts(nest, base, keep=nest[base].edge_names if named else ())
    for words in darts.doubts:
        place.note("warning", words)
    if named:
        return nest, fold
    for words in darts.passed:
        place.note("found", words)
    for item in darts.found:
        place.note("assumed", f"{item.words}; edges that have names stay as they are drawn")
    if not darts.found:
        return nest, fold
    main = darts.nest[base]
    on_fold = None if fold is None else main.edge_names.index(darts.names[fold])
    names = name_edges(
        [edge.points for edge in main.edges], turn_upright(main.grain.direction), on_fold
    )
    new = dict(zip(main.edge_names, names, strict=True))
    renamed = {size: rename_edges(piece, new) for size, piece in darts.nest.items()}
    return renamed, None if fold is None else new[darts.names[fold]]
