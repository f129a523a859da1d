"""Darts that a derived piece has from its main piece come and go with them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from propagate.engine.darts.placing import with_dart
from propagate.engine.derived.region import Region
from propagate.engine.reshape import rounded
from propagate.geometry.arrays import Array
from propagate.geometry.crossing import crossings
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import as_pair, locate
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
    """Return the piece with the darts that its main piece has now.

    Only a piece that has a dart of its main piece as a dart takes part: in one that has the legs
    alone, as notches of a pleat, nothing is sewn to a tip.

    Parameters
    ----------
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
        marks = tuple(
            replace(mark, kind="mark") if mark.name in dart.legs else mark
            for mark in drawn.landmarks
            if mark.name not in dart.legs or mark.name in named
        )
        left = tuple(one for one in drawn.darts if one is not dart)
        drawn = replace(drawn, darts=left, landmarks=marks)
    for main in come:
        drawn = _add_dart(derived, drawn, main, laid)
    return drawn


def _main_darts(derived: Derived, region: Region) -> dict[tuple[str, str], _MainDart]:
    """Find darts of the main piece on lines that the piece lies on, and that stay open in it."""
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


def _add_dart(derived: Derived, piece: SizedPiece, main: _MainDart, laid: Motion) -> SizedPiece:
    """Add a dart of the main piece, its legs in the order of its own edge."""
    name = next(one.edge for one in derived.edges if one.on == main.edge)
    points, back = piece.edge(name).points, laid.inverse()
    tip = back.apply(main.tip)
    legs = []
    for leg, place in main.legs:
        end = back.apply(place)
        along = locate(points, end)[0]
        # Run on or cut short, the leg ends where it meets the edge.
        hits = crossings(np.array([tip, end + (end - tip)]), points)
        if len(hits):
            along = float(hits[np.abs(hits[:, 0] - np.hypot(*(end - tip))).argmin(), 1])
        legs.append((along, leg))
    (low, first), (high, second) = sorted(legs)
    dart = Dart(main.name, name, (first, second), as_pair(rounded(tip)))
    return with_dart(piece, dart, (low, high))
