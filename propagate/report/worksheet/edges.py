"""One bullet for every changed edge, and the corners, marks and inner points of its piece."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from propagate.geometry.polyline import length, locate
from propagate.pattern.model import Landmark
from propagate.report.set_text import cut_words
from propagate.report.worksheet.lengths import shown
from propagate.report.worksheet.outlines import KEPT_MM
from propagate.report.worksheet.value import (
    Apart,
    EdgeWork,
    Mark,
    NewCorner,
    Offset,
    PieceWork,
    Widest,
)
from propagate.report.worksheet.words import Source

__all__ = ["edge_work", "marks_of", "new_corners", "piece_work"]


_WORTH_MM = 5.0
"""A kept part shorter than this is not worth a word."""


def edge_work(source: Source, piece: str, edge: str, lead: str = "", *, table: bool) -> EdgeWork:
    """Tell what is done to one changed edge.

    Parameters
    ----------
    source : Source
    piece, edge : str
    lead : str
        Said before everything else; a sentence.
    table : bool
        Add offsets, from which the new line can be drawn.
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
    offsets: tuple[Offset, ...] = ()
    if table and (trimmed or added):
        offsets = pair.offsets(edge, unit, from_end=from_end)
        offsets = offsets if any(shown(o.out_mm, unit) for o in offsets) else ()
    words = [lead] if lead and (trimmed or added or (piece, edge) in source.openings) else []
    if (trimmed or added) and not lead:
        words += _kept_words(source, piece, edge, kept)
    words += _paper_words(source, trimmed, added)
    words.append(_length_words(source, row.before_mm, row.after_mm))
    return EdgeWork(
        piece=piece,
        edge=edge,
        text=" ".join(words),
        before_mm=row.before_mm,
        after_mm=row.after_mm,
        added=added,
        trimmed=trimmed,
        kept_start_mm=kept[0],
        kept_end_mm=kept[1],
        offsets_from=source.corner(piece, edge, "end" if from_end else "start") if offsets else "",
        offsets=offsets,
        allowance_mm=source.result.pattern.info[piece].allowance.of(edge),
    )


def _kept_words(source: Source, piece: str, edge: str, kept: tuple[float, float]) -> list[str]:
    """Where the old line stays."""
    words = []
    for mm, end in zip(kept, ("start", "end"), strict=True):
        if mm >= _WORTH_MM:
            words.append(f"{source.said(mm)} from {source.corner(piece, edge, end)}")
    if not words:
        return []
    row = source.compared(piece).row(edge)
    if max(kept) >= row.before_mm - KEPT_MM:
        return ["Keep the whole old line and run it on."]
    if max(kept) >= row.after_mm - KEPT_MM:
        return [f"Keep the old line for {words[0]}; it ends there now."]
    if len(words) == 2:
        return [f"Keep the old line for {words[0]} and for {words[1]}; redraw it between."]
    return [f"Keep the old line for {words[0]}; the new line leaves it there."]


def _paper_words(source: Source, trimmed: Widest | None, added: Widest | None) -> list[str]:
    words = []
    if trimmed:
        words.append(f"Cut away: at most {source.said(trimmed.mm)}, {trimmed.place}.")
    if added:
        words.append(f"Tape paper on: at most {source.said(added.mm)}, {added.place}.")
    return words or ["Leave it as it is: the change is too small to draw."]


def _length_words(source: Source, before: float, after: float) -> str:
    old, new = source.said(before), source.said(after)
    if old == new:
        return f"Its length stays {new}."
    return f"Its length was {old} and is now {new}."


# ------------------------------------------------------------------ corners and marks


def new_corners(source: Source, piece: str) -> tuple[NewCorner, ...]:
    """Corners that moved, straight from two corners of the old outline."""
    pair = source.compared(piece)
    names = pair.now.edge_names
    found = []
    for i in range(len(names)):
        old, new = pair.corner(i)
        moved = source.chord(old, new)
        if not shown(moved, source.unit):
            continue
        found.append(_squared(source, piece, i) or _from_two(source, piece, i))
    return tuple(found)


def _squared(source: Source, piece: str, index: int) -> NewCorner | None:
    """The corner along one of its old edges and square to it; the nearer edge."""
    pair = source.compared(piece)
    names = pair.now.edge_names
    old, new = pair.corner(index)
    found = []
    for name in dict.fromkeys((names[index], names[(index + 1) % len(names)])):
        points = pair.old(name)
        if np.hypot(*(points[0] - old)) > np.hypot(*(points[-1] - old)):
            points = points[::-1]
        along, gap = locate(points, new)
        if along < length(points) - 1.0 and (along > 1.0 or gap < 0.05):
            found.append((gap, along, name))
    if not found:
        return None
    gap, along, name = min(found)
    text = f"{source.said(along)} along the old {name} from its old place"
    if shown(gap, source.unit):
        inside = pair.old_area.contains(shapely.Point(new))
        text += f", then {source.said(gap)} square {'into' if inside else 'out from'} the piece"
    return NewCorner(source.corner(piece, names[index], "end"), text, True, along, gap)


def _from_two(source: Source, piece: str, index: int) -> NewCorner:
    """The corner straight from its old place and from a neighbouring old corner."""
    pair = source.compared(piece)
    names = pair.now.edge_names
    old, new = pair.corner(index)
    other, end = _second(source, piece, index)
    far = pair.old(names[other])[0 if end == "start" else -1]
    first, second = source.chord(old, new), source.chord(far, new)
    name = source.corner(piece, names[other], end).removeprefix("the ")
    text = (
        f"{source.said(first)} straight from its old place and {source.said(second)} straight "
        f"from the old {name}"
    )
    return NewCorner(source.corner(piece, names[index], "end"), text, False, first, second)


def _second(source: Source, piece: str, index: int) -> tuple[int, str]:
    """The neighbouring old corner to measure from: the one whose direction tells most."""
    pair = source.compared(piece)
    count = len(pair.now.edges)
    old, new = pair.corner(index)
    step = (new - old) / np.hypot(*(new - old))
    choices = ((index, "start"), ((index + 1) % count, "end"))

    def aside(choice: tuple[int, str]) -> float:
        """How squarely the two arcs cross, less what a long arc costs."""
        edge, end = choice
        far = pair.old(pair.now.edge_names[edge])[0 if end == "start" else -1] - new
        size = float(np.hypot(*far))
        if size < 1.0:
            return -1.0
        return abs(float(step[0] * far[1] - step[1] * far[0])) / size - size / 2000.0

    return max(choices, key=aside)


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
    return Mark(mark.name, mark.edge, mark.kind, source.corner(piece, mark.edge, end), far)


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
    return Apart(
        name, source.corner(piece, one, "end"), first, source.corner(piece, two, "end"), second
    )


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
