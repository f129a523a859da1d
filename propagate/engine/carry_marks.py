"""Carry what became of a landmark in the base size to another size."""

from __future__ import annotations

from typing import Literal

import numpy as np

from propagate.engine.marks_on_lines import kept_place, nearest_place, put_mark, walked_place
from propagate.geometry.correspond import NOISE_MM
from propagate.geometry.motion import Motion
from propagate.pattern.model import Landmark, SizedPiece

__all__ = ["Carry", "carried_mark"]

Carry = Literal["millimetres", "proportion"]


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
    same = edge is other.edge(mark.edge)
    known = {item.name for item in was.landmarks_on(mark.edge)}
    if mark.name not in known:
        return mark if same else put_mark(mark, edge, nearest_place(edge, mark.point))
    old, base = was.landmark(mark.name), now.landmark(mark.name)
    move = np.subtract(base.point, old.point)
    ratio = other.edge(mark.edge).length / was.edge(mark.edge).length
    scale = ratio if carry == "proportion" else 1.0
    if np.hypot(*move) <= NOISE_MM:
        return put_mark(mark, edge, nearest_place(edge, mark.point))
    before, after = was.distance(mark.edge, mark.name), now.distance(mark.edge, mark.name)
    here = other.distance(mark.edge, mark.name)
    longer = now.edge(mark.edge).length - was.edge(mark.edge).length
    if abs(after - before) <= NOISE_MM:
        return put_mark(mark, edge, walked_place(edge, here))
    if abs(after - before - longer) <= NOISE_MM:
        from_end = other.edge(mark.edge).length - here
        return put_mark(mark, edge, walked_place(edge, from_end, "end"))
    foot = kept_place(now.edge(mark.edge), old, NOISE_MM)
    if foot is not None:
        return put_mark(mark, edge, nearest_place(edge, mark.point) + scale * (after - foot))
    carried = np.asarray(mark.point) + scale * turn.apply(move)
    return put_mark(mark, edge, nearest_place(edge, carried))
