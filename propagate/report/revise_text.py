"""A revision in words: what the drawing changed, what followed, whether it sews."""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from propagate.engine.record import ChangeKind, Record, as_plain
from propagate.engine.revised import Revised, RevisedEdge
from propagate.engine.rows import Check, TruedCorner
from propagate.pattern.patternset import PatternSet
from propagate.pattern.titles import in_words, name_title, where_in_words
from propagate.report.blend_text import between_words, corner_figures, length_cells, sews_words
from propagate.report.check_words import words_of
from propagate.report.layout import Column, lay_heading, lay_table, wrap_sentence
from propagate.report.lead_sentence import lead_sentence
from propagate.report.notices import changed_girths, say_notice
from propagate.report.units import MILLIMETRES, Unit

__all__ = ["changed_corners", "revised_lines", "revised_plain"]

_FIGURES = re.compile(r"[-+]?\d+(\.\d+)?")
_CARRIED = {
    "as drawn": "as drawn",
    "edited": "",  # every edge of an edit is as that says
    "millimetres": "by the same millimetres",
    "proportion": "in proportion to its length",
}
Row = TypeVar("Row")
Key = TypeVar("Key", bound=Hashable)


def revised_lines(found: Revised, unit: Unit = MILLIMETRES) -> list[str]:
    """Describe a revision at 80 columns."""
    within = f"within {unit.length(found.within, 1)} {unit.name}"
    if not found.changed:
        said = f"{found.pattern.name}: the files change nothing; every edge is the same {within}"
        return wrap_sentence(said) + _warning_lines(found, unit)
    sizes = f"size {', '.join(found.records)}"
    if len(found.records) == len(found.pattern.sizes) > 1:
        sizes = "every size"
    said = f"{found.pattern.name}: revised in {sizes}; what lies {within} is the same"
    if found.edits:
        said = f"{found.pattern.name}: changed in {sizes}"
        for record in found.records.values():
            for name, row in record.options.between.items():
                said += f"; {name} lies {between_words(name, row)}"
    lines = wrap_sentence(lead_sentence(found, unit), clip=True) + wrap_sentence(said, clip=True)
    lines += _list_items(found, (f"- {edit}" for edit in found.edits), 2)
    lines += _warning_lines(found, unit)
    lines += _changed_lines(found, unit)
    lines += _list_items(found, _tell_trued(found, unit), 4, "corners that were trued")
    lines += _list_items(found, _tell_corners(found), 4, "corners that do not run on smoothly")
    followed = list(_tell_followed(found)) or ["no other piece had to change"]
    lines += _list_items(found, followed, 2, "what followed")
    lines += lay_heading("does it sew")
    lines += wrap_sentence(sews_words(list(found.records.values()), unit), 2)
    return lines + _list_items(found, _tell_misses(found, unit), 2)


def _list_items(found: Revised, texts: Iterable[str], hang: int, head: str = "") -> list[str]:
    """Return sentences of a list, names in them said by their titles; nothing for none."""
    lines = [
        line
        for text in texts
        for line in wrap_sentence(in_words(found.pattern, text), 2, hang, clip=True)
    ]
    return lay_heading(head) + lines if head and lines else lines


def _warning_lines(found: Revised, unit: Unit) -> list[str]:
    girths = changed_girths(found.records, unit)
    said = [
        *_told_warnings(found),
        *(f"- {name_title(found.pattern, one.where)} girth: {one.text}" for one in girths),
    ]
    lines = [line for text in said for line in wrap_sentence(text, 2, 2, clip=True)]
    return lay_heading("look at this first") + lines if lines else []


def _told_warnings(found: Revised) -> Iterator[str]:
    """Yield each warning once: those that differ by size in their figures alone together."""
    alike: dict[tuple[str, ...], dict[str, list[str]]] = {}
    for size in found.pattern.sizes:
        record = found.records.get(size)
        for notice in record.warnings if record else found.notices.get(size, ()):
            text = say_notice(found.pattern, notice, typed=True)
            about = (notice.where, *(notice.about or (_FIGURES.sub("", text),)))
            alike.setdefault(about, {}).setdefault(text, []).append(size)
    said: dict[str, list[str]] = {}
    for (where, *_), texts in alike.items():
        said.setdefault(_tell_sizes(found, texts), []).append(where)
    for text, places in said.items():
        yield f"- {where_in_words(found.pattern, ', '.join(places))}: {text}"


def _tell_sizes(found: Revised, texts: Mapping[str, Sequence[str]]) -> str:
    """Say a warning with its sizes: in the base size, and where it says the same otherwise."""
    base = found.pattern.base
    text, sizes = next(
        ((text, sizes) for text, sizes in texts.items() if base in sizes),
        next(iter(texts.items())),
    )
    # Of two edits that tell of the same thing a size has two texts; it is named once.
    others = list(dict.fromkeys(size for of in texts.values() for size in of))
    others = [size for size in others if size not in sizes]
    every = len({*sizes, *others}) == len(found.pattern.sizes) > 1
    if every and not others:
        return f"{text} (in every size)"
    also = "every other size" if every else f"size {', '.join(others)}"
    also = f"; by other figures in {also}" if others else ""
    return f"{text} (size {', '.join(sizes)}{also})"


