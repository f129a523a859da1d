"""A revision in words: what the drawing changed, what followed, whether it sews."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from propagate.engine.darts.changes import DartChange
from propagate.engine.record import ChangeKind, Record, as_plain
from propagate.engine.revised import Revised, SizedDart
from propagate.pattern.titles import in_words, name_title
from propagate.report.blend_text import between_words
from propagate.report.layout import Column, heading, sentence, table
from propagate.report.lead_sentence import lead_sentence
from propagate.report.notices import changed_girths
from propagate.report.trued_text import changed_corners, corners_in_sizes, trued_in_sizes
from propagate.report.units import MILLIMETRES, Unit

__all__ = ["revised_lines", "revised_plain"]

_CARRIED = {
    "as drawn": "as drawn",
    "edited": "as the edit says",
    "millimetres": "by the same millimetres",
    "proportion": "in proportion to its length",
}


def revised_lines(found: Revised, unit: Unit = MILLIMETRES) -> list[str]:
    """Describe a revision at 80 columns."""
    within = f"within {unit.length(found.within, 1)} {unit.name}"
    if not found.changed:
        said = f"{found.pattern.name}: the files change nothing; every edge is the same {within}"
        return sentence(said) + _warning_lines(found, unit)
    sizes = f"size {', '.join(found.records)}"
    if len(found.records) == len(found.pattern.sizes) > 1:
        sizes = "every size"
    said = f"{found.pattern.name}: revised in {sizes}; what lies {within} is the same"
    if found.edits:
        said = f"{found.pattern.name}: changed in {sizes}"
        for record in found.records.values():
            for name, row in record.options.between.items():
                said += f"; {name} lies {between_words(name, row)}"
    lines = sentence(lead_sentence(found, unit), clip=True) + sentence(said, clip=True)
    for edit in found.edits:
        lines += sentence(f"- {in_words(found.pattern, edit)}", 2, 2, clip=True)
    lines += _warning_lines(found, unit)
    source = "edits" if found.edits else "drawing"
    own: list[str] = []
    if any(edge.status != "same" for edge in found.edges):
        own += _edge_lines(found, unit)
        own += _carried_lines(found, unit)
    own += _mark_lines(found, unit)
    own += _dart_lines(found, unit)
    if own or not found.edits:  # an allowance changes no line of a piece
        lines += heading(f"what the {source} changed ({unit.name})") + own
    trued = trued_in_sizes(found.records, found.pattern.base, unit)
    if trued:
        lines += heading("corners that were trued")
        for text in trued:
            lines += sentence(in_words(found.pattern, text), 2, 4, clip=True)
    left = corners_in_sizes(found.records, found.pattern, found.pattern.base)
    if left:
        lines += heading("corners that do not run on smoothly")
        for text in left:
            lines += sentence(in_words(found.pattern, text), 2, 4, clip=True)
    lines += heading("what followed")
    lines += _followers(found, unit)
    return lines


def _warning_lines(found: Revised, unit: Unit) -> list[str]:
    said = list(_told_warnings(found))
    said += [
        f"- {girth.where} girth: {girth.text}" for girth in changed_girths(found.records, unit)
    ]
    if not said:
        return []
    lines = heading("look at this first")
    for text in said:
        lines += sentence(in_words(found.pattern, text), 2, 2, clip=True)
    return lines


def _told_warnings(found: Revised) -> Iterator[str]:
    """Each warning once: those that differ from size to size in their figures alone together."""
    alike: dict[tuple[str, ...], dict[str, list[str]]] = {}
    for size in found.pattern.sizes:
        record = found.records.get(size)
        for notice in record.warnings if record else found.notices.get(size, ()):
            text = f"{notice.where}: {notice.text}"
            about = (notice.where, *(notice.about or (notice.text,)))
            alike.setdefault(about, {}).setdefault(text, []).append(size)
    for texts in alike.values():
        base = found.pattern.base
        text, sizes = next(
            ((text, sizes) for text, sizes in texts.items() if base in sizes),
            next(iter(texts.items())),
        )
        # Of two edits that tell of the same thing a size has two texts; it is named once.
        others = list(dict.fromkeys(size for of in texts.values() for size in of))
        others = [size for size in others if size not in sizes]
        also = f"; by other figures in size {', '.join(others)}" if others else ""
        yield f"- {text} (size {', '.join(sizes)}{also})"


def _edge_lines(found: Revised, unit: Unit) -> list[str]:
    """One row for each changed edge: its lengths in the first size, and how it was carried."""
    rows, seen = [], set()
    for edge in found.edges:
        if edge.status == "same" or (edge.piece, edge.edge) in seen:
            continue
        seen.add((edge.piece, edge.edge))
        group = [e for e in found.edges if (e.piece, e.edge) == (edge.piece, edge.edge)]
        carried = {e.carried for e in group if e.status != "same"}
        ways = [words for way, words in _CARRIED.items() if way in carried]
        changed = [e.size for e in group if e.status != "same"]
        size = found.pattern.base if found.pattern.base in changed else changed[0]
        change = next(
            e
            for p in found.records[size].pieces
            if p.piece == edge.piece
            for e in p.edges
            if e.edge == edge.edge
        )
        rows.append(
            [
                in_words(found.pattern, f"{edge.piece}.{edge.edge}"),
                "moved" if edge.status == "moved" else "changed",
                size,
                unit.length(change.before_mm),
                unit.length(change.after_mm),
                "; ".join(ways),
            ]
        )
    columns = [
        Column("edge"),
        Column("is"),
        Column("size"),
        Column("before", number=True),
        Column("now", number=True),
        Column("in the sizes"),
    ]
    return table(columns, rows)


def _carried_lines(found: Revised, unit: Unit) -> list[str]:
    """How far each edge went in each size, where the base size's change was carried."""
    if all(edge.carried == "as drawn" for edge in found.edges):
        return []
    moved: dict[str, list[str]] = {}
    for edge in found.edges:
        if edge.status != "same":
            said = f"{edge.size} {unit.length(edge.moved_mm, 1)}"
            name = in_words(found.pattern, f"{edge.piece}.{edge.edge}")
            moved.setdefault(name, []).append(said)
    lines = heading(f"how far each edge went at most, size by size ({unit.name})")
    for name, sizes in moved.items():
        figures = {said.rpartition(" ")[2] for said in sizes}
        all_alike = len(figures) == 1 and len(sizes) == len(found.pattern.sizes) > 1
        text = f"{figures.pop()} in every size" if all_alike else ", ".join(sizes)
        lines += sentence(f"{name}: {text}", 2, 4, clip=True)
    return lines


