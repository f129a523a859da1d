"""Recognise a dart that was swung in a drawing, and swing that of another size by the same cut.

A part of the piece was turned about the tip.  Carried by the same millimetres it would be
turned a little too far or not far enough in a size whose dart lies elsewhere, and its edges
would change their lengths.  So the other size is cut and turned as the base size was, and
only what the drawing changed besides is carried point by point.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from propagate.engine.darts.changes import dart_changes, legs_along, mouth_of
from propagate.engine.darts.swinging import Cut, Part, swing
from propagate.engine.revising.carried_marks import Carry
from propagate.pattern.model import Dart, SizedPiece
from propagate.values import dataclass

__all__ = ["Unswung", "swung_before"]

_SAME_TIP_MM = 1.0
_ANGLES_DEG = 1.0
"""The two darts have the angle of the one within this."""
_NEAR_MM = 1.0
"""Half of the corners lie this near to where the swing alone would put them."""


@dataclass(frozen=True)
class Unswung:
    """Two sizes of a piece after a swing, from which the rest of a change is carried."""

    base: SizedPiece
    other: SizedPiece


def swung_before(
    was: SizedPiece, now: SizedPiece, other: SizedPiece, moved: frozenset[str], carry: Carry
) -> Unswung | None:
    """Swing the darts of a base size and of another one as a drawing swung them.

    Parameters
    ----------
    was, now : SizedPiece
        The base size before, and as drawn.
    other : SizedPiece
        Another size before.
    moved : frozenset of str
        What lies inside the piece and was moved in the drawing.
    carry : "millimetres" or "proportion"
        Whether the cut lies as far from the nearer end of its edge, or at its share.

    Returns
    -------
    Unswung or None
        None where no dart was swung, or where more than that was changed.
    """
    found = None
    for drawn in now.darts:
        for dart in was.darts:
            share = _find_share(was, now, dart, drawn)
            if share is None:
                continue
            base = found.base if found is not None else was
            mine = found.other if found is not None else other
            one = _swing_both(base, now, mine, dart, drawn, share, carry)
            found = one or found
    if found is None:
        return None
    return Unswung(_inside_of(found.base, was, moved), _inside_of(found.other, other, moved))


def _find_share(was: SizedPiece, now: SizedPiece, dart: Dart, drawn: Dart) -> float | None:
    """How much of a dart opens in another one of the drawing; None when nothing does."""
    change = next((c for c in dart_changes(was, now) if c.name == drawn.name), None)
    if change is None or change.what not in ("came", "swung") or drawn.edge == dart.edge:
        return None
    if np.hypot(*np.subtract(dart.tip, drawn.tip)) > _SAME_TIP_MM:
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


def _swing_both(
    base: SizedPiece,
    now: SizedPiece,
    other: SizedPiece,
    dart: Dart,
    drawn: Dart,
    share: float,
    carry: Carry,
) -> Unswung | None:
    """Both sizes with one dart swung; the part turns that turned in the drawing."""
    low, high = mouth_of(now, drawn)
    edge = now.edge(drawn.edge)
    size = base.edge(drawn.edge).length
    place = min(low, size) if low <= edge.length - high else size - (edge.length - high)
    own = other.edge(drawn.edge).length
    there = place if place <= size - place else own - (size - place)
    there = place / size * own if carry == "proportion" else there
    if not (0.0 < place < size and 0.0 < there < own):
        return None
    ways: tuple[Part, Part] = ("after", "before")
    tried = [_turn_piece(base, dart.name, drawn, place, turns, share, now) for turns in ways]
    corners = np.array([e.points[0] for e in now.edges])
    off = [
        float(np.median(np.hypot(*(np.array([e.points[0] for e in one.edges]) - corners).T)))
        for one in tried
    ]
    best = int(np.argmin(off))
    if off[best] > _NEAR_MM:
        return None
    return Unswung(tried[best], _turn_piece(other, dart.name, drawn, there, ways[best], share, now))


def _turn_piece(
    piece: SizedPiece,
    name: str,
    drawn: Dart,
    place: float,
    turns: Part,
    share: float,
    now: SizedPiece,
) -> SizedPiece:
    dart = next(one for one in piece.darts if one.name == name)
    cut = Cut(dart, *mouth_of(piece, dart), drawn.edge, place, turns)
    left = {mark.name for mark in now.landmarks if mark.kind == "mark"}
    legs = legs_along(now, drawn)
    return swing(piece, cut, share, name=drawn.name, legs=legs, named=left, lie=None).piece


def _inside_of(swung: SizedPiece, old: SizedPiece, moved: frozenset[str]) -> SizedPiece:
    """What the drawing did not move inside the piece stays where it was."""
    lines = {line.name: line for line in old.lines}
    drills = {mark.name: mark for mark in old.drills}
    tips = {dart.name: dart.tip for dart in old.darts}
    return replace(
        swung,
        label=old.label,
        lines=tuple(x if x.name in moved else lines[x.name] for x in swung.lines),
        drills=tuple(x if x.name in moved else drills[x.name] for x in swung.drills),
        darts=tuple(
            d if d.name in moved else replace(d, tip=tips.get(d.name, d.tip)) for d in swung.darts
        ),
    )
