"""Everything the page draws of one piece, as path data and numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.finish import allowances, cut_line
from propagate.engine.record import PieceChange
from propagate.errors import PropagateError
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.relations import PieceInfo
from propagate.report.blend_text import size_taken
from propagate.report.page.paths import area_data, path_data, place, short
from propagate.report.page.subject import STATUS_WORDS, State, Subject
from propagate.report.page.words import node_words
from propagate.report.scene.piece import outward_at
from propagate.report.set_text import cut_words
from propagate.report.units import Unit
from propagate.values import dataclass

__all__ = ["EdgeView", "MarkView", "PieceView", "piece_view"]

Array = npt.NDArray[np.float64]

_NOTCH_MM = 6.0
_SLIVER_MM = 0.04
_SMALLEST_MM2 = 0.5
_MARGIN = 0.04
_SMALLEST_MM = 0.05


@dataclass(frozen=True)
class EdgeView:
    """One edge: its line, its lengths in words, and why it changed."""

    name: str
    data: str
    length: float
    label: str
    state: str
    before: str = ""
    now: str = ""
    change: str = ""
    added: str = ""
    trimmed: str = ""
    old: str = ""
    why: Sequence[tuple[str, str]] = ()


@dataclass(frozen=True)
class MarkView:
    """A notch or landmark: its point, its tick's end, and how far along its edge it lies."""

    name: str
    kind: str
    x: str
    y: str
    tip_x: str
    tip_y: str
    said: str


@dataclass(frozen=True)
class PieceView:
    """One piece as the page draws it; y down, mm."""

    id: str
    name: str
    title: str
    state: State
    status: str
    cut: str
    box: tuple[float, float, float, float]
    edges: Sequence[EdgeView]
    outline: str
    cut_line: str
    old_cut_line: str = ""
    added: str = ""
    trimmed: str = ""
    areas: str = ""
    marks: Sequence[MarkView] = ()
    lines: Sequence[tuple[str, str]] = ()
    drills: Sequence[tuple[str, str]] = ()
    grain: str = ""
    levels: Sequence[tuple[str, str]] = ()
    why: Sequence[tuple[str, str]] = ()
    notices: Sequence[str] = field(default_factory=tuple)

    @property
    def view_box(self) -> str:
        """The drawing's place as SVG wants it."""
        return " ".join(short(value, 1) for value in self.box)


def piece_view(subject: Subject, name: str, notices: Sequence[str]) -> PieceView:
    """Put together what the page draws of one piece."""
    piece, info = subject.sized(name), subject.pattern.info[name]
    change = subject.changes.get(name)
    shown = change if change is not None and change.status != "same" and change.before else None
    new_cut = _cut(piece, info, subject.size)
    old = _piece_before(piece, shown)
    old_cut = None if old is None else _cut(old, info, "")
    added, trimmed = _areas(piece, old)
    lines = [piece.outline, *(a for a in (new_cut, old_cut) if a is not None)]
    lines += [old.outline] if old is not None else []
    return PieceView(
        id=subject.ids[name],
        name=name,
        title=info.title,
        state=subject.state(name),
        status=_status(subject, name, change),
        cut=cut_words(info),
        box=_box(np.vstack(lines)),
        edges=[_edge(subject, name, edge, shown) for edge in piece.edges],
        outline=path_data(piece.outline, closed=True),
        cut_line="" if new_cut is None else path_data(new_cut, closed=True),
        old_cut_line="" if old_cut is None else path_data(old_cut, closed=True),
        added=area_data(added),
        trimmed=area_data(trimmed),
        areas=_area_words(shown, subject.unit),
        marks=_marks(piece, info, subject.unit),
        lines=_inner(piece),
        drills=[place(drill.point) for drill in piece.drills],
        grain=_grain(piece),
        levels=_levels(piece),
        why=_why(subject, f"{name}.*"),
        notices=notices,
    )


def _status(subject: Subject, name: str, change: PieceChange | None) -> str:
    if subject.result is None:
        return f"size {subject.size}, as drawn"
    taken = size_taken(subject.result, name)
    if change is None or change.status == "same":
        return f"size {taken}, {STATUS_WORDS[subject.state(name)]}"
    also = "".join(f", with stretches of size {size}," for size in change.also)
    return f"taken from size {taken}{also} and {change.status}"


def _cut(piece: SizedPiece, info: PieceInfo, size: str) -> Array | None:
    """The cut line; None without allowances, or where none can be built."""
    try:
        if not any(allowances(piece, info).values()):
            return None
        return cut_line(piece, info, size=size).points
    except PropagateError:
        return None


def _piece_before(piece: SizedPiece, change: PieceChange | None) -> SizedPiece | None:
    """The old outline as a piece.

    The record keeps the points alone; an edge that has as many turns as before has them
    at the same vertices.
    """
    if change is None:
        return None
    now = {edge.name: edge for edge in piece.edges}
    edges = []
    for name, points in change.before.items():
        twin = now.get(name)
        alike = twin is not None and len(twin.points) == len(points)
        edges.append(Edge(name, points, twin.turns if twin is not None and alike else ()))
    return SizedPiece(tuple(edges), piece.grain)


