"""Re-seat the layers of a pocket and re-cut what rides on the silhouette.

All layers take one and the same rigid motion, the one that carries the old opening
line onto the new one.  So edges that are sewn to each other stay alike, and what is
missing or left over appears on the riding edges only.  Each layer is re-cut in its own
frame: vertices that nothing touched keep every digit.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from propagate.engine.record import ChangeKind
from propagate.engine.relations.cut import cut_segment
from propagate.engine.relations.free_end import FreeEnd, seat_free_end
from propagate.engine.relations.given_layer import (
    given_layer,
    layer_edges,
    measure_given,
    put_motion,
)
from propagate.engine.relations.layer_marks import place_landmark, with_grain
from propagate.engine.relations.layer_measures import measure_layer
from propagate.engine.relations.seat import Seat
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.state import Split, State
from propagate.engine.tape import edge_from_parts
from propagate.errors import EditError
from propagate.geometry.polyline import locate, locate_all
from propagate.pattern.model import Array, Edge, SizedPiece
from propagate.pattern.relations import Stack
from propagate.tolerances import ON_LINE_MM, RESTS_MM, RUN_ON_MM, SAME_POINT_MM, SEAM_LENGTH_MM

__all__ = ["apply", "recut_layer"]


def apply(state: State, stack: Stack, cause: str) -> bool:
    """Re-seat every layer; returns whether any changed.

    Raises
    ------
    EditError
        When a layer's landmarks miss the opening's ends by more than its tolerance.
    """
    opening = state.pattern.relations.openings[stack.opening]
    laid = state.openings.get(stack.opening)
    if laid is None:
        return False
    edited = state.silhouette(opening.silhouette)
    main = laid.source.sized[opening.piece]
    changed = False
    for layer in stack.layers:
        state.taken[layer.piece] = state.job.pocket
        piece = state.pattern.sized(layer.piece, state.job.pocket)
        given = state.given.pieces.get(layer.piece)
        # whether the revision itself drew what another piece decides on the layer
        fixed = given is not None and (
            any(f"{layer.piece}.{edge}" in state.redrawn for edge in layer_edges(layer))
            or any(f"{layer.piece}.{own}" in state.remarked for own, _ in layer.put)
        )
        if given is not None and not fixed:
            piece = given
        old, residual = put_motion(layer, piece, main)
        if residual > opening.tolerance:
            names = ", ".join(f"'{own}'" for own, _ in layer.put)
            raise EditError(
                f"set '{state.pattern.name}', piece '{layer.piece}', size "
                f"'{state.job.pocket}': its landmarks {names} miss the ends of opening "
                f"'{opening.name}' by {residual:.2f} mm, expected "
                f"{opening.tolerance:g} mm or less; correct the landmarks, or the unit of the piece"
            )
        if residual > SEAM_LENGTH_MM:
            state.notice(
                layer.piece,
                f"its landmarks miss the ends of opening '{opening.name}' by {residual:.2f} mm in "
                f"size {state.job.pocket}; it was laid by least squares",
                "put its landmarks on the ends of the opening",
                about=("landmarks miss", opening.name),
            )
        seat = Seat(layer, piece, opening, laid, edited, old, laid.motion.after(old))
        if given is not None and fixed:  # it stays as it was drawn, or has to give way
            place, piece = given_layer(state, stack, layer), given
            new = given
            if place is not None:
                new = recut_layer(state, replace(seat, piece=given, new=place), cause)
            measured = measure_given(state, stack, layer, new)
        else:
            new = piece if _is_undisturbed(state, seat) else recut_layer(state, seat, cause)
            measured = measure_layer(state, stack, layer, seat.old, seat.new, new)
        if new != piece:
            state.pieces[layer.piece] = new
            changed = True
        state.measured(measured)
    return changed


def _is_undisturbed(state: State, seat: Seat) -> bool:
    """Whether neither the opening nor the outline changed where the layer rides on it.

    A layer need not lie on the line that it was cut from to the last digit; where that did not
    change it stays as it is.
    """
    if seat.layer.piece in state.given.pieces or state.job.pocket != state.job.size:
        return False
    for edge in seat.piece.edges:
        placed = seat.new.apply(edge.points)
        if np.abs(placed - seat.old.apply(edge.points)).max() > RESTS_MM:
            return False
        on = seat.layer.ride.get(edge.name)
        if on is None:
            continue
        was, now = seat.edited.base.edge(on).points, seat.edited.edge(on).points
        gaps = locate_all(was, placed)[1] - locate_all(now, placed)[1]
        if np.abs(gaps).max() > RESTS_MM:
            return False
        near = np.hypot(*(was[[0, -1]][:, None] - placed[None]).transpose(2, 0, 1)).min(axis=1)
        moved = np.hypot(*(was[[0, -1]] - now[[0, -1]]).T)
        if (moved[near <= ON_LINE_MM] > RESTS_MM).any():
            return False
    return True


def recut_layer(state: State, seat: Seat, cause: str) -> SizedPiece:
    """Re-cut one layer in its own frame."""
    old = seat.piece.edges
    points = [edge.points for edge in old]
    ends: dict[tuple[int, int], Split] = {}
    count = len(old)
    for i in range(count):
        _resolve_corner(state, seat, points, ends, i, (i + 1) % count)
    edges, sizes = list(old), set[str]()
    for i, edge in enumerate(old):
        if edge.name == seat.layer.mouth:
            edges[i] = _draw_mouth(seat, edge)
        elif edge.name in seat.layer.ride:
            begin, end = ends[(i, 0)], ends[(i, -1)]
            edges[i] = _cut_ride(seat, edge, begin, end)
            on = seat.layer.ride[edge.name]
            sizes |= seat.edited.sizes_between(on, begin.distance, end.distance)
        elif points[i] is not edge.points:
            edges[i] = edge_from_parts(edge.name, [points[i]], edge.turn_points)
    state.stretches[seat.layer.piece] = sizes
    edges = list(share_corners(edges, old))
    for before, after in zip(old, edges, strict=True):
        if before != after:
            ride = seat.layer.ride.get(before.name)
            node = f"{seat.edited.base.name}/{ride}"
            behind = f"behind opening '{seat.opening.name}'"
            text = (
                f"re-seated {behind} and drawn anew along '{ride}' of '{seat.edited.base.name}'"
                if ride
                else f"re-seated {behind}; its end follows the new outline"
            )
            why = node if ride and node in state.changes else cause
            state.change(f"{seat.layer.piece}.{after.name}", ChangeKind.RESEATED, text, why)
    new = replace(seat.piece, edges=tuple(edges))
    new = replace(new, landmarks=tuple(place_landmark(state, seat, new, m) for m in new.landmarks))
    return with_grain(seat, new)


def _resolve_corner(
    state: State,
    seat: Seat,
    points: list[Array],
    ends: dict[tuple[int, int], Split],
    i: int,
    j: int,
) -> None:
    """Find where edge i ends and edge j begins, on the silhouette edges on which they ride."""
    first, second = seat.piece.edges[i], seat.piece.edges[j]
    on_first, on_second = seat.layer.ride.get(first.name), seat.layer.ride.get(second.name)
    if on_first is not None and on_second is not None:
        ends[i, -1], ends[j, 0] = _silhouette_corner(seat, on_first, on_second, second.points[0])
    elif on_first is not None and second.name == seat.layer.mouth:
        ends[i, -1] = _mouth_end(seat, on_first, second.points[0])
    elif on_second is not None and first.name == seat.layer.mouth:
        ends[j, 0] = _mouth_end(seat, on_second, first.points[-1])
    elif on_second is not None:
        seated = _free_end(state, seat, on_second, first, points[i])
        if not seated.unchanged:
            points[i] = seated.points
        ends[j, 0] = seated.split
    elif on_first is not None:
        seated = _free_end(state, seat, on_first, second, points[j][::-1])
        if not seated.unchanged:  # the other end may have been seated before
            points[j] = seated.points[::-1]
        ends[i, -1] = seated.split


def _silhouette_corner(seat: Seat, first: str, second: str, own: Array) -> tuple[Split, Split]:
    """The corner that two silhouette edges share, as a split of each.

    The layer's own corner stands for it when it rests there already.
    """
    placed = seat.new.apply(own)
    a, b = seat.edited.edge(first), seat.edited.edge(second)
    for first_end in (0, -1):
        for second_end in (0, -1):
            if np.abs(a.points[first_end] - b.points[second_end]).max() <= SAME_POINT_MM:
                rests = np.hypot(*(placed - a.points[first_end])) <= RESTS_MM
                on_a = placed if rests else a.points[first_end]
                on_b = placed if rests else b.points[second_end]
                return (
                    Split(0.0 if first_end == 0 else a.length, on_a),
                    Split(0.0 if second_end == 0 else b.length, on_b),
                )
    raise AssertionError(f"edges '{first}' and '{second}' share no corner")


def _mouth_end(seat: Seat, silhouette_edge: str, own: Array) -> Split:
    """The opening's end; the layer's own mouth corner when it lies there already."""
    split = seat.split(silhouette_edge)
    placed = seat.new.apply(own)
    if split is None or np.hypot(*(placed - split.point)) <= ON_LINE_MM:
        points = seat.edited.edge(silhouette_edge).points
        distance = locate(points, placed)[0] if split is None else split.distance
        return Split(distance, placed)
    return split


def _free_end(state: State, seat: Seat, silhouette_edge: str, edge: Edge, points: Array) -> FreeEnd:
    """Seat the end of a free edge that runs towards the silhouette."""
    outline = seat.edited.edge(silhouette_edge)
    split = seat.split(silhouette_edge)

    def as_before() -> float | None:
        if split is None:
            return None
        distance = split.distance + seat.old_offset(silhouette_edge, points[-1])
        return min(max(distance, 0.0), outline.length)

    outside = not shapely.contains_xy(seat.edited.area, *seat.new.apply(points[-1]))
    seated = seat_free_end(points, seat.new, outline.points, as_before, outside=outside)
    if seated.how == "faded":
        why = (
            f"runs along '{silhouette_edge}' at a flat angle"
            if seated.ahead_mm is None
            else f"would have to run on for {seated.ahead_mm:.1f} mm, more than {RUN_ON_MM:g} mm, "
            f"to meet '{silhouette_edge}'"
        )
        state.notice(
            seat.layer.piece,
            f"edge '{edge.name}' {why}; its end was faded by {seated.moved_mm:.1f} mm to its old "
            "distance from the opening",
            "look at that end, and draw it anew if it must meet the outline",
            about=("end faded", edge.name),
        )
    return seated


def _draw_mouth(seat: Seat, old: Edge) -> Edge:
    """The opening line on a layer: its own, unless the main piece's changed its shape."""
    placed = seat.new.apply(old.points)
    _, gaps = locate_all(seat.laid.points, placed)
    ends = seat.laid.points[[0, -1]]
    flipped = np.hypot(*(placed[0] - ends[0])) > np.hypot(*(placed[0] - ends[1]))
    line = seat.laid.points[::-1] if flipped else seat.laid.points
    off = max(gaps.max(), float(np.hypot(*(placed[[0, -1]] - line[[0, -1]]).T).max()))
    if off <= ON_LINE_MM:
        return old
    return Edge(old.name, rounded(seat.new.inverse().apply(line)))


def _cut_ride(seat: Seat, old: Edge, begin: Split, end: Split) -> Edge:
    """Re-cut a riding edge from the silhouette; the old one when it lies there already."""
    silhouette = seat.edited.edge(seat.layer.ride[old.name])
    part = cut_segment(silhouette.points, begin, end)
    placed = seat.new.apply(old.points)
    ends_stay = (np.hypot(*(placed[[0, -1]] - part[[0, -1]]).T) <= SAME_POINT_MM).all()
    if ends_stay:
        _, gaps = locate_all(part, placed)
        _, back = locate_all(placed, part)
        # A coarser layer may leave the curve by its chord error between its vertices.
        if gaps.max() <= RESTS_MM and back.max() <= ON_LINE_MM / 2:
            return old
    new = edge_from_parts(old.name, [part], silhouette.turn_points)
    return Edge(old.name, rounded(seat.new.inverse().apply(new.points)), new.turns)
