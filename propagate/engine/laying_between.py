"""Lay the upper size of a main that has a side at both ends of its crossing edge.

A back that is cut in one piece has no centre seam to be laid along: level on level, and
the middle between its two sides on the middle, at the hold.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from propagate.engine.laying import (
    Laid,
    LayOptions,
    across_hold,
    hold_on,
    level_crossing,
    level_height,
    on_vertex,
    slide_along,
    top_of,
    turn_upward,
)
from propagate.engine.main_sides import other_side
from propagate.engine.reshape import Edited, rounded
from propagate.engine.tape import Silhouette
from propagate.errors import EditError
from propagate.geometry.motion import Motion
from propagate.geometry.polyline import length, point_at
from propagate.pattern.relations import BlendMain
from propagate.tolerances import SAME_POINT_MM

__all__ = ["lay_between"]

Array = npt.NDArray[np.float64]


def lay_between(
    main: BlendMain, lower: Edited, upper: Silhouette, options: LayOptions
) -> tuple[Laid, Laid]:
    """Lay one main with two sides: its side, then the edge that the plan names as its centre.

    Raises
    ------
    EditError, UnknownName
        As `propagate.engine.laying.lay_main`.
    """
    grain, turn = lower.base.base.grain.direction, upper.base.grain.turn_to(lower.base.base.grain)
    lay_height = level_height(lower.base, options.lay_on, options.set_name)
    lift = lay_height - level_height(upper, options.lay_on, options.set_name)
    mains = (main, other_side(main))
    lines = [turn_upward(lower, one.side, one.across) for one in mains]
    holds = [
        hold_on(one, one.side, one.side_hold, lower, line, options)
        for one, line in zip(mains, lines, strict=True)
    ]
    anchors = [point_at(line, hold) for line, hold in zip(lines, holds, strict=True)]
    feet = []
    for one, anchor in zip(mains, anchors, strict=True):
        own = turn.apply(turn_upward(upper, one.side, one.across))
        feet.append(_find_foot(one, own, anchor - lift * grain, grain, options))
    shift = np.mean(anchors, axis=0) - np.mean(feet, axis=0)
    # Holds at different heights would leave the middle beside the level.
    shift += grain * (lift - float(shift @ grain))
    # Along the grain: there is no centre seam to slide along.
    top = turn.apply(top_of(upper, main, two_sided=True)) + shift
    tops = (top, top_of(lower, main, two_sided=True))
    angle, room = float(np.arctan2(grain[1], grain[0])), abs(float(top @ grain) - lay_height) / 2
    slide = slide_along(options, lower, tops, angle, room)
    motion = Motion(turn.turn, complex(*(shift + slide)))
    return (
        _make_laid(mains[0], lower, upper, motion, lines[0], holds[0], options),
        _make_laid(mains[1], lower, upper, motion, lines[1], holds[1], options),
    )


def _find_foot(
    main: BlendMain, line: Array, point: Array, grain: Array, options: LayOptions
) -> Array:
    """Where a side of the upper size has the height of the hold."""
    foot = level_crossing(line, point, grain)
    if foot is None or foot > length(line) - 1.0:
        raise EditError(
            f"set '{options.set_name}', '{main.silhouette}', size '{options.upper_size}': edge "
            f"'{main.side}' does not reach down to the hold of size '{options.lower_size}'; "
            "choose a hold nearer the top"
        )
    return point_at(line, foot)


def _make_laid(
    main: BlendMain,
    lower: Edited,
    upper: Silhouette,
    motion: Motion,
    side: Array,
    hold: float,
    options: LayOptions,
) -> Laid:
    grain = lower.base.base.grain.direction
    points = upper.edge(main.across).points
    far = turn_upward(upper, main.centre, main.across)[-1]
    outward = bool(np.abs(points[0] - far).max() <= SAME_POINT_MM)
    across = rounded(motion.apply(points if outward else points[::-1]))
    upper_side = motion.apply(turn_upward(upper, main.side, main.across))
    # Each side has its own half of the crossing edge, and half of that is free.
    held, total = across_hold(main, upper, outward, options), length(across)
    if held <= total / 2 + SAME_POINT_MM:
        held = 3 * total / 4
    return Laid(
        main=main,
        lower=lower,
        upper=upper,
        motion=motion,
        side=side,
        hold_side=hold,
        upper_side=upper_side,
        foot_side=level_crossing(upper_side, point_at(side, hold), grain),
        across=across,
        across_hold=on_vertex(across, held),
    )
