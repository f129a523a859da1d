"""Inner lines end where they ended: on the outline, at a mark, on another inner line.

By hand a line is cut off at the new outline, or run on to it as it goes.  An end at a corner, a
mark or the tip of a dart goes with that, and what lies between the ends goes by its share of the
way.  A line of which the other end is free, such as a slit, is as long as it was: it goes as a
whole.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from propagate.engine.inside.contacts import Contact
from propagate.engine.inside.outline_move import OutlineMove
from propagate.engine.reshape import rounded
from propagate.geometry.arrays import Array
from propagate.geometry.polyline import arc_lengths, locate
from propagate.geometry.run_on import end_on_line
from propagate.tolerances import GRAZE_DEG, RESTS_MM
from propagate.values import dataclass

__all__ = ["Ended", "end_line"]

_SLACK_MM = 1.0


@dataclass(frozen=True)
class Ended:
    """A line with its ends where they belong.

    Attributes
    ----------
    points : (n, 2) array
    shift : (2,) array or None
        By how much it went as a whole.
    other : tuple of (str, str)
        Edge on which an end lay, and the one on which it lies now where that is another.
    """

    points: Array
    shift: Array | None = None
    other: tuple[tuple[str, str], ...] = ()


def end_line(
    move: OutlineMove, points: Array, contacts: tuple[Contact, Contact], lines: Mapping[str, Array]
) -> Ended:
    """Put the ends of an inner line on what they rested on.

    Parameters
    ----------
    points : (n, 2) array
        The line as the edit left it.
    contacts : (Contact, Contact)
        What its ends rested on before.
    lines : mapping of name to (m, 2) array
        The piece's other inner lines, as they lie now.
    """
    free = [contact.kind == "free" for contact in contacts]
    pulls = [_measure_pull(move, points[end], c) for end, c in zip((0, -1), contacts, strict=True)]
    found = _pull_ends(points, pulls, free)
    shift = pulls[0 if free[1] else 1] if any(free) else None
    other: list[tuple[str, str]] = []
    for end, contact in zip((0, -1), contacts, strict=True):
        if contact.kind not in ("edge", "line"):
            continue
        target = lines.get(contact.name) if contact.kind == "line" else None
        new, edge = _end_line(move, found, end, contact, target)
        if new is found:
            continue
        if contact.kind == "edge" and edge != contact.name:
            other.append((contact.name, edge))
        if any(free):
            shift = new[end] - points[end]
            new = rounded(points + shift)
        found = new
    return Ended(found, shift if shift is not None and shift.any() else None, tuple(other))


def _measure_pull(move: OutlineMove, end: Array, contact: Contact) -> Array | None:
    """Measure how far an end is from the mark that it rested on; None when it rested on none."""
    was, now = move.points
    if contact.kind != "point" or contact.name not in now:
        return None
    away = now[contact.name] - end
    off = np.hypot(*away) <= max(RESTS_MM, contact.gap)
    return np.zeros(2) if off and np.array_equal(was[contact.name], now[contact.name]) else away


def _pull_ends(points: Array, pulls: list[Array | None], free: list[bool]) -> Array:
    """Pull the ends of a line, and what lies between by its share of the way."""
    ends = [np.zeros(2) if pull is None else pull for pull in pulls]
    for own, far in ((0, 1), (1, 0)):
        if free[own]:
            ends[own] = ends[far]
    if np.hypot(*np.array(ends).T).max() <= RESTS_MM:
        return points
    arc = arc_lengths(points)
    share = (arc / arc[-1])[:, None]
    return rounded(points + (1.0 - share) * ends[0] + share * ends[1])


def _end_line(
    move: OutlineMove, points: Array, end: int, contact: Contact, target: Array | None
) -> tuple[Array, str]:
    """Put one end of a line on its edge or line, and say on which; the same line where it does."""
    own = move.now.edge(contact.name).points if target is None else target
    gap = locate(own, points[end])[1]
    if gap <= max(RESTS_MM, contact.gap):
        return points, contact.name
    way = points if end else points[::-1]
    found = end_on_line(way, own, gap / np.sin(np.radians(GRAZE_DEG)) + _SLACK_MM)
    name = contact.name
    if found is None and target is None:
        found, name = _on_another(move, way, contact.name)
    if found is not None:
        kept = int(np.cumprod((found[: len(way)] == way[: len(found)]).all(axis=1)).sum())
        found = np.vstack([found[:kept], rounded(found[kept:])])
        return found if end else found[::-1], name
    if target is not None:
        return points, contact.name
    pull = move.answer(contact.name, contact.at) - points[end]
    return _pull_ends(points, [None, pull] if end else [pull, None], [False, False]), contact.name


def _on_another(move: OutlineMove, way: Array, edge: str) -> tuple[Array | None, str]:
    """Cut off a line that leaves the piece over an edge beside its own there."""
    if move.covers(way[-1]):
        return None, edge
    whole = float(arc_lengths(way)[-1])
    found: tuple[Array | None, str] = None, edge
    longest = 0.0
    for other in move.now.edges:
        cut = end_on_line(way, other.points, whole / 2.0) if other.name != edge else None
        left = 0.0 if cut is None else float(arc_lengths(cut)[-1])
        if longest < left <= whole:
            found, longest = (cut, other.name), left
    return found
