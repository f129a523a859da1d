"""What is done to every changed edge, in words and rows; marks and inner points of its piece."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from propagate.geometry.polyline import length, point_at
from propagate.pattern.titles import list_words
from propagate.report.lettering import in_tip, letters_of
from propagate.report.set_text import cut_words
from propagate.report.units import PENCIL_MM, is_drawable
from propagate.report.worksheet.old_line import OldLine, lines_of_rows
from propagate.report.worksheet.outlines import KEPT_LEAST_MM
from propagate.report.worksheet.value import (
    Apart,
    EdgeWork,
    Letter,
    Mark,
    Offset,
    PieceWork,
    Widest,
)
from propagate.report.worksheet.words import Source

__all__ = ["AS_IT_IS", "KEPT", "edge_work", "piece_work"]
KEPT = "As it is"
AS_IT_IS = f"{KEPT}: the change is finer than a pencil line."
_NEAR = "Follow the old line from {} to {}: the new one is too close to it to tell apart."
_TURNED = (
    "‘To turn’ and ‘from turn’ are one new corner, told from the old line before its own corner "
    "and from that after it, each run on past it."
)
_ENDS = "it ends there now, in"
_GAP_MM = 1.0
"""A new part shorter than this needs no word."""


def edge_work(source: Source, piece: str, edge: str, instead: str = "") -> EdgeWork:
    """Tell what is done to one changed edge, with the rows from which it can be drawn.

    `instead` is said in place of that where the step as a whole tells it.
    """
    pair, row, unit = source.compared(piece), source.compared(piece).row(edge), source.unit
    drawn = any(is_drawable(mm, unit) for mm in (row.trimmed_mm, row.added_mm))
    kept = pair.kept[edge]
    told = [mm if mm >= min(KEPT_LEAST_MM, row.before_mm) else 0.0 for mm in kept]
    letters = source.corner(piece, edge, "start"), source.corner(piece, edge, "end")
    from_end = kept[1] < kept[0] and letters[0] != letters[1]  # from the end that moved more
    work = EdgeWork(
        piece=piece,
        edge=edge,
        letters=letters,
        text=instead or AS_IT_IS,
        before_mm=row.before_mm,
        after_mm=row.after_mm,
        trimmed=Widest(row.trimmed_mm, pair.widest_trimmed(edge))
        if is_drawable(row.trimmed_mm, unit)
        else None,
        added=Widest(row.added_mm, pair.widest_added(edge))
        if is_drawable(row.added_mm, unit)
        else None,
        kept_start_mm=min(told[0], row.after_mm),
        kept_end_mm=min(told[1], row.after_mm),
        kept_between_mm=pair.between[edge],
        mouth_mm=_mouths_mm(source, piece, edge),
        allowance_mm=source.pattern.info[piece].allowance.of(edge),
    )
    if drawn and not instead:
        work = replace(_with_rows(source, work, from_end=from_end), drawn=True)
    length = _length_words(source, row.before_mm, row.after_mm, work.mouth_mm)
    return replace(work, text=f"{work.text} {length}")


def _with_rows(source: Source, work: EdgeWork, *, from_end: bool) -> EdgeWork:
    """Return the words and rows of an edge that is drawn anew."""
    piece, edge, unit = work.piece, work.edge, source.unit
    pair = source.compared(piece)
    rows, lines = pair.rows(edge, unit, from_end=from_end), pair.old_lines(edge, from_end=from_end)
    turned = len(lines) > 1
    plain = all(row.at in ("corner", "old line", "to turn", "from turn") for row in rows)
    words = _kept_words(source, piece, edge, from_end=from_end, plain=plain)
    if turned:
        words.append(_TURNED)
    elif rows and not plain and not any(is_drawable(row.out_mm, unit) for row in rows):
        words = [_NEAR.format(*work.letters)]
        rows = tuple(row for row in rows if row.at == "corner")
    chord = pair.chord_rows(edge, unit)
    if chord is not None:
        words, rows = [], tuple(row for row in rows if row.at == "corner")
        first, last = work.letters
        words.append(
            f"Draw a straight line from {first} to {last} and measure on that."
            if chord
            else f"Straight from {first} to {last}."
        )
    if any(_ENDS in said for said in words):
        rows = ()
    return replace(
        work,
        text=" ".join(words or ["Draw it anew."]),
        offsets_from=work.letters[1 if from_end else 0] if rows else "",
        offsets=tuple(
            _letter_row(source, work, row, base)
            for row, base in zip(rows, lines_of_rows(lines, rows), strict=True)
        ),
        chord=tuple(_letter_row(source, work, row, pair.chord(edge)) for row in chord or ()),
    )


def _letter_row(source: Source, work: EdgeWork, row: Offset, base: OldLine) -> Offset:
    """Give a row the letter of the corner or dart leg that it stands at."""
    pair = source.compared(work.piece)
    if row.at not in ("corner", "new leg"):
        return row
    point = base.point(row.along_mm, row.out_mm)
    if row.at == "corner":
        ends = pair.now.edge(work.edge).points[[0, -1]]
        last = source.chord(ends[1], point) < source.chord(ends[0], point)
        return replace(row, letter=work.letters[last])
    legs = [leg for d in pair.now.darts if d.edge == work.edge for leg in d.legs]
    near = min(legs, key=lambda leg: source.chord(np.array(pair.now.landmark(leg).point), point))
    return replace(row, letter=source.letter(work.piece, near))


# ---------------------------------------------------------------------------- marks


def _marks_of(source: Source, piece: str) -> Iterator[Mark]:
    """Yield landmarks on changed edges, and all of a revised drawing.

    Also those on a part that was kept: a notch may have slid along it.
    """
    pair = source.compared(piece)
    changed = set(source.changed_edges(piece))
    if piece in source.given:
        changed = set(pair.now.edge_names)
    for one in letters_of(pair.now):
        if one.kind not in ("notch", "dart leg", "mark"):
            continue
        mark = pair.now.landmark(one.key)
        if mark.edge not in changed:
            continue
        along, total = pair.now.distance(mark.edge, mark.name), pair.now.edge(mark.edge).length
        anchor = source.pattern.info[piece].anchors.get(mark.name, "")
        edge, _, end = anchor.rpartition(".")
        if edge != mark.edge or end not in ("start", "end"):
            end = "start" if along <= total / 2 else "end"
        far = along if end == "start" else total - along
        origin = source.corner(piece, mark.edge, end)
        yield Mark(one.letter, mark.name, mark.edge, mark.kind, origin, far)


def _find_inside(source: Source, piece: str) -> Iterator[Apart]:
    """Yield dart tips from their legs; drill marks and line ends from the two nearest corners."""
    now = source.sized(piece)
    letters = {one.key: one for one in letters_of(now)}
    for dart in now.darts:
        tip = letters[f"{dart.name}.tip"]
        legs = [source.letter(piece, leg) or source.landmark(piece, leg) for leg in dart.legs]
        far = [source.chord(np.array(now.landmark(leg).point), tip.point) for leg in dart.legs]
        drilled = any(in_tip(dart, drill.point) for drill in now.drills)
        yield Apart(
            tip.letter,
            f"tip of {source.called(dart.name, piece)}{', drill mark' if drilled else ''}",
            legs[0],
            far[0],
            legs[1],
            far[1],
        )
    corners = [one for one in letters.values() if one.kind == "corner"]
    for one in letters.values():
        if one.kind in ("drill mark", "line end"):
            near = sorted((source.chord(c.point, one.point), c.letter) for c in corners)
            (first, a), (second, b) = (near * 2)[:2]
            inner = source.called(one.key.removeprefix("drill."), piece)
            yield Apart(one.letter, inner, a, first, b, second)


def piece_work(source: Source, piece: str, edges: tuple[EdgeWork, ...]) -> PieceWork:
    """Return everything that the step of one piece shows."""
    return PieceWork(
        piece=piece,
        title=source.title(piece),
        size=source.taken(piece),
        words=cut_words(source.pattern.info[piece]),
        edges=edges,
        letters=tuple(Letter(o.letter, o.kind, o.name) for o in letters_of(source.sized(piece))),
        marks=tuple(_marks_of(source, piece)),
        inside=tuple(_find_inside(source, piece)),
    )


def _kept_words(source: Source, piece: str, edge: str, *, from_end: bool, plain: bool) -> list[str]:
    """Tell where the old line stays; `plain` when the rest is straight."""
    pair = source.compared(piece)
    row, kept, inner = pair.row(edge), pair.kept[edge], pair.between[edge]
    start, end = (source.corner(piece, edge, which) for which in ("start", "end"))
    words = [
        f"{source.said(min(mm, row.after_mm))} from {letter}"
        for mm, letter in zip(kept, (start, end), strict=True)
        if mm >= KEPT_LEAST_MM
    ]
    rest = "Where the old line does not stay, the new one is straight."
    if words and max(kept) >= row.before_mm - PENCIL_MM:
        return [f"Keep the whole old line and run it on{' straight' if plain else ''}."]
    if words and max(kept) >= row.after_mm - PENCIL_MM:
        return [f"Keep the old line for {words[0]}; {_ENDS} {end if kept[0] > kept[1] else start}."]
    found = []
    if len(words) == 2:
        after = "draw it anew between" if not inner else "what lies between is told next"
        found.append(f"Keep the old line for {words[0]} and for {words[1]}; {after}.")
    elif words:
        found.append(f"Keep the old line for {words[0]}; the new line leaves it there.")
    if inner:
        parts = [_say_part(source, piece, edge, part, from_end=from_end) for part in inner]
        found.append(f"The old line {'also ' if words else ''}stays {list_words(parts)}.")
    missing = row.after_mm - sum(kept) - sum(end - begin for begin, end in inner)
    if plain and missing > _GAP_MM:
        found.append(rest if found else f"Straight from {start} to {end}.")
    return found


def _say_part(
    source: Source, piece: str, edge: str, part: tuple[float, float], *, from_end: bool
) -> str:
    """Say ``between 16.3 mm from old A and new B``."""
    pair = source.compared(piece)
    old, new = pair.old(edge), pair.now.edge(edge).points
    origin = f" from old {source.corner(piece, edge, 'end' if from_end else 'start')}"
    total = length(old)
    said = []
    for mm, end in zip(part, ("start", "end"), strict=True):
        own = source.corner(piece, edge, end)
        if np.hypot(*(point_at(old, mm) - new[0 if end == "start" else -1])) <= PENCIL_MM:
            said.append((f"new {own}", ""))
        elif abs(mm - (0.0 if end == "start" else total)) <= PENCIL_MM:
            said.append((f"old {own}", ""))
        else:
            said.append((source.said(total - mm if from_end else mm), origin))
    (first, near), (second, far) = reversed(said) if from_end else said
    # Two distances from the same corner name it once.
    return f"between {first}{'' if near == far else near} and {second}{far}"


def _mouths_mm(source: Source, piece: str, edge: str) -> float:
    """Tell how much of an edge lies in mouths of darts now, mm."""
    now = source.sized(piece)
    return sum(
        abs(now.distance(edge, dart.legs[1]) - now.distance(edge, dart.legs[0]))
        for dart in now.darts
        if dart.edge == edge
    )


def _length_words(source: Source, before: float, after: float, mouths: float) -> str:
    """Tell how long it was and is, with the mouths of darts in it."""
    old, new = source.said(before), source.said(after)
    told = f"Length {new}, as before" if old == new else f"Length {old}, now {new}"
    if mouths:
        told += f", {source.said(mouths)} of it dart mouth, which the checks leave out"
    return f"{told}."
