"""Read a style of the interchange standard: a DXF file, or several, and its rule file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from propagate.errors import FormatError
from propagate.io.dxf.build import align, rename, sized_pieces
from propagate.io.dxf.conventions import MAX_DRAWINGS, MAX_GRADED
from propagate.io.dxf.draft import Draft, draft
from propagate.io.dxf.grading import Grade, graded, has_rules, without_numbers
from propagate.io.dxf.loops import closed_lines
from propagate.io.dxf.nest import BlockOf, DxfNest, DxfSource
from propagate.io.dxf.options import ReadOptions
from propagate.io.dxf.ours import read_ours
from propagate.io.dxf.placing import moved, scaled
from propagate.io.dxf.reports import Kind, Notes, ReadingReport
from propagate.io.dxf.seam_line import measured_allowance
from propagate.io.dxf.shapes import Shapes, number
from propagate.io.dxf.sizes import base_size, ordered
from propagate.io.dxf.style import Style, StyleBlock, load_style, slug
from propagate.io.dxf.systemtext import quantity
from propagate.io.dxf.unfold import unfold
from propagate.pattern.model import Piece, SizedPiece
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Allowance, PieceInfo

__all__ = ["read"]


@dataclass
class _Found:
    """A piece as it was found: drawings by size, and the blocks they come from."""

    name: str
    title: str
    words: Mapping[str, str]
    drafts: dict[str, Draft] = field(default_factory=dict)
    styles: list[Style] = field(default_factory=list)
    halved: bool = False
    ruled: bool = False


def read(
    paths: str | Path | Sequence[str | Path], options: ReadOptions | None = None
) -> tuple[PatternSet, ReadingReport]:
    """Read pieces in all sizes from DXF.

    Parameters
    ----------
    paths : path or sequence of paths
        One file, or several that make one style (one for each size, or for each piece).
    options : ReadOptions

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
        A file cannot be read, holds no piece, or is larger than can be read.
    """
    options = options or ReadOptions()
    files = [Path(paths)] if isinstance(paths, (str, Path)) else [Path(path) for path in paths]
    if not files:
        raise FormatError("found no file to read, expected at least one DXF file")
    notes = Notes()
    styles = [load_style(path, options, notes) for path in files]
    found: dict[str, _Found] = {}
    blocks: dict[int, list[BlockOf]] = {}
    for style in styles:
        blocks[id(style)] = _collect(style, found, options, notes, several=len(styles) > 1)
    if not found:
        said = [str(note) for note in notes if note.severity == "warning"][-3:]
        raise FormatError(
            f"{', '.join(style.name for style in styles)}: found no piece, expected blocks with a "
            "closed line on layer 1" + "".join(f"\n  - {line}" for line in said)
        )
    return _assemble(styles, found, blocks, options, notes)


# ------------------------------------------------------------------------------- collecting


def _collect(
    style: Style, found: dict[str, _Found], options: ReadOptions, notes: Notes, *, several: bool
) -> list[BlockOf]:
    """Draft every piece of a file; returns which block gives which piece and size."""
    own: list[BlockOf] = []
    for block in style.blocks:
        ours, _ = read_ours(block.shapes.texts)
        title = ours.first("title") or block.words.get("piece name", "").strip()
        name = ours.first("piece") or slug(block.words.get("piece name", "") or block.name)
        where = f"{style.name}, piece '{name}'"
        shapes = closed_lines(scaled(block.shapes, style.units.mm), notes, where)
        ruled = style.table is not None and has_rules(shapes)
        if ruled:
            drawn = _by_rules(style, block, shapes, options, notes, where)
        else:
            if has_rules(shapes):
                notes.warn(
                    "its points have rule numbers but there is no rule file: it is read in the "
                    "drawn size only",
                    option="rules",
                    where=where,
                )
            size = ours.first("size") or _size(style, block, notes, where, several=several)
            drawn = {size: without_numbers(shapes)}
        free = _free_name(name, drawn, found, notes, where, ruled=ruled)
        if free is None:
            continue
        name = free
        item = found.get(name) or _Found(name, title or name, block.words)
        item.ruled = item.ruled or ruled
        if not _draft_all(item, block, drawn, options, notes, where):
            continue
        found.setdefault(name, item).styles.append(style)
        if sum(len(other.drafts) for other in found.values()) > MAX_DRAWINGS:
            raise FormatError(
                f"{style.name}: found more than {MAX_DRAWINGS} drawings (pieces times sizes); "
                "split the style into several files"
            )
        only = None if ruled else next(iter(drawn))
        own.append(BlockOf(block.index, name, only, block.place))
    return own


def _by_rules(
    style: Style,
    block: StyleBlock,
    shapes: Shapes,
    options: ReadOptions,
    notes: Notes,
    where: str,
) -> Mapping[str, Shapes]:
    assert style.table is not None
    stated = block.words.get("size", "").strip()
    if stated and stated != style.table.sample:
        notes.warn(
            f"the piece is drawn in size '{stated}', the rule table's sample size is "
            f"'{style.table.sample}'; it is taken as drawn in the sample size",
            where=where,
        )
    vertices = sum(len(line.points) for line in shapes.lines) + shapes.count
    if vertices * len(style.table.sizes) > MAX_GRADED:
        raise FormatError(
            f"{where}: found {vertices} points in {len(style.table.sizes)} sizes, expected at most "
            f"{MAX_GRADED} in all; write the style in several files"
        )
    grade = Grade(style.table, style.table_unit_mm, options.deltas, options.axis)
    return graded(shapes, grade, notes, where)


def _size(style: Style, block: StyleBlock, notes: Notes, where: str, *, several: bool) -> str:
    stated = block.words.get("size", "").strip()
    if stated:
        return slug(stated)
    title = block.words.get("piece name", "").strip()
    if title and block.name.lower().startswith(title.lower()) and len(block.name) > len(title):
        size = slug(block.name[len(title) :].strip(" -_"))
        why = "the end of its block's name"
    elif several:
        size, why = slug(Path(style.name).stem), "its file's name"
    else:
        size = slug(style.words.get("sample size", "") or "one")
        why = "the sample size" if style.words.get("sample size") else "only one size"
    notes.warn(f"its block names no size; '{size}' is taken from {why}", where=where)
    return size


def _free_name(
    name: str,
    drawn: Mapping[str, Shapes],
    found: Mapping[str, _Found],
    notes: Notes,
    where: str,
    *,
    ruled: bool,
) -> str | None:
    """Return the piece's name, spelt as before; None when it was drawn already."""
    same = next((other for other in found if other.lower() == name.lower()), name)
    if same in found and (ruled or found[same].ruled or set(drawn) & set(found[same].drafts)):
        sizes = ", ".join(drawn)
        notes.warn(
            f"it is drawn more than once (size {sizes}); the first is taken, the other is kept "
            "as it is",
            where=where,
        )
        return None
    return same


