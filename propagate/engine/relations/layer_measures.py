"""Measures of a re-seated pocket layer, and the warnings that follow from them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import shapely

from propagate.engine.record import Notice
from propagate.engine.rows import LayerRow, RideRow
from propagate.engine.state import LayerMeasure, State
from propagate.errors import EditError
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import locate_all
from propagate.pattern.grain import Grain
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Stack, StackLayer
from propagate.tolerances import HAND_ROOM_RATIO, STICKS_OUT_MM2

__all__ = ["measure_layer"]


def measure_layer(
    state: State,
    stack: Stack,
    layer: StackLayer,
    old_place: Motion,
    new_place: Motion,
    new: SizedPiece,
) -> LayerMeasure:
    """Measure one layer in place, when somebody asks: off the line, sticking out, hand room.

    Raises
    ------
    EditError
        At once, when the layer or the silhouette crosses itself.
    """
    opening = state.pattern.relations.openings[stack.opening]
    edited = state.silhouette(opening.silhouette)
    after, silhouette = shapely.polygons(new_place.apply(new.outline)), edited.area
    if not after.is_valid:
        raise _refuse_crossed(state, layer.piece, after)
    if edited.crosses_itself:
        raise _refuse_crossed(state, edited.base.name, silhouette)

    old = state.pattern.sized(layer.piece, state.job.pocket)

    def measure() -> tuple[LayerRow, Sequence[Notice]]:
        notices: list[Notice] = []
        rides = []
        for name, on in layer.ride.items():
            _, gaps = locate_all(edited.edge(on).points, new_place.apply(new.edge(name).points))
            rides.append(RideRow(name, on, float(gaps.max())))
        sticks_out = float(after.difference(silhouette).area)
        row = LayerRow(
            stack=stack.name,
            piece=layer.piece,
            size=state.job.pocket,
            rides=tuple(rides),
            sticks_out_mm2=sticks_out,
            ok=sticks_out <= STICKS_OUT_MM2,
        )
        if sticks_out > STICKS_OUT_MM2:
            text = f"sticks out of the silhouette by {sticks_out:.1f} mm²"
            notices.append(Notice(layer.piece, text, "trim it along the outline"))
        if layer.bag:
            area_before = float(shapely.Polygon(old.outline).area)
            depth_before = _measure_depth(
                layer, old, old_place, state.openings[stack.opening].source.base.grain
            )
            depth_after = _measure_depth(layer, new, new_place, edited.base.base.grain)
            row = replace(
                row,
                area_before_mm2=area_before,
                area_after_mm2=float(after.area),
                depth_before_mm=depth_before,
                depth_after_mm=depth_after,
            )
            notices += _hand_room(layer, "area", area_before, float(after.area))
            notices += _hand_room(layer, "depth", depth_before, depth_after)
            allowance = state.pattern.info[layer.piece].allowance.default
            for name in stack.clear_of:
                gap = float(after.distance(shapely.LineString(edited.edge(name).points)))
                if gap < allowance:
                    notices.append(
                        Notice(
                            layer.piece,
                            f"comes within {gap:.1f} mm of '{name}', less than its allowance of "
                            f"{allowance:g} mm",
                            "make the bag smaller there, or look whether its allowance has room",
                            about=("near", name),
                        )
                    )
        return row, notices

    return LayerMeasure(measure)


def _refuse_crossed(state: State, name: str, polygon: shapely.Polygon) -> EditError:
    """What is said of an outline that crosses itself."""
    cure = (
        "what was revised leaves no room for this layer there: revise the layer too"
        if state.given.pieces
        else "the sizes are too far apart for this pocket: choose nearer sizes or the other "
        "pocket size"
    )
    return EditError(
        f"set '{state.pattern.name}', '{name}', size '{state.job.name}': the new outline "
        f"crosses itself ({shapely.is_valid_reason(polygon)}); {cure}"
    )


def _measure_depth(layer: StackLayer, piece: SizedPiece, place: Motion, grain: Grain) -> float:
    """How far a bag in its place reaches beyond the lower end of the opening, along the grain."""
    ends = place.apply([piece.landmark(own).point for own, _ in layer.put]) @ grain.direction
    reach = place.apply(piece.outline) @ grain.direction
    if abs(ends[0] - reach.max()) < abs(ends[0] - reach.min()):
        return float(ends.min() - reach.min())
    return float(reach.max() - ends.max())


def _hand_room(layer: StackLayer, what: str, old: float, new: float) -> Iterator[Notice]:
    """Warn of a bag in which there is more or less room for the hand."""
    if old > 0 and abs(new / old - 1) > HAND_ROOM_RATIO:
        text = f"hand room: the bag's {what} changed by {new / old - 1:+.0%}"
        do = "put a hand in, and redraw the bag if it has too little room or too much"
        yield Notice(layer.piece, text, do)
