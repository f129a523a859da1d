"""Levels, holds and places of a blend that do not go together."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import numpy as np

from propagate.engine.review.finding import Finding
from propagate.engine.review.taken import level_place, pieces_of, silhouette_pieces
from propagate.pattern.patternset import PatternSet

__all__ = ["find_legs_upside_down", "find_mates_in_two_sizes", "find_parted_holds"]

APART_MM = 12.0


def find_legs_upside_down(pattern: PatternSet) -> Iterator[Finding]:
    """Find a leg whose level lies above its hold."""
    plan = pattern.relations.blend
    if plan is None or plan.leg is None:
        return
    for main in plan.mains:
        piece = silhouette_pieces(pattern, main.silhouette)[0]
        sized = pattern.sized(piece, pattern.base)
        names = (plan.upper, plan.lower, plan.leg.hold, plan.leg.level)
        if any(name not in sized.levels for name in names):
            continue
        upper, lower, hold, level = (
            float(np.asarray(sized.levels[name]) @ sized.grain.direction) for name in names
        )
        if (level - hold) * float(np.sign(lower - upper)) < 0.0:
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


def find_parted_holds(pattern: PatternSet) -> Iterator[Finding]:
    """Find mains whose sides, sewn to each other, are held at different places."""
    plan = pattern.relations.blend
    seam = None if plan is None else pattern.relations.seams.get(plan.seam)
    if plan is None or seam is None:
        return
    parts = pattern.relations.parts_of
    sewn = {parts.get(span.piece, span.piece) for span in (*seam.lead, *seam.follow)}
    mains = [main for main in plan.mains if main.silhouette in sewn]
    for first, other in ((mains[0], other) for other in mains[1:]):
        if other.side_hold == first.side_hold:
            continue
        places = [
            level_place(pattern, run, level, pattern.base)
            for run in (seam.lead, seam.follow)
            for level in (first.side_hold, other.side_hold)
        ]
        values = [place for place in places if place is not None]
        if len(values) > 1 and max(values) - min(values) <= APART_MM:
            continue
        yield Finding(
            "sides held differently",
            f"blend, mains '{first.silhouette}' and '{other.silhouette}'",
            f"found the side of '{first.silhouette}' held at '{first.side_hold}' and that of "
            f"'{other.silhouette}' at '{other.side_hold}'"
            + (f", {max(values) - min(values):.0f} mm apart" if len(values) > 1 else "")
            + f"; expected the same level, since seam '{plan.seam}' joins them: between the two "
            "the one side would change and its mate not. Probably one side_hold is a slip: name "
            "the same level in both",
            tuple(silhouette_pieces(pattern, main.silhouette)[0] for main in (first, other)),
        )


def find_mates_in_two_sizes(pattern: PatternSet) -> Iterator[Finding]:
    """Find two pieces that are sewn to each other and taken in different sizes."""
    level = {place.piece: place.level for place in pattern.relations.places.values()}
    told = set()
    for seam in pattern.relations.seams.values():
        for ours, theirs in product(pieces_of(seam.lead), pieces_of(seam.follow)):
            pair = frozenset((ours, theirs))
            if not pair <= level.keys() or level[ours] == level[theirs] or pair in told:
                continue
            told.add(pair)
            yield Finding(
                "mates in two sizes",
                f"places of '{ours}' and '{theirs}', seam '{seam.name}'",
                f"found '{ours}' taken in the size of the level '{level[ours]}' and '{theirs}' in "
                f"that of '{level[theirs]}', though they are sewn to each other; expected one size "
                "for both, else they do not fit after a blend. Probably the level of one place is "
                "a slip: name the same level in both",
                (ours, theirs),
            )
