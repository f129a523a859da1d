"""What is drawn on a re-seated pocket layer: landmarks, notches, grain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from propagate.engine.laying import starts_at
from propagate.engine.marks_on_lines import kept_or_share, put_mark, put_mark_at
from propagate.engine.relations.seat import Seat
from propagate.engine.reshape import rounded
from propagate.engine.state import State
from propagate.geometry.polyline import as_pair, locate, point_at
from propagate.pattern.grain import Grain
from propagate.pattern.model import Landmark, SizedPiece
from propagate.tolerances import RESTS_MM, SAME_POINT_MM

__all__ = ["place_landmark", "with_grain"]

GRAIN_CLEAR_MM = 2.0
"""A redrawn grain line keeps this distance from the seam line."""
PARALLEL = 1e-5
"""Grain lines whose unit vectors differ by less are parallel (0.002 mm over 200 mm)."""


def place_landmark(state: State, seat: Seat, new: SizedPiece, mark: Landmark) -> Landmark:
    """Place a landmark of a layer: opening ends, notches by their partner, the rest."""
    pairs = dict(seat.layer.put)
    edge = new.edge(mark.edge)
    same = edge is seat.piece.edge(mark.edge)
    ride = seat.layer.ride.get(mark.edge)
    if ride is None and same:
        return mark
    if ride is None:
        return put_mark(mark, edge, kept_or_share(seat.piece, edge, mark, SAME_POINT_MM))
    split = seat.split(ride)
    if mark.name in pairs and split is not None:
        here = seat.new.inverse().apply(split.point)
        near = np.hypot(*np.subtract(here, mark.point)) <= RESTS_MM
        if near and same:
            return mark
        # A layer that was drawn a little off its opening has the place on its own edge.
        along, off = locate(edge.points, here)
        return put_mark_at(mark, rounded(here)) if off <= RESTS_MM else put_mark(mark, edge, along)
    if same:
        return mark
    distance = _walk_from_partner(state, seat, ride, mark)
    if distance is None:
        offset = seat.old_offset(ride, np.asarray(mark.point))
        distance = (split.distance if split else 0.0) + offset
    point = point_at(seat.edited.edge(ride).points, distance)
    along, off = locate(edge.points, seat.new.inverse().apply(point))
    state.put_at_end(seat.layer.piece, mark, off)
    return put_mark(mark, edge, along)


def _walk_from_partner(state: State, seat: Seat, ride: str, mark: Landmark) -> float | None:
    """Distance along the riding silhouette edge at which a notch meets its partner.

    A notch on a riding edge belongs to the seam it marks, not to the layer.
    """
    partner = state.pattern.relations.partner_of.get(f"{seat.layer.piece}.{mark.name}")
    piece, _, landmark = (partner or "").partition(".")
    other = state.edited.get(state.pattern.relations.parts_of.get(piece, piece))
    placed = None if other is None else other.place(piece, landmark)
    if other is None or placed is None:
        return None
    from_top = placed.distance
    if other.stretches[placed.edge][0].kept:  # its top is its end
        from_top = other.edge(placed.edge).length - from_top
    own = seat.edited.edge(ride)
    top_is_start = starts_at(own.points, seat.edited.edge(seat.opening.across).points)
    return from_top if top_is_start else own.length - from_top


def with_grain(seat: Seat, piece: SizedPiece) -> SizedPiece:
    """Redraw the grain of a layer that shows parallel to the main piece's."""
    if not seat.layer.shows:
        return piece
    main = seat.edited.base.base.grain.direction
    own = seat.new.inverse().rotate(main)
    grain = piece.grain
    direction = grain.direction
    if float(direction @ own) < 0:
        own = -own
    if float(np.abs(direction - own).max()) <= PARALLEL:
        return piece
    middle = (np.asarray(grain.start) + np.asarray(grain.end)) / 2
    half = float(np.hypot(*np.subtract(grain.end, grain.start))) / 2
    area = shapely.Polygon(piece.outline)
    for share in (1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3):
        ends = middle + share * half * np.array([-own, own])
        line = shapely.LineString(ends)
        if area.contains(line) and area.exterior.distance(line) >= GRAIN_CLEAR_MM:
            break
    else:  # it is clear of the seam line nowhere
        ends = middle + half * np.array([-own, own])
    start, end = rounded(ends)
    return replace(piece, grain=Grain(as_pair(start), as_pair(end)))
