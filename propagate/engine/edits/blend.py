"""Blend sizes by level: the top of one size on the rest of another.

For each main silhouette the part below the hold is the lower size's, digit for digit.
The top is the upper size's, laid over it with level on level and centre seam on centre
seam, translated and never rotated.  Between them the side seam is drawn anew as a fair
curve and the free part of the crossing edge is trued; all corners of the mains are
solved together (`propagate.engine.corners`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from propagate.engine.corners import CornerTask, UnsolvedCornersError, solve_corners
from propagate.engine.edits.compose import Redrawn, compose_silhouette
from propagate.engine.edits.corner_tasks import corner_tasks, pairing_of
from propagate.engine.edits.leg import blend_leg
from propagate.engine.edits.size_between import with_sizes_asked
from propagate.engine.job import Drawn, Job
from propagate.engine.laying import Laid, LayOptions, lay_main, level_height, rise_of
from propagate.engine.laying_between import lay_between
from propagate.engine.main_sides import MainSide, SidePair, main_sides
from propagate.engine.reshape import Edited, start_edit
from propagate.engine.tape import tape
from propagate.errors import Conflict, EditError, UnknownName
from propagate.geometry.polyline import point_at
from propagate.pattern.model import Array
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendPlan, Seam
from propagate.tolerances import ON_LINE_MM
from propagate.values import dataclass

__all__ = ["Blend", "Blended", "Resolved", "blend_silhouettes", "resolve_blend"]

_LONGEST_MM = 1e5
_OPTIONS = {"follow": ("shape", "length"), "top": ("trued", "traced"), "pocket": ("upper", "lower")}


@dataclass(frozen=True)
class Blend:
    """The edit: a size for each level, and how to join them.

    Attributes
    ----------
    sizes : mapping of level name to size name
        The upper and the lower level of the set's blend plan; the leg level too, when
        a third size gives the leg.  A size may lie between two of the nest: ``43.5``,
        ``S+0.4`` (`propagate.pattern.between`).
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
        """Check the sizes of a blend and make every choice; see `resolve_blend`.

        The set of the job has the sizes between too that the blend asks for.
        """
        _plan_for(pattern, self)
        pattern, called, made = with_sizes_asked(pattern, self.sizes.values())
        chosen = resolve_blend(
            pattern, replace(self, sizes={n: called[s] for n, s in self.sizes.items()})
        )
        plan = chosen.plan
        levels = {plan.upper: chosen.upper}
        if plan.leg is not None:
            levels[plan.leg.level] = chosen.leg
        # `follow` is how the mains meet, which the blend draws itself; others take the length.
        return Job(pattern, chosen.name, chosen.lower, chosen.pocket, levels, plan.upper, made=made)

    def draw(self, job: Job) -> Drawn:
        """Blend every main silhouette; see `blend_silhouettes`."""
        from propagate.engine.edits.blend_drawn import drawn_blend

        return drawn_blend(replace(self, sizes={n: job.at(n) for n in self.sizes}), job)


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
    """What was drawn for one side of a main; kept for the record."""

    laid: Laid
    task: CornerTask
    points: Array


@dataclass(frozen=True)
class Blended:
    """Edited silhouettes, what was drawn for each side, lead first, and which are sewn together."""

    chosen: Resolved
    edited: Mapping[str, Edited]
    sides: tuple[Side, ...] = ()
    pairs: tuple[SidePair, ...] = ()


def resolve_blend(pattern: PatternSet, edit: Blend) -> Resolved:
    """Check the sizes of a blend and make every choice.

    Raises
    ------
    EditError
        When the set has no blend plan, a level was given no size, or an option is none.
    UnknownName
        For a level or size that the set does not have.
    """
    plan = _plan_for(pattern, edit)
    for size in edit.sizes.values():
        pattern.check_size(size)
    for name in ("follow", "top", "pocket"):
        found: str = getattr(edit, name)
        if found not in _OPTIONS[name]:
            known = " or ".join(f"'{word}'" for word in _OPTIONS[name])
            raise EditError(f"set '{pattern.name}': found {name} '{found}', expected {known}")
    rise, hold = edit.rise, edit.hold
    if rise not in ("upper", "lower") and not (_is_length(rise) and float(rise) > 0.0):
        raise EditError(
            f"set '{pattern.name}': found rise '{rise}', expected 'upper', 'lower' or a length "
            "above 0 mm"
        )
    if not (hold is None or isinstance(hold, str) or _is_length(hold)):
        raise EditError(
            f"set '{pattern.name}': found hold '{hold}', expected a level or a length in mm"
        )
    upper, lower = edit.sizes[plan.upper], edit.sizes[plan.lower]
    leg = edit.sizes.get(plan.leg.level, lower) if plan.leg else lower
    name = upper if upper == lower == leg else f"{upper}/{lower}"
    if leg != lower:
        name += f"/{leg}"
    return Resolved(plan, upper, lower, leg, upper if edit.pocket == "upper" else lower, name)


