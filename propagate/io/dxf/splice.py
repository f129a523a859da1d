"""Write a drawing back with only the changed pieces drawn anew.

What no edit touched stays letter for letter.  In the block of a changed piece, the
entities that the piece is made of are drawn anew; system text, annotation and whatever
was not understood stay as they are.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from propagate.io.dxf.conventions import (
    ENGLISH,
    LAYERS,
    RULE_NUMBER,
    Layer,
)
from propagate.io.dxf.entities import Counter, read_shapes
from propagate.io.dxf.frame import Entity, RawFile, decode_drawing
from propagate.io.dxf.number import Numbering, rule_sheet
from propagate.io.dxf.rules import RuleTable, parse_rules, render_rules, tell_steps
from propagate.io.dxf.sheet import Pen, write_block
from propagate.io.dxf.source import BlockOf, DxfSource, is_drawn_alike
from propagate.io.dxf.texts import MARKER
from propagate.io.dxf.written import Written, block_text, block_texts, insert_text, sized_sheet
from propagate.io.origin import origin_of
from propagate.lengths import MM_PER_INCH

__all__ = ["splice_drawing"]

_REDRAWN = frozenset(LAYERS) - {Layer.ANNOTATION}
Indices = npt.NDArray[np.intp]
_RETURN, _FEED = b"\r\n"
_COORDINATES = frozenset({"10", "20", "11", "21"})
_FINEST_MM = 1e-6
_NEW_RELEASE = 1012
"""From this release on every entity has a handle and every block a record."""


@dataclass
class _Plan:
    """What happens to the file: line pairs left out, and text put in their place."""

    source: DxfSource
    pen: Pen
    cuts: list[tuple[int, int, str]] = field(default_factory=list)
    blocks: list[str] = field(default_factory=list)
    inserts: list[str] = field(default_factory=list)
    numbering: Numbering | None = None

    @property
    def raw(self) -> RawFile:
        """The file as line pairs."""
        return self.source.raw

    @cached_property
    def inserted(self) -> Mapping[str, list[Entity]]:
        """Block name to what inserts it in the drawing."""
        found: dict[str, list[Entity]] = {}
        shapes = read_shapes(self.raw, self.raw.entities, Counter(self.source.name))
        for insert in shapes.inserts:
            found.setdefault(insert.block, []).append(insert.source)
        return found


def splice_drawing(out: Written, source: DxfSource) -> dict[str, bytes] | None:
    """Return the files of a drawing with its changed pieces drawn anew.

    None when that cannot be: the whole style is then written anew, and the notes say why.
    """
    pattern = out.pattern
    untouched = dict.fromkeys(name for name in source.blocks_of if _is_untouched(out, source, name))
    gone = [name for name in source.blocks_of if name not in pattern.pieces]
    changed = [name for name in pattern.pieces if name not in untouched]
    out.as_read += untouched
    files = {".dxf": source.data}
    if source.rules is not None:
        files[".rul"] = source.rules
    if not changed and not gone:
        return files
    raw = source.raw
    version = raw.header.get("$ACADVER", "AC1009")[2:]
    new = version.isdigit() and int(version) >= _NEW_RELEASE
    pen = Pen(
        source.unit_mm, _find_precision(out, source, raw), handle=_free_handle(raw) if new else 0
    )
    plan = _Plan(source, pen)
    out.taken |= {block.name.lower() for block in raw.blocks}
    for name in changed:
        if not _change_piece(out, plan, name, new=new):
            out.notes.warn(
                f"the style is written anew, in release 12: '{source.name}' is of release "
                f"AC{version}, and piece '{name}' needs blocks that it does not have"
            )
            out.as_read.clear()
            out.ruled.clear()
            out.nested.clear()
            out.taken.clear()
            return None
    for name in gone:
        out.notes.warn("the set no longer has it: it was left out", where=f"piece '{name}'")
        for own in source.blocks_of[name]:
            _remove_block(plan, own)
    files[".dxf"] = _write_spliced(plan, new=new)
    if plan.numbering is not None and plan.numbering.rules:
        files[".rul"] = _with_rules(plan, plan.numbering)
    return files


def _find_precision(out: Written, source: DxfSource, raw: RawFile) -> float:
    """The precision asked for, else that of the file itself when it is finer."""
    if out.options.precision is not None:
        return out.options.precision
    found = max(
        (
            len(value.strip().partition(".")[2])
            for code, value in zip(raw.codes, raw.values, strict=True)
            if code in _COORDINATES
        ),
        default=0,
    )
    return max(min(out.options.rounding, source.unit_mm * 10.0**-found), _FINEST_MM)


def _is_untouched(out: Written, source: DxfSource, name: str) -> bool:
    piece = out.pattern.pieces.get(name)
    if piece is None:
        return False
    own, origin = source.pieces.get(name, {}), origin_of(out.pattern)
    if source in origin.sources:  # which a set may have read in some sizes alone
        own = origin.pieces[name].nest if name in origin.pieces else {}
    return set(own) == set(piece.nest) and all(
        is_drawn_alike(own[size], sized) for size, sized in piece.nest.items()
    )


# -------------------------------------------------------------------------- changed pieces


def _change_piece(out: Written, plan: _Plan, name: str, *, new: bool) -> bool:
    """Draw a changed piece; False when the file cannot take it."""
    own = plan.source.blocks_of.get(name, [])
    if own and own[0].size is None and plan.source.rules is not None:
        if _redraw_by_rules(out, plan, name, own[0]):
            return True
        if new:
            return False
        _remove_block(plan, own[0])
        own = []
    by_size = {block.size: block for block in own}
    nest = out.pattern.pieces[name].nest
    wanted = [size for size in out.pattern.sizes if size in nest]
    if new and any(size not in by_size for size in wanted):
        return False
    out.nested.append(name)
    for size in wanted:
        block = by_size.pop(size, None)
        if block is None:
            _add_block(out, plan, name, size)
        elif not plan.source.draws(name, size, nest[size]):
            sheet = sized_sheet(out, name, size, nest[size], words=False)
            plan.pen.place = block.place
            write_block(sheet, plan.pen)
            _replace_block(plan, block, plan.pen.take())
    for block in by_size.values():
        _remove_block(plan, block)
    return True


def _add_block(out: Written, plan: _Plan, name: str, size: str) -> None:
    """Add a block that the file does not have."""
    pen = replace(plan.pen, place=Pen().place, parts=[])
    for block, text in block_texts(out, name, pen, sizes=(size,)):
        plan.blocks.append(block_text(block, text))
        plan.inserts.append(insert_text(block))


def _redraw_by_rules(out: Written, plan: _Plan, name: str, block: BlockOf) -> bool:
    """Redraw the base size with rule numbers; False when rules do not hold."""
    table = parse_rules(decode_drawing(plan.source.rules or b"")[0], plan.source.name)
    pattern = out.pattern
    why = ""
    if tuple(table.sizes) != pattern.sizes or table.sample != pattern.base:
        why = "the set's sizes are not those of the rule table"
    else:
        if plan.numbering is None:
            unit = MM_PER_INCH if table.units.startswith(ENGLISH) else plan.source.unit_mm
            plan.numbering = Numbering(
                pattern.sizes, pattern.base, unit, decimals=plan.pen.decimals,
                used=frozenset(table.rules),
            )  # fmt: skip
        plan.pen.place = block.place
        found = rule_sheet(
            pattern, name, plan.numbering, plan.pen, out.options, out.notes, words=False
        )
        why = found if isinstance(found, str) else ""
        if not isinstance(found, str):
            write_block(found.sheet, plan.pen)
            for layer, at, number in found.numbers:
                plan.pen.text(layer, at, f"# {number}", height=2.0)
            _replace_block(plan, block, plan.pen.take())
            out.ruled.append(name)
            return True
    out.notes.warn(
        f"written in every size, since grade rules would not hold: {why}", where=f"piece '{name}'"
    )
    return False


def _replace_block(plan: _Plan, block: BlockOf, text: str) -> None:
    """Put new entities in the place of those that the piece was made of."""
    raw = plan.raw.blocks[block.index]
    shapes = read_shapes(plan.raw, plan.raw.blocks[block.index].entities, Counter(plan.source.name))
    out: list[Entity] = [line.source for line in shapes.lines if line.layer in _REDRAWN]
    out += [point.source for point in shapes.points if point.layer in _REDRAWN]
    out += [item.source for item in shapes.texts if _is_ours(item.layer, item.text)]
    for span in dict.fromkeys((entity.begin, entity.end) for entity in out):
        plan.cuts.append((*span, ""))
    plan.cuts.append((raw.tail, raw.tail, text))


def _is_ours(layer: str, text: str) -> bool:
    """Tell whether a text belongs to what is drawn anew: rule numbers and names."""
    return bool(RULE_NUMBER.fullmatch(text)) or (
        layer == Layer.ANNOTATION
        and text.startswith(MARKER)
        and text[1:].partition(" ")[0] not in ("piece", "size", "title")
    )


def _remove_block(plan: _Plan, block: BlockOf) -> None:
    raw = plan.raw.blocks[block.index]
    plan.cuts.append((raw.begin, raw.end, ""))
    plan.cuts += [(entity.begin, entity.end, "") for entity in plan.inserted.get(raw.name, ())]


# ------------------------------------------------------------------------------ the file


def _write_spliced(plan: _Plan, *, new: bool) -> bytes:
    """Return the file with its cuts; the rest stays letter for letter."""
    text, encoding = decode_drawing(plan.source.data)
    data = text.encode(encoding, errors="surrogateescape")
    starts = _line_starts(data)
    ending = "\r\n" if data[: starts[1]].endswith(b"\r\n") else "\n"
    cuts = list(plan.cuts)
    for section, what in (("BLOCKS", plan.blocks), ("ENTITIES", plan.inserts)):
        if what:
            at = _section_end(plan.raw, section)
            cuts.append((at, at, "".join(what)))
    if new:
        cuts += _handle_seed(plan)
    parts: list[bytes] = []
    done = 0
    for begin, end, put in sorted(cuts):
        if begin > done:
            parts.append(data[starts[2 * done] : starts[2 * begin]])
        parts.append(put.replace("\n", ending).encode(encoding, errors="surrogateescape"))
        done = max(done, end)
    return b"".join([*parts, data[starts[2 * done] :]])


def _line_starts(data: bytes) -> Indices:
    """Where each line begins, as the reader counts them, and where the last one ends."""
    letters = np.frombuffer(data, dtype=np.uint8)
    ends = letters == _FEED
    ends[:-1] |= (letters[:-1] == _RETURN) & (letters[1:] != _FEED)
    ends[-1:] = True
    return np.concatenate([[0], np.flatnonzero(ends) + 1])


def _section_end(raw: RawFile, section: str) -> int:
    """Line pair of the ENDSEC of a section."""
    inside = False
    for index, (code, value) in enumerate(zip(raw.codes, raw.values, strict=True)):
        if (
            code == "2"
            and raw.codes[index - 1] == "0"
            and raw.values[index - 1].strip() == "SECTION"
        ):
            inside = value.strip().upper() == section
        elif inside and code == "0" and value.strip().upper() == "ENDSEC":
            return index
    return len(raw.codes) - 1


def _free_handle(raw: RawFile) -> int:
    """Return a handle above all that the file uses."""
    pairs = zip(raw.codes, raw.values, strict=True)
    used = [value for code, value in pairs if code in ("5", "105")]
    highest = 0
    for text in (*used, raw.header.get("$HANDSEED", "0")):
        try:
            highest = max(highest, int(text, 16))
        except ValueError:
            continue
    return highest + 1


def _handle_seed(plan: _Plan) -> list[tuple[int, int, str]]:
    """Raise the header's next free handle above those that were given out."""
    for index, (code, value) in enumerate(zip(plan.raw.codes, plan.raw.values, strict=True)):
        if code == "9" and value.strip().upper() == "$HANDSEED":
            return [(index + 1, index + 2, f"  5\n{plan.pen.handle:X}\n")]
    return []


def _with_rules(plan: _Plan, numbering: Numbering) -> bytes:
    """Return the rule file with the new rules before its end."""
    text, encoding = decode_drawing(plan.source.rules or b"")
    table = RuleTable(
        "",
        numbering.sizes,
        numbering.base,
        {
            number: tell_steps(moves, numbering.sizes.index(numbering.base), plan.source.deltas)
            for number, moves in numbering.rules.items()
        },
    )
    new = render_rules(table, decimals=numbering.decimals)
    body = new[new.index("RULE: DELTA") :]
    lines = text.splitlines(keepends=True)
    ending = "\r\n" if "\r\n" in text else "\n"
    end = next(
        (i for i in range(len(lines) - 1, -1, -1) if lines[i].strip().upper() == "END"), len(lines)
    )
    head = "".join(lines[:end])
    if head and not head.endswith("\n"):
        head += ending
    return (head + body.replace("\n", ending)).encode(encoding, errors="surrogateescape")