def _areas(
    piece: SizedPiece, old: SizedPiece | None
) -> tuple[list[shapely.Polygon], list[shapely.Polygon]]:
    if old is None:
        return [], []
    now, was = (shapely.make_valid(shapely.Polygon(p.outline)) for p in (piece, old))
    return _worth(now.difference(was)), _worth(was.difference(now))


def _worth(area: shapely.Geometry) -> list[shapely.Polygon]:
    """The parts of an area that are worth showing, without slivers of rounding."""
    opened = area.buffer(-_SLIVER_MM).buffer(_SLIVER_MM, join_style="mitre")
    parts = shapely.get_parts(opened.intersection(area))
    return [p for p in parts if p.geom_type == "Polygon" and p.area >= _SMALLEST_MM2]


def _box(points: Array) -> tuple[float, float, float, float]:
    low, high = points.min(axis=0), points.max(axis=0)
    margin = max(float((high - low).max()) * _MARGIN, 4.0)
    x, y = float(low[0]) - margin, -float(high[1]) - margin
    wide, tall = (high - low) + 2 * margin
    return x, y, float(wide), float(tall)


def _edge(subject: Subject, piece: str, edge: Edge, change: PieceChange | None) -> EdgeView:
    unit = subject.unit
    now = unit.length(edge.length)
    found = None
    if change is not None:
        found = next((item for item in change.edges if item.edge == edge.name), None)
    if change is None or found is None:
        label = f"{edge.name} {now}"
        return EdgeView(edge.name, path_data(edge.points), edge.length, label, "same", now=now)
    said = {"same": "same", "moved": "moved"}.get(found.status)
    grown = unit.change(edge.length - found.before_mm)
    old = change.before.get(edge.name)
    return EdgeView(
        name=edge.name,
        data=path_data(edge.points),
        length=edge.length,
        label=f"{edge.name} {now}" + ("" if said else f" ({grown})"),
        state=found.status,
        before=unit.length(found.before_mm),
        now=now,
        change=said or grown,
        added=unit.length(found.added_mm) if found.added_mm > _SMALLEST_MM else "",
        trimmed=unit.length(found.trimmed_mm) if found.trimmed_mm > _SMALLEST_MM else "",
        old="" if old is None or found.status == "same" else path_data(old),
        why=_why(subject, f"{piece}.{edge.name}"),
    )


def _why(subject: Subject, node: str) -> list[tuple[str, str]]:
    """The chain of causes of one change: where, and what happened there."""
    if subject.record is None:
        return []
    chain = subject.record.chain(node)
    return [(node_words(subject.pattern, link.id), link.what) for link in chain]


def _area_words(change: PieceChange | None, unit: Unit) -> str:
    if change is None:
        return ""
    pairs = (("tape on", change.added_mm2), ("trim", change.trimmed_mm2))
    return ", ".join(f"{what} {unit.area(mm2)}" for what, mm2 in pairs if mm2 > 1.0)


def _marks(piece: SizedPiece, info: PieceInfo, unit: Unit) -> list[MarkView]:
    widths = allowances(piece, info)
    views = []
    for mark in piece.landmarks:
        if mark.kind == "dart leg":
            continue
        size = min(max(widths.get(mark.edge, 0.0), _NOTCH_MM / 2), _NOTCH_MM)
        tip = np.asarray(mark.point) + outward_at(piece, mark) * size
        along = unit.said(piece.distance(mark.edge, mark.name))
        said = f"{mark.name}: {along} along {mark.edge}"
        views.append(MarkView(mark.name, mark.kind, *place(mark.point), *place(tip), said))
    return views


def _inner(piece: SizedPiece) -> list[tuple[str, str]]:
    """Lines inside the piece as (class, path data)."""
    found = [("inner", path_data(line.points)) for line in piece.lines]
    for dart in piece.darts:
        first, second = (piece.landmark(leg).point for leg in dart.legs)
        found.append(("dart", path_data([first, dart.tip, second])))
    return found


def _grain(piece: SizedPiece) -> str:
    """The grain line with an arrow at both ends."""
    start, end = np.asarray(piece.grain.start), np.asarray(piece.grain.end)
    size = float(np.hypot(*(end - start)))
    along = (end - start) / size
    aside = np.array([-along[1], along[0]])
    head = min(12.0, size / 5)
    lines = [[start, end]]
    for tip, back in ((start, along), (end, -along)):
        lines.append([tip + head * (back + s * 0.3 * aside) if s else tip for s in (-1, 0, 1)])
    return " ".join(path_data(line).replace("m", "M", 1) for line in lines)


def _levels(piece: SizedPiece) -> list[tuple[str, str]]:
    """Levels as (name, path data), where they lie inside the piece."""
    grain = piece.grain.direction
    across = np.array([grain[1], -grain[0]])
    outline = shapely.make_valid(shapely.Polygon(piece.outline))
    found = []
    for name, point in piece.levels.items():
        ends = np.asarray(point) + across * 1e4, np.asarray(point) - across * 1e4
        crossed = shapely.get_parts(outline.intersection(shapely.LineString(ends)))
        found += [
            (name, path_data(np.asarray(part.coords)))
            for part in crossed
            if part.geom_type == "LineString" and part.length >= 5.0
        ]
    return found
