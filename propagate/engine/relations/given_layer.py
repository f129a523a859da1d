"""A pocket layer that was revised itself: it is not re-cut, it has to fit as it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from propagate.engine.record import Notice
from propagate.engine.relations.layer_measures import measure_layer
from propagate.engine.rows import LayerRow
from propagate.engine.state import LayerMeasure, State
from propagate.errors import Conflict
from propagate.geometry.motion import Motion, fit
from propagate.geometry.polyline import locate_all
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.relations import Opening, Stack, StackLayer
from propagate.tolerances import SEAM_LENGTH_MM
from propagate.values import dataclass

__all__ = ["given_layer", "layer_edges", "measure_given", "put_motion"]


def layer_edges(layer: StackLayer) -> tuple[str, ...]:
    """Edges of a layer that another piece decides: those that ride, and the mouth."""
    return (*layer.ride, *([layer.mouth] if layer.mouth is not None else []))


def put_motion(layer: StackLayer, piece: SizedPiece, main: SizedPiece) -> tuple[Motion, float]:
    """The motion that lays a layer on its main piece, and by how much the ends miss, mm."""
    return fit(
        [piece.landmark(own).point for own, _ in layer.put],
        [main.landmark(theirs).point for _, theirs in layer.put],
        face_down=layer.face_down,
    )


@dataclass(frozen=True)
class _Missed:
    """Where a layer misses what decides it the most."""

    what: str
    by_mm: float


def given_layer(state: State, stack: Stack, layer: StackLayer) -> Motion | None:
    """Judge a revised layer on the opening as it now lies.

    Returns
    -------
    Motion or None
        Where the layer lies, when it has to give way to a main piece that was revised as
        well; None when it stays as it was drawn.

    Raises
    ------
    Conflict
        When the other side was revised too and the two are apart by more than the opening
        allows; when it was not, that is noted.
    """
    opening = state.pattern.relations.openings[stack.opening]
    laid, edited = state.openings[stack.opening], state.silhouette(opening.silhouette)
    main, new = state.lookup(opening.piece), state.given.pieces[layer.piece]
    place, _ = put_motion(layer, new, main)
    missed = _measure_miss(layer, opening, new, main, {e.name: e.points for e in edited.edges})
    source = laid.source
    had = _measure_miss(
        layer,
        opening,
        state.pattern.sized(layer.piece, state.job.size),
        source.sized[opening.piece],
        {e.name: e.points for e in source.edges},
    )
    # What the set was off by before is nothing that the revision did.
    if missed.by_mm <= had.by_mm + state.given.agree_mm:
        return None
    if opening.piece not in state.given.pieces:
        state.notice(
            layer.piece,
            f"was revised and misses {missed.what} by {missed.by_mm:.2f} mm, and "
            f"'{opening.piece}', which leads, was not revised",
            "revise it too, or leave the layer to follow it",
            about=("layer alone revised", missed.what),
        )
        return None
    if missed.by_mm - had.by_mm > opening.tolerance:
        own = [f"{layer.piece}.{edge}" for edge in layer_edges(layer)]
        drawn = ", ".join(edge for edge in own if edge in state.redrawn)
        raise Conflict(
            f"{state.where}: '{opening.piece}' and '{layer.piece}' ({drawn}) were both revised, "
            f"and '{layer.piece}' misses {missed.what} by {missed.by_mm:.2f} mm; send "
            f"'{opening.piece}' alone and the layer follows it, or correct one of them",
            causes=(
                f"'{opening.piece}' was revised",
                f"'{layer.piece}' was revised and misses {missed.what}",
            ),
            distance_mm=float(np.round(missed.by_mm, 6)),
        )
    off = had.by_mm > SEAM_LENGTH_MM
    before = f" ({had.by_mm:.2f} mm of it before already)" if off else ""
    state.notice(
        layer.piece,
        f"was revised and so was '{opening.piece}', and misses {missed.what} by "
        f"{missed.by_mm:.2f} mm{before}; that is within the {opening.tolerance:g} mm "
        f"that opening '{opening.name}' allows, so the layer gave way",
        "look which of the two is right",
        about=("layer gave way", missed.what),
    )
    return place


def measure_given(state: State, stack: Stack, layer: StackLayer, new: SizedPiece) -> LayerMeasure:
    """Measure a revised layer, as drawn or where it gave way, when somebody asks."""
    opening = state.pattern.relations.openings[stack.opening]
    laid = state.openings[stack.opening]
    old = state.pattern.sized(layer.piece, state.job.pocket)
    before, _ = put_motion(layer, old, laid.source.sized[opening.piece])
    place, residual = put_motion(layer, new, state.lookup(opening.piece))
    measured = measure_layer(state, stack, layer, before, place, new)

    def measure() -> tuple[LayerRow, Sequence[Notice]]:
        off = max((ride.off_line_mm for ride in measured.row.rides), default=0.0)
        fits = max(off, residual) <= opening.tolerance
        return replace(measured.row, fits=fits), measured.notices

    return LayerMeasure(measure)


def _measure_miss(
    layer: StackLayer,
    opening: Opening,
    piece: SizedPiece,
    main: SizedPiece,
    outline: Mapping[str, Array],
) -> _Missed:
    """By how much a layer misses the opening and the silhouette's edges that it rides on."""
    place, residual = put_motion(layer, piece, main)
    found = [_Missed(f"the ends of opening '{opening.name}'", residual)]
    for name, on in layer.ride.items():
        _, gaps = locate_all(outline[on], place.apply(piece.edge(name).points))
        words = f"'{on}' of '{opening.silhouette}' with its '{name}'"
        found.append(_Missed(words, float(gaps.max())))
    if layer.mouth is not None:
        line = main.edge(opening.edge).points
        _, gaps = locate_all(line, place.apply(piece.edge(layer.mouth).points))
        words = f"opening '{opening.name}' with its '{layer.mouth}'"
        found.append(_Missed(words, float(gaps.max())))
    return max(found, key=lambda one: one.by_mm)
