"""Read a style of the interchange standard: a DXF file, or several, and its rule file."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from propagate.errors import FormatError
from propagate.io.clean_names import clean_size
from propagate.io.cut_boundary import (
    AllowancesSaid,
    allowances_of_dxf,
    seam_of_piece,
    with_finishes,
)
from propagate.io.dxf.agree import agree_on_corners
from propagate.io.dxf.build import align_edges, sized_pieces
from propagate.io.dxf.collect import Found, collect_blocks
from propagate.io.dxf.entities import parse_number
from propagate.io.dxf.outline import measured_allowance
from propagate.io.dxf.rules import RuleTable
from propagate.io.dxf.seam_marks import keep_on_seam, place_notches_inside, tell_marks_inside
from propagate.io.dxf.source import BlockOf, DxfSource
from propagate.io.dxf.style import Style, load_style
from propagate.io.dxf.texts import parse_quantity
from propagate.io.options import DxfChoices, ReadOptions, dxf_choices
from propagate.io.origin import Origin
from propagate.io.report import ReadingReport, ReportNotes, told_once
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Allowance, PieceInfo
from propagate.recognise.darts import MOST_TIPS, clear_of_mouths, find_darts
from propagate.recognise.edge_names import rename_edges

__all__ = ["read"]

NameEdges = Callable[[str, SizedPiece], Mapping[str, str]]

MOST_LOOKED_AT = 5_000  # drill marks of all pieces that may be the tips of darts
_NEUTRAL = re.compile(r"edge_\d+_*")  # what `sized_pieces` calls an edge without a name


def read(
    paths: str | Path | Sequence[str | Path],
    options: ReadOptions | None = None,
    *,
    name_edges: NameEdges | None = None,
) -> tuple[PatternSet, ReadingReport]:
    """Read pieces in all sizes from DXF.

    Parameters
    ----------
    paths : path or sequence of paths
        One file, or several that make one style (one for each size, or for each piece).
    options : ReadOptions
    name_edges : callable or None
        (piece, the piece in the base size) -> neutral edge name (``edge_1``, ``edge_2``...) to
        the name wanted.

    Returns
    -------
    pattern : PatternSet
        Without relations; levels only where the drawing names them.  A piece that is not
        edited remembers its drawing.
    report : ReadingReport
        Every choice, ambiguity and everything that was not understood.

    Raises
    ------
    FormatError
        A file cannot be read, holds no piece, is larger than can be read, or is given twice.
    """
    options = options or ReadOptions()
    choices = dxf_choices(options)
    files = [Path(paths)] if isinstance(paths, (str, Path)) else [Path(path) for path in paths]
    if not files:
        raise FormatError("found no file to read, expected at least one DXF file")
    met: dict[Path, Path] = {}
    for file in files:
        first = met.setdefault(file.resolve(), file)
        if first is not file:
            also = "" if str(first) == str(file) else f" (also as '{first}')"
            raise FormatError(f"found the file '{file}' twice{also}, expected each file once")
    notes = ReportNotes()
    styles = [load_style(path, options, choices.deltas, notes) for path in files]
    found: dict[str, Found] = {}
    blocks: dict[int, list[BlockOf]] = {}
    for style in styles:
        blocks[id(style)] = collect_blocks(style, found, choices, notes, several=len(styles) > 1)
    if not found:
        said = [str(line) for line in notes.lines if line.kind == "warning"][-3:]
        raise FormatError(
            f"{', '.join(style.name for style in styles)}: found no piece, expected blocks with a "
            "closed line on layer 1" + "".join(f"\n  - {line}" for line in said)
        )
    return _assemble_set(styles, found, blocks, (options, choices, name_edges), notes)


# ------------------------------------------------------------------------------- assembling


def _assemble_set(
    styles: Sequence[Style],
    found: Mapping[str, Found],
    blocks: Mapping[int, list[BlockOf]],
    said: tuple[ReadOptions, DxfChoices, NameEdges | None],
    notes: ReportNotes,
) -> tuple[PatternSet, ReadingReport]:
    options, choices, name_edges = said
    first = styles[0]
    sizes = order_sizes([list(item.drafts) for item in found.values()], first.table, options, notes)
    base = base_size(sizes, first, options, notes)
    sources = {
        id(style): DxfSource(
            style.name,
            style.data,
            style.rule_data,
            tuple(blocks[id(style)]),
            style.units.mm,
            style.raw,
            choices.deltas,
        )
        for style in styles
    }
    said_of_cuts = allowances_of_dxf(options, choices)
    drawn_edges: dict[str, tuple[str, ...]] = {}
    pieces: dict[str, Piece] = {}
    info: dict[str, PieceInfo] = {}
    left = MOST_LOOKED_AT
    for name, item in found.items():
        own = base if base in item.drafts else next(iter(item.drafts))
        how = choices, name_edges, min(MOST_TIPS, left)
        nest, fold, widths = _draw_nest(item, own, sizes, how, said_of_cuts, notes)
        left = max(0, left - len(item.drafts[own].drills))
        info[name] = _build_info(item, own, nest[own], fold or None, choices, notes)
        drawn_edges[name] = nest[own].edge_names
        if any(widths.values()) or options.boundary == "cut":
            nest, info[name] = _find_seam_lines(item, own, nest, widths, info[name], sizes, notes)
        pieces[name] = Piece(name, nest)
        for own_style in item.styles:
            sources[id(own_style)].pieces[name] = nest
    if said_of_cuts is not None:
        said_of_cuts.check_names(drawn_edges)
    levels = [
        level for piece in pieces.values() for level in next(iter(piece.nest.values())).levels
    ]
    lay_on = first.ours.first("lay_on") or (levels[0] if levels else "lay_on")
    if not levels:
        notes.info("the drawing names no levels", option="lay_on")
    pattern = PatternSet(
        options.name or first.ours.first("set") or first.words.get("style name", "").strip()
        or Path(first.name).stem,
        sizes,
        base,
        lay_on,
        pieces,
        info,
        origin=Origin(pieces=pieces, sources=tuple(sources.values())),
    )  # fmt: skip
    _check_tolerance(first, notes)
    return pattern, ReadingReport("DXF", tuple(style.name for style in styles), notes.lines)


def _draw_nest(
    item: Found,
    base: str,
    sizes: Sequence[str],
    how: tuple[DxfChoices, NameEdges | None, int],
    said_of_cuts: AllowancesSaid | None,
    notes: ReportNotes,
) -> tuple[dict[str, SizedPiece], str, Mapping[str, float]]:
    """A piece as it is drawn, its fold, and the allowances of a cut line that is drawn alone."""
    where = f"piece '{item.name}'"
    missing = [size for size in sizes if size not in item.drafts]
    if missing:
        notes.warn(f"it is not drawn in size {', '.join(missing)}", where=where)
    agree_on_corners({s: item.drafts[s] for s in sizes if s in item.drafts}, notes, where)
    align_edges(item.drafts, base, notes, where)
    told = ReportNotes()
    nest, fold = _build_nest(item, base, sizes, how, told)
    widths: Mapping[str, float] = {}
    # A size that was drawn anew has both lines, beside others that have the cut line alone.
    alone = [size for size in nest if item.drafts[size].alone]
    if alone and said_of_cuts is not None:
        inside = any(item.drafts[size].fold_inside for size in alone)
        widths = said_of_cuts.widths(item.name, nest[base].edge_names, None if inside else fold)
        if place_notches_inside(item.drafts, {s: nest[s] for s in alone}, widths):
            told = ReportNotes()
            nest, fold = _build_nest(item, base, sizes, how, told)
    notes.extend(told.lines)
    return nest, fold, widths


def _find_seam_lines(
    item: Found,
    base: str,
    nest: dict[str, SizedPiece],
    widths: Mapping[str, float],
    info: PieceInfo,
    sizes: Sequence[str],
    notes: ReportNotes,
) -> tuple[dict[str, SizedPiece], PieceInfo]:
    """A piece on its seam lines where cut lines are drawn alone, else how its corners are finished.

    `widths` are the allowances of cut lines that are drawn alone.
    """
    told = ReportNotes()
    if any(widths.values()):
        drawn = {size: piece for size, piece in nest.items() if item.drafts[size].alone}
        drawn = keep_on_seam(item.drafts, drawn)
        seams, info = seam_of_piece(item.name, drawn, widths, info, told, along_legs=False)
        tell_marks_inside(item.drafts, seams, told, item.name)
        nest = {**nest, **seams}
    elif item.drafts[base].cut is not None:
        rings = {size: cut for size in nest if (cut := item.drafts[size].cut) is not None}
        both = {size: nest[size] for size in rings}
        info = with_finishes(item.name, both, rings, base, info, told)
    notes.extend(told_once(told.lines, sizes))
    return nest, info


def _build_nest(
    item: Found,
    base: str,
    sizes: Sequence[str],
    how: tuple[DxfChoices, NameEdges | None, int],
    notes: ReportNotes,
) -> tuple[dict[str, SizedPiece], str]:
    """A piece as it is drawn, its edges and marks named and its darts found, and its fold."""
    choices, name_edges, most = how
    where = f"piece '{item.name}'"
    nest = sized_pieces(item.drafts, base, notes, where)
    nest = {size: nest[size] for size in sizes if size in nest}
    index = item.drafts[base].fold
    fold = "" if index is None else nest[base].edge_names[index]
    if choices.darts == "join":
        nest, fold = _with_darts(nest, base, fold, most, notes, where)
    if name_edges is not None:
        names = name_edges(item.name, nest[base])
        nest = {size: rename_edges(piece, names) for size, piece in nest.items()}
        fold = names.get(fold, fold)
    return nest, fold


def _with_darts(
    nest: dict[str, SizedPiece], base: str, fold: str, most: int, notes: ReportNotes, where: str
) -> tuple[dict[str, SizedPiece], str]:
    """Find the darts, and say what was taken for one and what was not."""
    if len(nest[base].drills) > most:
        notes.warn(
            f"it has more than {MOST_TIPS} drill marks, or all pieces have more than "
            f"{MOST_LOOKED_AT}: no darts were looked for",
            option="--dxf darts=...",
            where=where,
        )
        return nest, fold
    own_names = {name for name in nest[base].edge_names if not _NEUTRAL.fullmatch(name)}
    darts = find_darts(nest, base, keep=own_names)
    for item in darts.found:
        notes.info(item.words, option="--dxf darts=...", where=where)
    for words in darts.doubts:
        notes.warn(words, where=where)
    for words in darts.passed:
        notes.info(words, where=where)
    return darts.nest, darts.names.get(fold, fold)


def _build_info(
    item: Found,
    base: str,
    piece: SizedPiece,
    fold: str | None,
    choices: DxfChoices,
    notes: ReportNotes,
) -> PieceInfo:
    where = f"piece '{item.name}'"
    counts = parse_quantity(item.words)
    cut, pair = 1, False
    if counts is None:
        notes.info("it states no quantity; 1 is taken", where=where)
    else:
        cut, pair = sum(counts), counts[1] > 0
        if cut > 1 and not pair:
            notes.info(
                f"its quantity is {cut} with none mirrored: they are taken as alike",
                option="--dxf quantity=...",
                where=where,
            )
    if item.halved and choices.quantity == "halves":
        cut = -(-cut // 2)
        pair = False
    draft_ = item.drafts[base]
    allowance = Allowance()
    if draft_.cut is not None:
        edges = [clear_of_mouths(piece, name) for name in piece.edge_names]
        allowance = measured_allowance(edges, piece.edge_names, draft_.cut, notes, where)
    return PieceInfo(
        title=item.title,
        cut=cut,
        pair=pair,
        fabric=item.words.get("material", "").strip(),
        allowance=allowance,
        fold=fold,
    )


def _check_tolerance(style: Style, notes: ReportNotes) -> None:
    stated = style.words.get("curve tolerance", "").split()[:1]
    try:
        [parse_number(text) for text in stated]
    except ValueError:
        notes.warn(f"the curve tolerance '{stated[0]}' is no number", where=style.name)


# ------------------------------------------------------------------------------------------ sizes


def order_sizes(
    drawn: Sequence[list[str]], table: RuleTable | None, options: ReadOptions, notes: ReportNotes
) -> tuple[str, ...]:
    """Return the sizes in the order of the nest and say what gave it."""
    present = list(dict.fromkeys(size for sizes in drawn for size in sizes))
    if options.sizes:
        unknown = [size for size in present if size not in options.sizes]
        if unknown:
            raise FormatError(
                f"found the sizes {', '.join(present)}, but the order asked for does not name "
                f"{', '.join(unknown)}; name every size"
            )
        return tuple(size for size in options.sizes if size in present)
    if table is not None and set(present) <= set(table.sizes):
        return tuple(size for size in table.sizes if size in present)
    try:
        by_value = sorted(present, key=float)
    except ValueError:
        if len(present) > 1:
            notes.info(
                f"the sizes stand in the order of the file: {', '.join(present)}", option="--sizes"
            )
        return tuple(present)
    if by_value != present:
        notes.info(
            f"the sizes were put in order of their numbers: {', '.join(by_value)}", option="--sizes"
        )
    return tuple(by_value)


def base_size(
    sizes: tuple[str, ...], style: Style, options: ReadOptions, notes: ReportNotes
) -> str:
    """Return the base size: as asked, as the rule table or the style says, else the middle."""
    stated = clean_size(style.words.get("sample size", ""))
    for base, asked in (
        (options.base or "", True),
        (style.table.sample if style.table else "", False),
        (stated, False),
    ):
        if base in sizes:
            return base
        if base and asked:
            raise FormatError(f"found no size '{base}', expected one of {', '.join(sizes)}")
    base = sizes[len(sizes) // 2]
    notes.warn(f"the file names no sample size; '{base}' is taken", option="--base")
    return base
