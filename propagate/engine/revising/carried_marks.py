"""Carry landmarks and darts to another size, as the base size has them."""

from __future__ import annotations

import numpy as np

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
from propagate.engine.revising.carried_edges import find_mouths
from propagate.engine.revising.carrying import SAME_TIP_MM, Carrying
from propagate.errors import EditError
from propagate.geometry.correspond import NOISE_MM
from propagate.geometry.polyline import as_pair, locate, point_at
from propagate.pattern.model import Dart, Landmark, SizedPiece

__all__ = ["carry_darts", "carry_mark"]


def carry_mark(change: Carrying, new: SizedPiece, mark: Landmark) -> Landmark:
    """Move a landmark of another size on its edge as it was moved in the base size.

    One that did not move stays; one that kept its distance from an end of its edge keeps
    it; one that slid along its line slides as far; else it goes where its point went.

    Parameters
    ----------
    change : Carrying
    new : SizedPiece
        The other size with its new edges.
    mark : Landmark
        Of the other size.
    """
    was, now, other = change.was, change.now, change.other
    edge, nearest = new.edge(mark.edge), nearest_place(new.edge(mark.edge), mark.point)
    if mark.name not in {item.name for item in was.landmarks_on(mark.edge)}:
        return mark if edge is other.edge(mark.edge) else put_mark(mark, edge, nearest)
    old = was.landmark(mark.name)
    move = np.subtract(now.landmark(mark.name).point, old.point)
    if np.hypot(*move) <= NOISE_MM:
        return put_mark(mark, edge, nearest)
    before, after, here = (piece.distance(mark.edge, mark.name) for piece in (was, now, other))
    longer = now.edge(mark.edge).length - was.edge(mark.edge).length
    if abs(after - before) <= NOISE_MM:
        return put_mark(mark, edge, walked_place(edge, here))
    if abs(after - before - longer) <= NOISE_MM:
        from_end = other.edge(mark.edge).length - here
        return put_mark(mark, edge, walked_place(edge, from_end, "end"))
    scale = change.scale(mark.edge)
    foot = kept_place(now.edge(mark.edge), old, NOISE_MM)
    if foot is not None:
        return put_mark(mark, edge, nearest + scale * (after - foot))
    carried = np.asarray(mark.point) + scale * change.turn.apply(move)
    return put_mark(mark, edge, nearest_place(edge, carried))


def carry_darts(change: Carrying, new: SizedPiece) -> SizedPiece:
    """Take darts off a piece in another size, and put darts on it, as in the base size.

    Darts that are wider or elsewhere on a line that stayed went with their landmarks already.

    Parameters
    ----------
    change : Carrying
    new : SizedPiece
        The other size with its new edges and marks.
    """
    left = {mark.name for mark in change.now.landmarks if mark.kind == "mark"}
    for one in change.darts:
        if one.what in ("went", "swung"):
            new = without_dart(new, change.other, one.name, left)
    for one in change.darts:
        if one.what == "went":
            continue
        dart = change.now.dart(one.name)
        places = _place_legs(change, new, dart)
        if one.what == "changed":
            if places is not None:
                legs = legs_along(new, new.dart(dart.name))
                edge = new.edge(dart.edge)
                pairs = zip(legs, places, strict=True)
                moved = {leg: put_mark(new.landmark(leg), edge, at) for leg, at in pairs}
                new = with_marks(new, moved)
            continue
        if places is None:
            raise EditError(
                f"dart '{dart.name}' on '{dart.edge}' comes beside others that the drawing "
                "moved past each other; send every size"
            )
        tip = _place_tip(change, new, dart, places)
        new = with_dart(new, Dart(dart.name, dart.edge, legs_along(change.now, dart), tip), places)
    return new


def _place_legs(change: Carrying, new: SizedPiece, dart: Dart) -> tuple[float, float] | None:
    """Where the legs of a dart come to lie along its new edge.

    None where the line is as it was and its marks alone were moved, or where no mouth of the
    base size stands for one here.
    """
    pieces = (change.was, change.now, change.other)
    old, fresh, mine = (piece.edge(dart.edge) for piece in pieces)
    mouths = find_mouths(change, dart.edge)
    came = dart.name not in {one.name for one in change.was.darts if one.edge == dart.edge}
    if mouths is None or (old == fresh and not came):
        return None
    row, scale = mouths.names.index(dart.name), change.scale(dart.edge)
    found = []
    for before, after, here in zip(mouths.was[row], mouths.now[row], mouths.mine[row], strict=True):
        move = point_at(fresh.points, after) - point_at(old.points, before)
        point = point_at(mine.points, here) + scale * change.turn.apply(move)
        found.append(locate(new.edge(dart.edge).points, point)[0])
    return found[0], found[1]


def _place_tip(
    change: Carrying, new: SizedPiece, dart: Dart, places: tuple[float, float]
) -> tuple[float, float]:
    """The tip of the dart that was swung; of a new one as deep as in the base size."""
    scale = change.scale(dart.edge)
    tips = {one.name: one.tip for one in change.other.darts}
    for old in change.was.darts:
        off = np.subtract(dart.tip, old.tip)
        if old.name in tips and np.hypot(*off) <= SAME_TIP_MM:
            return as_pair(rounded(np.asarray(tips[old.name]) + scale * change.turn.apply(off)))
    base = change.now.edge(dart.edge).points
    middle = np.mean([point_at(base, at) for at in mouth_of(change.now, dart)], axis=0)
    mine = np.mean([point_at(new.edge(dart.edge).points, at) for at in places], axis=0)
    return as_pair(rounded(mine + scale * change.turn.apply(np.asarray(dart.tip) - middle)))
