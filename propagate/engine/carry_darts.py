"""Carry darts that came, went or were swung in the base size to another size."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from propagate.engine.carry_marks import Carry
from propagate.engine.carry_mouths import mouths_on
from propagate.engine.darts.changes import DartChange, dart_changes, legs_along, mouth_of
from propagate.engine.darts.placing import with_dart, without_dart
from propagate.engine.reshape import rounded
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import locate, point_at
from propagate.pattern.model import Dart, SizedPiece

__all__ = ["with_carried_darts"]

Array = npt.NDArray[np.float64]

_SAME_TIP_MM = 1.0


def with_carried_darts(
    was: SizedPiece,
    now: SizedPiece,
    other: SizedPiece,
    new: SizedPiece,
    turn: Motion,
    carry: Carry,
) -> SizedPiece:
    """Take darts off a piece in another size, and put darts on it, as in the base size.

    Darts that are wider or elsewhere on their edge went with their landmarks already.

    Parameters
    ----------
    was, now : SizedPiece
        The base size before and after.
    other, new : SizedPiece
        The other size before, and with its new edges and marks.
    turn : Motion
        Turns the base size's grain to the other's.
    carry : "millimetres" or "proportion"
    """
    changes = dart_changes(was, now)
    left = {mark.name for mark in now.landmarks if mark.kind == "mark"}
    for change in changes:
        if change.what in ("went", "swung"):
            new = without_dart(new, other, change.name, left)
    for change in changes:
        if change.what in ("came", "swung"):
            new = _with_new(was, now, other, new, change, turn, carry)
    return new


def _with_new(
    was: SizedPiece,
    now: SizedPiece,
    other: SizedPiece,
    new: SizedPiece,
    change: DartChange,
    turn: Motion,
    carry: Carry,
) -> SizedPiece:
    dart = next(one for one in now.darts if one.name == change.name)
    old, mine, fresh = (piece.edge(dart.edge) for piece in (was, other, now))
    scale = mine.length / old.length if carry == "proportion" else 1.0
    mouths = mouths_on(was, now, other, dart.edge)
    assert mouths is not None
    row = min(range(len(mouths.now)), key=lambda k: abs(mouths.now[k][0] - mouth_of(now, dart)[0]))
    begin, here = (
        point_at(old.points, mouths.was[row][0]),
        point_at(mine.points, mouths.mine[row][0]),
    )
    places = []
    for at in mouths.now[row]:
        move = scale * turn.apply(point_at(fresh.points, at) - begin)
        places.append(locate(new.edge(dart.edge).points, here + move)[0])
    legs = legs_along(now, dart)
    tip = _tip(was, now, other, new, dart, (places[0], places[1]), turn, scale)
    return with_dart(new, Dart(dart.name, dart.edge, legs, tip), (places[0], places[1]))


def _tip(
    was: SizedPiece,
    now: SizedPiece,
    other: SizedPiece,
    new: SizedPiece,
    dart: Dart,
    places: tuple[float, float],
    turn: Motion,
    scale: float,
) -> tuple[float, float]:
    """The tip of the dart that was swung; of a new one as deep as in the base size."""
    for old in was.darts:
        off = np.subtract(dart.tip, old.tip)
        own = next((one for one in other.darts if one.name == old.name), None)
        if own is not None and np.hypot(*off) <= _SAME_TIP_MM:
            x, y = rounded(np.asarray(own.tip) + scale * turn.apply(off))
            return (float(x), float(y))
    base = now.edge(dart.edge).points
    middle = np.mean([point_at(base, at) for at in mouth_of(now, dart)], axis=0)
    mine = np.mean([point_at(new.edge(dart.edge).points, at) for at in places], axis=0)
    x, y = rounded(mine + scale * turn.apply(np.asarray(dart.tip) - middle))
    return (float(x), float(y))