def _mark_lines(found: Revised, unit: Unit) -> list[str]:
    """Landmarks and what lies inside that the drawing moved or added, once for all sizes."""
    lines, seen = [], set()
    for item in found.marks:
        key = (item.piece, item.mark.name)
        if key in seen:
            continue
        seen.add(key)
        mark = item.mark
        where = f"{item.piece}.{mark.edge}" if mark.edge else f"{item.piece}.*"
        drawn = "" if mark.drawn_as == mark.name else f" (drawn as {mark.drawn_as})"
        what = (
            f"new, {unit.said(mark.moved_mm)} from the start"
            if mark.what == "added"
            else f"moved by {unit.change(mark.moved_mm, 1)}"
        )
        name = name_title(found.pattern, mark.name, item.piece)
        where = in_words(found.pattern, where)
        lines += sentence(f"{where}, {name}{drawn}: {what}", 2, 4, clip=True)
    return lines


def _dart_lines(found: Revised, unit: Unit) -> list[str]:
    """Darts that came, went, were swung, or are wider or elsewhere, once for all sizes."""
    rows: dict[tuple[str, str], SizedDart] = {}
    for item in found.darts:
        if item.size == found.pattern.base:
            rows[item.piece, item.dart.name] = item
        rows.setdefault((item.piece, item.dart.name), item)
    lines = []
    for item in rows.values():
        said = in_words(
            found.pattern, f"{item.piece}.{item.dart.edge}, {item.piece}.{item.dart.name}"
        )
        lines += sentence(f"{said}: {_dart_words(item.dart, unit)}", 2, 4, clip=True)
    return lines


