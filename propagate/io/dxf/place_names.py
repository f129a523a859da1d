"""Names that stand in the drawing, brought to what they name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import count

import numpy as np

from propagate.geometry.polyline import locate, point_at
from propagate.io.dxf.draft import Draft, PlacedNotch
from propagate.io.dxf.ours import KINDS, Named, Ours
from propagate.io.dxf.reports import Notes
from propagate.pattern.model import Dart, Edge, Label, Landmark
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
    free = list(draft.notches)
    found: list[Landmark] = []
    for item in draft.ours.of(*KINDS):
        name, edge_name = item.names
        if edge_name not in by_name or any(mark.name == name for mark in found):
            notes.warn(
                f"the text for '{name}' names the edge '{edge_name}', which is not there; "
                "it was left out",
                where=where,
            )
            continue
        edge = by_name[edge_name]
        along, gap = locate(edge.points, item.at)
        notch = _partner(free, item, edges, edge)
        if notch is not None:
            free.remove(notch)
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
    taken = {mark.name for mark in found}
    for notch in free:
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


def _partner(
    free: Sequence[PlacedNotch], item: Named, edges: Sequence[Edge], edge: Edge
) -> PlacedNotch | None:
    """Return the notch point that a text names: the nearest one, if near enough."""
    if item.word == "mark":
        return None
    best, least = None, _STRAYED_MM
    for notch in free:
        place = _point(edges[notch.edge], notch.along)
        gap = float(np.hypot(place[0] - item.at[0], place[1] - item.at[1]))
        if edges[notch.edge].name != edge.name:
            gap = gap if gap <= _AGREES_MM else np.inf
        if gap < least:
            best, least = notch, gap
    return best


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
