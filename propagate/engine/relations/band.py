"""Fit a band to the runs it is sewn to, zone by zone.

Each zone takes the length of its run, darts closed and ease deducted; how the strip is made
longer or shorter is told in `propagate.engine.strip`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from propagate.engine.graph import level_node
from propagate.engine.record import ChangeKind
from propagate.engine.relations.seam_told import gain_words
from propagate.engine.state import State
from propagate.engine.strip import Strip, stretched_piece, strip_field
from propagate.errors import Conflict
from propagate.pattern.beside import length_beside
from propagate.pattern.ease import zone_ease
from propagate.pattern.model import SizedPiece
from propagate.pattern.relations import Band, Zone

__all__ = ["apply", "take", "wanted_lengths"]

Array = npt.NDArray[np.float64]

_ENOUGH_MM = 0.01
"""A zone that fits this well already is left as it is (early cut-off)."""
_RESTS_MM = 1e-6


def take(state: State, band: Band) -> None:
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
    marks, wanted = wanted_lengths(state, band, piece)
    had = _measure_lacks(state, band)
    gains = np.where(_find_stayed(state, band, marks), 0.0, np.array(wanted) - np.diff(marks))
    if np.abs(gains).max() <= _ENOUGH_MM:
        return False
    revised = f"{band.piece}.{band.sewn}" in state.redrawn
    if revised and not _gives_way(state, band, gains, np.array(wanted), had):
        return False
    strip = Strip(piece, (band.sewn,), (band.far,))
    new = stretched_piece(strip, strip_field(strip, np.array(marks), gains))
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
    for before, after in zip(piece.edges, new.edges, strict=True):
        if before != after:
            state.change(
                f"{band.piece}.{after.name}",
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
    new = gains - had
    worst = int(np.abs(new).argmax())
    if abs(new[worst]) <= state.given.agree_mm:
        return False
    apart = float(abs(new[worst]))
    if apart <= band.tolerance:
        state.notice(
            band.name,
            f"'{band.piece}' and what it is sewn to were both revised, and zone "
            f"'{band.zones[worst].name}' is off by {abs(gains[worst]):.2f} mm; that is within the "
            f"{band.tolerance:g} mm that the band allows, so '{band.piece}' gave way",
            "look which of the two is right",
            about=("both revised", band.zones[worst].name),
        )
        return True
    zone = band.zones[worst]
    run = " + ".join(str(span) for span in zone.run)
    has = float(wanted[worst] - gains[worst])
    raise Conflict(
        f"set '{state.pattern.name}', size '{state.job.name}', band '{band.name}', zone "
        f"'{zone.name}': {run} asks for {wanted[worst]:.2f} mm, but {band.piece}.{band.sewn} has "
        f"{has:.2f} mm there and was revised too; {apart:.2f} mm lie between them; send the band "
        "or what it is sewn to, not both",
        causes=(
            f"{run} asks for {wanted[worst]:.2f} mm",
            f"{band.piece}.{band.sewn} was revised and has {has:.2f} mm there",
        ),
        distance_mm=apart,
    )


def _measure_lacks(state: State, band: Band) -> Array:
    """By how much each zone was too short in the set as it was, (zones,) mm.

    0 where the pieces were taken from several sizes, which were never sewn to each other, and
    where the edit itself changed what is asked.
    """
    alike = [
        _of_one_size(state, band, zone) and f"{band.name}.{zone.name}" not in state.asked
        for zone in band.zones
    ]
    if not any(alike):
        return np.zeros(len(alike))
    marks, wanted = _measure_zones(state, state.source, band, state.source(band.piece))
    return np.where(alike, np.array(wanted) - np.diff(marks), 0.0)


def _of_one_size(state: State, band: Band, zone: Zone) -> bool:
    return {state.size_of(span.piece) for span in zone.run} <= {state.size_of(band.piece)}


def _find_stayed(state: State, band: Band, marks: Sequence[float]) -> Array:
    """Which zones are as long as they were, and so are their runs: those keep every digit."""
    source = state.source(band.piece)
    was = np.diff(_place_marks(band, source))
    return np.array(
        [
            _of_one_size(state, band, zone)
            and f"{band.name}.{zone.name}" not in state.asked
            and abs(now - before) <= _RESTS_MM
            and abs(
                length_beside(state.lookup, zone.run, zone)
                - length_beside(state.source, zone.run, zone)
            )
            <= _RESTS_MM
            for zone, now, before in zip(band.zones, np.diff(marks), was, strict=True)
        ]
    )


def _place_marks(band: Band, piece: SizedPiece) -> list[float]:
    """Distances of the zone marks along the sewn edge, mm."""
    marks = [piece.distance(band.sewn, band.zones[0].begin)]
    return marks + [piece.distance(band.sewn, zone.end) for zone in band.zones]


def wanted_lengths(state: State, band: Band, piece: SizedPiece) -> tuple[list[float], list[float]]:
    """Distances of the zone marks along the sewn edge, and the length each zone should have."""
    return _measure_zones(state, state.lookup, band, piece)


def _measure_zones(
    state: State, lookup: Callable[[str], SizedPiece], band: Band, piece: SizedPiece
) -> tuple[list[float], list[float]]:
    marks, wanted = _place_marks(band, piece), []
    for zone, own in zip(band.zones, np.diff(marks).tolist(), strict=True):
        if zone.run:
            run = length_beside(lookup, zone.run, zone)
            own = run - zone_ease(zone.ease, state.size_of(zone.run[0].piece), run, own)
        wanted.append(own)
    return marks, wanted
