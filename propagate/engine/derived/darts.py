"""Darts that a derived piece has from its main piece come and go with them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from propagate.engine.derived.region import Region
from propagate.engine.marks_on_lines import make_mark
from propagate.engine.reshape import rounded
from propagate.geometry.arrays import Array
from propagate.geometry.crossing import crossings
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import locate
from propagate.pattern.derived import Derived
from propagate.pattern.model import Dart, SizedPiece
from propagate.values import dataclass

__all__ = ["SAME_MARK_MM", "with_darts"]

SAME_MARK_MM = 0.05
"""Marks of the two pieces as near as this are one mark (drawing precision)."""


@dataclass(frozen=True, eq=False)
class _MainDart:
    """A dart of the main piece, in its frame: its edge there, the places of its legs, its tip."""

    name: str
    edge: str
    legs: tuple[tuple[str, Array], ...]
    tip: Array


def with_darts(
    derived: Derived,
    drawn: SizedPiece,
    regions: tuple[Region, Region],
    laid: Motion,
    named: Collection[str],
) -> SizedPiece:
    """The piece with the darts that its main piece has now.

    Only a piece that has a dart of its main piece as a dart takes part: in one that has the legs
    alone, as notches of a pleat, nothing is sewn to a tip.

    Parameters
    ----------
    derived : Derived
    drawn : SizedPiece
        Its edges as they are now, its darts and marks as they were.
    regions : (Region, Region)
        Before, and now.
    laid : Motion
        Its frame to the main piece's.
    named : collection of str
        Landmarks of it that the set names: they stay, as marks.
    """
    old, new = (_main_darts(derived, region) for region in regions)
    shared = {
        name: dart
        for name, main in old.items()
        for dart in drawn.darts
        if np.hypot(*(laid.apply(dart.tip) - main.tip)) <= SAME_MARK_MM
    }
    if not shared:
        return drawn
    gone = [shared[name] for name in shared if name not in new or new[name].edge != old[name].edge]
    come = [main for name, main in new.items() if name not in old or main.edge != old[name].edge]
    for dart in gone:
        drawn = _remove_dart(drawn, dart, named)
    for main in come:
        drawn = _add_dart(derived, drawn, main, laid)
    return drawn


def _main_darts(derived: Derived, region: Region) -> dict[tuple[str, str], _MainDart]:
    """Darts of the main piece on lines that the derived piece lies on, and that stay open in it."""
    taped = region.taped
    on = {one.on for one in derived.edges} - {*derived.closed_edges, *derived.pleated_edges}
    found = {}
    for piece, sized in taped.sized.items():
        for dart in sized.darts:
            places = [taped.place(piece, leg) for leg in dart.legs]
            edges = {place[0] for place in places if place is not None}
            if None in places or len(edges) != 1 or not edges <= on:
                continue
            legs = tuple(
                (leg, taped.motions[piece].apply(sized.landmark(leg).point)) for leg in dart.legs
            )
            tip = taped.motions[piece].apply(dart.tip)
            found[piece, dart.name] = _MainDart(dart.name, edges.pop(), legs, tip)
    return found


def _remove_dart(piece: SizedPiece, dart: Dart, named: Collection[str]) -> SizedPiece:
    """The piece without a dart; legs that the set names stay as marks."""
    marks = tuple(
        replace(mark, kind="mark") if mark.name in dart.legs else mark
        for mark in piece.landmarks
        if mark.name not in dart.legs or mark.name in named
    )
    return replace(
        piece, darts=tuple(one for one in piece.darts if one is not dart), landmarks=marks
    )


def _add_dart(derived: Derived, piece: SizedPiece, main: _MainDart, laid: Motion) -> SizedPiece:
    """The piece with a dart of its main piece, its legs in the order of its own edge."""
    name = next(one.edge for one in derived.edges if one.on == main.edge)
    edge, back = piece.edge(name), laid.inverse()
    legs = []
    for leg, place in main.legs:
        along = _run_on_to(edge.points, back.apply(main.tip), back.apply(place))
        free = _free_name(leg, [mark.name for mark in piece.landmarks])
        legs.append((along, make_mark(free, "dart leg", edge, along)))
    legs.sort(key=lambda leg: leg[0])
    x, y = rounded(back.apply(main.tip))
    own = _free_name(main.name, [dart.name for dart in piece.darts])
    dart = Dart(own, name, (legs[0][1].name, legs[1][1].name), (float(x), float(y)))
    marks = (*piece.landmarks, *(mark for _, mark in legs))
    return replace(piece, darts=(*piece.darts, dart), landmarks=marks)


def _run_on_to(points: Array, tip: Array, leg: Array) -> float:
    """Distance along an edge at which a leg, run on or cut short, meets it, mm."""
    hits = crossings(np.array([tip, leg + (leg - tip)]), points)
    if not len(hits):
        return locate(points, leg)[0]
    reach = float(np.hypot(*(leg - tip)))
    return float(hits[int(np.abs(hits[:, 0] - reach).argmin()), 1])


def _free_name(name: str, taken: Collection[str]) -> str:
    """The name, or the next with a number that is free."""
    found, number = name, 2
    while found in taken:
        found, number = f"{name}_{number}", number + 1
    return found
