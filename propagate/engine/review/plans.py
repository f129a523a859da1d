"""Levels, holds and places of a blend that do not go together."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import level_place
from propagate.pattern.patternset import PatternSet
from propagate.pattern.relations import BlendPlan, Run

__all__ = ["plans"]

APART_MM = 12.0


def plans(pattern: PatternSet) -> Iterator[Finding]:
    """Find a leg upside down, holds that part the side seam, and mates in two sizes."""
    plan = pattern.relations.blend
    if plan is not None:
        yield from _judge_leg(pattern, plan)
        yield from _compare_holds(pattern, plan)
    yield from _compare_sizes(pattern)


def _judge_leg(pattern: PatternSet, plan: BlendPlan) -> Iterator[Finding]:
    if plan.leg is None:
        return
    for main in plan.mains:
        assembly = pattern.relations.assemblies.get(main.silhouette)
        piece = main.silhouette if assembly is None else assembly.lead
        sized = pattern.sized(piece, pattern.base)
        names = (plan.upper, plan.lower, plan.leg.hold, plan.leg.level)
        if any(name not in sized.levels for name in names):
            continue
        upper, lower, hold, level = (
            float(np.asarray(sized.levels[name]) @ sized.grain.direction) for name in names
        )
        down = float(np.sign(lower - upper))
        if (level - hold) * down < 0.0:
            yield Finding(
                "leg upside down",
                "blend, leg",
                f'found level = "{plan.leg.level}" and hold = "{plan.leg.hold}", and that '
                f"'{plan.leg.hold}' lies {abs(level - hold):.0f} mm below '{plan.leg.level}' on "
                f"'{piece}'; expected the hold above: the third size begins there and is reached "
                "at the level. Probably level and hold are exchanged: exchange them",
                (piece,),
                sews=False,
            )
            return


def _compare_holds(pattern: PatternSet, plan: BlendPlan) -> Iterator[Finding]:
    """Find mains whose sides, sewn to each other, are held at different places."""
    seam = pattern.relations.seams.get(plan.seam)
    if seam is None:
        return
    parts = pattern.relations.parts_of
    sewn = {parts.get(span.piece, span.piece) for span in (*seam.lead, *seam.follow)}
    mains = [main for main in plan.mains if main.silhouette in sewn]
    for first, other in zip(mains[:1] * len(mains), mains[1:], strict=False):
        if other.side_hold == first.side_hold:
            continue
        places: list[tuple[Run, float]] = []
        for run in (seam.lead, seam.follow):
            for level in (first.side_hold, other.side_hold):
                place = level_place(pattern, run, level, pattern.base)
                if place is not None:
                    places.append((run, place))
        values = [place for _, place in places]
        if len(values) > 1 and max(values) - min(values) <= APART_MM:
            continue
        pieces = []
        for main in (first, other):
            assembly = pattern.relations.assemblies.get(main.silhouette)
            pieces.append(main.silhouette if assembly is None else assembly.lead)
        yield Finding(
            "sides held differently",
            f"blend, mains '{first.silhouette}' and '{other.silhouette}'",
            f"found the side of '{first.silhouette}' held at '{first.side_hold}' and that of "
            f"'{other.silhouette}' at '{other.side_hold}'"
            + (f", {max(values) - min(values):.0f} mm apart" if len(values) > 1 else "")
            + f"; expected the same level, since seam '{plan.seam}' joins them: between the two "
            "the one side would change and its mate not. Probably one side_hold is a slip: name "
            "the same level in both",
            tuple(pieces),
        )


def _compare_sizes(pattern: PatternSet) -> Iterator[Finding]:
    """Find two pieces that are sewn to each other and taken in different sizes."""
    level = {place.piece: place.level for place in pattern.relations.places.values()}
    joins = [
        (f"seam '{seam.name}'", seam.lead, seam.follow)
        for seam in pattern.relations.seams.values()
        if not seam.mirror
    ]
    told = set()
    for name, lead, follow in joins:
        for ours in dict.fromkeys(span.piece for span in lead):
            for theirs in dict.fromkeys(span.piece for span in follow):
                pair = frozenset((ours, theirs))
                if {ours, theirs} <= level.keys() and level[ours] != level[theirs]:
                    if pair in told:
                        continue
                    told.add(pair)
                    yield Finding(
                        "mates in two sizes",
                        f"places of '{ours}' and '{theirs}', {name}",
                        f"found '{ours}' taken in the size of the level '{level[ours]}' and "
                        f"'{theirs}' in that of '{level[theirs]}', though they are sewn to each "
                        "other; expected one size for both, else they do not fit after a blend. "
                        "Probably the level of one place is a slip: name the same level in both",
                        (ours, theirs),
                    )
