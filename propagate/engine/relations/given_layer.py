"""A pocket layer that was revised itself: it is not re-cut, it has to fit as it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from propagate.engine.record import Notice
from propagate.engine.relations.layer_measures import measure_layer
from propagate.engine.state import LayerMeasure, State
from propagate.errors import Conflict
from propagate.geometry.motion import fit
from propagate.geometry.polyline import locate_all
from propagate.pattern.relations import Stack, StackLayer

__all__ = ["given_layer", "layer_edges"]


def layer_edges(layer: StackLayer) -> tuple[str, ...]:
    """Edges of a layer that another piece decides: those that ride, and the mouth."""
    return (*layer.ride, *([layer.mouth] if layer.mouth is not None else []))


def given_layer(state: State, stack: Stack, layer: StackLayer) -> LayerMeasure:
    """Measure a revised layer on the opening as it now lies.

    Raises
    ------
    Conflict
        When the other side was revised too and the two are apart by more than the drawing
        is exact; when it was not, that is noted.
    """
    opening = state.pattern.relations.openings[stack.opening]
    laid = state.openings[stack.opening]
    edited = state.silhouette(opening.silhouette)
    new = state.given.pieces[layer.piece]
    main = state.lookup(opening.piece)
    place, residual = fit(
        [new.landmark(own).point for own, _ in layer.put],
        [main.landmark(theirs).point for _, theirs in layer.put],
        face_down=layer.face_down,
    )
    worst, what = residual, f"the ends of opening '{opening.name}'"
    for name, on in layer.ride.items():
        _, gaps = locate_all(edited.edge(on).points, place.apply(new.edge(name).points))
        if gaps.max() > worst:
            worst, what = float(gaps.max()), f"'{on}' of '{edited.base.name}' with its '{name}'"
    if layer.mouth is not None:
        _, gaps = locate_all(laid.points, place.apply(new.edge(layer.mouth).points))
        if gaps.max() > worst:
            worst, what = float(gaps.max()), f"opening '{opening.name}' with its '{layer.mouth}'"
    if worst > state.given.agree_mm:
        _refuse_or_note(state, layer, opening.piece, what, worst)
    old = state.pattern.sized(layer.piece, state.job.pocket)
    before, _ = fit(
        [old.landmark(own).point for own, _ in layer.put],
        [laid.source.sized[opening.piece].landmark(theirs).point for _, theirs in layer.put],
        face_down=layer.face_down,
    )
    measured = measure_layer(state, stack, layer, before, place, new)

    def measure() -> tuple[Mapping[str, Any], Sequence[Notice]]:
        rides = measured.row["rides"]
        off = max((float(ride["off_line_mm"]) for ride in rides), default=0.0)
        fits = max(off, residual) <= opening.tolerance
        return {**measured.row, "fits": fits}, measured.notices

    return LayerMeasure(measure)


def _refuse_or_note(state: State, layer: StackLayer, main: str, what: str, worst: float) -> None:
    if main not in state.given.pieces:
        state.notice(
            layer.piece,
            f"was revised and misses {what} by {worst:.2f} mm, and '{main}', which leads, was not "
            "revised; revise it too, or leave the layer to follow it",
        )
        return
    drawn = ", ".join(
        f"{layer.piece}.{edge}"
        for edge in layer_edges(layer)
        if f"{layer.piece}.{edge}" in state.redrawn
    )
    raise Conflict(
        f"set '{state.pattern.name}', size '{state.job.name}': '{main}' and '{layer.piece}' "
        f"({drawn}) were both revised, and '{layer.piece}' misses {what} by {worst:.2f} mm; send "
        f"'{main}' alone and the layer follows it, or correct one of them",
        causes=(f"'{main}' was revised", f"'{layer.piece}' was revised and misses {what}"),
        distance_mm=float(np.round(worst, 6)),
    )
