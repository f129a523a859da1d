"""One file as a style: its blocks with their texts, units and rule table."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import field
from pathlib import Path

import numpy as np

from propagate.counts import say_count
from propagate.errors import FormatError
from propagate.geometry.affine import UNMOVED, Affine
from propagate.io.clean_names import clean_name
from propagate.io.dxf.conventions import (
    BLOCKS_OF_OTHERS,
    CENTIMETRES_BELOW_MM,
    ENGLISH,
    METRIC,
    RULE_SUFFIXES,
    USUAL_PIECE_MM,
    Layer,
)
from propagate.io.dxf.damaged import load_raw
from propagate.io.dxf.entities import Counter, read_shapes, refuse_no_numbers
from propagate.io.dxf.frame import RawFile, check_file_size, decode_drawing
from propagate.io.dxf.rules import RuleTable, looks_stepwise, parse_rules, refuse_lost_rules
from propagate.io.dxf.shapes import (
    Insert,
    Shapes,
    expanded_count,
    find_block_place,
    flatten_block,
)
from propagate.io.dxf.texts import Ours, read_ours, sort_text
from propagate.io.options import Deltas, ReadOptions
from propagate.io.report import ReportNotes
from propagate.lengths import MM_PER_INCH
from propagate.values import dataclass

__all__ = ["Style", "StyleBlock", "load_style", "name_block"]

_KINDS_TOLD = 50
_NAMELESS = "piece"


@dataclass
class StyleBlock:
    """A block that may be a piece.

    Attributes
    ----------
    index : int
        Place in the file's list of blocks.
    shapes : Shapes
        In units of the file, in the block's own frame.
    words : mapping of keyword to value
    place : Affine
        Where the block is inserted, in mm.
    """

    index: int
    name: str
    shapes: Shapes
    words: Mapping[str, str]
    place: Affine


@dataclass
class Style:
    """A file of the interchange standard."""

    name: str
    data: bytes
    raw: RawFile
    words: Mapping[str, str]
    ours: Ours
    units: Units
    blocks: list[StyleBlock] = field(default_factory=list)
    table: RuleTable | None = None
    table_unit_mm: float = 1.0
    rule_data: bytes | None = None


def name_block(block: StyleBlock) -> str:
    """Name the piece that a block draws, by what it says of it or by its own name."""
    return clean_name(block.words.get("piece name", "") or block.name) or _NAMELESS


def _file_bytes(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if size > 512_000_000:
            raise FormatError(f"{path}: found {size / 1e6:.0f} MB; split the style into files")
        return path.read_bytes()
    except OSError as error:
        raise FormatError(f"{path}: cannot be read ({error.strerror})") from error


def load_style(path: Path, options: ReadOptions, deltas: Deltas, notes: ReportNotes) -> Style:
    """Read a file, its texts, units and rule table.

    Raises
    ------
    FormatError
        It cannot be read, is larger than can be read, or a line or point of a piece has no
        number for a coordinate.
    """
    name = path.name
    raw, data = load_raw(_file_bytes(path), name, notes)
    counter = Counter(name)
    shapes = [read_shapes(raw, block.entities, counter) for block in raw.blocks]
    outside = read_shapes(raw, raw.entities, counter)
    style_words, others = sort_text(outside.texts)
    ours, _ = read_ours(others)
    by_name = {
        block.name: (shape, block.base) for block, shape in zip(raw.blocks, shapes, strict=True)
    }
    inserts, inner = _collect_inserts(outside, shapes, notes, name)
    names = [block.name for block in raw.blocks if block.name.startswith(BLOCKS_OF_OTHERS)]
    if names:
        notes.info(
            f"{say_count(len(names), 'block')} with a name that begins with * or $: no piece, kept "
            f"as it is ({', '.join(names[:3])})",
            where=raw.name,
        )
    found: list[StyleBlock] = []
    sizes: dict[str, int] = {}
    drawn = Counter(name)  # blocks that hold each other in turn cannot be counted before
    for index, block in enumerate(raw.blocks):
        if block.name.startswith(BLOCKS_OF_OTHERS) or not block.name:
            continue
        own, _ = sort_text(shapes[index].texts)
        refuse_no_numbers(raw, shapes[index].extras, block.name, own, style_words)
        if block.name in inner and block.name not in inserts:
            continue
        counter.take(expanded_count(block.name, by_name, sizes) - shapes[index].weight)
        whole, problems = flatten_block(block.name, by_name, drawn.take)
        for problem in problems:
            notes.warn(problem, where=f"{name}, block '{block.name}'")
        words, _ = sort_text(whole.texts)
        style_words = {**{k: v for k, v in words.items() if k == "units"}, **style_words}
        found.append(StyleBlock(index, block.name, whole, words, UNMOVED))
    if outside.lines and not found:
        notes.warn("lines outside of blocks are no pieces; they are kept as they are", where=name)
    _list_extras(found, outside, notes, name)
    units = file_units(
        _measure_largest(found, inserts), style_words, raw.header, ours, options.unit, notes, name
    )
    for item in found:
        insert = inserts.get(item.name)
        if insert is not None:
            item.place = _place_block(insert, by_name[item.name][1], units.mm, notes, name)
    style = Style(name, data, raw, style_words, ours, units, found)
    _load_rules(style, path, options.rules, deltas, notes)
    return style


def _collect_inserts(
    outside: Shapes, shapes: list[Shapes], notes: ReportNotes, name: str
) -> tuple[dict[str, Insert], set[str]]:
    inserts: dict[str, Insert] = {}
    for insert in outside.inserts:
        if insert.block in inserts:
            notes.warn(
                f"block '{insert.block}' is inserted more than once; the first place counts",
                where=name,
            )
        inserts.setdefault(insert.block, insert)
    return inserts, {insert.block for shape in shapes for insert in shape.inserts}


def _place_block(
    insert: Insert, base: tuple[float, float], unit_mm: float, notes: ReportNotes, name: str
) -> Affine:
    where = f"{name}, block '{insert.block}'"
    try:
        place = find_block_place(insert, base, unit_mm)
    except ValueError:
        notes.warn("it is inserted with scale 0; its own frame is taken", where=where)
        return UNMOVED
    if not place.is_rigid:
        notes.warn(
            f"it is inserted with the scale {insert.scale[0]:g}, {insert.scale[1]:g}, "
            "which was applied",
            where=where,
        )
    elif not place.is_identity:
        notes.info("it is inserted moved or turned; that was applied", where=where)
    if place.is_mirrored:
        notes.warn("it is inserted mirrored; that was applied", where=where)
    return place


def _list_extras(found: list[StyleBlock], outside: Shapes, notes: ReportNotes, name: str) -> None:
    for block in found:
        kinds: dict[tuple[str, str], int] = {}
        for layer, entity in block.shapes.extras:
            kinds[entity.kind, layer] = kinds.get((entity.kind, layer), 0) + 1
        if len(kinds) > _KINDS_TOLD:
            more = len(kinds) - _KINDS_TOLD
            notes.warn(
                f"{more} more kinds of entities or layers not understood, kept as they are",
                where=f"{name}, block '{block.name}'",
            )
        for (kind, layer), count in itertools.islice(kinds.items(), _KINDS_TOLD):
            notes.warn(
                f"{count} {kind} on layer '{layer}' not understood, kept as it is",
                where=f"{name}, block '{block.name}'",
            )
        _, others = sort_text(block.shapes.texts)
        for text in read_ours(others)[1]:
            if text.layer in (Layer.BOUNDARY, Layer.ANNOTATION) and not text.text.startswith("#"):
                notes.info(
                    f"text '{text.text[:60]}' on layer {text.layer} is kept as it is",
                    where=f"{name}, block '{block.name}'",
                )
    for _, entity in outside.extras:
        notes.warn(f"{entity.kind} outside of blocks not understood, kept as it is", where=name)


def _measure_largest(found: list[StyleBlock], inserts: Mapping[str, Insert]) -> float:
    """Largest extent of a piece in units of the file."""
    largest = 0.0
    for block in found:
        lines = [line.points for line in block.shapes.lines if line.layer == Layer.BOUNDARY]
        if not lines:
            continue
        low = np.min([points.min(axis=0) for points in lines], axis=0)
        high = np.max([points.max(axis=0) for points in lines], axis=0)
        scale = inserts[block.name].scale if block.name in inserts else (1.0, 1.0)
        largest = max(largest, float(np.max((high - low) * np.abs(scale))))
    return largest


def _load_rules(
    style: Style, path: Path, file: Path | None, deltas: Deltas, notes: ReportNotes
) -> None:
    if file is None:
        file = next(
            (beside for end in RULE_SUFFIXES if (beside := path.with_suffix(end)).is_file()), None
        )
        if file is not None:
            notes.info(
                f"the rule file '{file.name}' beside it was read",
                option="--rules",
                where=style.name,
            )
    if file is None:
        return
    data = _file_bytes(file)
    check_file_size(data, file.name)
    text, _ = decode_drawing(data)
    table = parse_rules(text, file.name)
    pieces = {name_block(block): block.shapes for block in style.blocks}
    refuse_lost_rules(table, pieces, file.name, style.name)
    for problem in table.problems:
        notes.warn(problem, where=file.name)
    style.table, style.rule_data = table, data
    style.table_unit_mm = rule_unit(table, style.units, notes, file.name)
    stepwise = looks_stepwise(table)
    if table.rules and stepwise and deltas == "from sample":
        notes.warn(
            "the deltas are taken from the sample size; equal steps of one sign suggest that "
            "they may be meant from size to size",
            option="--dxf deltas=...",
            where=file.name,
        )
    elif table.rules:
        notes.info(
            f"the deltas are taken {deltas}"
            + ("" if deltas == "from sample" else ", added up from the sample size"),
            option="--dxf deltas=...",
            where=file.name,
        )


# ------------------------------------------------------------------------------------------ units

_MM = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH}
_OF_HEADER = {"1": "in", "4": "mm", "5": "cm"}  # $INSUNITS of general CAD
_NAMES = {"mm": "millimetres", "cm": "centimetres", "in": "inches"}


@dataclass(frozen=True)
class Units:
    """`mm` in one unit of the file, and its name."""

    name: str
    mm: float


def file_units(
    largest: float,
    words: Mapping[str, str],
    header: Mapping[str, str],
    ours: Ours,
    asked: str | None,
    notes: ReportNotes,
    where: str,
) -> Units:
    """Decide the unit of a file and say by what."""
    name, why = _unit_and_why(largest, words, header, ours, asked)
    text = f"lengths are in {_NAMES[name]}: {why}"
    low, high = USUAL_PIECE_MM
    size = largest * _MM[name]
    if largest and not low <= size <= high:
        notes.warn(
            f"{text}; the largest piece then measures {size:.0f} mm, expected {low:.0f} to "
            f"{high:.0f}",
            option="--unit",
            where=where,
        )
    elif why.startswith("guessed") or "although" in why:
        notes.warn(text, option="--unit", where=where)
    else:
        notes.info(text, option="--unit", where=where)
    return Units(name, _MM[name])


def _unit_and_why(
    largest: float,
    words: Mapping[str, str],
    header: Mapping[str, str],
    ours: Ours,
    asked: str | None,
) -> tuple[str, str]:
    if asked is not None:
        return asked, "as asked"
    own = ours.first("unit")
    if own in _MM:
        return own, f"the file says '@unit {own}'"
    stated = words.get("units", "").strip().lower()
    if stated.startswith(ENGLISH) or stated.startswith("inch"):
        return "in", f"the file says '{stated}'"
    if stated in _MM or stated.startswith("cent"):
        return ("cm" if stated.startswith("c") else stated), f"the file says '{stated}'"
    if stated.startswith(METRIC):
        if 0 < largest < CENTIMETRES_BELOW_MM:
            return "cm", (
                f"the file says '{stated}', although that usually means millimetres: the largest "
                f"piece measures {largest:.1f} units"
            )
        return "mm", f"the file says '{stated}'"
    if header.get("$INSUNITS") in _OF_HEADER:
        return _OF_HEADER[header["$INSUNITS"]], "the file's header says so"
    low, high = USUAL_PIECE_MM
    fits = [name for name in ("mm", "cm", "in") if low <= largest * _MM[name] <= high]
    name = fits[0] if fits else "mm"
    return name, f"guessed, the file states none and its largest piece measures {largest:.1f}"


def rule_unit(table: RuleTable, units: Units, notes: ReportNotes, where: str) -> float:
    """Millimetres in one unit of the rule table."""
    if table.units.startswith(ENGLISH):
        name = "in"
    elif table.units.startswith(METRIC) and units.name in ("mm", "cm"):
        name = units.name
    elif table.units.startswith(METRIC):
        name = "mm"
    else:
        name = units.name
    if name != units.name or not table.units:
        notes.warn(
            f"the rule table is read in {_NAMES[name]} "
            + (f"('{table.units}')" if table.units else "(it states no unit)")
            + f", the drawing in {_NAMES[units.name]}",
            where=where,
        )
    return _MM[name]
