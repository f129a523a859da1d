"""Drafts of one piece in all sizes to a piece: the same edges and names in every size."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import count

import numpy as np

from propagate.counts import say_count
from propagate.geometry.polyline import as_pair, locate_all, point_at, points_at
from propagate.io.dxf.draft import Draft, PlacedNotch, list_notches
from propagate.io.dxf.texts import KINDS, Named, Ours
from propagate.io.report import ReportNotes
from propagate.pattern.model import (
    Array,
    Dart,
    Edge,
    InternalLine,
    Label,
    Landmark,
    Mark,
    SizedPiece,
    frozen_points,
)
from propagate.tolerances import ON_LINE_MM

__all__ = ["align_edges", "sized_pieces"]


def align_edges(drafts: Mapping[str, Draft], base: str, notes: ReportNotes, where: str) -> None:
    """Let the edges of every size begin at the corner that the base size begins at."""
    first = drafts[base]
    for size, other in drafts.items():
        if other is first:
            continue
        count = len(first.edges)
        if len(other.edges) != count:
            notes.warn(
                f"size {size} has {len(other.edges)} edges, the base size {base} has {count}; "
                "the sizes cannot be used together until their corners agree",
                where=where,
            )
            continue
        if all(first.names) and set(first.names) == set(other.names):
            shift = other.names.index(first.names[0])
        else:
            shift = _best_shift(first, other, notes, f"{where}, size {size}")
        _roll_edges(other, shift)


def _place_corners(draft: Draft) -> Array:
    """(k, 2) where edges begin, about their middle, the grain along x."""
    corners = np.array([edge[0] for edge in draft.edges])
    x, y = draft.grain.direction
    turned: Array = (corners - corners.mean(axis=0)) @ np.array([[x, -y], [y, x]])
    return turned


def _measure_edges(draft: Draft) -> Array:
    """(k,) lengths of the edges, mm."""
    outline = draft.outline
    steps = np.roll(outline, -1, axis=0) - outline
    starts = np.cumsum([0, *(len(edge) - 1 for edge in draft.edges[:-1])])
    return np.asarray(np.add.reduceat(np.hypot(steps[:, 0], steps[:, 1]), starts))


def _best_shift(first: Draft, other: Draft, notes: ReportNotes, where: str) -> int:
    a, b = _place_corners(first), _place_corners(other)
    lengths_a, lengths_b = _measure_edges(first), _measure_edges(other)
    shifted = (np.arange(len(a))[:, None] + np.arange(len(a))) % len(a)
    costs = ((b[shifted] - a) ** 2).sum(axis=(1, 2))
    costs += ((lengths_b[shifted] - lengths_a) ** 2).sum(axis=1)
    best = int(np.argmin(costs))
    if len(costs) > 1:
        second = np.delete(costs, best).min()
        if second < 1.2 * costs[best] + 1.0:
            notes.warn(
                "two ways of laying its corners on those of the base size fit nearly as well; "
                "the better one was taken",
                where=where,
            )
    return best


def _roll_edges(draft: Draft, shift: int) -> None:
    if not shift:
        return
    count = len(draft.edges)
    for name in ("edges", "turns", "names"):
        values = getattr(draft, name)
        setattr(draft, name, [*values[shift:], *values[:shift]])
    if draft.notches:
        words = [notch.word for notch in draft.notches]
        draft.notches = list_notches(draft, words, np.array([notch.at for notch in draft.notches]))
    if draft.fold is not None:
        draft.fold = (draft.fold - shift) % count


def sized_pieces(
    drafts: Mapping[str, Draft], base: str, notes: ReportNotes, where: str
) -> dict[str, SizedPiece]:
    """Name what is on the edges alike in every size and build the pieces."""
    names = _edge_names(drafts[base])
    _notch_names(drafts, base, notes, where)
    return {
        size: _build_sized(draft, names, notes, f"{where}, size {size}")
        for size, draft in drafts.items()
    }


def _edge_names(draft: Draft) -> list[str]:
    """Keep given names; number the other edges by their place in the outline."""
    taken = set(draft.names)
    found = []
    for index, name in enumerate(draft.names):
        neutral = f"edge_{index + 1}"
        while neutral in taken:
            neutral += "_"
        found.append(name or neutral)
    return found


def _notch_names(drafts: Mapping[str, Draft], base: str, notes: ReportNotes, where: str) -> None:
    """Number the notches of each type in outline order; they must agree in every size."""
    for draft in drafts.values():
        draft.notches.sort(key=lambda notch: (notch.edge, notch.along))
    expected = [(notch.word, notch.edge) for notch in drafts[base].notches]
    differ: dict[int, list[str]] = {}
    for size, draft in drafts.items():
        found = [(notch.word, notch.edge) for notch in draft.notches]
        if found != expected and sorted(found) != sorted(expected):
            differ.setdefault(len(found), []).append(size)
        counts: dict[str, int] = {}
        for notch in draft.notches:
            counts[notch.word] = counts.get(notch.word, 0) + 1
            notch.name = f"{notch.word}_{counts[notch.word]}"
    for number, sizes in differ.items():
        said = f"size {sizes[0]} has" if len(sizes) == 1 else f"sizes {', '.join(sizes)} have"
        notes.warn(
            f"{said} {say_count(number, 'notch')} where the base size {base} has {len(expected)}, "
            f"or {'has' if len(sizes) == 1 else 'have'} them on other edges",
            where=where,
        )


def _build_sized(draft: Draft, names: Sequence[str], notes: ReportNotes, where: str) -> SizedPiece:
    if len(names) != len(draft.edges):
        names = [f"edge_{index + 1}" for index in range(len(draft.edges))]
    edges = tuple(
        Edge(name, frozen_points(points), turns)
        for name, points, turns in zip(names, draft.edges, draft.turns, strict=True)
    )
    tips = {item.at for item in draft.ours.of("dart")}
    return SizedPiece(
        edges=edges,
        grain=draft.grain,
        landmarks=build_landmarks(draft, edges, notes, where),
        darts=find_named_darts(draft.ours),
        lines=_build_lines(draft),
        drills=tuple(Mark(name, point) for name, point in drill_marks(draft) if point not in tips),
        levels=find_levels(draft.ours),
        label=find_label(draft.ours),
    )


def _build_lines(draft: Draft) -> tuple[InternalLine, ...]:
    named = {item.at: item.names[0] for item in draft.ours.of("line")}
    counts: dict[str, int] = {}
    found = []
    for word, points in draft.lines:
        name = named.pop((float(points[0][0]), float(points[0][1])), "")
        if not name:
            counts[word] = counts.get(word, 0) + 1
            name = f"{word}_{counts[word]}"
        found.append(InternalLine(name, frozen_points(points)))
    return tuple(found)


# ---------------------------------------------------------------- names that stand in the drawing

_AGREES_MM = 0.5
_STRAYED_MM = 30.0


def build_landmarks(
    draft: Draft, edges: Sequence[Edge], notes: ReportNotes, where: str
) -> tuple[Landmark, ...]:
    """Return the landmarks of a piece: named places first, then unnamed notches.

    A named place stands exactly where its text does while the notch point agrees with it;
    a notch point that was moved in another program takes its name along.
    """
    by_name = {edge.name: edge for edge in edges}
    free = _Notches(draft.notches, edges)
    found: list[Landmark] = []
    taken: set[str] = set()
    on_edge = _on_edges(draft.ours.of(*KINDS), by_name)
    for index, item in enumerate(draft.ours.of(*KINDS)):
        name, edge_name = item.names
        if edge_name not in by_name or name in taken:
            notes.warn(
                f"the text for '{name}' names the edge '{edge_name}', which is not there; "
                "it was left out",
                where=where,
            )
            continue
        edge = by_name[edge_name]
        along, gap = on_edge[index]
        notch = free.partner(item)
        if notch is not None:
            drawn = edges[notch.edge].name == edge_name
            if drawn and abs(notch.along - along) > _AGREES_MM:
                notes.warn(
                    f"notch '{name}' was moved by {notch.along - along:+.2f} mm along "
                    f"'{edge_name}' and its text was not; the notch counts",
                    where=where,
                )
                along, gap = notch.along, 1.0
        elif item.word == "notch":
            notes.warn(
                f"the text for notch '{name}' has no notch near it; its own place counts",
                where=where,
            )
        exact = item.at if gap <= ON_LINE_MM else as_pair(point_at(edge.points, along))
        found.append(Landmark(name, edge_name, exact, KINDS[item.word]))
        taken.add(name)
    for notch in free.left():
        name = notch.name
        while name in taken:
            name += "_"
        taken.add(name)
        edge = edges[notch.edge]
        point = notch.at if notch.gap <= 1e-9 else as_pair(point_at(edge.points, notch.along))
        found.append(Landmark(name, edge.name, point, "notch"))
    order = [item.names[0] for item in draft.ours.items if item.word in KINDS]  # of the file
    rank = {name: index for index, name in enumerate(order)}
    return tuple(sorted(found, key=lambda mark: rank.get(mark.name, len(rank))))


def _on_edges(
    items: Sequence[Named], by_name: Mapping[str, Edge]
) -> dict[int, tuple[float, float]]:
    """Where each item lies on the edge that it names: the distance along it, and off it, mm."""
    on: dict[str, list[int]] = {}
    for index, item in enumerate(items):
        on.setdefault(item.names[1], []).append(index)
    found: dict[int, tuple[float, float]] = {}
    for name, own in on.items():
        if name in by_name:
            targets = np.array([items[index].at for index in own])
            places = zip(*locate_all(by_name[name].points, targets), strict=True)
            found |= {i: (float(a), float(g)) for i, (a, g) in zip(own, places, strict=True)}
    return found


class _Notches:
    """Notch points that no text has taken so far."""

    def __init__(self, notches: Sequence[PlacedNotch], edges: Sequence[Edge]) -> None:
        self._notches = notches
        on = np.array([notch.edge for notch in notches])
        along = np.array([notch.along for notch in notches])
        self._places = np.zeros((len(notches), 2))
        for index in set(on.tolist()):
            self._places[on == index] = points_at(edges[index].points, along[on == index])
        self._on = np.array([edges[notch.edge].name for notch in notches], dtype=str)
        self._free = np.ones(len(notches), dtype=bool)

    def partner(self, item: Named) -> PlacedNotch | None:
        """Take the notch point that a text names: the nearest one, if near enough."""
        if item.word == "mark" or not len(self._notches):
            return None
        gaps = np.hypot(*(self._places - item.at).T)
        strayed = (self._on != item.names[1]) & (gaps > _AGREES_MM)
        gaps[strayed | ~self._free] = np.inf
        best = int(gaps.argmin())
        if gaps[best] >= _STRAYED_MM:
            return None
        self._free[best] = False
        return self._notches[best]

    def left(self) -> list[PlacedNotch]:
        """Those that are left."""
        return [n for n, free in zip(self._notches, self._free, strict=True) if free]


def find_named_darts(ours: Ours) -> tuple[Dart, ...]:
    """Return the darts named in the drawing."""
    return tuple(
        Dart(item.names[0], item.names[1], (item.names[2], item.names[3]), item.at)
        for item in ours.of("dart")
    )


def drill_marks(draft: Draft) -> Iterator[tuple[str, tuple[float, float]]]:
    """Return the drill holes with the names that stand at them, else numbered."""
    named: dict[tuple[float, float], list[str]] = {}
    for item in draft.ours.of("drill"):
        named.setdefault(item.at, []).append(item.names[0])
    numbers = count(1)
    for at in draft.drills:
        point = (float(at[0]), float(at[1]))
        names = named.get(point)
        yield (names.pop(0) if names else f"drill_{next(numbers)}"), point


def find_levels(ours: Ours) -> dict[str, tuple[float, float]]:
    """Return the levels named in the drawing."""
    return {item.names[0]: item.at for item in ours.of("level")}


def find_label(ours: Ours) -> Label | None:
    """Return where the piece's text sits, when the drawing says so."""
    found = ours.of("label")
    return Label(found[0].at, found[0].angle) if found else None
