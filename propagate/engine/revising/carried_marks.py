"""Carry landmarks and darts to another size, as the base size has them."""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.darts.changes import legs_along, mouth_of
from propagate.engine.darts.placing import with_dart, without_dart
from propagate.engine.marks_on_lines import (
    kept_place,
    nearest_place,
    put_mark,
    walked_place,
    with_marks,
)
from propagate.engine.reshape import rounded
from propagate.engine.revising.carried_edges import changed_mouths, mouths_on
from propagate.errors import EditError
from propagate.geometry.correspond import NOISE_MM
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import locate, point_at
from propagate.pattern.model import Dart, Landmark, SizedPiece

__all__ = ["Carry", "carried_mark", "with_carried_darts"]

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


Array = npt.NDArray[np.float64]

_SAME_TIP_MM = 1.0


def with_carried_darts(
    was: SizedPiece, now: SizedPiece, other: SizedPiece, new: SizedPiece, turn: Motion, carry: Carry
) -> SizedPiece:
    """Take darts off a piece in another size, and put darts on it, as in the base size.

    Darts that are wider or elsewhere on a line that stayed went with their landmarks already.

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
    changes = changed_mouths(was, now)
    left = {mark.name for mark in now.landmarks if mark.kind == "mark"}
    for change in changes:
        if change.what in ("went", "swung"):
            new = without_dart(new, other, change.name, left)
    for change in changes:
        if change.what == "went":
            continue
        dart = next(one for one in now.darts if one.name == change.name)
        scale = 1.0
        if carry == "proportion":
            scale = other.edge(dart.edge).length / was.edge(dart.edge).length
        if change.what == "changed":
            new = _with_legs(new, dart, _place_legs(was, now, other, new, dart, turn, scale))
            continue
        places = _place_legs(was, now, other, new, dart, turn, scale)
        if places is None:
            raise EditError(
                f"dart '{dart.name}' on '{dart.edge}' comes beside others that the drawing "
                "moved past each other; send every size"
            )
        tip = _place_tip(was, now, other, new, dart, places, turn, scale)
        new = with_dart(new, Dart(dart.name, dart.edge, legs_along(now, dart), tip), places)
    return new


def _with_legs(new: SizedPiece, dart: Dart, places: tuple[float, float] | None) -> SizedPiece:
    """The legs of a dart that is wider or elsewhere, on an edge that was drawn anew."""
    if places is None:
        return new
    edge = new.edge(dart.edge)
    own = next(one for one in new.darts if one.name == dart.name)
    moved = {
        leg: put_mark(new.landmark(leg), edge, place)
        for leg, place in zip(legs_along(new, own), places, strict=True)
    }
    return with_marks(new, moved)


def _place_legs(
    was: SizedPiece,
    now: SizedPiece,
    other: SizedPiece,
    new: SizedPiece,
    dart: Dart,
    turn: Motion,
    scale: float,
) -> tuple[float, float] | None:
    """Where the legs of a dart come to lie along its new edge.

    None where the line is as it was and its marks alone were moved, or where no mouth of the
    base size stands for one here.
    """
    old, fresh, mine = (piece.edge(dart.edge) for piece in (was, now, other))
    mouths = mouths_on(was, now, other, dart.edge)
    came = dart.name not in {one.name for one in was.darts if one.edge == dart.edge}
    if mouths is None or (old == fresh and not came):
        return None
    row = mouths.names.index(dart.name)
    found = []
    for before, after, here in zip(mouths.was[row], mouths.now[row], mouths.mine[row], strict=True):
        move = point_at(fresh.points, after) - point_at(old.points, before)
        point = point_at(mine.points, here) + scale * turn.apply(move)
        found.append(locate(new.edge(dart.edge).points, point)[0])
    return found[0], found[1]


def _place_tip(
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
