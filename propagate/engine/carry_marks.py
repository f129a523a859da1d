"""Carry what became of a landmark in the base size to another size."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.reshape import rounded
from propagate.geometry.correspond import NOISE_MM
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import locate, point_at
from propagate.pattern.model import Landmark, SizedPiece

__all__ = ["Carry", "carried_mark"]

Array = npt.NDArray[np.float64]
Carry = Literal["millimetres", "proportion"]

_RESTS_MM = 1e-6


def carried_mark(
    was: SizedPiece,
    now: SizedPiece,
    other: SizedPiece,
    new: SizedPiece,
    mark: Landmark,
    turn: Motion,
    carry: Carry,
) -> Landmark:
    """A landmark of another size, moved on its edge as it was in the base size.

    One that did not move stays; one that kept its distance from an end of its edge keeps
    it; one that slid along its line slides as far; else it goes where its point went.

    Parameters
    ----------
    was, now : SizedPiece
        The base size before and after.
    other, new : SizedPiece
        The other size before and with its new edges.
    mark : Landmark
        Of the other size.
    turn : Motion
        Turns the base size's grain to the other's.
    carry : "millimetres" or "proportion"
    """
    edge = new.edge(mark.edge)
    known = {item.name for item in was.landmarks_on(mark.edge)}
    if mark.name not in known:
        return mark if edge is other.edge(mark.edge) else _on(new, mark, np.asarray(mark.point))
    old, base = was.landmark(mark.name), now.landmark(mark.name)
    move = np.subtract(base.point, old.point)
    ratio = other.edge(mark.edge).length / was.edge(mark.edge).length
    scale = ratio if carry == "proportion" else 1.0
    if np.hypot(*move) <= NOISE_MM:
        return _on(new, mark, np.asarray(mark.point))
    before, after = was.distance(mark.edge, mark.name), now.distance(mark.edge, mark.name)
    here = other.distance(mark.edge, mark.name)
    longer = now.edge(mark.edge).length - was.edge(mark.edge).length
    if abs(after - before) <= NOISE_MM:
        return _at(new, mark, here)
    if abs(after - before - longer) <= NOISE_MM:
        return _at(new, mark, edge.length - (other.edge(mark.edge).length - here))
    foot, gap = locate(now.edge(mark.edge).points, old.point)
    if gap <= NOISE_MM:
        own, _ = locate(edge.points, mark.point)
        return _at(new, mark, own + scale * (after - foot))
    return _on(new, mark, np.asarray(mark.point) + scale * turn.apply(move))


def _on(piece: SizedPiece, mark: Landmark, point: Array) -> Landmark:
    """The landmark at the nearest place of its edge; where it is when that is on it."""
    along, gap = locate(piece.edge(mark.edge).points, point)
    if gap <= _RESTS_MM and (point == mark.point).all():
        return mark
    return _at(piece, mark, along)


def _at(piece: SizedPiece, mark: Landmark, along: float) -> Landmark:
    edge = piece.edge(mark.edge)
    x, y = rounded(point_at(edge.points, min(max(along, 0.0), edge.length)))
    return replace(mark, point=(float(x), float(y)))