def _dart_words(dart: DartChange, unit: Unit) -> str:
    """What became of a dart: ``20.0 wide, now 26.0``."""
    before, after = unit.length(dart.before_mm, 1), unit.length(dart.after_mm, 1)
    what = {
        "came": f"a new dart, {after} wide",
        "went": f"a dart that was taken out, {before} wide",
        "swung": f"swung here from {dart.was_on}, {before} wide there and {after} here",
    }.get(dart.what, f"before {before} wide, now {after}")
    if dart.moved_mm:
        what += f", moved by {unit.change(dart.moved_mm, 1)}"
    return what


def _followers(found: Revised, unit: Unit) -> list[str]:
    """Pieces that followed, and the largest difference of any seam, over all sizes."""
    revised = {edge.piece for edge in found.edges}
    followed: dict[str, list[str]] = {}
    for size, record in found.records.items():
        # A piece may keep its outline while a notch on it follows.
        reached = {change.id.partition(".")[0] for change in record.changes}
        for piece in record.pieces:
            if piece.piece in revised:
                continue
            if piece.status != "same":
                followed.setdefault(f"{piece.piece}.*", []).append(size)
            elif piece.piece in reached:
                followed.setdefault(f"{piece.piece}.* (its notches or darts alone)", []).append(
                    size
                )
        for change in record.changes:  # on a piece that the edit itself changed, as a rule
            if change.kind is ChangeKind.PLACE_FOLLOWS:
                followed.setdefault(f"{change.id} {change.what}", []).append(size)
    every = len(found.pattern.sizes)
    lines = []
    for name, sizes in followed.items():
        where = "every size" if len(sizes) == every else f"size {', '.join(sizes)}"
        lines += sentence(f"{in_words(found.pattern, name)}, in {where}", 2, 2, clip=True)
    if not lines:
        lines = sentence("no other piece had to change", 2)
    return [*lines, *_sewing_lines(found, unit)]


def _sewing_lines(found: Revised, unit: Unit) -> list[str]:
    lines = heading("does it sew")
    largest = 0.0
    failed: dict[str, list[str]] = {}
    for size, record in found.records.items():
        for row in record.checks:
            largest = max(largest, abs(row.difference))
            if row.verdict == "does not sew":
                # The notch pairs of a seam bear its name.
                what = f", {row.what}" if row.kind == "notches" else ""
                off = unit.change(row.difference)
                failed.setdefault(f"{row.name}{what}: off by {off}", []).append(size)
    if failed:
        for text, sizes in failed.items():
            said = in_words(found.pattern, text)
            lines += sentence(f"- {said} in size {', '.join(sizes)}", 2, 2, clip=True)
        return lines
    return lines + sentence(
        "every seam and band that was reached sews together; the largest difference is "
        f"{unit.small(largest)}",
        2,
    )


def revised_plain(found: Revised, *, outlines: bool = False) -> dict[str, Any]:
    """The revision as plain values; with the old outlines on request, which are long."""
    records = {
        size: record if outlines else _without_outlines(record)
        for size, record in found.records.items()
    }
    marks = [
        {"piece": m.piece, "size": m.size, "carried": m.carried, **as_plain(m.mark)}
        for m in found.marks
    ]
    darts = [
        {"piece": d.piece, "size": d.size, "carried": d.carried, **as_plain(d.dart)}
        for d in found.darts
    ]
    return {
        "within_mm": found.within,
        **({"edits": list(found.edits)} if found.edits else {}),
        "edges": [as_plain(edge) for edge in found.edges],
        "marks": marks,
        "darts": darts,
        "corners": [
            {"size": size, "seam": row.name, "end": row.end, "degrees": as_plain(row.first)}
            for size, record in found.records.items()
            for row in changed_corners(record, found.pattern)
        ],
        "notices": {size: as_plain(items) for size, items in found.notices.items()},
        "records": {size: as_plain(record) for size, record in records.items()},
    }


def _without_outlines(record: Record) -> Record:
    pieces = tuple(replace(piece, before={}) for piece in record.pieces)
    return replace(record, pieces=pieces)
