"""Names that stand in the drawing, brought to what they name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import count

import numpy as np

from propagate.geometry.polyline import locate_all, point_at, points_at
from propagate.io.dxf.draft import Draft, PlacedNotch
from propagate.io.dxf.ours import KINDS, Named, Ours
from propagate.io.dxf.reports import Notes
from propagate.pattern.model import Array, Dart, Edge, Label, Landmark
from propagate.tolerances import ON_LINE_MM

__all__ = ["darts", "drill_marks", "label", "landmarks", "levels"]

_AGREES_MM = 0.5
_STRAYED_MM = 30.0


def landmarks(
    draft: Draft, edges: Sequence[Edge], notes: Notes, where: str
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
        exact = item.at if gap <= ON_LINE_MM else _point(edge, along)
        found.append(Landmark(name, edge_name, exact, KINDS[item.word]))
        taken.add(name)
    for notch in free.left():
        name = notch.name
        while name in taken:
            name += "_"
        taken.add(name)
        edge = edges[notch.edge]
        point = notch.at if notch.gap <= 1e-9 else _point(edge, notch.along)
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


def _places(notches: Sequence[PlacedNotch], edges: Sequence[Edge]) -> Array:
    """(n, 2) where notch points lie on their edges."""
    found = np.zeros((len(notches), 2))
    on = np.array([notch.edge for notch in notches])
    along = np.array([notch.along for notch in notches])
    for index in set(on.tolist()):
        found[on == index] = points_at(edges[index].points, along[on == index])
    return found


class _Notches:
    """Notch points that no text has taken so far."""

    def __init__(self, notches: Sequence[PlacedNotch], edges: Sequence[Edge]) -> None:
        self._notches = notches
        self._places = _places(notches, edges)
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


def _point(edge: Edge, along: float) -> tuple[float, float]:
    x, y = point_at(edge.points, along)
    return float(x), float(y)


def darts(ours: Ours) -> tuple[Dart, ...]:
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


def levels(ours: Ours) -> dict[str, tuple[float, float]]:
    """Return the levels named in the drawing."""
    return {item.names[0]: item.at for item in ours.of("level")}


def label(ours: Ours) -> Label | None:
    """Return where the piece's text sits, when the drawing says so."""
    found = ours.of("label")
    return Label(found[0].at, found[0].angle) if found else None
