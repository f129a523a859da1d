"""Recognise a dart that was swung in a drawing, and swing that of another size by the same cut.

A part of the piece was turned about the tip.  Carried by the same millimetres it would be
turned a little too far or not far enough in a size whose dart lies elsewhere, and its edges
would change their lengths.  So the other size is cut and turned as the base size was, and
only what the drawing changed besides is carried point by point.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from propagate.engine.darts.changes import dart_changes, legs_along, mouth_of
from propagate.engine.darts.swinging import Cut, Part, swing
from propagate.engine.revising.carrying import SAME_TIP_MM, Carrying
from propagate.pattern.model import Dart, SizedPiece

__all__ = ["swing_before"]

_ANGLES_DEG = 1.0
"""The two darts have the angle of the one within this."""
_NEAR_MM = 1.0
"""Half of the corners lie this near to where the swing alone would put them."""


def swing_before(change: Carrying, moved: Collection[str]) -> Carrying:
    """Swing the darts of the base size and of the other one as the drawing swung them.

    Parameters
    ----------
    change : Carrying
    moved : collection of str
        What lies inside the piece and was moved in the drawing.

    Returns
    -------
    Carrying
        From the two sizes after the swing; the same one where no dart was swung, or where
        more than that was changed.
    """
    found = change
    for drawn in change.now.darts:
        for dart in change.was.darts:
            share = _find_share(change, dart, drawn)
            if share is not None:
                found = _swing_both(found, dart, drawn, share)
    if found is change:
        return change
    pairs = ((found.was, change.was), (found.other, change.other))
    was, other = (_keep_inside(swung, old, moved) for swung, old in pairs)
    return replace(change, was=was, other=other)


def _find_share(change: Carrying, dart: Dart, drawn: Dart) -> float | None:
    """How much of a dart opens in another one of the drawing; None when nothing does."""
    was, now = change.was, change.now
    said = next((c for c in dart_changes(was, now) if c.name == drawn.name), None)
    if said is None or said.what not in ("came", "swung") or drawn.edge == dart.edge:
        return None
    if np.hypot(*np.subtract(dart.tip, drawn.tip)) > SAME_TIP_MM:
        return None
    left = next((d for d in now.darts if d.name == dart.name and d.edge == dart.edge), None)
    whole, opened = _measure_angle(was, dart), _measure_angle(now, drawn)
    kept = 0.0 if left is None else _measure_angle(now, left)
    if abs(kept + opened - whole) > _ANGLES_DEG:
        return None
    return 1.0 if left is None else opened / whole


def _measure_angle(piece: SizedPiece, dart: Dart) -> float:
    rays = [
        np.subtract(piece.landmark(leg).point, dart.tip) @ np.array([1.0, 1j]) for leg in dart.legs
    ]
    return abs(float(np.degrees(np.angle(rays[1] / rays[0]))))


def _swing_both(change: Carrying, dart: Dart, drawn: Dart, share: float) -> Carrying:
    """Both sizes with one dart swung; the part turns that turned in the drawing.

    The cut lies as far from the nearer end of its edge as in the base size, or at its share.
    """
    now = change.now
    low, high = mouth_of(now, drawn)
    beyond = now.edge(drawn.edge).length - high
    size, own = (piece.edge(drawn.edge).length for piece in (change.was, change.other))
    place = min(low, size) if low <= beyond else size - beyond
    there = place if place <= size - place else own - (size - place)
    if change.carry == "proportion":
        there = place / size * own
    if not (0.0 < place < size and 0.0 < there < own):
        return change
    left = {mark.name for mark in now.landmarks if mark.kind == "mark"}
    legs = legs_along(now, drawn)

    def swing_piece(piece: SizedPiece, at: float, turns: Part) -> SizedPiece:
        own = piece.dart(dart.name)
        cut = Cut(own, *mouth_of(piece, own), drawn.edge, at, turns)
        return swing(piece, cut, share, name=drawn.name, legs=legs, named=left, lie=None).piece

    ways: tuple[Part, Part] = ("after", "before")
    tried = [swing_piece(change.was, place, turns) for turns in ways]
    corners = np.array([e.points[0] for e in now.edges])
    off = [
        float(np.median(np.hypot(*(np.array([e.points[0] for e in one.edges]) - corners).T)))
        for one in tried
    ]
    best = int(np.argmin(off))
    if off[best] > _NEAR_MM:
        return change
    return replace(change, was=tried[best], other=swing_piece(change.other, there, ways[best]))


def _keep_inside(swung: SizedPiece, old: SizedPiece, moved: Collection[str]) -> SizedPiece:
    """What the drawing did not move inside the piece stays where it was."""
    lines = {line.name: line for line in old.lines}
    drills = {mark.name: mark for mark in old.drills}
    tips = {dart.name: dart.tip for dart in old.darts if dart.name not in moved}
    return replace(
        swung,
        label=old.label,
        lines=tuple(x if x.name in moved else lines[x.name] for x in swung.lines),
        drills=tuple(x if x.name in moved else drills[x.name] for x in swung.drills),
        darts=tuple(replace(d, tip=tips.get(d.name, d.tip)) for d in swung.darts),
    )