# ------------------------------------------------------------------------ what changed


def _changed_lines(found: Revised, unit: Unit) -> list[str]:
    """Return edges, marks and darts that the drawing or the edits themselves changed."""
    edges = _by_size(((e.piece, e.edge), e.size, e) for e in found.edges if e.status != "same")
    told = {key: _told_size(found, sizes) for key, sizes in edges.items()}
    in_one = set(told.values())
    own = _edge_table(found, unit, edges, told, with_size=len(in_one) > 1) if edges else []
    own += _list_items(found, _tell_marks(found, unit), 4)
    own += _list_items(found, _tell_darts(found, unit), 4)
    if not own and found.edits:  # an allowance changes no line of a piece
        return []
    where = f", in size {in_one.pop()}" if len(in_one) == 1 else ""
    source = "edits" if found.edits else "drawing"
    lines = lay_heading(f"what the {source} changed ({unit.name}){where}") + own
    if all(edge.carried == "as drawn" for edge in found.edges):
        return lines
    told_far = []
    for (piece, name), sizes in edges.items():
        far = {size: unit.length(edge.moved_mm) for size, edge in sizes.items()}
        told_far.append(f"{piece}.{name}: {_tell_figures(found, far)}")
    head = f"how far each edge went at most, size by size ({unit.name})"
    return lines + _list_items(found, told_far, 4, head)


def _tell_figures(found: Revised, figures: Mapping[str, str]) -> str:
    """Say each figure once with the sizes that have it: ``30.3 (34, 36), 30.4 (40)``."""
    sizes: dict[str, list[str]] = {}
    for size, figure in figures.items():
        sizes.setdefault(figure, []).append(size)
    if len(sizes) == 1 and len(figures) == len(found.pattern.sizes) > 1:
        return f"{next(iter(sizes))} in every size"
    return ", ".join(f"{figure} ({', '.join(of)})" for figure, of in sizes.items())


def _edge_table(
    found: Revised,
    unit: Unit,
    edges: Mapping[tuple[str, str], Mapping[str, RevisedEdge]],
    told: Mapping[tuple[str, str], str],
    *,
    with_size: bool,
) -> list[str]:
    """Return one row for each changed edge: its lengths in one size, and how it was carried."""
    rows = []
    for (piece, name), sizes in edges.items():
        size = told[piece, name]
        changes = (p.edges for p in found.records[size].pieces if p.piece == piece)
        change = next(e for some in changes for e in some if e.edge == name)
        carried = {edge.carried for edge in sizes.values()}
        cells = length_cells(change, unit, moved=sizes[size].status == "moved")
        ways = "; ".join(words for way, words in _CARRIED.items() if words and way in carried)
        rows.append([in_words(found.pattern, f"{piece}.{name}"), size, *cells, ways])
    columns = [Column("edge"), Column("size")]
    columns += [Column(head, number=True) for head in ("before", "now", "change")]
    columns.append(Column("in the sizes"))
    kept = [0, *([1] if with_size else []), 2, 3, 4, *([5] if any(row[5] for row in rows) else [])]
    return lay_table([columns[i] for i in kept], [[row[i] for i in kept] for row in rows])


def _tell_marks(found: Revised, unit: Unit) -> Iterator[str]:
    """Yield landmarks and what lies inside that the drawing moved or added, once for all sizes."""
    groups = _by_size(((one.piece, one.mark.name), one.size, one) for one in found.marks)
    for (piece, name), sizes in groups.items():
        mark = sizes[_told_size(found, sizes)].mark
        drawn = "" if mark.drawn_as == name else f" (drawn as {mark.drawn_as})"
        what = (
            f"new, {unit.said(mark.moved_mm)} from the start"
            if mark.what == "added"
            else f"moved by {unit.change(mark.moved_mm, 1)}"
        )
        title = name_title(found.pattern, name, piece)
        yield f"{piece}.{mark.edge or '*'}, {title}{drawn}: {what}"


def _tell_darts(found: Revised, unit: Unit) -> Iterator[str]:
    """Say what became of each dart, once for all sizes: ``before 20.0 wide, now 26.0``."""
    groups = _by_size(((one.piece, one.dart.name), one.size, one) for one in found.darts)
    for (piece, name), sizes in groups.items():
        dart = sizes[_told_size(found, sizes)].dart
        before, after = unit.length(dart.before_mm, 1), unit.length(dart.after_mm, 1)
        what = {
            "came": f"a new dart, {after} wide",
            "went": f"a dart that was taken out, {before} wide",
            "swung": f"swung here from {dart.was_on}, {before} wide there and {after} here",
        }.get(dart.what, f"before {before} wide, now {after}")
        moved = f", moved by {unit.change(dart.moved_mm, 1)}" if dart.moved_mm else ""
        yield f"{piece}.{dart.edge}, {piece}.{name}: {what}{moved}"


