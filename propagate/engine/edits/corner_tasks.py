"""The corners of a blend as tasks to solve, and what the seams between them ask for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from propagate.engine.corners import Across, CornerTask, Pairing
from propagate.engine.laying import Laid
from propagate.engine.main_sides import SidePair
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.directions import end_direction, wrap_angle
from propagate.geometry.polyline import between, chord_angles, length, point_at
from propagate.geometry.spiral import TAPER_LIMITS, Spiral, fit_taper, spiral_to
from propagate.pattern.beside import is_beside
from propagate.pattern.ease import Ease, ease_in_size, share_said
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import Seam
from propagate.tolerances import STEP_MM

__all__ = ["corner_as_drawn", "corner_tasks", "pairing_of"]


def corner_as_drawn(item: Laid) -> float:
    """Corner angle between crossing edge and side as drawn in the upper size, radians."""
    return abs(wrap_angle(end_direction(item.upper_side, "end") - item.across_direction))


def pairing_of(
    pattern: PatternSet,
    pair: SidePair,
    laid: Sequence[Laid],
    tasks: Sequence[CornerTask],
    size: str,
    top: Literal["trued", "traced"],
    follow: Literal["shape", "length"],
) -> Pairing:
    """What a seam asks of its two sides, in the size that gives its ease."""
    ends = (pair.lead, pair.follow)
    ease, share = _find_ease(pattern, pair.seam, size, [tasks[i] for i in ends])
    corners = sum(corner_as_drawn(laid[i]) for i in ends) if top == "trued" else None
    return Pairing(ease, corners, follow == "shape", share, *ends)


def _find_ease(
    pattern: PatternSet, seam: Seam, size: str, tasks: Sequence[CornerTask]
) -> tuple[float, float]:
    """Ease of a side seam: an amount in mm, and a share of its lead.

    Within a range the two sides stay as far apart as their plain new lines are.
    """
    ease = ease_in_size(seam.ease, size)
    if not is_beside(seam):
        if not isinstance(ease, Ease):
            return ease, 0.0
        share = share_said(ease)
        if share is not None:
            return 0.0, share
    try:
        lead, follow = (
            task.held + spiral_to(task.side, task.across.points[-1])[0] for task in tasks
        )
    except ValueError:  # no plain line leads there; the corners are still looked for
        lead, follow = 0.0, 0.0
    lengths = (lead, follow) if lead else None
    return seam_ease(pattern.in_size(size), seam, size, lengths).total, 0.0


def corner_tasks(laid: Sequence[Laid], alike: Sequence[SidePair]) -> list[CornerTask]:
    """The corners to solve; followers of some pairs taper as their leads do."""
    tasks = [_state_task(item) for item in laid]
    found = list(tasks)
    for i in {pair.follow for pair in alike}:
        leads = [tasks[pair.lead].side.taper for pair in alike if pair.follow == i]
        taper = leads[0] if len(leads) == 1 else float(np.mean(leads))
        found[i] = replace(tasks[i], side=replace(tasks[i].side, taper=taper))
    return found


def _state_task(item: Laid) -> CornerTask:
    # Mean of the parents' tapers between the hold and the top; 0 when both are straight.
    stretches = [(item.side, item.hold_side)]
    if item.foot_side is not None:
        stretches.append((item.upper_side, item.foot_side))
    tapers = [
        fit_taper(*chord_angles(between(edge, begin, length(edge))))
        for edge, begin in stretches
        if begin < length(edge) - 20.0
    ]
    found = [taper for taper in tapers if taper is not None]
    taper = float(np.clip(np.mean(found), *TAPER_LIMITS)) if found else 0.0
    hold = point_at(item.side, item.hold_side)
    chords = max(int(np.ceil(np.hypot(*(item.across[-1] - hold)) / STEP_MM)), 16)
    side = Spiral(
        hold,
        end_direction(between(item.side, 0.0, item.hold_side), "end"),
        taper,
        chords,
    )
    free = densify_smoothly(between(item.across, item.across_hold, length(item.across)), STEP_MM)
    across = Across(free, item.across_direction)
    sign = 1.0 if np.sin(side.direction - across.end_direction) > 0 else -1.0
    return CornerTask(side, item.hold_side, across, sign)
