"""Blend sizes by level: the top of one size on the rest of another.

For each main silhouette the part below the hold is the lower size's, digit for digit.
The top is the upper size's, laid over it with level on level and centre seam on centre
seam, translated and never rotated.  Between them the side seam is drawn anew as a fair
curve and the free part of the crossing edge is trued; all corners of the mains are
solved together (`propagate.engine.corners`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from propagate.engine.corners import (
    Across,
    CornerTask,
    Pairing,
    UnsolvedCornersError,
    solve_corners,
)
from propagate.engine.edits.compose import compose
from propagate.engine.edits.leg import blend_leg
from propagate.engine.job import Drawn, Job
from propagate.engine.laying import Laid, LayOptions, lay, level_height, rise_of
from propagate.engine.reshape import Edited, start_edit
from propagate.engine.tape import tape
from propagate.errors import Conflict, EditError, UnknownName
from propagate.geometry.densify import densify_smoothly
from propagate.geometry.directions import end_direction
from propagate.geometry.polyline import between, chord_angles, length, point_at
from propagate.geometry.spiral import TAPER_LIMITS, Spiral, fit_taper, spiral_to
from propagate.pattern.ease import Ease, ease_in_size
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendMain, BlendPlan, Seam
from propagate.tolerances import ON_LINE_MM, STEP_MM

__all__ = ["Blend", "Blended", "Resolved", "blend_silhouettes", "resolve"]

Array = npt.NDArray[np.float64]
_LONGEST_MM = 1e5
_OPTIONS = {
    "follow": ("shape", "length"),
    "top": ("trued", "traced"),
    "pocket": ("upper", "lower"),
}


@dataclass(frozen=True)
class Blend:
    """The edit: a size for each level, and how to join them.

    Attributes
    ----------
    sizes : mapping of level name to size name
        The upper and the lower level of the set's blend plan; the leg level too, when
        a third size gives the leg.
    follow : "shape" or "length"
        The follower's side takes the lead's shape, or keeps its own.
    top : "trued" or "traced"
        The crossing edge runs smoothly across the side seam, or stays as drawn.
    rise : "upper", "lower" or mm
        Whose distance from the lay level to the centre of the top, along the grain; a
        length is that of the lead main, and the other mains move with it.
    pocket : "upper" or "lower"
        Whose size the opening and its layers have.
    hold : str, float or None
        Level beyond which the sides do not change, or mm below the lower level; None
        takes that of the set's blend plan, as the centre always does.
    """

    sizes: Mapping[str, str]
    follow: Literal["shape", "length"] = "shape"
    top: Literal["trued", "traced"] = "trued"
    rise: Literal["upper", "lower"] | float = "upper"
    pocket: Literal["upper", "lower"] = "upper"
    hold: str | float | None = None

    def job(self, pattern: PatternSet) -> Job:
        """Check the sizes of a blend and make every choice; see `resolve`."""
        chosen = resolve(pattern, self)
        plan = chosen.plan
        levels = {plan.upper: chosen.upper}
        if plan.leg is not None:
            levels[plan.leg.level] = chosen.leg
        # `follow` is how the mains meet, which the blend draws itself; others take the length.
        return Job(pattern, chosen.name, chosen.lower, chosen.pocket, levels, plan.upper)

    def draw(self, job: Job) -> Drawn:
        """Blend every main silhouette; see `blend_silhouettes`."""
        from propagate.engine.edits.blend_drawn import drawn_blend

        return drawn_blend(self, job)


@dataclass(frozen=True)
class Resolved:
    """A blend with every choice made; `name` is the resulting size's."""

    plan: BlendPlan
    upper: str
    lower: str
    leg: str
    pocket: str
    name: str

    @property
    def plain(self) -> bool:
        """One size for everything."""
        return self.upper == self.lower == self.leg


@dataclass(frozen=True)
class Side:
    """What was drawn for one main; kept for the record."""

    laid: Laid
    task: CornerTask
    points: Array


