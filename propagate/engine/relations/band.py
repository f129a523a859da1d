"""Fit a band to the runs it is sewn to, zone by zone.

Each zone takes the length of its run, darts closed and ease deducted.  The chords of the
sewn edge in that zone are stretched or shortened, their directions kept, so a shaped
band keeps its curvature as far as the length allows; the far edge takes the
displacement of the point across, so the width stays everywhere.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.record import ChangeKind
from propagate.engine.reshape import rounded, share_corners
from propagate.engine.state import State
from propagate.errors import Conflict
from propagate.geometry.polyline import arc_lengths, locate_all, point_at
from propagate.pattern.ease import meant_ease
from propagate.pattern.model import Edge, SizedPiece
from propagate.pattern.relations import Band
from propagate.pattern.spans import run_length

__all__ = ["apply", "wanted_lengths"]

Array = npt.NDArray[np.float64]

_ENOUGH_MM = 0.01
"""A zone that fits this well already is left as it is (early cut-off)."""


def apply(state: State, band: Band, cause: str) -> bool:
    """Fit the band; returns whether it changed.

    Raises
    ------
    Conflict
        When the band was revised itself and is off its revised runs by more than it allows.
    """
    piece = state.lookup(band.piece)
    marks, wanted = wanted_lengths(state, band, piece)
    gains = np.array(wanted) - np.diff(marks)
    if np.abs(gains).max() <= _ENOUGH_MM:
        return False
    if f"{band.piece}.{band.sewn}" in state.redrawn and not _gives(
        state, band, gains, np.array(wanted)
    ):
        return False
    new = _fitted(piece, band, np.array(marks), gains)
    state.pieces[band.piece] = new
    for zone, gain in zip(band.zones, gains.tolist(), strict=True):
        if abs(gain) > _ENOUGH_MM:
            why = next(
                (s.key for s in zone.run if s.key in state.changes),
                cause,
            )
            state.change(
                f"{band.piece}.{band.sewn}",
                ChangeKind.BAND_ZONE,
                f"zone '{zone.name}' takes the length of its run ({gain:+.2f} mm)",
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


def _gives(state: State, band: Band, gains: Array, wanted: Array) -> bool:
    """Whether a band that was revised itself gives way to its runs; said when it does.

    What it was off by before is nothing that the revision did.

    Raises
    ------
    Conflict
        When a zone is off by more than the band allows.
    """
    new = gains - _had(state, band)
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


def _had(state: State, band: Band) -> Array:
    """By how much each zone was off in the set as it was, (zones,) mm."""

    def source(piece: str) -> SizedPiece:
        return state.pattern.sized(piece, state.size_of(piece))

    marks, wanted = _lengths(state, source, band, source(band.piece))
    return np.array(wanted) - np.diff(marks)


def wanted_lengths(state: State, band: Band, piece: SizedPiece) -> tuple[list[float], list[float]]:
    """Distances of the zone marks along the sewn edge, and the length each zone should have."""
    return _lengths(state, state.lookup, band, piece)


def _lengths(
    state: State, lookup: Callable[[str], SizedPiece], band: Band, piece: SizedPiece
) -> tuple[list[float], list[float]]:
    marks = [piece.distance(band.sewn, band.zones[0].begin)]
    wanted = []
    for zone in band.zones:
        marks.append(piece.distance(band.sewn, zone.end))
        own = marks[-1] - marks[-2]
        if zone.run:
            run = run_length(lookup, zone.run)
            size = state.size_of(zone.run[0].piece)
            own = run - meant_ease(zone.ease, size, run, run - own)
        wanted.append(own)
    return marks, wanted


def _fitted(piece: SizedPiece, band: Band, marks: Array, gains: Array) -> SizedPiece:
    sewn = piece.edge(band.sewn).points
    path, shift = _displacement(sewn, marks, gains)
    moved = {edge.name: _displaced(edge.points, sewn, path, shift) for edge in piece.edges}
    edges = tuple(
        edge
        if (moved[edge.name] == edge.points).all()
        else Edge(edge.name, rounded(moved[edge.name]), edge.turns)
        for edge in piece.edges
    )
    edges = share_corners(edges)

    def carried(point: tuple[float, float]) -> tuple[float, float]:
        x, y = rounded(_displaced(np.array([point]), sewn, path, shift)[0])
        return (float(x), float(y))

    new_path = np.cumsum(np.concatenate([[0.0], np.diff(marks) + gains])) + marks[0]
    new = replace(
        piece,
        edges=edges,
        lines=tuple(
            replace(line, points=rounded(_displaced(line.points, sewn, path, shift)))
            for line in piece.lines
        ),
        drills=tuple(replace(mark, point=carried(mark.point)) for mark in piece.drills),
    )
    landmarks = []
    for mark in piece.landmarks:
        if mark.edge == band.sewn:
            # On the sewn edge by distance, so that zone marks are exact.
            along = float(np.interp(piece.distance(mark.edge, mark.name), marks, new_path))
            x, y = rounded(point_at(new.edge(band.sewn).points, along))
            landmarks.append(replace(mark, point=(float(x), float(y))))
        else:
            landmarks.append(replace(mark, point=carried(mark.point)))
    return replace(new, landmarks=tuple(landmarks))


def _displacement(sewn: Array, marks: Array, gains: Array) -> tuple[Array, Array]:
    """Displacement (n, 2) of the sewn edge at the distances (n,) of its vertices and marks."""
    arc = arc_lengths(sewn)
    path = np.union1d(arc, np.clip(marks, 0.0, arc[-1]))
    keep = np.concatenate([[True], np.diff(path) > 1e-9])
    path = path[keep]
    points = np.column_stack([np.interp(path, arc, sewn[:, k]) for k in (0, 1)])
    chords = np.diff(points, axis=0)
    middle = (path[1:] + path[:-1]) / 2
    zone = np.clip(np.searchsorted(marks, middle) - 1, 0, len(gains) - 1)
    sizes = np.diff(marks)
    share = np.where((middle > marks[0]) & (middle < marks[-1]), gains[zone] / sizes[zone], 0.0)
    shift = np.vstack([[0.0, 0.0], np.cumsum(chords * share[:, None], axis=0)])
    return path, shift


def _displaced(points: Array, sewn: Array, path: Array, shift: Array) -> Array:
    """Move points by the displacement of the sewn edge across from them."""
    along, _ = locate_all(sewn, points)
    return points + np.column_stack([np.interp(along, path, shift[:, k]) for k in (0, 1)])
