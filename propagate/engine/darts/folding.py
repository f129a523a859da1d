"""Fold the darts of a line, move it, and unfold it: both legs then end at one point of it.

By hand a waist with a dart is trued with the dart folded: the line is drawn across the fold, and
cut; opened again, both legs are as long as each other.  What lies behind a dart is turned about
its tip until leg lies on leg; a line that was moved there is cut where it meets the leg.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal

import numpy as np

from propagate.engine.darts.cap import cap_between
from propagate.engine.reshape import rounded
from propagate.geometry.arrays import Array
from propagate.geometry.crossing import line_crossings
from propagate.geometry.fade import smoothstep
from propagate.geometry.motion import IDENTITY, Motion
from propagate.geometry.polyline import arc_lengths, between
from propagate.tolerances import FADE_MM, SAME_POINT_MM
from propagate.values import dataclass

__all__ = ["DartMouth", "Unfolded", "folded_places", "move_folded"]

_Stretch = tuple[Array, Array]
"""Vertices of a folded line between two darts, and where each lay on the old line."""


@dataclass(frozen=True)
class DartMouth:
    """The mouth of a dart on a line.

    Attributes
    ----------
    low, high : float
        Distances of its legs from the start of the line, mm.
    tip : (2,) array
    towards : "start" or "end"
        To which side of the line it is folded.
    capped : bool
        Whether it was drawn with a cap: with vertices between its legs.
    """

    low: float
    high: float
    tip: Array
    towards: Literal["start", "end"]
    capped: bool


@dataclass(frozen=True)
class Unfolded:
    """A line that was moved with its darts folded.

    Attributes
    ----------
    points : (n, 2) array
    was : (n,) array
        Where each vertex lay on the old line, mm from its start; NaN for one that stands for
        none.
    peaks : (k, 2) array
        Peaks of the caps.
    """

    points: Array
    was: Array
    peaks: Array


def folded_places(at: Array, mouths: Sequence[DartMouth]) -> Array:
    """Return distances along a line with its darts folded, for distances along it as it lies."""
    found = np.asarray(at, dtype=np.float64).copy()
    for mouth in mouths:
        found -= np.clip(at, mouth.low, mouth.high) - mouth.low
    return found


def move_folded(
    points: Array,
    at: Array,
    mouths: Sequence[DartMouth],
    shift_of: Callable[[Array, Sequence[Motion]], Array],
) -> Unfolded:
    """Move a line with its darts folded.

    Parameters
    ----------
    points : (n, 2) array
        With a vertex at each leg.
    at : (n,) array
        Distances of the vertices from the start of the line, mm.
    mouths : sequence of DartMouth
        In their order along the line; at least one.
    shift_of : callable
        Of distances along the line and the motions that fold each of its stretches: (m, 2)
        movement of the folded line.
    """
    legs = [[int(np.abs(at - place).argmin()) for place in (m.low, m.high)] for m in mouths]
    motions = [IDENTITY]
    for mouth, (low, high) in zip(mouths, legs, strict=True):
        first, second = (complex(*(points[leg] - mouth.tip)) for leg in (low, high))
        motions.append(motions[-1].after(Motion.about(mouth.tip, first / second)))
    shift = shift_of(at, motions)
    bounds = [-np.inf, *(x for mouth in mouths for x in (mouth.low, mouth.high)), np.inf]
    stretches: list[_Stretch] = []
    for k, motion in enumerate(motions):
        begin, end = bounds[2 * k], bounds[2 * k + 1]
        inside = (at >= begin - SAME_POINT_MM) & (at <= end + SAME_POINT_MM)
        stretches.append((motion.apply(points[inside]) + shift[inside], at[inside]))
    for k, mouth in enumerate(mouths):
        if shift[legs[k]].any():
            tip, leg = motions[k].apply(mouth.tip), motions[k].apply(points[legs[k][0]])
            stretches[k], stretches[k + 1] = _cut_at(stretches[k], stretches[k + 1], tip, leg)
    found = _unfold_stretches(mouths, motions, stretches)
    kept = {float(x): points[i] for i, x in enumerate(at) if not shift[i].any()}
    same = [i for i, x in enumerate(found.was) if float(x) in kept]
    new = rounded(found.points)
    for i in same:
        new[i] = kept[float(found.was[i])]
    return Unfolded(new, found.was, rounded(found.peaks))


def _cut_at(before: _Stretch, after: _Stretch, tip: Array, leg: Array) -> tuple[_Stretch, _Stretch]:
    """Part two stretches that meet at a folded dart where the line meets its leg."""
    middle = (before[0][-1] + after[0][0]) / 2
    first = _lead_end(before[0], middle)
    second = _lead_end(after[0][::-1], middle)[::-1]
    line = np.vstack([first, second[1:]])
    was = np.concatenate([before[1][:-1], [np.nan], after[1][1:]])
    arc = arc_lengths(line)
    own = float(arc[len(first) - 1])
    hits = line_crossings(line, leg, (leg - tip) / float(np.hypot(*(leg - tip))))
    place = float(hits[np.abs(hits - own).argmin()]) if len(hits) else own
    parts = []
    for low, high, mine in ((0.0, place, before[1]), (place, float(arc[-1]), after[1])):
        part = between(line, low, high)
        there = np.full(len(part), np.nan)
        for k, x in enumerate(arc_lengths(part) + low):
            same = was[np.abs(arc - x) <= SAME_POINT_MM]
            vertices = same[(same >= mine[0]) & (same <= mine[-1])]
            there[k] = vertices[0] if len(vertices) else np.nan
        parts.append((part, there))
    parts[0][1][-1], parts[1][1][0] = before[1][-1], after[1][0]
    parts[1][0][0] = parts[0][0][-1]
    return parts[0], parts[1]


def _lead_end(points: Array, end: Array) -> Array:
    """Lead a line to another end over a short way: the legs of a dart may differ a little."""
    away = end - points[-1]
    if np.hypot(*away) <= SAME_POINT_MM:
        return points
    arc = arc_lengths(points)
    share = smoothstep((arc - arc[-1] + FADE_MM) / FADE_MM)
    return np.asarray(points + share[:, None] * away)


def _unfold_stretches(
    mouths: Sequence[DartMouth], motions: Sequence[Motion], stretches: Sequence[_Stretch]
) -> Unfolded:
    """Lay the stretches back, the caps of the darts that had one cut anew."""
    laid = [m.inverse().apply(part) for m, (part, _) in zip(motions, stretches, strict=True)]
    found, was = [laid[0]], [stretches[0][1]]
    peaks = [np.empty((0, 2))]
    for k, mouth in enumerate(mouths):
        if mouth.capped:
            cap = cap_between(laid[k], laid[k + 1], mouth.tip, mouth.towards)
            found.append(cap)
            was.append(np.full(len(cap), np.nan))
            peaks.append(cap[len(cap) // 2 :][:1])
        found.append(laid[k + 1])
        was.append(stretches[k + 1][1])
    return Unfolded(np.vstack(found), np.concatenate(was), np.vstack(peaks))
