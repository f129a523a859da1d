"""Collect the pieces of a file: which block draws which piece in which size."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from propagate.errors import FormatError
from propagate.io.dxf.conventions import MAX_DRAWINGS, MAX_GRADED
from propagate.io.dxf.draft import Draft, draft
from propagate.io.dxf.grading import Grade, graded, has_rules, without_numbers
from propagate.io.dxf.loops import closed_lines
from propagate.io.dxf.options import ReadOptions
from propagate.io.dxf.ours import read_ours
from propagate.io.dxf.placing import moved, scaled
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.shapes import Shapes
from propagate.io.dxf.source import BlockOf
from propagate.io.dxf.style import Style, StyleBlock, size_slug, slug
from propagate.io.dxf.unfold import unfold

__all__ = ["Found", "collect"]


@dataclass
class Found:
    """A piece as it was found: drawings by size, and the blocks they come from."""

    name: str
    title: str
    words: Mapping[str, str]
    drafts: dict[str, Draft] = field(default_factory=dict)
    styles: list[Style] = field(default_factory=list)
    halved: bool = False
    ruled: bool = False


def collect(
    style: Style, found: dict[str, Found], options: ReadOptions, notes: Notes, *, several: bool
) -> list[BlockOf]:
    """Draft every piece of a file; returns which block gives which piece and size."""
    own: list[BlockOf] = []
    drawings = sum(len(other.drafts) for other in found.values())
    spelt = {name.lower(): name for name in found}
    _check_graded(style)
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
        free = _free_name(name, spelt, drawn, found, style, notes, where, ruled=ruled)
        if free is None:
            continue
        name = free
        item = found.get(name) or Found(name, title or name, block.words)
        item.ruled = item.ruled or ruled
        if not _draft_all(item, block, drawn, options, notes, where):
            continue
        found.setdefault(name, item).styles.append(style)
        spelt.setdefault(name.lower(), name)
        drawings += len(drawn)
        if drawings > MAX_DRAWINGS:
            raise FormatError(
                f"{style.name}: found more than {MAX_DRAWINGS} drawings (pieces times sizes); "
                "split the style into several files"
            )
        only = None if ruled else next(iter(drawn))
        own.append(BlockOf(block.index, name, only, block.place))
    return own


def _check_graded(style: Style) -> None:
    """Refuse more points, counted in every size of the rule table, than can be drawn in time."""
    if style.table is None:
        return
    points = sum(block.shapes.weight for block in style.blocks if has_rules(block.shapes))
    if points * len(style.table.sizes) > MAX_GRADED:
        raise FormatError(
            f"{style.name}: found {points} points in blocks with grade rules of "
            f"{len(style.table.sizes)} sizes, expected at most {MAX_GRADED} in all sizes together; "
            "split the style into several files"
        )


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
    grade = Grade(style.table, style.table_unit_mm, options.deltas, options.axis)
    return graded(shapes, grade, notes, where)


def _size(style: Style, block: StyleBlock, notes: Notes, where: str, *, several: bool) -> str:
    stated = block.words.get("size", "").strip()
    if stated:
        return size_slug(stated)
    title = block.words.get("piece name", "").strip()
    if title and block.name.lower().startswith(title.lower()) and len(block.name) > len(title):
        size = slug(block.name[len(title) :].strip(" -_"))
        why = "the end of its block's name"
    elif several:
        size, why = slug(Path(style.name).stem), "its file's name"
    else:
        size = size_slug(style.words.get("sample size", "") or "one")
        why = "the sample size" if style.words.get("sample size") else "only one size"
    notes.warn(f"its block names no size; '{size}' is taken from {why}", where=where)
    return size


def _free_name(
    name: str,
    spelt: Mapping[str, str],
    drawn: Mapping[str, Shapes],
    found: Mapping[str, Found],
    style: Style,
    notes: Notes,
    where: str,
    *,
    ruled: bool,
) -> str | None:
    """Return the piece's name, spelt as before; None when it was drawn already.

    Raises
    ------
    FormatError
        Another file with the same content drew it.
    """
    same = spelt.get(name.lower(), name)
    if same in found and (ruled or found[same].ruled or set(drawn) & set(found[same].drafts)):
        sizes = ", ".join(drawn)
        for other in found[same].styles:
            if other is not style and other.data == style.data:
                raise FormatError(
                    f"{where}, size {sizes}: found the same drawing in '{other.name}' and "
                    f"'{style.name}', expected each piece and size once; leave one of them out"
                )
        before = list(dict.fromkeys(style.name for style in found[same].styles))
        notes.warn(
            f"it is drawn more than once (size {sizes}); the first, in "
            f"{' and '.join(before)}, is taken, the other is kept as it is",
            where=where,
        )
        return None
    return same


def _draft_all(
    item: Found,
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
        if made.fold is not None and options.mirror == "unfold":
            item.halved = True
            notes.warn(
                "the half piece was not unfolded, since its cut line does not lie on the mirror "
                "line; it stays a half, on the fold",
                option="mirror",
                where=where,
            )
        elif made.fold is not None:
            item.halved = True
            notes.info(
                "it is a half piece with a mirror line; it stays a half, on the fold",
                option="mirror",
                where=where,
            )
        drafts[size] = made
    item.drafts.update(drafts)
    return True
