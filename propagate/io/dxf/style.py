"""One file as a style: its blocks with their texts, units and rule table."""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from propagate.errors import FormatError
from propagate.io.checks import is_name, is_size
from propagate.io.dxf.conventions import (
    ANNOTATION,
    BLOCKS_OF_OTHERS,
    BOUNDARY,
    RULE_SUFFIXES,
)
from propagate.io.dxf.lost_rules import refuse_lost_rules
from propagate.io.dxf.no_numbers import refuse_no_numbers
from propagate.io.dxf.options import ReadOptions
from propagate.io.dxf.ours import Ours, read_ours
from propagate.io.dxf.placing import IDENTITY, Placement, expanded_count, flatten, placement
from propagate.io.dxf.raw_file import load_raw
from propagate.io.dxf.reports import Notes
from propagate.io.dxf.rules import RuleTable, looks_stepwise, parse_rules
from propagate.io.dxf.shapes import Counter, Insert, Shapes, read_shapes
from propagate.io.dxf.systemtext import sort_text
from propagate.io.dxf.tags import RawFile, check_size, decode
from propagate.io.dxf.units import Units, file_units, rule_unit
from propagate.io.words import counted

__all__ = ["Style", "StyleBlock", "load_style", "size_slug", "slug"]

_KINDS_TOLD = 50
_FORBIDDEN = re.compile(r'[\s.\x00-\x1f\x7f/\\:*?"<>|]+')


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
    place : Placement
        Where the block is inserted, in mm.
    """

    index: int
    name: str
    shapes: Shapes
    words: Mapping[str, str]
    place: Placement


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


def slug(text: str) -> str:
    """Return a name that the model takes, as near to the text as can be."""
    name = _FORBIDDEN.sub("_", text.strip()).strip("_")
    return name if is_name(name) else "piece"


def size_slug(text: str) -> str:
    """Return a name of a size that the model takes, as near to the text as can be."""
    said = text.strip()
    return said if is_size(said) else slug(said)


def _piece_name(block: StyleBlock) -> str:
    return slug(block.words.get("piece name", "") or block.name)


def _file_bytes(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if size > 512_000_000:
            raise FormatError(f"{path}: found {size / 1e6:.0f} MB; split the style into files")
        return path.read_bytes()
    except OSError as error:
        raise FormatError(f"{path}: cannot be read ({error.strerror})") from error


def load_style(path: Path, options: ReadOptions, notes: Notes) -> Style:
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
    inserts, inner = _inserts(outside, shapes, notes, name)
    _skipped(raw, notes)
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
        whole, problems = flatten(block.name, by_name, drawn.take)
        for problem in problems:
            notes.warn(problem, where=f"{name}, block '{block.name}'")
        words, _ = sort_text(whole.texts)
        style_words = {**{k: v for k, v in words.items() if k == "units"}, **style_words}
        found.append(StyleBlock(index, block.name, whole, words, IDENTITY))
    if outside.lines and not found:
        notes.warn("lines outside of blocks are no pieces; they are kept as they are", where=name)
    _list_extras(found, outside, notes, name)
    units = file_units(
        _largest(found, inserts), style_words, raw.header, ours, options, notes, name
    )
    for item in found:
        insert = inserts.get(item.name)
        if insert is not None:
            item.place = _placed(insert, by_name[item.name][1], units.mm, notes, name)
    style = Style(name, data, raw, style_words, ours, units, found)
    _load_rules(style, path, options, notes)
    return style


def _inserts(
    outside: Shapes, shapes: list[Shapes], notes: Notes, name: str
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


def _skipped(raw: RawFile, notes: Notes) -> None:
    names = [block.name for block in raw.blocks if block.name.startswith(BLOCKS_OF_OTHERS)]
    if names:
        notes.info(
            f"{counted(len(names), 'block')} with a name that begins with * or $: no piece, kept "
            f"as it is ({', '.join(names[:3])})",
            where=raw.name,
        )


def _placed(
    insert: Insert, base: tuple[float, float], unit_mm: float, notes: Notes, name: str
) -> Placement:
    where = f"{name}, block '{insert.block}'"
    try:
        place = placement(insert, base, unit_mm)
    except ValueError:
        notes.warn("it is inserted with scale 0; its own frame is taken", where=where)
        return IDENTITY
    if not place.is_rigid:
        notes.warn(
            f"it is inserted with the scale {insert.scale[0]:g}, {insert.scale[1]:g}, "
            "which was applied",
            where=where,
        )
    elif not place.is_identity:
        notes.info("it is inserted moved or turned; that was applied", where=where)
    if np.linalg.det(place.matrix) < 0:
        notes.warn("it is inserted mirrored; that was applied", where=where)
    return place


def _list_extras(found: list[StyleBlock], outside: Shapes, notes: Notes, name: str) -> None:
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
            if text.layer in (BOUNDARY, ANNOTATION) and not text.text.startswith("#"):
                notes.info(
                    f"text '{text.text[:60]}' on layer {text.layer} is kept as it is",
                    where=f"{name}, block '{block.name}'",
                )
    for _, entity in outside.extras:
        notes.warn(f"{entity.kind} outside of blocks not understood, kept as it is", where=name)


def _largest(found: list[StyleBlock], inserts: Mapping[str, Insert]) -> float:
    """Largest extent of a piece in units of the file."""
    largest = 0.0
    for block in found:
        lines = [line.points for line in block.shapes.lines if line.layer == BOUNDARY]
        if not lines:
            continue
        low = np.min([points.min(axis=0) for points in lines], axis=0)
        high = np.max([points.max(axis=0) for points in lines], axis=0)
        scale = inserts[block.name].scale if block.name in inserts else (1.0, 1.0)
        largest = max(largest, float(np.max((high - low) * np.abs(scale))))
    return largest


def _load_rules(style: Style, path: Path, options: ReadOptions, notes: Notes) -> None:
    file = options.rules if isinstance(options.rules, Path) else None
    if options.rules == "beside":
        file = next(
            (beside for end in RULE_SUFFIXES if (beside := path.with_suffix(end)).is_file()), None
        )
        if file is not None:
            notes.info(
                f"the rule file '{file.name}' beside it was read", option="rules", where=style.name
            )
    if file is None:
        return
    data = _file_bytes(file)
    check_size(data, file.name)
    text, _ = decode(data)
    table = parse_rules(text, file.name)
    pieces = {_piece_name(block): block.shapes for block in style.blocks}
    refuse_lost_rules(table, pieces, file.name, style.name)
    for problem in table.problems:
        notes.warn(problem, where=file.name)
    style.table, style.rule_data = table, data
    style.table_unit_mm = rule_unit(table, style.units, notes, file.name)
    stepwise = looks_stepwise(table)
    if table.rules and stepwise and options.deltas == "from sample":
        notes.warn(
            "the deltas are taken from the sample size; equal steps of one sign suggest that "
            "they may be meant from size to size",
            option="deltas",
            where=file.name,
        )
    elif table.rules:
        notes.info(
            f"the deltas are taken {options.deltas}"
            + ("" if options.deltas == "from sample" else ", added up from the sample size"),
            option="deltas",
            where=file.name,
        )