@dataclass(frozen=True)
class Blended:
    """Edited silhouettes, lead first, and what was drawn for each main."""

    chosen: Resolved
    edited: Mapping[str, Edited]
    sides: tuple[Side, ...] = ()
    seam: Seam | None = None


def resolve(pattern: PatternSet, edit: Blend) -> Resolved:
    """Check the sizes of a blend and make every choice.

    Raises
    ------
    EditError
        When the set has no blend plan, a level was given no size, or an option is none.
    UnknownName
        For a level or size that the set does not have.
    """
    plan = pattern.relations.blend
    if plan is None:
        raise EditError(
            f"set '{pattern.name}' has no [blend] section, so the roles of its edges are unknown; "
            "add one to set.toml (see the page on the set format)"
        )
    levels = [plan.upper, plan.lower, *([plan.leg.level] if plan.leg else [])]
    for level, size in edit.sizes.items():
        if level not in levels:
            raise UnknownName("level", level, levels, f"the blend of set '{pattern.name}'")
        if size not in pattern.sizes:
            raise UnknownName("size", size, pattern.sizes, f"set '{pattern.name}'")
    for level in levels[:2]:
        if level not in edit.sizes:
            raise EditError(
                f"set '{pattern.name}': no size for level '{level}'; "
                f"give one for '{plan.upper}' and one for '{plan.lower}'"
            )
    _check_options(pattern.name, edit)
    upper, lower = edit.sizes[plan.upper], edit.sizes[plan.lower]
    leg = edit.sizes.get(plan.leg.level, lower) if plan.leg else lower
    name = upper if upper == lower == leg else f"{upper}-{lower}"
    if leg != lower:
        name += f"-{leg}"
    return Resolved(plan, upper, lower, leg, upper if edit.pocket == "upper" else lower, name)


def _check_options(set_name: str, edit: Blend) -> None:
    """Refuse a word that is no option, and a length that is no length."""
    for name in ("follow", "top", "pocket"):
        found: str = getattr(edit, name)
        if found not in _OPTIONS[name]:
            known = " or ".join(f"'{word}'" for word in _OPTIONS[name])
            raise EditError(f"set '{set_name}': found {name} '{found}', expected {known}")
    rise, hold = edit.rise, edit.hold
    if rise not in ("upper", "lower") and not (_is_length(rise) and float(rise) > 0.0):
        raise EditError(
            f"set '{set_name}': found rise '{rise}', expected 'upper', 'lower' or a length "
            "above 0 mm"
        )
    if not (hold is None or isinstance(hold, str) or _is_length(hold)):
        raise EditError(
            f"set '{set_name}': found hold '{hold}', expected a level or a length in mm"
        )


def _is_length(value: object) -> bool:
    return isinstance(value, int | float) and abs(value) <= _LONGEST_MM  # not a number is not


def blend_silhouettes(pattern: PatternSet, edit: Blend, chosen: Resolved) -> Blended:
    """Blend every main silhouette of the set.

    Raises
    ------
    EditError
        When a hold cannot be found or lies above the lower level.
    Conflict
        When no corners satisfy both mains.
    """
    plan = chosen.plan
    seam = pattern.relations.seams.get(plan.seam)
    mains = _lead_first(plan, pattern, seam)
    edited = {
        main.silhouette: start_edit(tape(pattern, main.silhouette, chosen.lower), chosen.lower)
        for main in mains
    }
    if chosen.leg != chosen.lower and plan.leg is not None:
        edited = blend_leg(pattern, plan, edited, chosen.leg)
    if chosen.upper == chosen.lower and edit.rise in ("upper", "lower") and edit.hold is None:
        return Blended(chosen, edited, (), seam)
    options = LayOptions(
        pattern.name,
        chosen.upper,
        chosen.lower,
        pattern.lay_on,
        plan.lower,
        edit.hold,
        _rise(pattern, edit, mains[0], chosen.upper),
    )
    laid = [
        lay(main, edited[main.silhouette], tape(pattern, main.silhouette, chosen.upper), options)
        for main in mains
    ]
    if edit.hold is None:
        _respect_seam_hold(pattern, laid, seam)
    tasks = _tasks(laid, alike=edit.follow == "shape")
    try:
        eased = _eased(pattern, seam, chosen.lower, tasks)
        solved = solve_corners(tasks, _pairings(laid, seam, edit, eased))
    except UnsolvedCornersError as error:
        raise _conflict(pattern, plan, chosen, error) from error
    sides, stays = [], frozenset({plan.lower, pattern.lay_on})
    for item, task, answer in zip(laid, tasks, solved, strict=True):
        side = task.side.points(answer.length, answer.turn)
        free = task.across.bent(answer.p, answer.q)
        edited[item.main.silhouette] = compose(item, side, free, chosen.upper, stays)
        sides.append(Side(item, task, side))
    return Blended(chosen, edited, tuple(sides), seam)