def _draft_all(
    item: _Found,
    block: StyleBlock,
    drawn: Mapping[str, Shapes],
    options: ReadOptions,
    notes: Notes,
    where: str,
) -> bool:
    drafts: dict[str, Draft] = {}
    for size, shapes in drawn.items():
        placed = moved(shapes, block.place)
        place = f"{where}, size {size}"
        if options.mirror == "unfold":
            whole = unfold(placed)
            if whole is not None:
                notes.info("the half piece was unfolded", option="mirror", where=where)
                placed, item.halved = whole, True
        made = draft(placed, options, notes, place)
        if isinstance(made, str):
            notes.warn(f"the block is no piece: {made}; it is kept as it is", where=place)
            return False
        if made.fold is not None and options.mirror == "keep":
            item.halved = True
            notes.info(
                "it is a half piece with a mirror line; it stays a half, on the fold",
                option="mirror",
                where=where,
            )
        drafts[size] = made
    item.drafts.update(drafts)
    return True


# ------------------------------------------------------------------------------- assembling


def _assemble(
    styles: Sequence[Style],
    found: Mapping[str, _Found],
    blocks: Mapping[int, list[BlockOf]],
    options: ReadOptions,
    notes: Notes,
) -> tuple[PatternSet, ReadingReport]:
    first = styles[0]
    sizes = ordered([list(item.drafts) for item in found.values()], first.table, options, notes)
    base = base_size(sizes, first, options, notes)
    sources = {
        id(style): DxfSource(
            style.name,
            style.data,
            style.rule_data,
            tuple(blocks[id(style)]),
            style.units.mm,
            options.deltas,
            style.raw.recovered,
        )
        for style in styles
    }
    pieces: dict[str, Piece] = {}
    info: dict[str, PieceInfo] = {}
    for name, item in found.items():
        where = f"piece '{name}'"
        own = base if base in item.drafts else next(iter(item.drafts))
        missing = [size for size in sizes if size not in item.drafts]
        if missing:
            notes.warn(f"it is not drawn in size {', '.join(missing)}", where=where)
        align(item.drafts, own, notes, where)
        nest = sized_pieces(item.drafts, own, notes, where)
        nest = {size: nest[size] for size in sizes if size in nest}
        if options.name_edges is not None:
            names = options.name_edges(name, nest[own])
            nest = {size: rename(piece, names) for size, piece in nest.items()}
        one = len({id(style) for style in item.styles}) == 1
        pieces[name] = Piece(
            name, DxfNest(name, nest, sources[id(item.styles[0])]) if one else nest
        )
        for own_style in item.styles:
            sources[id(own_style)].pieces[name] = nest
        info[name] = _info(item, own, nest[own], options, notes)
    levels = [
        level for piece in pieces.values() for level in next(iter(piece.nest.values())).levels
    ]
    lay_on = options.lay_on or first.ours.first("lay_on") or (levels[0] if levels else "lay_on")
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
    )  # fmt: skip
    return pattern, _report(first, found, styles, notes)


