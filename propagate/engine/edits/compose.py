"""Put the edges of a blended silhouette together, and tell where each stretch came from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from propagate.engine.laying import Laid, LaidCentre, starts_at, turn_upward
from propagate.engine.reshape import Edited, Region, Source, Stretch, rounded
from propagate.engine.tape import edge_from_parts
from propagate.geometry.directions import end_direction, wrap_angle
from propagate.geometry.fade import bend_start
from propagate.geometry.polyline import between, length, point_at
from propagate.pattern.model import Array, Edge
from propagate.tolerances import RESTS_MM, SAME_POINT_MM, STEP_MM
from propagate.values import dataclass

__all__ = ["Redrawn", "compose_silhouette"]


@dataclass(frozen=True)
class Redrawn:
    """A side of a main with its new lines.

    Attributes
    ----------
    item : Laid
    side : (n, 2) array
        The new side from the hold up to its corner.
    free : (n, 2) array
        The new end of the crossing edge, from where it is held to the same corner.
    """

    item: Laid
    side: Array
    free: Array

    @cached_property
    def corner(self) -> Array:
        """The corner of both, (2,)."""
        return rounded(self.side[-1])


def compose_silhouette(sides: Sequence[Redrawn], size: str, stays: frozenset[str]) -> Edited:
    """Put the new edges of one main together, corners shared digit for digit.

    Parameters
    ----------
    sides : one or two Redrawn
        Two where there is a side at both ends of the crossing edge.
    size : str
        That gives the top.
    stays : frozenset of str
        Levels whose girth the lower size gives: they do not go with the top.
    """
    item, corner = sides[0].item, sides[0].corner
    main, lower = item.main, item.lower
    across = _draw_across(sides)
    drawn: list[tuple[str, Array, float, float | None, float]] = []
    for one in sides:
        up = _on_hold(one.item.side, one.item.hold_side, rounded(one.side))
        up[-1] = one.corner
        total = length(one.item.upper_side)
        drawn.append((one.item.main.side, up, one.item.hold_side, one.item.foot_side, total))
    if item.centre is not None:
        up = _draw_centre(item.centre)
        across[0] = up[-1]
        total = item.upper.edge(main.centre).length
        drawn.insert(0, (main.centre, up, item.centre.hold, item.centre.foot, total))
    across[-1] = corner
    edges, stretches = [], {}
    for name, points, hold, foot, total in drawn:
        flipped = starts_at(lower.edge(name).points, lower.edge(main.across).points)
        edges.append(_make_edge(name, points, flipped, lower.edge(name), item))
        stretches[name] = _tell_stretches(lower, name, points, hold, foot, total, flipped)
    far_corner = turn_upward(item.upper, main.centre, main.across)[-1]
    flipped = not np.array_equal(item.upper.edge(main.across).points[0], far_corner)
    edges.append(_make_edge(main.across, across, flipped, None, item))
    new_length = edges[-1].length
    stretches[main.across] = (
        Stretch("upper", (0.0, new_length), (0.0, item.upper.edge(main.across).length)),
    )
    # What lies above the holds of all sides comes from the upper size.
    grain = lower.base.base.grain.direction
    heights = [float(point_at(one.item.side, one.item.hold_side) @ grain) for one in sides]
    up_way = 1.0 if float(item.side[-1] @ grain) > heights[0] else -1.0
    region = Region("upper", up_way * max(up_way * height for height in heights), up_way, stays)
    source = Source(item.upper, size, item.motion)
    return lower.with_edges(edges, stretches, {"upper": source}, region)


def _draw_across(sides: Sequence[Redrawn]) -> Array:
    """The new crossing edge, from the far end to the corner of the first side."""
    first = sides[0]
    if len(sides) == 1:
        held = between(first.item.across, 0.0, first.item.across_hold)
        return np.vstack([held[:-1], rounded(first.free)])
    other = sides[1]
    begin = length(first.item.across) - other.item.across_hold
    parts = [rounded(other.free)[::-1]]
    if first.item.across_hold - begin > SAME_POINT_MM:
        parts.append(between(first.item.across, begin, first.item.across_hold)[1:])
    across = np.vstack([*parts, rounded(first.free)[1:]])
    across[0] = other.corner
    return across


def _draw_centre(centre: LaidCentre) -> Array:
    """The lower size's centre with the upper's on top of it, faded where they join."""
    below = end_direction(between(centre.line, 0.0, centre.hold), "end")
    turn = wrap_angle(below - end_direction(centre.upper, "start"))
    # A straight centre stays two points when all that there is to fade is a rounding.
    joins = abs(turn) * length(centre.upper) <= RESTS_MM
    top = centre.upper if joins else bend_start(centre.upper, turn, STEP_MM)
    return _on_hold(centre.line, centre.hold, rounded(top))


def _on_hold(lower: Array, hold: float, upper: Array) -> Array:
    """The lower part of an turn_upward edge, digit for digit, and a new part on top of it."""
    return np.asarray(np.vstack([between(lower, 0.0, hold), upper[1:]]))


def _make_edge(name: str, points: Array, flipped: bool, lower: Edge | None, item: Laid) -> Edge:
    """Make an edge in outline direction, keeping the turn points that are still on it."""
    turns = [lower.turn_points] if lower is not None else []
    own = item.upper.edge(name)
    turns.append(rounded(item.motion.apply(own.turn_points)))
    return edge_from_parts(name, [points[::-1] if flipped else points], np.vstack(turns))


def _tell_stretches(
    lower: Edited,
    name: str,
    points: Array,
    hold: float,
    foot: float | None,
    total: float,
    flipped: bool,
) -> tuple[Stretch, ...]:
    """Stretches of a side or centre edge: the lower size's up to the hold, then the new."""
    size = length(points)
    old = lower.edge(name).length
    begin = total if foot is None else foot
    if flipped:
        top = Stretch("upper", (0.0, size - hold), (0.0, total - begin))
        kept = [_clip_stretch(s, old - hold, old, size - old) for s in lower.stretches[name]]
        return (top, *(s for s in kept if s is not None))
    top = Stretch("upper", (hold, size), (begin, total))
    kept = [_clip_stretch(s, 0.0, hold, 0.0) for s in lower.stretches[name]]
    return (*(s for s in kept if s is not None), top)


def _clip_stretch(stretch: Stretch, begin: float, end: float, shift: float) -> Stretch | None:
    """The part of a stretch between two distances, shifted along the edge."""
    low, high = max(stretch.here[0], begin), min(stretch.here[1], end)
    if high - low <= SAME_POINT_MM:
        return None
    scale = (stretch.there[1] - stretch.there[0]) / (stretch.here[1] - stretch.here[0])
    first = stretch.there[0] + (low - stretch.here[0]) * scale
    return replace(
        stretch, here=(low + shift, high + shift), there=(first, first + (high - low) * scale)
    )
