"""The pieces of a file: which block draws which piece in which size."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from propagate.errors import FormatError
from propagate.geometry.corner import measure_turns
from propagate.geometry.polyline import near_vertices
from propagate.io.clean_names import clean_name, clean_size
from propagate.io.dxf.conventions import GRADED_LAYERS, MAX_DRAWINGS, MAX_GRADED, VALIDATION, Layer
from propagate.io.dxf.draft import Draft, draft_block
from propagate.io.dxf.grading import Grade, grade_shapes, has_rules, without_numbers
from propagate.io.dxf.outline import closed_lines, find_loops
from propagate.io.dxf.shapes import Line, Shapes, move_shapes, scale_shapes
from propagate.io.dxf.source import BlockOf
from propagate.io.dxf.style import Style, StyleBlock, name_block
from propagate.io.dxf.texts import read_ours
from propagate.io.options import DxfChoices
from propagate.io.report import ReportNotes
from propagate.pattern.model import Array
from propagate.recognise.folds import ON_MIRROR_MM, find_run_along

__all__ = ["Found", "collect_blocks"]

_ONE_SIZE = "one"


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


def collect_blocks(
    style: Style,
    found: dict[str, Found],
    choices: DxfChoices,
    notes: ReportNotes,
    *,
    several: bool,
) -> list[BlockOf]:
    """Draft every piece of a file; returns which block gives which piece and size."""
    own: list[BlockOf] = []
    drawings = sum(len(other.drafts) for other in found.values())
    spelt = {name.lower(): name for name in found}
    _check_graded(style)
    for block in style.blocks:
        ours, _ = read_ours(block.shapes.texts)
        title = ours.first("title") or block.words.get("piece name", "").strip()
        name = ours.first("piece") or name_block(block)
        where = f"{style.name}, piece '{name}'"
        shapes = closed_lines(scale_shapes(block.shapes, style.units.mm), notes, where)
        ruled = style.table is not None and has_rules(shapes)
        if ruled:
            drawn = _by_rules(style, block, shapes, choices, notes, where)
        else:
            if has_rules(shapes):
                notes.warn(
                    "its points have rule numbers but there is no rule file: it is read in the "
                    "drawn size only",
                    option="--rules",
                    where=where,
                )
            size = ours.first("size") or _tell_block_size(
                style, block, notes, where, several=several
            )
            drawn = {size: without_numbers(shapes)}
        free = _free_name(name, spelt, drawn, found, style, notes, where, ruled=ruled)
        if free is None:
            continue
        name = free
        item = found.get(name) or Found(name, title or name, block.words)
        item.ruled = item.ruled or ruled
        if not _draft_all(item, block, drawn, choices, notes, where):
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
    choices: DxfChoices,
    notes: ReportNotes,
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
    grade = Grade(style.table, style.table_unit_mm, choices.deltas, choices.axis)
    return grade_shapes(shapes, grade, notes, where)


def _tell_block_size(
    style: Style, block: StyleBlock, notes: ReportNotes, where: str, *, several: bool
) -> str:
    stated = block.words.get("size", "").strip()
    if stated:
        return clean_size(stated) or _ONE_SIZE
    title = block.words.get("piece name", "").strip()
    if title and block.name.lower().startswith(title.lower()) and len(block.name) > len(title):
        size = clean_name(block.name[len(title) :].strip(" -_"))
        why = "the end of its block's name"
    elif several:
        size, why = clean_name(Path(style.name).stem), "its file's name"
    else:
        size = clean_size(style.words.get("sample size", ""))
        why = "the sample size" if style.words.get("sample size") else "only one size"
    size = size or _ONE_SIZE
    notes.warn(f"its block names no size; '{size}' is taken from {why}", where=where)
    return size


def _free_name(
    name: str,
    spelt: Mapping[str, str],
    drawn: Mapping[str, Shapes],
    found: Mapping[str, Found],
    style: Style,
    notes: ReportNotes,
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
    choices: DxfChoices,
    notes: ReportNotes,
    where: str,
) -> bool:
    drafts: dict[str, Draft] = {}
    for size, shapes in drawn.items():
        placed = move_shapes(shapes, block.place)
        place = f"{where}, size {size}"
        if choices.mirror == "unfold":
            whole = unfold_shapes(placed)
            if whole is not None:
                notes.info("the half piece was unfolded", option="--dxf mirror=...", where=where)
                placed, item.halved = whole, True
        made = draft_block(placed, choices, notes, place)
        if isinstance(made, str):
            notes.warn(f"the block is no piece: {made}; it is kept as it is", where=place)
            return False
        if made.fold is not None and choices.mirror == "unfold":
            item.halved = True
            notes.warn(
                "the half piece was not unfolded, since its cut line does not lie on the mirror "
                "line; it stays a half, on the fold",
                option="--dxf mirror=...",
                where=where,
            )
        elif made.fold is not None:
            item.halved = True
            notes.info(
                "it is a half piece with a mirror line; it stays a half, on the fold",
                option="--dxf mirror=...",
                where=where,
            )
        drafts[size] = made
    item.drafts.update(drafts)
    return True


# ------------------------------------------------------------------------------------ half pieces

_SMOOTH_DEG = 5.0


def unfold_shapes(shapes: Shapes) -> Shapes | None:
    """Return the whole piece, or None when no outline has an edge on the mirror line.

    Points on the mirror line stay single; a corner there stays one only where the outline
    turns.
    """
    mirrors = [line for line in shapes.lines if line.layer == Layer.MIRROR]
    if not mirrors:
        return None
    start, end = mirrors[0].points[0], mirrors[0].points[-1]
    lines: list[Line] = []
    ends: list[Array] = []
    smooth: list[Array] = []
    for layer in (Layer.BOUNDARY, Layer.SEW):
        loops, _ = find_loops([line for line in shapes.lines if line.layer == layer])
        run = find_run_along(loops[0].points, start, end, within=ON_MIRROR_MM) if loops else None
        if not loops:
            continue
        if run is None:
            if layer == Layer.BOUNDARY:
                return None
            lines.append(Line(layer, loops[0].points, True, loops[0].lines[0].source))
            continue
        whole = _unfold_outline(loops[0].points, run, start, end)
        lines.append(Line(layer, whole, True, loops[0].lines[0].source))
        bends = np.abs(measure_turns(whole))
        on_fold = near_vertices(whole, loops[0].points[run])
        ends += list(loops[0].points[run])
        smooth += [whole[i] for i in on_fold if i >= 0 and bends[i] < _SMOOTH_DEG]
    for line in shapes.lines:
        if line.layer in (Layer.BOUNDARY, Layer.SEW, Layer.MIRROR):
            continue
        lines.append(line)
        if line.layer in (Layer.INTERNAL, Layer.CUT_OUT, *VALIDATION.values()):
            lines.append(replace(line, points=_mirror_points(line.points, start, end)))
    dropped = np.array(smooth).reshape(-1, 2)
    inside = np.array(ends).reshape(-1, 2)
    points = []
    for point in shapes.points:
        at = np.array([point.at])
        if point.layer == Layer.TURN and len(inside) and near_vertices(inside, at)[0] >= 0:
            if not len(dropped) or near_vertices(dropped, at)[0] < 0:
                points.append(point)
            continue
        points.append(point)
        twin = _mirror_points(at, start, end)[0]
        if point.layer in GRADED_LAYERS and np.hypot(*(twin - at[0])) > 0.05:
            points.append(replace(point, at=(float(twin[0]), float(twin[1]))))
    return Shapes(lines, points, shapes.texts, shapes.inserts, shapes.extras)


def _mirror_points(points: Array, start: Array, end: Array) -> Array:
    along = (end - start) / np.hypot(*(end - start))
    off = points - start
    image: Array = start + 2.0 * np.outer(off @ along, along) - off
    return image


def _unfold_outline(points: Array, run: list[int], start: Array, end: Array) -> Array:
    """Return the outline with its mirror image; `run` are the vertices on the fold."""
    count = len(points)
    first, last = run[0], run[-1]
    size = (first - last) % count
    rest = points[np.arange(last, last + size + 1) % count]
    image = _mirror_points(rest[1:-1][::-1], start, end)
    return np.vstack([rest, image])
