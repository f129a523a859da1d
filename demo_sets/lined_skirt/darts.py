"""A dart that a drafter puts elsewhere: moved, divided, or swung into another edge.

With ruler and pins: lines are turned about the tip, mirrored in the folded leg, and measured
along.  Outlines are those of the draft: counter-clockwise, the waist from the side to the centre.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from demo_sets.drafting import crossing, cut, join, length
from demo_sets.scoop_skirt.mains import turned
from propagate.pattern.model import Array

__all__ = [
    "Divided",
    "MarkedDart",
    "Moved",
    "Placed",
    "Plan",
    "Swung",
    "closed_on",
    "mark_anew",
    "swing",
]


@dataclass(frozen=True)
class Placed:
    """The dart is drawn so far nearer to the centre, mm: the waist is one curve over its fold."""

    by: float


@dataclass(frozen=True)
class Moved:
    """The dart stands so far nearer to the centre, mm; the outline stays."""

    by: float


@dataclass(frozen=True)
class Divided:
    """Two darts of half the width stand so far apart, mm; the outline stays."""

    apart: float


@dataclass(frozen=True)
class Swung:
    """The dart is closed, and opens in an edge, so far from where that begins, mm."""

    into: Literal["side", "hem"]
    at: float


Plan = Placed | Moved | Divided | Swung


@dataclass(frozen=True, eq=False)
class MarkedDart:
    """A dart on a line: the vertices of its legs there, in order, its cap between them."""

    legs: tuple[int, int]
    tip: Array
    name: str = "dart"
    edge: str = "waist"

    @property
    def turns(self) -> tuple[int, int, int]:
        """The corners that its mouth makes: leg, peak, leg."""
        low, high = self.legs
        return low, (low + high) // 2, high


# ------------------------------------------------------------------ the outline stays


def mark_anew(
    waist: Array, dart: MarkedDart, plan: Moved | Divided
) -> tuple[Array, tuple[MarkedDart, ...]]:
    """Return the waist and its darts, those nearer to the side first.

    The mouth is ruled over from leg to leg, and on that line the mouths are measured off.  Each
    tip lies square over the middle of its mouth, as deep as it was.
    """
    low, high = dart.legs
    bare = np.vstack([waist[: low + 1], waist[high:]])
    begin, ends = length(waist[: low + 1]), waist[[low, high]]
    wide = float(np.hypot(*(ends[1] - ends[0])))
    middle = begin + wide / 2
    deep = float(np.hypot(*(dart.tip - ends.mean(axis=0))))
    if isinstance(plan, Moved):
        mouths = [("dart", middle + plan.by, wide)]
    else:
        names = ("dart_2", "dart")
        mouths = [
            (name, middle + way * plan.apart / 2, wide / 2)
            for name, way in zip(names, (-1.0, 1.0), strict=True)
        ]
    line, found, done = bare[:1], [], 0.0
    for name, place, size in mouths:
        before = cut(bare, done, place - size / 2)
        done = place + size / 2
        after = cut(bare, done)
        chord = after[0] - before[-1]
        inward = np.array([-chord[1], chord[0]]) / float(np.hypot(*chord))
        tip = (before[-1] + after[0]) / 2 + deep * inward
        cap = _cap(after, before[-1], tip)[::-1]
        line = join(line, before) if len(line) > 1 else before
        first = len(line) - 1
        line = np.vstack([line, cap, after[:1]])
        found.append(MarkedDart((first, len(line) - 1), tip, name))
    return join(line, cut(bare, done)), tuple(found)


def closed_on(waist: Array, darts: Sequence[MarkedDart], *lines: Array) -> list[Array]:
    """Return the waist with its darts closed, and what hangs at its side, turned with it."""
    hanging, gone = list(lines), 0
    for dart in darts:
        low, high = (leg - gone for leg in dart.legs)
        by = _degrees(waist[low] - dart.tip, waist[high] - dart.tip)
        hanging = [turned(line, by, dart.tip) for line in hanging]
        waist = np.vstack([turned(waist[:low], by, dart.tip), waist[high:]])
        gone += high - low
    return [waist, *hanging]


# -------------------------------------------------------------------- turned about the tip


def swing(
    lines: Mapping[str, Array], dart: MarkedDart, into: Literal["side", "hem"], through: Array
) -> tuple[dict[str, Array], MarkedDart, float]:
    """Return the lines with the dart of the waist closed and the cut from its tip opened.

    The cut goes from the tip through a point.  What lies between it and the dart, with the side,
    turns about the tip; by how many degrees comes third.
    """
    low, high = dart.legs
    waist, tip = lines["waist"], dart.tip
    by = _degrees(waist[low] - tip, waist[high] - tip)
    ray = np.array([tip, tip + 1.5 * (through - tip)])
    place, _ = crossing(lines[into], ray)
    before, after = cut(lines[into], 0.0, place), turned(cut(lines[into], place), by, tip)
    cap = _cap(before[::-1], after[0], tip)
    opened = np.vstack([before, cap, after])
    found = {
        **lines,
        "side": turned(lines["side"], by, tip),
        "waist": np.vstack([turned(waist[:low], by, tip), waist[high:]]),
        into: opened,
    }
    legs = (len(before) - 1, len(before) + len(cap))
    return found, MarkedDart(legs, tip, dart.name, into), by


def _cap(beside: Array, other: Array, tip: Array) -> Array:
    """The mouth's line from the leg at which `beside` begins to the other, both left out.

    Folded onto that side the cloth of the dart is cut along the edge: what is cut is the edge's
    image in the leg, as far as the fold, and from there its image in the fold.
    """
    leg = beside[0] - tip
    axis = leg / np.hypot(*leg) + (other - tip) / np.hypot(*(other - tip))
    near = _mirrored(beside, tip, leg)
    fold = np.array([tip, tip + 2.0 * np.hypot(*leg) * axis / np.hypot(*axis)])
    end, _ = crossing(near, fold)
    near = cut(near, 0.0, end)[1:]
    return np.vstack([near, _mirrored(near[:-1], tip, axis)[::-1]])


def _mirrored(points: Array, foot: Array, axis: Array) -> Array:
    unit = axis / float(np.hypot(*axis))
    gap = points - foot
    return np.asarray(foot + 2.0 * (gap @ unit)[:, None] * unit - gap)


def _degrees(start: Array, end: Array) -> float:
    """Angle from one direction to another, counter-clockwise above 0."""
    turn = start[0] * end[1] - start[1] * end[0]
    return float(np.degrees(np.arctan2(turn, start @ end)))
