"""What a blend is measured by: girths, corner sums, fairness; and its warnings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from propagate.engine.edits.blend import Blended, Resolved, Side
from propagate.engine.edits.corner_tasks import corner_as_drawn
from propagate.engine.job import Measures
from propagate.engine.laying import turn_upward
from propagate.engine.main_sides import SidePair
from propagate.engine.rows import FairnessRow, GirthRow, Match, TopCorners
from propagate.engine.state import State
from propagate.geometry.directions import end_direction, wrap_angle
from propagate.geometry.fairness import arc_curvature, measure_fairness
from propagate.geometry.motion import from_two_points
from propagate.geometry.polyline import between, length, locate_all, point_at
from propagate.geometry.spiral import spiral_to
from propagate.pattern.ease_on_run import seam_ease
from propagate.pattern.model import Array
from propagate.pattern.patternset import PatternSet
from propagate.pattern.spans import run_length
from propagate.tolerances import CORNER_SUM_DEG, CURVATURE_RATIO, SEAM_LENGTH_MM, TANGENT_DEG

__all__ = ["blend_measures", "girth_sizes"]


_BELOW_HOLD_MM = 60.0
"""Stretch below the hold that is looked at together with what was drawn above it."""


def blend_measures(
    state: State, blended: Blended, top: str, girths: Sequence[GirthRow]
) -> Measures:
    """Measure a blend and add its warnings to the state.

    Parameters
    ----------
    state : State
    blended : Blended
    top : "trued" or "traced"
    girths : sequence of GirthRow
        The girths of the result, as the record tells them.
    """
    pairs = blended.pairs if blended.sides else ()
    corners = tuple(_corner_sum(state, blended, pair, top) for pair in pairs)
    rows = [row for side in blended.sides for row in _fairness_rows(state, blended, side)]
    for row in girths if blended.sides else ():
        if not row.ok:
            state.notice(
                row.girth,
                f"the girth measures {row.found_mm:.1f} mm, {row.difference_mm:+.1f} mm from "
                f"size {row.size}: a hold below its level gives it away",
                "take a hold above it, or sizes that are nearer",
                about=("girth off",),
            )
    # how far the sides of the first seam were apart, and how alike they are
    found = [_match_of(state, blended, pair) for pair in pairs]
    return Measures(corners=corners, fairness=tuple(rows), match=found[0] if found else None)


def girth_sizes(pattern: PatternSet, chosen: Resolved) -> dict[str, str]:
    """Size that gives each girth by runs: the upper one for the crossing edges."""
    found = {}
    tops = {main.silhouette for main in chosen.plan.mains}
    parts = pattern.relations.parts_of
    for girth in pattern.relations.girths.values():
        if girth.level is None:
            owners = {parts.get(span.piece, span.piece) for run in girth.runs for span in run}
            found[girth.name] = chosen.upper if owners & tops else chosen.lower
    return found


def _corner_sum(state: State, blended: Blended, pair: SidePair, top: str) -> TopCorners:
    """The corners at the top of one seam against those of the size that gives the top."""
    sides = (blended.sides[pair.lead], blended.sides[pair.follow])
    wanted = float(np.degrees(sum(corner_as_drawn(side.laid) for side in sides)))
    now = []
    for side in sides:
        main = side.laid.main
        edited = blended.edited[main.silhouette]
        up, across = turn_upward(edited, main.side, main.across), edited.edge(main.across).points
        out = across if np.abs(across[-1] - up[-1]).max() < 1e-6 else across[::-1]
        gap = wrap_angle(end_direction(up, "end") - end_direction(out, "end"))
        now.append(float(np.degrees(abs(gap))))
    difference = sum(now) - wanted
    ok = abs(difference) <= CORNER_SUM_DEG
    if not ok:
        state.notice(
            pair.seam.name,
            f"the corners at the top add up to {sum(now):.1f}°, {difference:+.1f}° from size "
            f"{blended.chosen.upper}"
            + (", as the top was traced as drawn" if top == "traced" else ""),
            "look at the line of the top across the seam, and redraw it there if it is not meant",
            about=("corners at the top", top),
        )
    return TopCorners(
        name=pair.seam.name,
        what=" + ".join(side.laid.main.silhouette for side in sides),
        first=now[0],
        second=now[1],
        wanted_sum=wanted,
        found_sum=sum(now),
        difference=difference,
        ok=ok,
    )


def _fairness_rows(state: State, blended: Blended, side: Side) -> list[FairnessRow]:
    laid = side.laid
    main = laid.main
    edited = state.silhouette(main.silhouette)
    rows = []
    lines = [(main.side, laid.side, laid.hold_side, laid.upper_side)]
    if laid.centre is not None:
        parent = turn_upward(laid.upper, main.centre, main.across)
        lines.append((main.centre, laid.centre.line, laid.centre.hold, parent))
    for name, old, hold, parent in lines:
        new = turn_upward(edited, name, main.across)
        faded = name != main.side
        where = f"{main.silhouette}/{name}"
        rows.append(
            _fairness_row(state, blended.chosen, where, new, old, hold, parent, faded=faded)
        )
    return rows


def _fairness_row(
    state: State,
    chosen: Resolved,
    where: str,
    new: Array,
    old: Array,
    hold: float,
    parent: Array,
    *,
    faded: bool,
) -> FairnessRow:
    """Measure what was drawn above the hold, and how it joins what was kept.

    A centre is `faded`: it leaves the hold along the lower size's line and comes back to
    its own, so it bends both ways wherever the two lines differ in direction.
    """
    drawn = between(new, hold, length(new))
    kept = between(new, max(hold - _BELOW_HOLD_MM, 0.0), hold)
    whole = between(new, max(hold - _BELOW_HOLD_MM, 0.0), length(new))
    join = wrap_angle(end_direction(drawn, "start") - end_direction(kept, "end"))
    join = float(np.degrees(join))
    above = length(new) - hold
    parents = [
        measure_fairness(
            between(line, max(length(line) - above - _BELOW_HOLD_MM, 0.0), length(line))
        )
        for line in (old, parent)
    ]
    measured, overall = measure_fairness(drawn), measure_fairness(whole)
    direction = end_direction(kept, "end")
    plain = arc_curvature(drawn[0], direction, drawn[-1])
    limit = max(plain, *(p.max_curvature for p in parents))
    allowed = max(p.inflections for p in parents) + int(faded or _bends_back(kept, drawn))
    inflections = overall.inflections
    peaks, parent_peaks = overall.peaks, max(p.peaks for p in parents)
    if inflections > max(p.inflections for p in parents):
        upper, lower = chosen.upper, chosen.lower
        state.notice(
            where,
            f"bends back once: size {upper} leaves the hold in another direction than size {lower}"
            if faded
            else f"bends back once: the top of size {upper} lies beyond the line of size {lower} "
            "at the hold",
            "look at the line, else take a lower hold or sizes that are nearer",
        )
    ratio = measured.max_curvature / limit if limit > 0 else 0.0
    return FairnessRow(
        edge=where,
        join_deg=join,
        inflections=inflections,
        inflections_allowed=allowed,
        peaks=peaks,
        peaks_of_parents=parent_peaks,
        smallest_radius_mm=_find_radius(measured.max_curvature),
        parents_radius_mm=_find_radius(max(p.max_curvature for p in parents)),
        plain_arc_radius_mm=_find_radius(plain),
        curvature_ratio=ratio,
        ok=(
            abs(join) <= TANGENT_DEG
            and ratio <= CURVATURE_RATIO
            and inflections <= allowed
            # each bend has a peak of its own
            and peaks <= max(parent_peaks, 1) + allowed
        ),
    )


def _find_radius(curvature: float) -> float | None:
    """Radius in mm; None for a straight line."""
    return None if curvature < 1e-7 else 1.0 / curvature


def _bends_back(kept: Array, drawn: Array) -> bool:
    """Whether the end lies beyond the tangent at the hold, seen from the kept curve."""
    bend = measure_fairness(kept).turn_deg
    chord = drawn[-1] - drawn[0]
    lean = wrap_angle(np.arctan2(chord[1], chord[0]) - end_direction(kept, "end"))
    return bend * float(np.degrees(lean)) < 0


def _match_of(state: State, blended: Blended, pair: SidePair) -> Match | None:
    """How far the sides of a seam were apart; a difference in the source is told."""
    seam, sides = pair.seam, (blended.sides[pair.lead], blended.sides[pair.follow])
    as_drawn = []
    for side in sides:
        try:
            size, _ = spiral_to(side.task.side, side.task.across.points[-1])
        except ValueError:
            return None
        as_drawn.append(side.task.held + size)
    before = state.pattern.in_size(state.job.size)
    source = run_length(before, seam.follow) - run_length(before, seam.lead)
    in_source = seam_ease(before, seam, state.job.size)
    drawn_in = source - in_source.total
    if abs(drawn_in) > SEAM_LENGTH_MM:
        state.notice(
            seam.name,
            f"the two sides differ by {drawn_in:+.2f} mm in size {state.job.size} as drawn and "
            "the new sides were matched",
            "look whether the difference was meant, and if so say it as an ease of the seam",
            about=("sides differed as drawn",),
        )
    return Match(
        seam=seam.name,
        apart_before_mm=as_drawn[1] - as_drawn[0] - state.ease_of(seam).total,
        drawn_into_source_mm=drawn_in,
        largest_deviation_mm=_measure_deviation(sides[0], sides[1]),
    )


def _measure_deviation(lead: Side, follow: Side) -> float:
    """Largest distance between the two new sides, laid hold on hold as sewn, mm."""
    mirrored = lead.task.sign != follow.task.sign
    angles = [s.task.side.direction for s in (lead, follow)]
    source = [lead.points[0], lead.points[0] + [np.cos(angles[0]), np.sin(angles[0])]]
    target = [follow.points[0], follow.points[0] + [np.cos(angles[1]), np.sin(angles[1])]]
    motion = from_two_points(source, target, face_down=mirrored)
    laid = motion.apply(lead.points)
    total = min(length(laid), length(follow.points))
    inside = np.array([point_at(laid, d) for d in np.linspace(0, total, 40)])
    _, gaps = locate_all(follow.points, inside)
    return float(gaps.max())
