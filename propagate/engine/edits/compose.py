"""Put the edges of a blended silhouette together, and tell where each stretch came from."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from propagate.engine.laying import Laid, starts_at, upward
from propagate.engine.reshape import Edited, Region, Source, Stretch, rounded
from propagate.engine.tape import edge_from_parts
from propagate.geometry.directions import end_direction
from propagate.geometry.fade import bend
from propagate.geometry.polyline import between, length, point_at
from propagate.pattern.model import Edge
from propagate.tolerances import RESTS_MM, SAME_POINT_MM, STEP_MM

__all__ = ["compose"]

Array = npt.NDArray[np.float64]


def compose(item: Laid, side: Array, free: Array, size: str, stays: frozenset[str]) -> Edited:
    """Put the new edges of one main together, corners shared digit for digit.

    `stays` names the levels whose girth the lower size gives: they do not go with the top.
    """
    main, lower = item.main, item.lower
    corner = rounded(side[-1])
    held_across = between(item.across, 0.0, item.across_hold)
    across = np.vstack([held_across[:-1], rounded(free)])
    across[-1] = corner
    new_side = _on_hold(item.side, item.hold_side, rounded(side))
    new_side[-1] = corner
    turn = end_direction(between(item.centre, 0.0, item.hold_centre), "end") - end_direction(
        item.upper_centre, "start"
    )
    turn = float(np.arctan2(np.sin(turn), np.cos(turn)))
    # A straight centre stays two points when all that there is to fade is a rounding.
    joins = abs(turn) * length(item.upper_centre) <= RESTS_MM
    top = item.upper_centre if joins else bend(item.upper_centre, turn, STEP_MM)
    new_centre = _on_hold(item.centre, item.hold_centre, rounded(top))
    across[0] = new_centre[-1]

    edges, stretches = [], {}
    upper_side_length = length(item.upper_side)
    for name, points, hold, foot, total in (
        (
            main.centre,
            new_centre,
            item.hold_centre,
            item.foot_centre,
            item.upper.edge(main.centre).length,
        ),
        (main.side, new_side, item.hold_side, item.foot_side, upper_side_length),
    ):
        flipped = starts_at(lower.edge(name).points, lower.edge(main.across).points)
        edges.append(_edge(name, points, flipped, lower.edge(name), item))
        stretches[name] = _stretches(lower, name, points, hold, foot, total, flipped)
    centre_corner = upward(item.upper, main.centre, main.across)[-1]
    flipped = not np.array_equal(item.upper.edge(main.across).points[0], centre_corner)
    edges.append(_edge(main.across, across, flipped, None, item))
    new_length = edges[-1].length
    stretches[main.across] = (
        Stretch("upper", (0.0, new_length), (0.0, item.upper.edge(main.across).length)),
    )
    source = Source(item.upper, size, item.motion)
    grain = lower.base.base.grain.direction
    hold_height = float(point_at(item.side, item.hold_side) @ grain)
    upwards = 1.0 if float(item.side[-1] @ grain) > hold_height else -1.0
    region = Region("upper", hold_height, upwards, stays)
    return lower.with_edges(edges, stretches, {"upper": source}, region)


def _on_hold(lower: Array, hold: float, upper: Array) -> Array:
    """The lower part of an upward edge, digit for digit, and a new part on top of it."""
    return np.asarray(np.vstack([between(lower, 0.0, hold), upper[1:]]))


def _edge(name: str, points: Array, flipped: bool, lower: Edge | None, item: Laid) -> Edge:
    """Make an edge in outline direction, keeping the turn points that are still on it."""
    turns = [lower.points[list(lower.turns)]] if lower is not None else []
    own = item.upper.edge(name)
    turns.append(rounded(item.motion.apply(own.points[list(own.turns)].reshape(-1, 2))))
    return edge_from_parts(name, [points[::-1] if flipped else points], np.vstack(turns))


def _stretches(
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
        kept = [_clip(s, old - hold, old, size - old) for s in lower.stretches[name]]
        return (top, *(s for s in kept if s is not None))
    top = Stretch("upper", (hold, size), (begin, total))
    kept = [_clip(s, 0.0, hold, 0.0) for s in lower.stretches[name]]
    return (*(s for s in kept if s is not None), top)


def _clip(stretch: Stretch, begin: float, end: float, shift: float) -> Stretch | None:
    """The part of a stretch between two distances, shifted along the edge."""
    low, high = max(stretch.here[0], begin), min(stretch.here[1], end)
    if high - low <= SAME_POINT_MM:
        return None
    scale = (stretch.there[1] - stretch.there[0]) / (stretch.here[1] - stretch.here[0])
    first = stretch.there[0] + (low - stretch.here[0]) * scale
    return replace(
        stretch,
        here=(low + shift, high + shift),
        there=(first, first + (high - low) * scale),
    )
