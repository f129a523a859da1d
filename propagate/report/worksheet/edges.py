"""One bullet for every changed edge, and the corners, marks and inner points of its piece."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from propagate.pattern.model import Landmark
from propagate.report.set_text import cut_words
from propagate.report.worksheet.corners import new_corners
from propagate.report.worksheet.edge_words import (
    is_plain,
    kept_words,
    length_words,
    mouths_mm,
    paper_words,
)
from propagate.report.worksheet.lengths import shown
from propagate.report.worksheet.value import (
    Apart,
    EdgeWork,
    Mark,
    PieceWork,
    Widest,
)
from propagate.report.worksheet.words import Source

__all__ = ["edge_work", "marks_of", "piece_work"]


def edge_work(
    source: Source, piece: str, edge: str, lead: str = "", *, table: bool, instead: str = ""
) -> EdgeWork:
    """Tell what is done to one changed edge.

    Parameters
    ----------
    source : Source
    piece, edge : str
    lead : str
        Said before everything else; a sentence.
    table : bool
        Add offsets, from which the new line can be drawn.
    instead : str
        Said in place of what stays and of paper, where another step has done it.
    """
    pair, row, unit = source.compared(piece), source.compared(piece).row(edge), source.unit
    trimmed = added = None
    if shown(row.trimmed_mm, unit):
        along = pair.widest_trimmed(edge)
        trimmed = Widest(row.trimmed_mm, along, source.place(piece, edge, along))
    if shown(row.added_mm, unit):
        along = pair.widest_added(edge)
        added = Widest(row.added_mm, along, source.place(piece, edge, along))
    kept = pair.kept(edge)
    from_end = kept[1] < kept[0]  # counted from the end that moved more
    counted_from = "end" if from_end else "start"
    drawn = bool(trimmed or added)
    rows = pair.rows(edge, unit, from_end=from_end) if table and drawn else ()
    plain = table and is_plain(rows)
    near = bool(rows) and not plain and not any(shown(o.out_mm, unit) for o in rows)
    offsets = () if plain or near else rows
    words = [lead] if lead and (drawn or (piece, edge) in source.openings) else []
    if drawn and not lead:
        words += kept_words(source, piece, edge, from_end=from_end, plain=plain)
        words += [
            "Elsewhere follow the old line all the same: the two are too close to tell apart."
        ] * near
    words += paper_words(source, trimmed, added)
    mouths = mouths_mm(source, piece, edge)
    words = [instead] if instead else words
    words.append(length_words(source, row.before_mm, row.after_mm, mouths))
    return EdgeWork(
        piece=piece,
        edge=edge,
        text=" ".join(words),
        before_mm=row.before_mm,
        after_mm=row.after_mm,
        added=added,
        trimmed=trimmed,
        kept_start_mm=min(kept[0], row.after_mm),
        kept_end_mm=min(kept[1], row.after_mm),
        kept_between_mm=pair.between(edge),
        mouth_mm=mouths,
        offsets_from=source.corner(piece, edge, counted_from) if offsets else None,
        offsets=offsets,
        allowance_mm=source.result.pattern.info[piece].allowance.of(edge),
    )


# ---------------------------------------------------------------------------- marks


def marks_of(source: Source, piece: str) -> tuple[Mark, ...]:
    """Landmarks on changed edges, and all of a revised drawing.

    Also those on a part that was kept: a notch may have slid along it.
    """
    pair = source.compared(piece)
    changed = set(source.changed_edges(piece))
    if piece in source.given:
        changed = set(pair.now.edge_names)
    found = []
    for mark in pair.now.landmarks:
        if mark.edge not in changed:
            continue
        edge = pair.now.edge(mark.edge)
        along = pair.now.distance(mark.edge, mark.name)
        if min(along, edge.length - along) < 0.05:
            continue  # a corner, which has measures of its own
        found.append(_mark(source, piece, mark, along, edge.length))
    return tuple(found)


def _mark(source: Source, piece: str, mark: Landmark, along: float, total: float) -> Mark:
    anchor = source.result.pattern.info[piece].anchors.get(mark.name, "")
    edge, _, end = anchor.rpartition(".")
    if edge != mark.edge or end not in ("start", "end"):
        end = "start" if along <= total / 2 else "end"
    far = along if end == "start" else total - along
    return Mark(mark.name, mark.edge, mark.kind, str(source.corner(piece, mark.edge, end)), far)


def _inside(source: Source, piece: str) -> Iterator[Apart]:
    """Dart tips from their legs; drill marks and line ends from the two nearest corners."""
    now = source.sized(piece)
    for dart in now.darts:
        first, second = (
            source.chord(np.array(now.landmark(leg).point), np.array(dart.tip)) for leg in dart.legs
        )
        yield Apart(
            f"tip of dart ‘{dart.name}’", f"‘{dart.legs[0]}’", first, f"‘{dart.legs[1]}’", second
        )
    for drill in now.drills:
        yield _from_corners(source, piece, f"drill mark ‘{drill.name}’", np.array(drill.point))
    for line in now.lines:
        for word, point in (("start", line.points[0]), ("end", line.points[-1])):
            yield _from_corners(source, piece, f"{word} of line ‘{line.name}’", point)


def _from_corners(source: Source, piece: str, name: str, point: np.ndarray) -> Apart:
    now = source.sized(piece)
    corners = [(source.chord(e.points[-1], point), e.name) for e in now.edges]
    if len(corners) == 1:
        corners = corners * 2
    (first, one), (second, two) = sorted(corners)[:2]
    said = [str(source.corner(piece, edge, "end")) for edge in (one, two)]
    return Apart(name, said[0], first, said[1], second)


def piece_work(source: Source, piece: str, edges: tuple[EdgeWork, ...]) -> PieceWork:
    """Everything that the page of one piece shows."""
    info = source.result.pattern.info[piece]
    return PieceWork(
        piece=piece,
        title=source.title(piece),
        size=source.taken(piece),
        words=cut_words(info),
        edges=edges,
        corners=new_corners(source, piece),
        marks=marks_of(source, piece),
        inside=tuple(_inside(source, piece)),
    )