def _lead_first(plan: BlendPlan, pattern: PatternSet, seam: Seam | None) -> list[BlendMain]:
    """Mains in the order lead, follower, others."""
    if seam is None:
        return list(plan.mains)
    parts = pattern.relations.parts_of
    leads = {parts.get(span.piece, span.piece) for span in seam.lead}
    return sorted(plan.mains, key=lambda main: main.silhouette not in leads)


def _rise(
    pattern: PatternSet, edit: Blend, lead: BlendMain, upper: str
) -> Literal["upper", "lower"] | float:
    """A rise in mm is the lead's; every other main's top moves as far as the lead's does.

    A back is drawn higher at its centre than a front: the same height on both would
    tear their sides apart.
    """
    if isinstance(edit.rise, str):
        return edit.rise
    drawn = tape(pattern, lead.silhouette, upper)
    return float(edit.rise) - rise_of(lead, drawn, pattern.lay_on, pattern.name)


def _respect_seam_hold(pattern: PatternSet, laid: Sequence[Laid], seam: Seam | None) -> None:
    """Refuse a blend plan that redraws what the seam itself holds.

    A hold that the edit asks for by name is the user's; two that stand in the set must
    agree.
    """
    for item in laid:
        base = item.lower.base
        if seam is None or seam.hold is None or seam.hold == item.main.side_hold:
            continue
        if seam.hold not in base.base.levels:
            continue
        grain = base.base.grain.direction
        drawn = float(point_at(item.side, item.hold_side) @ grain)
        held = level_height(base, seam.hold, pattern.name)
        upwards = 1.0 if float(item.side[-1] @ grain) > drawn else -1.0
        beyond = (held - drawn) * upwards
        if beyond > ON_LINE_MM:  # the hold itself may have been put on a vertex
            raise EditError(
                f"set '{pattern.name}', '{item.main.silhouette}', edge '{item.main.side}': seam "
                f"'{seam.name}' holds it from level '{seam.hold}' down, but the blend plan redraws "
                f"it from level '{item.main.side_hold}' up, {beyond:.1f} mm lower; write the same "
                "level for the seam's hold and for side_hold"
            )


def corner_as_drawn(item: Laid) -> float:
    """Corner angle between crossing edge and side as drawn in the upper size, radians."""
    inward = end_direction(item.upper_side, "end") - item.across_direction
    return float(abs(np.arctan2(np.sin(inward), np.cos(inward))))


def _pairings(
    laid: Sequence[Laid], seam: Seam | None, edit: Blend, eased: tuple[float, float]
) -> list[Pairing]:
    """What the seam of the plan asks of lead and follower."""
    if seam is None or len(laid) < 2:
        return []
    corner_sum = sum(corner_as_drawn(item) for item in laid[:2])
    corners = corner_sum if edit.top == "trued" else None
    return [Pairing(eased[0], corners, edit.follow == "shape", eased[1])]