def _info(
    item: _Found, base: str, piece: SizedPiece, options: ReadOptions, notes: Notes
) -> PieceInfo:
    where = f"piece '{item.name}'"
    counts = quantity(item.words)
    cut, pair = 1, False
    if counts is None:
        notes.info("it states no quantity; 1 is taken", where=where)
    else:
        cut, pair = sum(counts), counts[1] > 0
        if cut > 1 and not pair:
            notes.info(
                f"its quantity is {cut} with none mirrored: they are taken as alike",
                option="quantity",
                where=where,
            )
    if item.halved and options.quantity == "halves":
        cut = -(-cut // 2)
        pair = False
    draft_ = item.drafts[base]
    allowance = Allowance()
    if draft_.cut is not None:
        edges = [edge.points for edge in piece.edges]
        allowance = measured_allowance(edges, piece.edge_names, draft_.cut, notes, where)
    fold = piece.edge_names[draft_.fold] if draft_.fold is not None else None
    return PieceInfo(
        title=item.title,
        cut=cut,
        pair=pair,
        fabric=item.words.get("material", "").strip(),
        allowance=allowance,
        fold=fold,
    )


def _report(
    first: Style, found: Mapping[str, _Found], styles: Sequence[Style], notes: Notes
) -> ReadingReport:
    ruled = {item.ruled for item in found.values()}
    kind: Kind = "mixed" if len(ruled) == 2 else ("rules" if True in ruled else "nested")
    tolerance = None
    text = first.words.get("curve tolerance", "").split()
    if text:
        try:
            tolerance = number(text[0]) * first.units.mm
        except ValueError:
            notes.warn(f"the curve tolerance '{text[0]}' is no number", where=first.name)
    return ReadingReport(
        tuple(notes),
        kind,
        first.units.mm,
        tolerance,
        dict(first.words),
        any(style.raw.recovered for style in styles),
    )