def _plan_for(pattern: PatternSet, edit: Blend) -> BlendPlan:
    """The blend plan of the set, whose levels are those that the edit gives a size."""
    plan = pattern.relations.blend
    if plan is None:
        raise EditError(
            f"set '{pattern.name}' has no [blend] section, so the roles of its edges are unknown; "
            "add one to set.toml (see the page on the set format)"
        )
    levels = [plan.upper, plan.lower, *([plan.leg.level] if plan.leg else [])]
    for level in edit.sizes:
        if level not in levels:
            raise UnknownName("level", level, levels, f"the blend of set '{pattern.name}'")
    for level in levels[:2]:
        if level not in edit.sizes:
            raise EditError(
                f"set '{pattern.name}': no size for level '{level}'; "
                f"give one for '{plan.upper}' and one for '{plan.lower}'"
            )
    return plan


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
    sides, pairs = main_sides(pattern, plan)
    edited = {
        side.main.silhouette: start_edit(
            tape(pattern, side.main.silhouette, chosen.lower), chosen.lower
        )
        for side in sides
    }
    if chosen.leg != chosen.lower and plan.leg is not None:
        edited = blend_leg(pattern, plan, edited, chosen.leg)
    if chosen.upper == chosen.lower and edit.rise in ("upper", "lower") and edit.hold is None:
        return Blended(chosen, edited, (), pairs)
    options = LayOptions(
        pattern.name,
        chosen.upper,
        chosen.lower,
        pattern.lay_on,
        plan.lower,
        edit.hold,
        _find_rise(pattern, edit, sides[0], chosen.upper),
    )
    laid = _lay_all(pattern, sides, edited, options)
    if edit.hold is None:
        for pair in pairs:
            _respect_seam_hold(pattern, [laid[pair.lead], laid[pair.follow]], pair.seam)
    tasks = corner_tasks(laid, pairs if edit.follow == "shape" else ())
    try:
        asked = [
            pairing_of(pattern, pair, laid, tasks, chosen.lower, edit.top, edit.follow)
            for pair in pairs
        ]
        solved = solve_corners(tasks, asked)
    except UnsolvedCornersError as error:
        raise _make_conflict(pattern, plan, chosen, pairs, error) from error
    found: list[Side] = []
    redrawn: dict[str, list[Redrawn]] = {}
    for item, task, answer in zip(laid, tasks, solved, strict=True):
        points = task.side.points(answer.length, answer.turn)
        found.append(Side(item, task, points))
        one = Redrawn(item, points, task.across.bent(answer.p, answer.q))
        redrawn.setdefault(item.main.silhouette, []).append(one)
    stays = frozenset({plan.lower, pattern.lay_on})
    for name, group in redrawn.items():
        edited[name] = compose_silhouette(group, chosen.upper, stays)
    return Blended(chosen, edited, tuple(found), pairs)


def _lay_all(
    pattern: PatternSet,
    sides: Sequence[MainSide],
    edited: Mapping[str, Edited],
    options: LayOptions,
) -> list[Laid]:
    """Lay every main once, and give its sides in the order asked for."""
    found: dict[tuple[str, str], Laid] = {}
    for side in sides:
        main, name = side.main, side.main.silhouette
        if (name, main.side) in found:
            continue
        upper = tape(pattern, name, options.upper_size)
        both = (
            lay_between(main, edited[name], upper, options)
            if side.two_sided
            else (lay_main(main, edited[name], upper, options),)
        )
        found.update({(name, one.main.side): one for one in both})
    return [found[side.main.silhouette, side.main.side] for side in sides]


def _find_rise(
    pattern: PatternSet, edit: Blend, lead: MainSide, upper: str
) -> Literal["upper", "lower"] | float:
    """A rise in mm is the lead's; every other main's top moves as far as the lead's does.

    A back is drawn higher at its centre than a front: the same height on both would
    tear their sides apart.
    """
    if isinstance(edit.rise, str):
        return edit.rise
    drawn = tape(pattern, lead.main.silhouette, upper)
    own = rise_of(lead.main, drawn, pattern.lay_on, pattern.name, two_sided=lead.two_sided)
    return float(edit.rise) - own


def _respect_seam_hold(pattern: PatternSet, laid: Sequence[Laid], seam: Seam) -> None:
    """Refuse a blend plan that redraws what the seam itself holds.

    A hold that the edit asks for by name is the user's; two that stand in the set must
    agree.
    """
    for item in laid:
        base = item.lower.base
        if seam.hold is None or seam.hold == item.main.side_hold:
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


def _make_conflict(
    pattern: PatternSet,
    plan: BlendPlan,
    chosen: Resolved,
    pairs: Sequence[SidePair],
    error: UnsolvedCornersError,
) -> Conflict:
    top = f"'{plan.upper}' of size '{chosen.upper}'"
    rest = f"'{plan.lower}' of size '{chosen.lower}'"
    apart, takes = error.miss_mm, []
    seam_of = {(pair.lead, pair.follow): f"seam '{pair.seam.name}'" for pair in pairs}
    for one in error.would_take:
        seam = seam_of[one.pairing.lead, one.pairing.follow]
        if one.longer_mm is not None:
            apart = abs(one.longer_mm)
            than = f"{'longer' if one.longer_mm > 0 else 'shorter'} than {seam} asks"
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
            *(
                f"{seam} asks for its lengths on both mains below {top}"
                for seam in seam_of.values()
            ),
            f"the hold keeps {rest} beyond it",
        ),
        distance_mm=apart,
    )