def _eased(
    pattern: PatternSet, seam: Seam | None, size: str, tasks: Sequence[CornerTask]
) -> tuple[float, float]:
    """Ease of the side seam: an amount in mm, and a share of its lead.

    Within a range the two sides stay as far apart as their plain new lines are.
    """
    if seam is None or len(tasks) < 2:
        return 0.0, 0.0
    ease = ease_in_size(seam.ease, size)
    if not isinstance(ease, Ease):
        return ease, 0.0
    if ease.share is not None:
        return 0.0, ease.share
    try:
        lead, follow = (
            task.held + spiral_to(task.side, task.across.points[-1])[0] for task in tasks[:2]
        )
    except ValueError:  # no plain line leads there; the corners are still looked for
        lead, follow = 0.0, 0.0
    lengths = (lead, follow) if lead else None
    return seam_ease(lambda piece: pattern.sized(piece, size), seam, size, lengths).total, 0.0


def _tasks(laid: Sequence[Laid], *, alike: bool) -> list[CornerTask]:
    tasks = [_task(item) for item in laid]
    if alike and len(tasks) > 1:
        tasks[1] = replace(tasks[1], side=replace(tasks[1].side, taper=tasks[0].side.taper))
    return tasks


def _task(item: Laid) -> CornerTask:
    hold = point_at(item.side, item.hold_side)
    chords = max(int(np.ceil(np.hypot(*(item.across[-1] - hold)) / STEP_MM)), 16)
    side = Spiral(
        hold, end_direction(between(item.side, 0.0, item.hold_side), "end"), _taper(item), chords
    )
    free = densify_smoothly(between(item.across, item.across_hold, length(item.across)), STEP_MM)
    across = Across(free, item.across_direction)
    sign = 1.0 if np.sin(side.direction - across.end_direction) > 0 else -1.0
    return CornerTask(side, item.hold_side, across, sign)


def _taper(item: Laid) -> float:
    """Mean of the parents' tapers between the hold and the top; 0 when both are straight."""
    stretches = [(item.side, item.hold_side)]
    if item.foot_side is not None:
        stretches.append((item.upper_side, item.foot_side))
    found = []
    for edge, begin in stretches:
        if begin < length(edge) - 20.0:
            taper = fit_taper(*chord_angles(between(edge, begin, length(edge))))
            if taper is not None:
                found.append(taper)
    return float(np.clip(np.mean(found), *TAPER_LIMITS)) if found else 0.0


def _conflict(
    pattern: PatternSet, plan: BlendPlan, chosen: Resolved, error: UnsolvedCornersError
) -> Conflict:
    top = f"'{plan.upper}' of size '{chosen.upper}'"
    rest = f"'{plan.lower}' of size '{chosen.lower}'"
    apart, takes = error.miss_mm, []
    for one in error.would_take:
        if one.longer_mm is not None:
            apart = abs(one.longer_mm)
            than = f"{'longer' if one.longer_mm > 0 else 'shorter'} than seam '{plan.seam}' asks"
            takes.append(f"a follower's side {apart:.1f} mm {than}")
        if one.wider is not None:
            sign = "more" if one.wider > 0 else "less"
            takes.append(f"corners that add up to {np.degrees(abs(one.wider)):.1f}° {sign}")
    trued = any(one.pairing.corner_sum is not None for one in error.would_take)
    kept = ", the lengths at the top kept and the corners trued" if trued else " and the top traced"
    raised = "a lower hold, or a traced top" if trued else "or a lower hold"
    return Conflict(
        f"set '{pattern.name}': {top} cannot be joined to {rest}: with side seams as long as "
        f"asked{kept}, the edges miss each other by {error.miss_mm:.1f} mm; "
        + (f"it would take {' or '.join(takes)}; " if takes else "")
        + f"choose sizes nearer to each other, {raised}",
        causes=(
            f"seam '{plan.seam}' asks for its lengths on both mains below {top}",
            f"the hold keeps {rest} beyond it",
        ),
        distance_mm=apart,
    )
