"""What a dart looks like in a drawing, and where an outline runs around one.

The limits are common practice, no source, where nothing else is said.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from propagate.geometry.polyline import arc_lengths
from propagate.pattern.model import Array

__all__ = ["leg_lengths", "take_ring_stretch", "turned_back"]

MOUTH_MM: Final = 80.0
"""A wider mouth is no dart's."""
SLASH_MM: Final = 4.0
"""A narrower one is a slash, for a placket or a gusset, or two strokes of one notch."""
LEG_MM: Final = 350.0
"""Longer legs are no dart's."""
SHORT_MM: Final = 20.0
"""Shorter legs are those of a notch that is cut, or of a pinked edge."""
LEGS_MM: Final = 1.5
"""The legs are sewn to each other: walked, they agree within the trade's own tolerance."""
DRAWN_LEGS_MM: Final = 1.0
"""Legs that are drawn as lines agree within this."""
MOUTH_SHARE: Final = 0.6
"""A mouth that takes more of its edge leaves no edge to be sewn."""
AT_CORNER_MM: Final = 1.0
"""A notch on the cut line is carried to the seam line square across, and a corner by its
two edges; they come to lie a little apart."""
OFF_AXIS: Final = 0.15
"""Share of the mouth by which a mark may lie beside the middle between two notches."""
TIP_DEG: Final = 120.0
"""At the tip the outline turns back by more: the legs are longer than the mouth is wide."""
MOUTH_CORNER_DEG: Final = 30.0
"""At the ends of the legs it turns into the dart by more."""


def turned_back(ring: Array) -> list[tuple[int, int, int]]:
    """Return where a closed line runs in and back as around a dart: (begin, tip, end).

    Parameters
    ----------
    ring : (n, 2) array, mm
        Counter-clockwise, the first point not repeated.
    """
    ahead = np.roll(ring, -1, axis=0) - ring
    angle = np.arctan2(ahead[:, 1], ahead[:, 0])
    turn = np.degrees((angle - np.roll(angle, 1) + np.pi) % (2 * np.pi) - np.pi)
    found = []
    for tip in np.flatnonzero(turn < -TIP_DEG).tolist():
        begin, end = (_leg_end(ring, turn, tip, step) for step in (-1, 1))
        if begin is None or end is None or (begin - end) % len(ring) < 3:
            continue
        legs = leg_lengths(ring, begin, tip, end)
        mouth = float(np.hypot(*(ring[end] - ring[begin])))
        # Else it is a notch, a neckline, or the piece itself.
        if min(legs) >= SHORT_MM and mouth <= MOUTH_MM and mouth < min(legs):
            found.append((begin, tip, end))
    return found


def leg_lengths(ring: Array, begin: int, tip: int, end: int) -> tuple[float, float]:
    """Lengths of both legs, mm."""
    a, b = (
        float(arc_lengths(take_ring_stretch(ring, *ends))[-1])
        for ends in ((begin, tip), (tip, end))
    )
    return a, b


def take_ring_stretch(ring: Array, first: int, last: int) -> Array:
    """Points of a ring from one vertex to another, both included."""
    count = (last - first) % len(ring)
    return np.asarray(ring[(first + np.arange(count + 1)) % len(ring)])


def _leg_end(ring: Array, turn: Array, tip: int, step: int) -> int | None:
    """The first vertex from the tip at which the outline turns as at a mouth."""
    count, at, far = len(ring), tip, 0.0
    for _ in range(count // 2):
        before, at = at, (at + step) % count
        far += float(np.hypot(*(ring[at] - ring[before])))
        if turn[at] >= MOUTH_CORNER_DEG:
            return at
        if far > LEG_MM or turn[at] <= -MOUTH_CORNER_DEG:
            return None
    return None