# ----------------------------------------------------------------------------- corners


def _tell_trued(found: Revised, unit: Unit) -> Iterator[str]:
    """Yield one sentence for each corner that was trued."""
    rows: dict[tuple[str, str], dict[str, TruedCorner]] = _by_size(
        ((row.name, row.what), size, row)
        for size, record in found.records.items()
        for row in record.trued_corners
    )
    for (name, what), sizes in rows.items():
        figures = corner_figures(sizes[_told_size(found, sizes)], unit)
        yield f"{name}, {what}: {figures} ({_sizes_words(found, sizes)})"


def _tell_corners(found: Revised) -> Iterator[str]:
    """Yield one sentence for each corner that a change left or made, in the sizes that have it."""
    rows: dict[tuple[str, str], dict[str, Check]] = _by_size(
        ((row.name, row.end or row.what), size, row)
        for size, record in found.records.items()
        for row in changed_corners(record, found.pattern)
    )
    for (name, _), sizes in rows.items():
        row = sizes[_told_size(found, sizes)]
        angles = f"{row.what} = {row.first:.1f}°, straight would be {row.second:.1f}°"
        yield f"{name}, {angles} ({_sizes_words(found, sizes)})"


def changed_corners(record: Record, pattern: PatternSet) -> list[Check]:
    """Return corners across seams that do not run on smoothly, of which a line changed."""
    changed = {(p.piece, e.edge) for p in record.pieces for e in p.edges if e.status != "same"}
    found = []
    for row in record.walked_corners:
        seam = pattern.relations.seams.get(row.name)
        if seam is None or abs(row.difference) <= row.tolerance:
            continue
        crossing = seam.crossing.get(row.end or "", ())
        keys = {(piece, edge) for piece, _, edge in (key.partition(".") for key in crossing)}
        spans = {(span.piece, span.edge) for span in (*seam.lead, *seam.follow)}
        if (keys | spans) & changed:
            found.append(row)
    return found


# --------------------------------------------------------------------------- all sizes


def _by_size(rows: Iterable[tuple[Key, str, Row]]) -> dict[Key, dict[str, Row]]:
    """Return the rows of each thing by their size, in the order in which things come."""
    found: dict[Key, dict[str, Row]] = {}
    for key, size, row in rows:
        found.setdefault(key, {})[size] = row
    return found


def _told_size(found: Revised, sizes: Mapping[str, object]) -> str:
    """Return the size of which figures are told: the base size, or the first that has them."""
    return found.pattern.base if found.pattern.base in sizes else next(iter(sizes))


def _sizes_words(found: Revised, sizes: Mapping[str, object]) -> str:
    """Return the size that figures are told of, and which others are alike."""
    size = _told_size(found, sizes)
    others = [other for other in sizes if other != size]
    also = f"; as well in size {', '.join(others)}" if others else ""
    if len(sizes) == len(found.records) > 1:
        also = "; as well in every other size"
    return f"size {size}{also}"


def _tell_followed(found: Revised) -> Iterator[str]:
    """Name the pieces that followed, and marks, each with its sizes."""
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
                alone = f"{piece.piece}.* (its notches or darts alone)"
                followed.setdefault(alone, []).append(size)
        for change in record.changes:  # on a piece that the edit itself changed, as a rule
            if change.kind is ChangeKind.PLACE_FOLLOWS:
                followed.setdefault(f"{change.id} {change.what}", []).append(size)
    for name, sizes in followed.items():
        every = len(sizes) == len(found.pattern.sizes)
        yield f"{name}, in " + ("every size" if every else f"size {', '.join(sizes)}")


def _tell_misses(found: Revised, unit: Unit) -> Iterator[str]:
    """Tell what does not sew together, in which sizes, and what to do."""
    failed: dict[tuple[str, str], list[str]] = {}
    for size, record in found.records.items():
        for row in record.checks:
            if row.verdict == "does not sew":
                # The notch pairs of a seam bear its name.
                what = f", {row.what}" if row.kind == "notches" else ""
                off = f"{unit.change(row.difference)} {unit.name}"
                said = f"{row.name}{what}: off by {off}", words_of(row.kind).to_do
                failed.setdefault(said, []).append(size)
    for (text, to_do), sizes in failed.items():
        yield f"- {text} in size {', '.join(sizes)}; {to_do}"


def revised_plain(found: Revised, *, outlines: bool = False) -> dict[str, Any]:
    """Return the revision as plain values; with the old outlines on request, which are long."""
    records = dict(found.records)
    for size, record in records.items() if not outlines else ():
        pieces = tuple(replace(piece, before={}) for piece in record.pieces)
        records[size] = replace(record, pieces=pieces)
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
