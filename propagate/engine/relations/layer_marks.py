"""What is drawn on a re-seated pocket layer: landmarks, notches, grain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import shapely

from propagate.engine.marks_on_lines import kept_or_share, put_mark, put_mark_at
from propagate.engine.relations.seat import Seat
from propagate.engine.reshape import Edited, rounded
from propagate.engine.state import State
from propagate.geometry.polyline import locate, point_at
from propagate.pattern.model import Grain, Landmark, SizedPiece
from propagate.tolerances import RESTS_MM, SAME_POINT_MM

__all__ = ["place_landmark", "with_grain"]

Array = npt.NDArray[np.float64]

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
    distance = _partner_distance(state, seat, ride, mark)
    if distance is None:
        offset = seat.old_offset(ride, np.asarray(mark.point))
        distance = (split.distance if split else 0.0) + offset
    point = point_at(seat.edited.edge(ride).points, distance)
    along, off = locate(edge.points, seat.new.inverse().apply(point))
    state.put_at_end(seat.layer.piece, mark, off)
    return put_mark(mark, edge, along)


def _partner_distance(state: State, seat: Seat, ride: str, mark: Landmark) -> float | None:
    """Distance along the silhouette edge of a notch, walked from its partner.

    A notch on a riding edge belongs to the seam it marks, not to the layer.
    """
    partner = state.pattern.relations.partner_of.get(f"{seat.layer.piece}.{mark.name}")
    return None if partner is None else _walk_notch(state, seat, ride, partner)


def _walk_notch(state: State, seat: Seat, ride: str, partner: str) -> float | None:
    """Distance on the riding silhouette edge at which the partner's notch meets it."""
    piece, _, landmark = partner.partition(".")
    owner = state.pattern.relations.parts_of.get(piece, piece)
    if owner not in state.edited:
        return None
    other = state.edited[owner]
    placed = other.place(piece, landmark)
    if placed is None:
        return None
    far = other.edge(placed.edge)
    own = seat.edited.edge(ride)
    top_is_start = _top_is_start(seat.edited, ride, seat.opening.across)
    other_top_is_start = not other.stretches[placed.edge][0].kept
    from_top = placed.distance if other_top_is_start else far.length - placed.distance
    return from_top if top_is_start else own.length - from_top


def _top_is_start(edited: Edited, edge: str, across: str) -> bool:
    start = edited.edge(edge).points[0]
    return bool(
        (np.abs(edited.edge(across).points[[0, -1]] - start).max(axis=1) <= SAME_POINT_MM).any()
    )


def _keep_inside(piece: SizedPiece, middle: Array, direction: Array, half: float) -> float:
    """Half length of a grain line that stays clear inside the piece, mm."""
    area = shapely.Polygon(piece.outline)
    seam = area.exterior
    for share in (1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3):
        line = shapely.LineString(
            [middle - share * half * direction, middle + share * half * direction]
        )
        if area.contains(line) and seam.distance(line) >= GRAIN_CLEAR_MM:
            return share * half
    return half


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
    half = np.hypot(*np.subtract(grain.end, grain.start)) / 2
    half = _keep_inside(piece, middle, own, float(half))
    start, end = rounded(middle - half * own), rounded(middle + half * own)
    return replace(
        piece, grain=Grain((float(start[0]), float(start[1])), (float(end[0]), float(end[1])))
    )
