"""Fit a band to the runs it is sewn to, zone by zone.

Each zone takes the length of its run, darts closed and ease deducted; how the strip is made
longer or shorter is told in `propagate.engine.strip`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from propagate.engine.compare import changed_edges
from propagate.engine.graph import level_node
from propagate.engine.record import ChangeKind
from propagate.engine.relations.seam_told import gain_words
from propagate.engine.state import State
from propagate.engine.strip import Strip, stretched_piece, strip_field
from propagate.errors import Conflict
from propagate.pattern.beside import length_beside
from propagate.pattern.ease import zone_ease
from propagate.pattern.model import Array, SizedPiece
from propagate.pattern.relations import Band
from propagate.pattern.runs import run_words

__all__ = ["apply", "take_size"]


_ENOUGH_MM = 0.01
"""A zone that fits this well already is left as it is (early cut-off)."""
_RESTS_MM = 1e-6


def take_size(state: State, band: Band) -> None:
    """Take the band from the size of the top, unless its place says otherwise."""
    if band.piece in state.pattern.relations.places:
        return
    top = state.job.top
    size = state.taken[band.piece] = state.job.at(top)
    if top is not None and size != state.job.size:
        state.change(
            f"{band.piece}.*",
            ChangeKind.TAKEN_IN_SIZE,
            f"taken in size {size}, the size of the top",
            level_node(top),
        )


def apply(state: State, band: Band, cause: str) -> bool:
    """Fit the band; returns whether it changed.

    Raises
    ------
    Conflict
        When the band was revised itself and is off its revised runs by more than it allows.
    """
    piece = state.lookup(band.piece)
    marks, wanted = _measure_zones(state, state.lookup, band)
    had, stayed = _compare_zones(state, band, marks)
    gains = np.where(stayed, 0.0, wanted - np.diff(marks))
    if np.abs(gains).max() <= _ENOUGH_MM:
        return False
    revised = f"{band.piece}.{band.sewn}" in state.redrawn
    if revised and not _gives_way(state, band, gains, wanted, had):
        return False
    strip = Strip(piece, (band.sewn,), (band.far,))
    new = stretched_piece(strip, strip_field(strip, marks, gains))
    state.pieces[band.piece] = new
    for zone, gain, over in zip(band.zones, gains.tolist(), (-had).tolist(), strict=True):
        if abs(gain) > _ENOUGH_MM:
            why = next((s.key for s in zone.run if s.key in state.changes), cause)
            state.change(
                f"{band.piece}.{band.sewn}",
                ChangeKind.BAND_ZONE,
                f"zone '{zone.name}' takes the length of its run ({gain_words(gain, over)})",
                why,
            )
    for edge in changed_edges(piece, new):
        state.change(
            f"{band.piece}.{edge}",
            ChangeKind.FOLLOWS_ZONES,
            "follows the zones",
            f"{band.piece}.{band.sewn}",
        )
    return True


def _gives_way(state: State, band: Band, gains: Array, wanted: Array, had: Array) -> bool:
    """Whether a band that was revised itself gives way to its runs; said when it does.

    What it was off by before is nothing that the revision did.

    Raises
    ------
    Conflict
        When a zone is off by more than the band allows.
    """
    new = np.abs(gains - had)
    worst = int(new.argmax())
    zone, apart = band.zones[worst], float(new[worst])
    if apart <= state.given.agree_mm:
        return False
    if apart <= band.tolerance:
        state.notice(
            band.name,
            f"'{band.piece}' and what it is sewn to were both revised, and zone "
            f"'{zone.name}' is off by {abs(gains[worst]):.2f} mm; that is within the "
            f"{band.tolerance:g} mm that the band allows, so '{band.piece}' gave way",
            "look which of the two is right",
            about=("both revised", zone.name),
        )
        return True
    run = run_words(zone.run)
    has = float(wanted[worst] - gains[worst])
    raise Conflict(
        f"{state.where}, band '{band.name}', zone '{zone.name}': {run} asks for "
        f"{wanted[worst]:.2f} mm, but {band.piece}.{band.sewn} has {has:.2f} mm there and was "
        f"revised too; {apart:.2f} mm lie between them; send the band or what it is sewn to, not "
        "both",
        causes=(
            f"{run} asks for {wanted[worst]:.2f} mm",
            f"{band.piece}.{band.sewn} was revised and has {has:.2f} mm there",
        ),
        distance_mm=apart,
    )


def _compare_zones(state: State, band: Band, marks: Array) -> tuple[Array, Array]:
    """By how much each zone was too short in the set as it was, and which are as they were.

    Both (zones,).  The lack in mm is 0 where the pieces were taken from several sizes, which were
    never sewn to each other, and where the edit itself changed what is asked.  A zone that is as
    long as it was, and so is its run, keeps every digit.
    """
    before, wanted = _measure_zones(state, state.source, band)
    alike = np.array(
        [
            {state.size_of(span.piece) for span in zone.run} <= {state.size_of(band.piece)}
            and f"{band.name}.{zone.name}" not in state.asked
            for zone in band.zones
        ]
    )
    grown = [
        length_beside(state.lookup, zone.run, zone) - length_beside(state.source, zone.run, zone)
        for zone in band.zones
    ]
    longer = np.abs(np.array([np.diff(marks) - np.diff(before), grown])).max(axis=0)
    return np.where(alike, wanted - np.diff(before), 0.0), alike & (longer <= _RESTS_MM)


def _measure_zones(
    state: State, lookup: Callable[[str], SizedPiece], band: Band
) -> tuple[Array, Array]:
    """Distances of the zone marks along the sewn edge, and the length each zone should have, mm."""
    piece = lookup(band.piece)
    names = [band.zones[0].begin, *(zone.end for zone in band.zones)]
    marks = np.array([piece.distance(band.sewn, name) for name in names])
    wanted = np.diff(marks)
    for k, zone in enumerate(band.zones):
        if zone.run:
            run = length_beside(lookup, zone.run, zone)
            size = state.size_of(zone.run[0].piece)
            wanted[k] = run - zone_ease(zone.ease, size, run, float(wanted[k]))
    return marks, wanted
